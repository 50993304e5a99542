"""Tread across a tyre, held against the rule for the car's first use."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shutline.car.readings import Reading
from shutline.gauge.limits import LEVEL, Amount, FirstUse, Held, Limit, amount, fitting, hold, share_within, unfit
from shutline.gauge.results import Meaning, Place, Result, amount_of, place_of, result
from shutline.gauge.tyres.rules import limits, meanings, uses, wear

_ACROSS = {"inner": "inner", "centre": "centre", "middle": "centre", "outer": "outer"}


@dataclass(frozen=True, slots=True)
class TreadPoint:
    """One depth: `across` is ``inner``, ``centre``, ``outer`` or empty; `in_band` where the rule counts it."""

    depth: Amount
    across: str
    in_band: bool


def tread_points(readings: Iterable[Reading]) -> list[TreadPoint]:
    """Give the points of one tyre; those at an edge do not count for the rule.

    ``inner`` and ``outer`` are taken to lie inside the central three quarters.

    Raises
    ------
    BadInputError
        A reading is not in millimetres (slug ``reading-unfit``).
    """
    points = []
    for reading in readings:
        words = reading.spot.split()
        across = next((_ACROSS[word] for word in words if word in _ACROSS), "")
        points.append(TreadPoint(amount_of(reading, "mm"), across, not set(words) & set(wear().outside_band)))
    return points


def tread(points: Sequence[TreadPoint], *, first_used: FirstUse | None, place: Place | None = None) -> Result:
    """Hold the tread of one tyre against the rule, and tell uneven wear.

    The shallowest point decides. It is within only if all points are, and outside if one is, whatever their errors
    have in common and however many points there are (Bonferroni); and within only where it was measured, for the rule
    is for all the way round.

    Parameters
    ----------
    points : sequence of TreadPoint
        Of one tyre; one or more in the band.
    first_used : FirstUse or None
        When the car was first used.
    place : Place, optional
        Where the tyre is.

    Raises
    ------
    BadInputError
        No point lies in the band (slug ``reading-unfit``).
    """
    counted = [one for one in points if one.in_band]
    if not counted:
        raise unfit(
            "tread depth",
            "no point in the central three quarters of the tread",
            "one at least, better three across at several places round",
            "Measure at the inner side, the centre and the outer side of the band.",
        )
    where = place or Place("tyre")
    least = min(counted, key=lambda one: one.depth.value)
    rules = fitting(limits(), "tread_depth", first_used=first_used)
    name = f"{where.told()} {'spare' if where.part == 'spare_wheel' else 'tyre'}".strip()
    at = f" at the {least.across}" if least.across and len(counted) > 1 else ""
    what = f"{name}, shallowest of {len(counted)}{at}" if len(counted) > 1 else f"{name}, one point"
    held = [_held(counted, least.depth, limit, what) for limit in rules]
    notes = ["Only where it was measured: the rule is for all the way round."]
    missing = {"inner", "centre", "outer"} - {one.across for one in counted}
    if missing:
        notes.append(f"Not measured at: {', '.join(sorted(missing))}.")
    if any(not one.in_band for one in points):
        notes.append("Points at an edge lie outside the central three quarters and were left out.")
    if where.part == "spare_wheel":
        notes.append("A spare is not tested while it is a spare; on the road it has to meet the rule.")
    use = uses()["tread"]
    return result("tread_depth", use, where, figure=least.depth, held=held, meanings=uneven(counted), notes=notes)


def treads(readings: Iterable[Reading], *, first_used: FirstUse | None) -> tuple[Result, ...]:
    """Tell of each tyre that readings are of; raises as `tread_points` and `tread` do."""
    by_place: dict[Place, list[Reading]] = {}
    for reading in readings:
        if reading.quantity == "tread_depth":
            by_place.setdefault(place_of(reading), []).append(reading)
    return tuple(tread(tread_points(group), first_used=first_used, place=place) for place, group in by_place.items())


def uneven(points: Sequence[TreadPoint]) -> list[Meaning]:
    """Tell how a tyre is worn unevenly: differences beyond the readings' uncertainty and the least that is told."""
    means = {across: _mean([p.depth for p in points if p.across == across]) for across in ("inner", "centre", "outer")}
    inner, centre, outer = (means[across] for across in ("inner", "centre", "outer"))
    found = []
    if inner and outer:
        if _less(inner, outer):
            found.append("inner_low")
        elif _less(outer, inner):
            found.append("outer_low")
    if inner and outer and centre:
        if _less(centre, inner) and _less(centre, outer):
            found.append("centre_low")
        elif _less(inner, centre) and _less(outer, centre):
            found.append("shoulders_low")
    return [meanings()[name] for name in found]


def _held(points: Sequence[TreadPoint], least: Amount, limit: Limit, what: str) -> Held:
    likely = [share_within(one.depth, limit) for one in points]
    return hold(least, limit, what=what, probability=_all_within(likely))


def _all_within(likely: Sequence[float]) -> float:
    """Give how likely all points are within: at most, at least, or between, as far as it can be told of any errors."""
    tail = (1 - LEVEL) / 2
    at_most = min(1.0, len(likely) * min(likely))
    if at_most <= tail:
        return at_most
    at_least = max(0.0, 1 - sum(1 - one for one in likely))
    if at_least >= 1 - tail:
        return at_least
    return min(max(min(likely), math.nextafter(tail, 1)), math.nextafter(1 - tail, 0))


def _mean(depths: Sequence[Amount]) -> Amount | None:
    if not depths:
        return None
    # One gauge: its error is common to all, so that a mean is no surer than one reading.
    return amount(
        sum(one.value for one in depths) / len(depths), "mm", max(one.uncertainty for one in depths), floor=0.0
    )


def _less(one: Amount, other: Amount) -> bool:
    difference = amount(other.value - one.value, "mm", (one.uncertainty**2 + other.uncertainty**2) ** 0.5)
    return difference.low > 0 and difference.value >= wear().uneven_mm
