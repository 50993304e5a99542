"""What has changed between readings of one thing on different days."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import NormalDist, fmean

from shutline.car.plan import spoken_name
from shutline.car.readings import Reading
from shutline.gauge.readings.quantities import in_first_unit, quantities

LEVEL = 0.95
_REACH = NormalDist().inv_cdf((1 + LEVEL) / 2)


@dataclass(frozen=True, slots=True)
class Trend:
    """One thing on its first and its last day, in the first unit of its quantity.

    `change` is the last less the first, with its standard uncertainty; `changed` is True where the interval at `LEVEL`
    leaves nought out. `days` counts the days on which it was read.
    """

    reading: Reading
    first_day: date
    last_day: date
    first: float
    last: float
    change: float
    uncertainty: float
    changed: bool
    days: int
    sentence: str


def trends(readings: Iterable[tuple[Reading, date]]) -> tuple[Trend, ...]:
    """Tell what has changed between days, in the order in which the things were first read.

    Readings of one quantity at one place and spot, under the same conditions (`details` in words, such as wet or dry),
    are of one thing; those of one day are taken as their mean. What one instrument brings into all of them alike
    cancels where both days were read with it, so the uncertainty is a little on the wide side.

    Parameters
    ----------
    readings : iterable of (Reading, date)
        Each with the day on which it was read.
    """
    things: dict[tuple[object, ...], list[tuple[Reading, date]]] = defaultdict(list)
    for reading, day in readings:
        things[_thing(reading)].append((in_first_unit(reading), day))
    return tuple(_trend(group) for group in things.values() if len({day for _, day in group}) > 1)


def _thing(reading: Reading) -> tuple[object, ...]:
    told = sorted((name, value) for name, value in reading.details.items() if isinstance(value, str))
    return (reading.quantity, reading.part, reading.side, reading.position, reading.spot, *told)


def _trend(group: Sequence[tuple[Reading, date]]) -> Trend:
    days = sorted({day for _, day in group})
    first, first_u = _mean([reading for reading, day in group if day == days[0]])
    last, last_u = _mean([reading for reading, day in group if day == days[-1]])
    change, uncertainty = last - first, math.hypot(first_u, last_u)
    changed = abs(change) > _REACH * uncertainty
    return Trend(
        reading=group[0][0],
        first_day=days[0],
        last_day=days[-1],
        first=first,
        last=last,
        change=change,
        uncertainty=uncertainty,
        changed=changed,
        days=len(days),
        sentence=_sentence(group[0][0], days, (first, last), uncertainty, changed=changed),
    )


def _mean(readings: Sequence[Reading]) -> tuple[float, float]:
    # One instrument: its error is in all of them, and is not made smaller by reading more often.
    return fmean(one.value for one in readings), fmean(one.uncertainty for one in readings)


def _sentence(reading: Reading, days: Sequence[date], ends: tuple[float, float], doubt: float, *, changed: bool) -> str:
    first, last = ends
    change = last - first
    of = quantities()[reading.quantity]
    unit = of.units[0].label

    def shown(value: float) -> str:
        return f"{value:,.{of.decimals}f} {unit}".strip()

    place = spoken_name(reading.part, reading.side, reading.position)
    where = f"{place}, {reading.spot}" if reading.spot else place
    told = (
        f"{where[:1].upper()}{where[1:]}: {of.label} {shown(first)} on {days[0].isoformat()}, "
        f"{shown(last)} on {days[-1].isoformat()}"
    )
    if not changed:
        return f"{told}: no more apart than the instrument may be off."
    reach = _REACH * doubt
    way = "more" if change > 0 else "less"
    return (
        f"{told}: {shown(abs(change))} {way} ({shown(max(0.0, abs(change) - reach))} to {shown(abs(change) + reach)})."
    )
