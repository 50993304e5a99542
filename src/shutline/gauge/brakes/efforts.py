"""Efforts on the rollers, sorted by what was applied and by wheel, and the sums of the test."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from shutline.car.findings import Position, Side
from shutline.car.readings import Reading
from shutline.gauge.limits import Amount, amount, unfit
from shutline.gauge.results import amount_of

Wheel = tuple[Position | None, Side]


class Applied(StrEnum):
    """What was applied while the rollers turned."""

    SERVICE = "service"
    SECONDARY = "secondary"
    PARKING = "parking"
    BIND = "bind"


@dataclass(frozen=True, slots=True)
class Efforts:
    """The efforts of one test, kgf, by what was applied and by wheel; the test weight, kg, None where not known.

    Of several readings of a wheel the highest counts. A handbrake's wheels may be without an end. `locked` are the
    wheels that locked on the rollers. `left_out` are those of which nobody said the wheel, in words.
    """

    by: Mapping[Applied, Mapping[Wheel, Amount]] = field(default_factory=dict)
    weight: Amount | None = None
    locked: Mapping[Applied, frozenset[Wheel]] = field(default_factory=dict)
    left_out: tuple[str, ...] = ()


def sorted_efforts(readings: Iterable[Reading]) -> Efforts:
    """Sort the readings of a roller test.

    Parameters
    ----------
    readings : iterable of Reading
        ``brake_effort`` in kgf, each with a side, or ``near`` or ``off`` as its spot, and for the footbrake an end;
        ``brake`` of their details says what was applied, without it the handbrake of the part ``handbrake``, else the
        footbrake; ``locked`` says whether the wheel locked. ``test_weight`` in kg, the last one counts. Others are
        passed over.

    Raises
    ------
    BadInputError
        One is in another unit (slug ``reading-unfit``).
    """
    by: dict[Applied, dict[Wheel, Amount]] = {}
    locked: dict[Applied, frozenset[Wheel]] = {}
    weight = None
    left_out: list[str] = []
    for reading in readings:
        if reading.quantity == "test_weight":
            weight = amount_of(reading, "kg")
        if reading.quantity != "brake_effort":
            continue
        usual = Applied.PARKING if reading.part == "handbrake" else Applied.SERVICE
        applied = Applied(str(reading.details.get("brake", usual)))
        side = reading.side or next((one for one in (Side.NEAR, Side.OFF) if one.value in reading.spot.split()), None)
        end = reading.position
        if side not in {Side.NEAR, Side.OFF} or (end is None and applied is not Applied.PARKING):
            lacking = "front or rear" if side in {Side.NEAR, Side.OFF} else "nearside or offside"
            left_out.append(f"{applied} {reading.value:g} {reading.unit}, {lacking}")
            continue
        effort = amount_of(reading, "kgf")
        wheels = by.setdefault(applied, {})
        if reading.details.get("locked") == "yes":
            locked[applied] = locked.get(applied, frozenset()) | {(end, side)}
        best = wheels.get((end, side))
        if best is None or effort.value > best.value:
            wheels[end, side] = effort
    return Efforts(by, weight, locked, tuple(left_out))


def total(efforts: Iterable[Amount]) -> Amount:
    """Add efforts, kgf. One machine read them all: their errors are taken to go together, so that they add up."""
    gathered = list(efforts)
    return amount(sum(e.value for e in gathered), "kgf", sum(e.uncertainty for e in gathered), floor=0.0)


def efficiency(effort: Amount, weight: Amount) -> Amount:
    """Give the brake efficiency, %: 100 x effort in kgf / test weight in kg (MOT inspection manual 2012, 3.8).

    Raises
    ------
    BadInputError
        The weight is not above nought (slug ``reading-unfit``).
    """
    if not weight.value > 0:
        raise unfit("test weight", f"{weight.value:g} kg", "above nought", "Weigh the car, or look at its plate.")
    share = 100 * effort.value / weight.value
    return amount(
        share, "%", math.hypot(100 * effort.uncertainty, share * weight.uncertainty) / weight.value, floor=0.0
    )


def imbalance(one: Amount, other: Amount) -> Amount:
    """Give the imbalance of an axle, %: 100 x (higher - lower) / higher (MOT inspection manual 2012, 3.8).

    The errors of the two sides are taken as independent: were they common, they would fall out of the ratio.

    Raises
    ------
    BadInputError
        Neither side has an effort above nought (slug ``reading-unfit``).
    """
    lower, higher = sorted((one, other), key=lambda effort: effort.value)
    if not higher.value > 0:
        raise unfit("brake effort", "nought on both sides", "an effort on one side at least", "Apply the brake.")
    ratio = lower.value / higher.value
    own = math.hypot(lower.uncertainty, ratio * higher.uncertainty) / higher.value
    return amount(100 * (1 - ratio), "%", 100 * own, floor=0.0, ceiling=100.0)
