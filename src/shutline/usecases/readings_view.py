"""The readings of a car as a page shows them: what waits, what stands by what it is of, and what can be measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.findings import State
from shutline.usecases.gauges import CarGauges, gauges_of
from shutline.usecases.look import find_car
from shutline.usecases.readings import figure_words, place_words, value_words

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.car.readings import KeptReading
    from shutline.store import Store


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """A reading in words: what, the figure alone, where, how it came in.

    `sha256` names the film that it was called out in.
    """

    kept: KeptReading
    words: str
    figure: str
    place: str
    came: str
    sha256: str | None = None


@dataclass(frozen=True, slots=True)
class ReadingSection:
    """The readings of one quantity that stand, in walking order."""

    quantity: str
    label: str
    lines: tuple[ReadingLine, ...]


@dataclass(frozen=True, slots=True)
class RoundOffered:
    """A round that may be walked, and how many readings of it stand."""

    quantity: str
    title: str
    read: int


@dataclass(frozen=True, slots=True)
class QuantityOffered:
    """What may be entered by hand: its units, its parts (id and label; all where it may be any) and details."""

    id: str
    label: str
    units: tuple[tuple[str, str], ...]
    parts: tuple[tuple[str, str], ...]
    details: dict[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class ReadingsView:
    """All that the page of readings shows; `told` is what the readings that stand come to."""

    car: str
    title: str
    waiting: tuple[ReadingLine, ...]
    sections: tuple[ReadingSection, ...]
    struck: tuple[ReadingLine, ...]
    rounds: tuple[RoundOffered, ...]
    quantities: tuple[QuantityOffered, ...]
    told: CarGauges


def readings_view(store: Store, name: str) -> ReadingsView:
    """Give the readings of a car for a page.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do.
    """
    from shutline.gauge.readings import quantities
    from shutline.gauge.readings.rounds import rounds
    from shutline.publish.naming import walk_order

    car = find_car(store, name)
    lines = [_line(car, one) for one in car.readings]

    def in_state(state: State) -> list[ReadingLine]:
        return [line for line in lines if line.kept.state is state]

    standing = sorted(
        in_state(State.STANDS),
        key=lambda line: walk_order(line.kept.reading.part, line.kept.reading.side, line.kept.reading.position),
    )
    sections = tuple(
        ReadingSection(of.id, of.label, own)
        for of in quantities().values()
        if (own := tuple(line for line in standing if line.kept.reading.quantity == of.id))
    )
    counts = {section.quantity: len(section.lines) for section in sections}
    return ReadingsView(
        car=car.name,
        title=car.title,
        waiting=tuple(in_state(State.HEARD)),
        sections=sections,
        struck=tuple(in_state(State.STRUCK)),
        rounds=tuple(RoundOffered(key, one.title, counts.get(key, 0)) for key, one in rounds().items()),
        quantities=_offered(),
        told=gauges_of(car),
    )


def _offered() -> tuple[QuantityOffered, ...]:
    from shutline.car.vocabulary import vocabulary
    from shutline.gauge.readings import quantities

    parts = vocabulary().parts
    return tuple(
        QuantityOffered(
            of.id,
            of.label,
            tuple((one.id, one.label or "none") for one in of.units),
            tuple((part, parts[part].label) for part in (of.parts or parts)),
            {key: tuple(words) for key, words in of.details.items()},
        )
        for of in quantities().values()
    )


def _line(car: CarFile, kept: KeptReading) -> ReadingLine:
    reading = kept.reading
    films = {one.id: one.original for one in car.recordings}
    film = films.get(reading.source)
    came = {
        "keyed": "keyed in",
        "file": "from a table",
        "spoken": "called out",
        "picture": "off a picture",
    }[reading.way.value]
    by = kept.changes[0].author if kept.changes else ""
    if by and by != "program":
        came += f" by {by}"
    if reading.instrument:
        came += f", {_instrument(reading.instrument)}"
    return ReadingLine(
        kept, value_words(reading), figure_words(reading), place_words(reading), came, film.sha256 if film else None
    )


def _instrument(name: str) -> str:
    from shutline.gauge.readings import instruments

    known = instruments().get(name)
    return known.label if known else name
