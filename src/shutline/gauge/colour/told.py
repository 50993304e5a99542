"""What kept readings of colour come to: differences across a shut line, and L*a*b* of panels that meet."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import combinations
from statistics import fmean, stdev

from shutline.car.readings import Reading
from shutline.gauge.colour.across import SOURCE, across_keyed
from shutline.gauge.colour.balance import Lab
from shutline.gauge.colour.settings import words
from shutline.gauge.limits import Amount, amount
from shutline.gauge.results import Place, Result, Use, called, place_of, read_uses, result
from shutline.gauge.tables import shipped

_LAB = {"colour_lightness": "L*", "colour_red": "a*", "colour_yellow": "b*"}


@cache
def uses() -> dict[str, Use]:
    """Give what results are good for, by id."""
    return read_uses(shipped("colour", "uses.csv"), name="colour/uses.csv")


def colours_told(readings: Iterable[Reading], *, meet: Callable[[Place, Place], bool]) -> tuple[Result, ...]:
    """Tell each difference that was measured, then each panel's own colour, then panels that meet against each other.

    Parameters
    ----------
    readings : iterable of Reading
        ``colour_difference``, and ``colour_lightness``, ``colour_red`` and ``colour_yellow``; others are passed over.
        Of a panel the mean over its spots is taken, by one instrument: figures of two are not held against each other.
    meet : callable
        Whether two panels meet at a shut line.
    """
    taken = list(readings)
    told = [_difference(one) for one in taken if one.quantity == "colour_difference"]
    panels: dict[tuple[str, Place], list[Reading]] = {}
    for reading in taken:
        if reading.quantity in _LAB:
            panels.setdefault((reading.instrument, place_of(reading)), []).append(reading)
    known = [_Panel.of(group) for group in panels.values()]
    told += [one.told() for one in known]
    told += _between([one for one in known if not one.lacking], meet)
    return tuple(told)


@dataclass(frozen=True, slots=True)
class _Panel:
    """The colour of one panel by one instrument: mean and standard uncertainty of L*, a* and b*, those it has."""

    place: Place
    name: str
    instrument: str
    spots: int
    figures: dict[str, Amount]

    @classmethod
    def of(cls, group: Sequence[Reading]) -> _Panel:
        figures = {}
        for quantity, sign in _LAB.items():
            own = [one for one in group if one.quantity == quantity]
            if not own:
                continue
            values = [one.value for one in own]
            # The instrument's own error is in all spots alike; what the panel scatters by is not.
            scatter = stdev(values) / math.sqrt(len(values)) if len(values) > 1 else 0.0
            figures[sign] = amount(fmean(values), "", math.hypot(fmean(one.uncertainty for one in own), scatter))
        first = group[0]
        name = called(first).partition(",")[0]
        return cls(place_of(first), name, first.instrument, max(len(group) // len(figures), 1), figures)

    @property
    def lacking(self) -> list[str]:
        return [sign for sign in _LAB.values() if sign not in self.figures]

    @property
    def lab(self) -> Lab:
        light, red, yellow = (self.figures[sign].value for sign in _LAB.values())
        return light, red, yellow

    @property
    def doubt(self) -> Lab:
        light, red, yellow = (self.figures[sign].uncertainty for sign in _LAB.values())
        return light, red, yellow

    def told(self) -> Result:
        each = ", ".join(f"{sign} {figure.told()}" for sign, figure in self.figures.items())
        spots = f", mean of {self.spots} spots" if self.spots > 1 else ""
        lacking = f"; {' and '.join(self.lacking)} not told" if self.lacking else ""
        return result("colour", uses()["across"], self.place, told=f"{self.name}: {each}{spots}{lacking}.")


def _between(panels: Sequence[_Panel], meet: Callable[[Place, Place], bool]) -> Iterator[Result]:
    for one, other in combinations(panels, 2):
        if one.instrument != other.instrument or not meet(one.place, other.place):
            continue
        found = across_keyed(one.lab, other.lab, uncertainty_1=one.doubt, uncertainty_2=other.doubt)
        first, second = (f"the {name[:1].lower()}{name[1:]}" for name in (one.name, other.name))
        told = found.sentence.replace("The second side", second, 1).replace("the first", first, 1)
        figure = Amount(found.delta_e, "", found.uncertainty, found.low, found.high)
        yield result(
            "colour_between", uses()["across"], other.place, figure=figure, told=told, notes=(SOURCE, *found.cautions)
        )


def _difference(reading: Reading) -> Result:
    figure = amount(reading.value, "", reading.uncertainty, floor=0.0)
    told = f"{called(reading)}: CIEDE2000 {figure.told()} across the shut line"
    if figure.low == 0:
        told += ", which is no more than what was measured may be off"
    notes = [words()["seen"]]
    if reading.source:
        notes.append(words()["photograph"])
    return result("colour_difference", uses()["across"], place_of(reading), figure=figure, told=f"{told}.", notes=notes)
