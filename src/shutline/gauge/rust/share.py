"""The share of an outline that is rusted, with the doubt of the segmentation carried into it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from shutline.gauge.colour.sharma2005 import Array
from shutline.gauge.rust.grades import Distribution, RustGrades, distribution_of, grades_of
from shutline.gauge.rust.segmenting import Field, Picture, Segmented, segment
from shutline.gauge.rust.settings import settings, words

SOURCE = "share by the program's own segmentation, learnt from rendered panels; grades: ASTM D610 and ISO 4628-3:2016"
_REACH, _BINS = 16.0, 640


@dataclass(frozen=True, slots=True)
class RustShare:
    """How much of an outline is rusted.

    `share` is of 0 to 1, `low` and `high` its interval at `level`, `uncertainty` half of it over the
    reach of a normal distribution: from odds that
    may be wrong for the whole picture at once, so that what is plain stays sure and what is doubtful widens it. `told`
    is False where the interval is too wide to be of use. `paint` is the panel's own colour, L*a*b*, None where none
    stands out.
    """

    share: float
    low: float
    high: float
    uncertainty: float
    level: float
    told: bool
    grades: RustGrades
    distribution: Distribution | None
    paint: tuple[float, float, float] | None
    pixels: int
    sentence: str
    cautions: tuple[str, ...]
    good_for: str
    who_decides: str
    source: str = SOURCE


def rust_within(picture: Picture, outline: Sequence[tuple[float, float]]) -> RustShare:
    """Tell how much of what lies within an outline is rusted; arguments and errors as for `segment`."""
    return rust_of(segment(picture, outline))


def rust_of(found: Segmented) -> RustShare:
    """Tell the share of a segmented outline."""
    rules = settings()
    shift = prior_shift(found)
    curve = shifted(curve_of(found.odds[found.inside]), shift)
    share = share_at(curve, 0.0)
    below, above = _doubt(found)
    low, high = share_at(curve, -below), share_at(curve, above)
    if low < rules.tell.none_below:
        low = 0.0
    told = high - low <= rules.tell.widest
    grades = grades_of(share, low, high)
    distribution = distribution_of(found, shift=shift) if told and low > 0 else None
    cautions = [words()["look_alikes"], words()["standards"]]
    if not is_clear(found):
        cautions.insert(0, words()["paint"])
    if not told:
        cautions.insert(0, words()["wide"])
    return RustShare(
        share=share,
        low=low,
        high=high,
        uncertainty=(high - low) / 2 / NormalDist().inv_cdf((1 + rules.tell.level) / 2),
        level=rules.tell.level,
        told=told,
        grades=grades,
        distribution=distribution,
        paint=found.paint,
        pixels=int(found.inside.sum()),
        sentence=_sentence(share, low, high, distribution) if told else words()["wide"],
        cautions=tuple(cautions),
        good_for=words()["good_for"],
        who_decides=words()["who_decides"],
    )


def curve_of(odds: Field) -> tuple[Array, Array]:
    """Give how many pixels have which odds: the middles of narrow bins and their shares, shape (n,) both."""
    counts, edges = np.histogram(np.clip(odds, -_REACH, _REACH), bins=_BINS, range=(-_REACH, _REACH))
    return np.asarray((edges[:-1] + edges[1:]) / 2), counts / max(1, int(counts.sum()))


def shifted(curve: tuple[Array, Array], shift: float) -> tuple[Array, Array]:
    """Give a curve with all odds shifted."""
    middles, shares = curve
    return middles + shift, shares


def is_clear(found: Segmented) -> bool:
    """Tell whether the panel's own paint is known and lies well away from rust's colours."""
    return found.paint is not None and found.paint_odds < settings().weights.clear_paint


def prior_shift(found: Segmented) -> float:
    """Give by how much the odds of a picture shift for its own share of rust, natural logarithm.

    The share of rust in the picture itself takes in part the place of that in all that was learnt from, by expectation
    and maximisation: M. Saerens, P. Latinne and C. Decaestecker, 'Adjusting the outputs of a classifier to new a priori
    probabilities', Neural Computation 14(1), 21-41, 2002. Where the paint is near to rust's colours it looks a little
    like rust all over, and there the share only ever goes down: it would else be taken up to that of the paint.
    """
    weights = settings().weights
    curve = curve_of(found.odds[found.inside])
    usual = math.log(weights.prior / (1 - weights.prior))
    share = weights.prior
    for _ in range(100):
        share = min(max(share_at(curve, math.log(share / (1 - share)) - usual), 1e-6), 0.95)
    clear = is_clear(found)
    taken = weights.prior_taken if clear else weights.near_prior_taken
    most = weights.prior_most if clear else 0.0
    return min(max(taken * (math.log(share / (1 - share)) - usual), weights.prior_least), most)


def share_at(curve: tuple[Array, Array], shift: float) -> float:
    """Give the share that is rusted when the odds of all are off by `shift`, natural logarithm."""
    middles, shares = curve
    return float(np.sum(shares / (1 + np.exp(-(middles + shift)))))


def likely(found: Segmented) -> Field:
    """Give how likely rust is at each pixel of a segmented outline, 0 to 1; 0 outside of it."""
    shift = prior_shift(found)
    return np.where(found.inside, 1 / (1 + np.exp(-(found.odds + np.float32(shift)))), 0.0).astype(np.float32)


def _doubt(found: Segmented) -> tuple[float, float]:
    """Give how far the odds may be wrong, down and up: more so where the paint is nearer to rust."""
    weights = settings().weights
    if is_clear(found):
        return weights.doubt_low, weights.doubt_high
    return weights.near_doubt_low, weights.near_doubt_high


def _sentence(share: float, low: float, high: float, distribution: Distribution | None) -> str:
    letter = f"-{distribution.letter}" if distribution else ""
    return share_sentence(share, low, high, level=settings().tell.level, letter=letter)


def share_sentence(share: float, low: float, high: float, *, level: float, letter: str = "") -> str:
    """Tell a share of rust and its interval, 0 to 1, with what the standards call them; errors as for `grades_of`."""
    grades = grades_of(share, low, high)
    if low == 0:
        return (
            f"No rust is told for certain within the outline: {_percent(share)} ({_percent(low)} to {_percent(high)}, "
            f"{level:.0%}); ASTM D610 {_span(grades.d610, grades.d610_least, grades.d610_most)}."
        )
    return (
        f"{_percent(share)} of the outline looks rusted ({_percent(low)} to {_percent(high)}, {level:.0%}): "
        f"ASTM D610 {grades.d610}{letter}{_others(grades.d610_least, grades.d610_most)}, "
        f"nearest picture of ISO 4628-3 {grades.iso}{_others(grades.iso_least, grades.iso_most)}."
    )


def _span(middle: str, least: str, most: str) -> str:
    return middle if least == most else f"{least} to {most}"


def _others(least: str, most: str) -> str:
    return "" if least == most else f" ({least} to {most})"


def _percent(share: float) -> str:
    value = 100 * share
    return f"{value:.0f} %" if value >= 9.95 else f"{value:.1f} %" if value >= 0.995 or value == 0 else f"{value:.2f} %"
