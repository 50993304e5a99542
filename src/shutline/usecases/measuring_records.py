"""What is picked on a picture or rated by eye or keyed to be measured, and what comes of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from shutline.car.errors import Problem, UserError

if TYPE_CHECKING:
    from shutline.car.readings import KeptReading

Place = tuple[float, float]
"""Across and down in shares of the upright picture, 0 to 1."""
Lab = tuple[float, float, float]
"""L*, a*, b* under D65."""
_MOST_PLACES = 200


class Measure(StrEnum):
    """What is measured."""

    LENGTH = "length"
    AREA = "area"
    RUST = "rust"
    COLOUR = "colour"
    BLISTERS = "blisters"
    """By eye against the drawn scales, on a picture or at the car."""
    COLOURS = "colours"
    """Two colours keyed from a spectrophotometer; of no picture."""


_LEAST = {Measure.LENGTH: 2, Measure.AREA: 3, Measure.RUST: 3, Measure.COLOUR: 3}


@dataclass(frozen=True, slots=True)
class Picked:
    """What somebody picked on a picture, rated by eye or keyed.

    `places` are the points of a length or the corners of an outline; for colour those of a piece on one side of the
    shut line and `beside` of one on the other; for blisters where they are, if anybody says. For colour, `grey` is an
    outline on a grey card and `grey_lab` what the card is known to be, a neutral grey of 18 % when left out; `chart`
    are the middles of the four corner fields of the user's own chart, clockwise from its first field. `ruler_mm` is
    the true length of the marker card's printed ruler. `pick_px` is the standard uncertainty of a place, pixels of the
    picture. `density` and `size` rate blisters, 2 to 5, or both 0 for none. `lab` and `lab_beside` are keyed colours,
    `lab_uncertainty` the standard uncertainty of each of their figures, the spectrophotometer's when left out.
    """

    what: Measure
    places: tuple[Place, ...] = ()
    beside: tuple[Place, ...] = ()
    grey: tuple[Place, ...] = ()
    ruler_mm: float | None = None
    ruler_uncertainty_mm: float | None = None
    pick_px: float | None = None
    grey_lab: Lab | None = None
    chart: tuple[Place, ...] = ()
    density: int | None = None
    size: int | None = None
    lab: Lab | None = None
    lab_beside: Lab | None = None
    lab_uncertainty: float | None = None


@dataclass(frozen=True, slots=True)
class MeasuredPlace:
    """Where on the car it is kept as a reading; `part` empty where it is not kept."""

    part: str = ""
    side: str = ""
    position: str = ""
    spot: str = ""


@dataclass(frozen=True, slots=True)
class Measured:
    """What came of it: the figure with its interval and what is said with it, and the readings if it was kept.

    `picture` is empty where it is of none. `unit` is mm, cm2, % or 1; `told` False where the figure is of no use, and
    then it is not kept. `more` are figures beside it: of rust the grades, of colour what the difference is made of.
    `beside` are figures that are kept as readings of their own, by quantity: of blisters their size.
    """

    car: str
    picture: str
    picked: Picked
    quantity: str
    value: float
    unit: str
    uncertainty: float
    low: float
    high: float
    level: float
    told: bool
    sentence: str
    cautions: tuple[str, ...]
    good_for: str
    who_decides: str
    source: str
    instrument: str = "photograph"
    more: dict[str, float | str] = field(default_factory=dict)
    beside: dict[str, float] = field(default_factory=dict)
    kept: tuple[KeptReading, ...] = ()


def picked_words(picked: Picked) -> str:
    """Write down what was picked.

    ``length 0.1234,0.5678 0.4321,0.8765``; outlines of colour one after the other; ``blisters 3(S4)``;
    ``colours 45.2,12.1,3.3 | 46,12,3``.
    """
    told = []
    if picked.what is Measure.COLOURS:
        told = [",".join(f"{each:g}" for each in lab) for lab in (picked.lab, picked.lab_beside) if lab is not None]
    elif picked.what is Measure.BLISTERS:
        rating = "0" if not picked.size else f"{picked.density}(S{picked.size})"
        told = [rating, *([_of_places(picked.places)] if picked.places else [])]
    else:
        groups = [picked.places, picked.beside, picked.grey, picked.chart]
        while not groups[-1]:
            groups.pop()
        told = [_of_places(group) for group in groups]
    return f"{picked.what.value} {' | '.join(told)}"


def _of_places(places: tuple[Place, ...]) -> str:
    return " ".join(f"{x:.5f},{y:.5f}" for x, y in places)


def check(picked: Picked) -> None:
    """See that enough was picked, within the picture, and nothing that its kind does not have.

    Raises
    ------
    UserError
        Slug ``measure-picked``.
    """
    groups = {"places": picked.places, "beside": picked.beside, "grey": picked.grey, "chart": picked.chart}
    for label, places in groups.items():
        if len(places) > _MOST_PLACES:
            raise refused(label, f"{len(places)} places", f"up to {_MOST_PLACES}")
        for x, y in places:
            if not (0 <= x <= 1 and 0 <= y <= 1):
                raise refused(label, f"a place at {x:g}, {y:g}", "0 to 1, shares of the picture")
    if picked.what is Measure.BLISTERS:
        if picked.density is None or picked.size is None:
            raise refused("blisters", "no density or no size", "both, by the drawn scales, or both 0 for none")
        return
    if picked.what is Measure.COLOURS:
        if picked.lab is None or picked.lab_beside is None:
            raise refused("colours", "one colour or none", "L*, a* and b* of both sides of the line")
        return
    least = _LEAST[picked.what]
    if len(picked.places) < least:
        raise refused("places", f"{len(picked.places)} places", f"{least} or more for {picked.what.value}")
    if picked.what is Measure.COLOUR:
        _check_colour(picked)


def _check_colour(picked: Picked) -> None:
    if len(picked.beside) < _LEAST[Measure.COLOUR]:
        raise refused("beside", f"{len(picked.beside)} places", "three corners or more on the other side")
    if picked.grey and len(picked.grey) < _LEAST[Measure.COLOUR]:
        raise refused("grey", f"{len(picked.grey)} places", "three corners or more on the grey card")
    if picked.grey_lab is not None and not picked.grey:
        raise refused("grey", "its colour without an outline", "three corners or more on the grey card")
    if picked.chart and len(picked.chart) != 4:
        raise refused("chart", f"{len(picked.chart)} places", "the middles of its four corner fields")
    if picked.chart and picked.grey:
        raise refused("grey and chart", "both", "one of them: a chart has its own greys")


def refused(where: str, found: str, allowed: str) -> UserError:
    """Make the refusal of what was picked."""
    return UserError(Problem("measure-picked", where, found, allowed, "Pick once more."))
