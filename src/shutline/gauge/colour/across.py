"""The difference of colour across a shut line, from two patches of a photograph or from keyed L*a*b*."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from shutline.car.errors import BadInputError, Problem
from shutline.gauge.colour.balance import AS_TAKEN, Balance, Lab
from shutline.gauge.colour.cie1976 import delta_e_1976
from shutline.gauge.colour.patches import Patch, Picture, Point, read_patch
from shutline.gauge.colour.settings import settings, words
from shutline.gauge.colour.sharma2005 import Array, delta_e_2000, difference_terms
from shutline.gauge.colour.srgb import lab_of_light

SOURCE = "CIEDE2000: Sharma, Wu and Dalal 2005; L*a*b* under D65: CIE 15"


class Told(StrEnum):
    """What a difference comes to."""

    APART = "apart"
    SCATTER = "within the panel's own scatter"
    SHADING = "may be shading alone"


@dataclass(frozen=True, slots=True)
class ColourDifference:
    """Two colours across a shut line and their difference.

    `delta_e` is CIEDE2000, `uncertainty` its standard uncertainty, `low` and `high` its interval at `level`; an
    interval that begins at nought does not tell the two apart. `lightness`, `chroma` and `hue` are what it is made of,
    second less first, each over its weight. `own_scatter` is the largest difference between two halves of one side,
    None where a side is one figure; `without_lightness` what is left once the lightness is evened out, None likewise.
    """

    lab_1: Lab
    lab_2: Lab
    delta_e: float
    uncertainty: float
    low: float
    high: float
    level: float
    delta_e_1976: float
    lightness: float
    chroma: float
    hue: float
    own_scatter: float | None
    without_lightness: float | None
    told: Told
    way: str
    balance: str
    sentence: str
    cautions: tuple[str, ...]
    good_for: str
    who_decides: str
    source: str = SOURCE


def across_in_photograph(
    picture: Picture, one: Sequence[Point], other: Sequence[Point], *, balance: Balance = AS_TAKEN
) -> ColourDifference:
    """Compare a patch on one side of a shut line with one on the other; errors as for `read_patch`.

    Parameters
    ----------
    picture : ndarray
        Shape (height, width, 3), uint8, sRGB, upright.
    one, other : sequence of point
        The outlines, three corners or more, pixels.
    balance : Balance
        From a grey card or a chart in the same light.
    """
    return across_patches(
        read_patch(picture, one, name="first side"), read_patch(picture, other, name="second side"), balance=balance
    )


def across_patches(one: Patch, other: Patch, *, balance: Balance = AS_TAKEN) -> ColourDifference:
    """Compare two patches.

    The interval is from drawing the tiles of each side anew, with the deviations widened where neighbouring tiles are
    alike. Where the difference does not stand clear of the whole cloud of draws, the interval begins at nought: the
    size of a difference is never below it, and drawing anew alone would make it seem that there always is one.
    """
    tuning = settings()
    lights = [balance.applied(patch.light) for patch in (one, other)]
    labs = [lab_of_light(light.mean(axis=0)) for light in lights]
    rng = np.random.default_rng(tuning.bootstrap.seed)
    drawn = [_drawn(light, patch, rng) for light, patch in zip(lights, (one, other), strict=True)]
    found = _interval(labs[0], labs[1], drawn[0], drawn[1])
    own = max(_halves(light, patch.places) for light, patch in zip(lights, (one, other), strict=True))
    even = [_even(light, lights[0]) for light in (each.mean(axis=0) for each in lights)]
    evened = [_even(each, lights[0]) for each in drawn]
    left = _interval(lab_of_light(even[0]), lab_of_light(even[1]), evened[0], evened[1])
    told = Told.APART
    if found.low <= own:
        told = Told.SCATTER
    elif (left.low == 0 or left.value <= own) and left.value <= tuning.shading.left * found.value:
        told = Told.SHADING
    cautions = [words()["planes"], words()["photograph"], words()["metallic"]]
    if balance.way == "none":
        cautions.insert(0, words()["unbalanced"])
    if told is Told.SHADING:
        cautions.remove(words()["planes"])
        cautions.insert(0, words()["shading"])
    verdict = _Verdict(told, "photograph", tuple(cautions), own, left.value, balance.way)
    return _difference(labs, found, verdict)


def across_keyed(one: Lab, other: Lab, *, uncertainty_1: float | Lab, uncertainty_2: float | Lab) -> ColourDifference:
    """Compare two colours that a spectrophotometer gave.

    Parameters
    ----------
    one, other : tuple of float
        L*a*b* under D65.
    uncertainty_1, uncertainty_2 : float or tuple of float
        Standard uncertainty of L*, a* and b*, one for all or each.

    Raises
    ------
    BadInputError
        Slug ``colour-refused``: a figure that no surface has.
    """
    for name, lab in (("first side", one), ("second side", other)):
        if not (0 <= lab[0] <= 150 and all(math.isfinite(each) and abs(each) <= 200 for each in lab)):
            raise _refused(name, f"L*a*b* of {lab}", "L* of 0 to 150, a* and b* of -200 to 200", "Key it once more.")
    spreads = [np.broadcast_to(np.asarray(each, np.float64), 3) for each in (uncertainty_1, uncertainty_2)]
    if any(not (np.isfinite(each).all() and (each >= 0).all()) for each in spreads):
        raise _refused(
            "uncertainty", f"{uncertainty_1}, {uncertainty_2}", "nought or more", "Give standard deviations."
        )
    tuning = settings().bootstrap
    rng = np.random.default_rng(tuning.seed)
    labs = [np.asarray(each, np.float64) for each in (one, other)]
    drawn = [
        lab + spread * rng.standard_normal((tuning.replicates, 3)) for lab, spread in zip(labs, spreads, strict=True)
    ]
    found = _interval_of(labs[0], labs[1], drawn[0], drawn[1])
    told = Told.APART if found.low > 0 else Told.SCATTER
    return _difference(labs, found, _Verdict(told, "spectrophotometer", (words()["metallic"],)))


@dataclass(frozen=True, slots=True)
class _Found:
    value: float
    spread: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class _Verdict:
    told: Told
    way: str
    cautions: tuple[str, ...]
    own: float | None = None
    without: float | None = None
    balance: str = "none"


def _drawn(light: Array, patch: Patch, rng: np.random.Generator) -> Array:
    """Give means of a side's light, its tiles drawn anew with replacement, shape (replicates, 3)."""
    count = len(light)
    weights = rng.multinomial(count, np.full(count, 1 / count), settings().bootstrap.replicates) / count
    mean = light.mean(axis=0)
    # Tiles that are alike count for fewer; two directions, each as a chain of that correlation. A mean of n tiles
    # drawn anew is too steady by (n - 1) / n.
    wider = (1 + patch.alike) / (1 - patch.alike) * math.sqrt(count / (count - 1))
    return np.asarray(mean + (weights @ light - mean) * wider)


def _even(light: Array, like: Array) -> Array:
    """Give light made as bright as the mean of `like`."""
    shares = np.array((0.2126, 0.7152, 0.0722))
    bright = light @ shares
    return np.asarray(light * (float(like.mean(axis=0) @ shares) / np.maximum(bright, 1e-9))[..., None])


def _halves(light: Array, places: Array) -> float:
    """Give the largest difference between two halves of one side, cut across and down."""
    found = 0.0
    for axis in (0, 1):
        first = places[:, axis] <= np.median(places[:, axis])
        if first.any() and not first.all():
            halves = [lab_of_light(light[part].mean(axis=0)) for part in (first, ~first)]
            found = max(found, float(delta_e_2000(halves[0], halves[1])))
    return found


def _interval(one: Array, other: Array, drawn_1: Array, drawn_2: Array) -> _Found:
    return _interval_of(one, other, lab_of_light(np.maximum(drawn_1, 0)), lab_of_light(np.maximum(drawn_2, 0)))


def _interval_of(one: Array, other: Array, drawn_1: Array, drawn_2: Array) -> _Found:
    level = settings().bootstrap.level
    value = float(delta_e_2000(one, other))
    middle = difference_terms(one, other)
    apart = difference_terms(drawn_1, drawn_2)[:, :3] - middle[:3]
    # The length that CIEDE2000 gives to a deviation, at these two colours.
    lengths = np.sqrt(np.maximum((apart**2).sum(axis=1) + middle[3] * apart[:, 1] * apart[:, 2], 0))
    ball = float(np.quantile(lengths, level))
    if value <= 0:
        return _Found(0.0, float(lengths.std()), 0.0, ball)
    drawn = delta_e_2000(drawn_1, drawn_2)
    # How far draws lie along the difference itself; a size grows with any deviation, along it or across.
    along = (
        apart[:, 0] * middle[0]
        + apart[:, 1] * (middle[1] + middle[3] * middle[2] / 2)
        + apart[:, 2] * (middle[2] + middle[3] * middle[1] / 2)
    ) / value
    low, high = value + np.quantile(along, ((1 - level) / 2, (1 + level) / 2))
    finest = settings().bootstrap.finest
    if value <= ball + finest:
        return _Found(value, float(np.std(drawn)), 0.0, max(float(high), value + ball) + finest)
    return _Found(
        value, math.hypot(float(along.std()), finest / 2), max(0.0, float(low) - finest), float(high) + finest
    )


def _difference(labs: Sequence[Array], found: _Found, verdict: _Verdict) -> ColourDifference:
    terms = difference_terms(labs[0], labs[1])
    return ColourDifference(
        lab_1=_lab(labs[0]),
        lab_2=_lab(labs[1]),
        delta_e=found.value,
        uncertainty=found.spread,
        low=found.low,
        high=found.high,
        level=settings().bootstrap.level,
        delta_e_1976=float(delta_e_1976(labs[0], labs[1])),
        lightness=float(terms[0]),
        chroma=float(terms[1]),
        hue=float(terms[2]),
        own_scatter=verdict.own,
        without_lightness=verdict.without,
        told=verdict.told,
        way=verdict.way,
        balance=verdict.balance,
        sentence=_sentence(found, verdict, terms),
        cautions=(*verdict.cautions, words()["seen"]),
        good_for=words()["good_for"],
        who_decides=words()["who_decides"],
    )


def _sentence(found: _Found, verdict: _Verdict, terms: Array) -> str:
    level = settings().bootstrap.level
    figure = f"CIEDE2000 {found.value:.1f} ({found.low:.1f} to {found.high:.1f}, {level:.0%})"
    if verdict.told is Told.SCATTER:
        scatter = (
            "what the instrument can tell" if verdict.own is None else f"the panel's own scatter of {verdict.own:.1f}"
        )
        return f"The second side differs from the first by no more than {scatter}: {figure}."
    light = "lighter" if terms[0] > 0 else "darker"
    if verdict.told is Told.SHADING:
        return f"The second side is {light}, and shading alone may make it so: {figure}."
    ways = [
        (abs(terms[0]), light),
        (abs(terms[1]), "stronger in colour" if terms[1] > 0 else "weaker in colour"),
        (abs(terms[2]), "of another hue"),
    ]
    most = max(each for each, _ in ways)
    named = [name for each, name in sorted(ways, reverse=True) if each >= most / 2]
    return f"The second side differs from the first, {', '.join(named)}: {figure}."


def _lab(lab: Array) -> Lab:
    light, red, yellow = (float(each) for each in lab)
    return light, red, yellow


def _refused(where: str, found: str, allowed: str, advice: str) -> BadInputError:
    return BadInputError(Problem(slug="colour-refused", where=where, found=found, allowed=allowed, advice=advice))
