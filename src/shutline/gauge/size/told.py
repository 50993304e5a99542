"""What kept readings of sizes come to."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

from shutline.car.readings import Reading
from shutline.gauge.limits import amount
from shutline.gauge.results import Result, Use, called, place_of, read_uses, result
from shutline.gauge.size.settings import words
from shutline.gauge.tables import shipped

_KINDS = {"length": ("mm", "mm"), "area": ("cm2", "cm²")}


@cache
def uses() -> dict[str, Use]:
    """Give what results are good for, by id."""
    return read_uses(shipped("size", "uses.csv"), name="size/uses.csv")


def sizes_told(readings: Iterable[Reading]) -> tuple[Result, ...]:
    """Tell each length, mm, and area, cm², with its interval; readings of other quantities are passed over."""
    told = []
    for reading in readings:
        if reading.quantity not in _KINDS:
            continue
        unit, shown = _KINDS[reading.quantity]
        figure = amount(reading.value, unit, reading.uncertainty, floor=0.0)
        words_ = amount(reading.value, shown, reading.uncertainty, floor=0.0).told()
        notes = (words()["flat"],) if reading.source else ()
        text = f"{called(reading)}: {reading.quantity} {words_}."
        told.append(result(reading.quantity, uses()["size"], place_of(reading), figure=figure, told=text, notes=notes))
    return tuple(told)
