"""Lengths and areas out of picked places, with their uncertainty to the first order."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

from shutline.car.errors import BadInputError, Problem
from shutline.gauge.size.card import Array
from shutline.gauge.size.plane import Plane
from shutline.gauge.size.settings import settings, words

SOURCE = "homography of a marker card, first-order uncertainty: JCGM 100:2008, 5.1.2 and 5.2.2; interval by G.4.1"
_FAR = 3.0
"""So many reaches of the card away is far outside it."""


@dataclass(frozen=True, slots=True)
class Size:
    """A length in millimetres or an area in square centimetres.

    `uncertainty` is its standard uncertainty, `low` and `high` its interval at `level` with `freedom` effective degrees
    of freedom (infinite where nothing was estimated from few). `parts` are the standard uncertainties that the corners
    of the card, the picking, the printed scale, bend and the run of the outline each bring, in the unit of `value`.
    """

    kind: str
    value: float
    unit: str
    uncertainty: float
    low: float
    high: float
    level: float
    freedom: float
    parts: dict[str, float]
    places_mm: tuple[tuple[float, float], ...]
    covariance_mm2: tuple[tuple[float, ...], ...]
    sentence: str
    cautions: tuple[str, ...]
    good_for: str
    who_decides: str
    source: str = SOURCE


def length_of(plane: Plane, px: Sequence[tuple[float, float]], *, pick_px: float | None = None) -> Size:
    """Measure from place to place: two give a distance, more the length of the way through them.

    Parameters
    ----------
    plane : Plane
    px : sequence of tuple of float
        Two places or more, pixels of the picture, the middle of its first pixel at 0, 0.
    pick_px : float, optional
        Standard uncertainty of each, pixels.

    Raises
    ------
    BadInputError
        Slug ``picked-refused``: fewer than two places, or two that are one; ``beyond-the-plane``.
    """
    points = _checked(px, 2)
    mm, parts = plane.places(points, pick_px=_pick(pick_px))
    ways = np.diff(mm, axis=0)
    long = np.linalg.norm(ways, axis=1)
    if (long <= 0).any():
        raise _refused("two places that are one", "places apart from each other")
    gradient = np.zeros_like(mm)
    gradient[1:] += ways / long[:, None]
    gradient[:-1] -= ways / long[:, None]
    return _size("length", float(long.sum()), "mm", (mm, parts, gradient.ravel()), plane, edge=0.0)


def area_of(
    plane: Plane, px: Sequence[tuple[float, float]], *, pick_px: float | None = None, edge_px: float | None = None
) -> Size:
    """Measure the area within an outline.

    Parameters
    ----------
    plane : Plane
    px : sequence of tuple of float
        Three corners or more, pixels, in their order round it.
    pick_px : float, optional
        Standard uncertainty of each, pixels.
    edge_px : float, optional
        Standard uncertainty with which the whole outline runs outside or inside of the edge it follows, pixels.

    Raises
    ------
    BadInputError
        Slug ``picked-refused``: fewer than three corners, or an outline that crosses itself or holds nothing;
        ``beyond-the-plane``.
    """
    points = _checked(px, 3)
    if _crosses(points):
        raise _refused("an outline that crosses itself", "corners in their order round it")
    mm, parts = plane.places(points, pick_px=_pick(pick_px))
    after, before = np.roll(mm, -1, axis=0), np.roll(mm, 1, axis=0)
    signed = float(np.sum(mm[:, 0] * after[:, 1] - after[:, 0] * mm[:, 1])) / 2
    if abs(signed) <= 0:
        raise _refused("an outline that holds nothing", "three corners that are not in one line")
    gradient = math.copysign(0.5, signed) * np.column_stack((after[:, 1] - before[:, 1], before[:, 0] - after[:, 0]))
    round_px = np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1)
    round_mm = np.linalg.norm(after - mm, axis=1)
    mm_a_pixel = float(round_mm.sum() / round_px.sum())
    edge = (settings().picking.edge_px if edge_px is None else edge_px) * mm_a_pixel * float(round_mm.sum())
    return _size("area", abs(signed), "cm2", (mm, parts, gradient.ravel()), plane, edge=edge)


def _size(
    kind: str,
    value: float,
    unit: str,
    first_order: tuple[Array, tuple[Array, ...], Array],
    plane: Plane,
    *,
    edge: float,
) -> Size:
    """Put a size together; `edge` is the part of the outline's run, in the unit squared or not as `value` is."""
    mm, parts, gradient = first_order
    names = ("corners", "picking", "scale", "bend")
    shares = {
        name: math.sqrt(max(0.0, float(gradient @ part @ gradient))) for name, part in zip(names, parts, strict=True)
    }
    if edge:
        shares["outline"] = edge
    spread = math.sqrt(sum(each**2 for each in shares.values()))
    # Only the noise of the corners was estimated from few: Welch and Satterthwaite, JCGM 100:2008, G.4.1.
    corners = shares["corners"]
    freedom = plane.freedom * (spread / corners) ** 4 if corners > 0 else math.inf
    level = settings().plane.level
    reach = student(level, freedom) * spread
    divide = 100.0 if unit == "cm2" else 1.0
    value, spread, reach = value / divide, spread / divide, reach / divide
    cautions = [words()["flat"], words()["lens"]]
    if plane.bend_mm > 0:
        cautions.insert(0, words()["widened"])
    if not plane.checked:
        cautions.append(words()["unchecked"])
    away = np.linalg.norm(mm / plane.scale - plane.middle_mm, axis=1).max() / plane.reach_mm
    if away > _FAR:
        cautions.append(words()["outside"])
    shown = "cm²" if unit == "cm2" else unit
    low, high = max(0.0, value - reach), value + reach
    digits = max(0, 1 - math.floor(math.log10(spread))) if spread > 0 else 2
    digits = min(digits, 2)
    figures = f"{value:.{digits}f} {shown} ({low:.{digits}f} to {high:.{digits}f}, {level:.0%})"
    return Size(
        kind=kind,
        value=value,
        unit=unit,
        uncertainty=spread,
        low=low,
        high=high,
        level=level,
        freedom=freedom,
        parts={name: each / divide for name, each in shares.items()},
        places_mm=tuple((float(x), float(y)) for x, y in mm),
        covariance_mm2=tuple(tuple(float(each) for each in row) for row in np.sum(parts, axis=0)),
        sentence=f"{'Length' if kind == 'length' else 'Area'} {figures}, in the plane of the card.",
        cautions=tuple(cautions),
        good_for=words()["good_for"],
        who_decides=words()["who_decides"],
    )


def student(level: float, freedom: float) -> float:
    """Give how many standard deviations an interval of a level reaches to each side, by Student's distribution.

    Parameters
    ----------
    level : float
        Between 0 and 1.
    freedom : float
        Degrees of freedom, 4 or more; infinite for the normal distribution. Cornish and Fisher's expansion, as in
        Abramowitz and Stegun 26.7.5: within 0.1 % at 95 % from 4 on.
    """
    z = NormalDist().inv_cdf((1 + level) / 2)
    if math.isinf(freedom):
        return z
    terms = (
        (z**3 + z) / 4,
        (5 * z**5 + 16 * z**3 + 3 * z) / 96,
        (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384,
        (79 * z**9 + 776 * z**7 + 1482 * z**5 - 1920 * z**3 - 945 * z) / 92160,
    )
    return z + sum(term / freedom ** (at + 1) for at, term in enumerate(terms))


def _pick(pick_px: float | None) -> float:
    value = settings().picking.point_px if pick_px is None else pick_px
    if not (math.isfinite(value) and value >= 0):
        raise _refused(f"an uncertainty of {value} pixels", "nought or more")
    return value


def _checked(px: Sequence[tuple[float, float]], least: int) -> Array:
    points = np.asarray(px, np.float64)
    if points.ndim != 2 or points.shape[1] != 2 or len(points) < least or not np.isfinite(points).all():
        raise _refused(f"{len(px)} places", f"{least} or more, each across and down in pixels")
    return points


def _crosses(points: Array) -> bool:
    """Tell whether two sides of an outline that do not follow one another cross."""
    count = len(points)
    after = np.roll(points, -1, axis=0)
    for one in range(count):
        for other in range(one + 2, count - (one == 0)):
            a, b, c, d = points[one], after[one], points[other], after[other]
            if _turn(a, b, c) * _turn(a, b, d) < 0 and _turn(c, d, a) * _turn(c, d, b) < 0:
                return True
    return False


def _turn(a: npt.NDArray[np.float64], b: npt.NDArray[np.float64], c: npt.NDArray[np.float64]) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def _refused(found: str, allowed: str) -> BadInputError:
    return BadInputError(
        Problem(
            slug="picked-refused",
            where="picked places",
            found=found,
            allowed=allowed,
            advice="Pick them once more.",
        )
    )
