"""A round of measuring at one car: its places in walking order, and what was read there before."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.errors import NotFoundError, Problem
from shutline.car.findings import State
from shutline.usecases.look import find_car

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.gauge.readings.rounds import Round, Stop
    from shutline.store import Store


@dataclass(frozen=True, slots=True)
class RoundReading:
    """A reading at a place of the round: the figure in its own unit, and what else was told of it."""

    value: float
    unit: str
    details: dict[str, float | str]


@dataclass(frozen=True, slots=True)
class RoundStop:
    """One place of a round: where, in words and as a reading names it, and what stands of it."""

    name: str
    spot_words: str
    part: str
    side: str
    position: str
    spot: str
    read: tuple[RoundReading, ...]


@dataclass(frozen=True, slots=True)
class RoundUnit:
    """A unit that may be chosen, and between what a figure in it must lie."""

    id: str
    label: str
    lowest: float
    highest: float


@dataclass(frozen=True, slots=True)
class RoundPage:
    """All that a round needs, so that it can be walked without signal.

    `each` readings are wanted at each stop. `details` are what is asked once for the round, with the words that may be
    chosen, none for a number; `own_details` are asked with each figure. `instruments` are id and label of those that
    read it.
    """

    car: str
    title: str
    quantity: str
    label: str
    round: str
    each: int
    how: str
    cautions: tuple[str, ...]
    units: tuple[RoundUnit, ...]
    decimals: int
    details: dict[str, tuple[str, ...]]
    own_details: dict[str, tuple[str, ...]]
    instruments: tuple[tuple[str, str], ...]
    stops: tuple[RoundStop, ...]


def readings_round(store: Store, name: str, quantity: str) -> RoundPage:
    """Give a round at a car.

    Parameters
    ----------
    store : Store
        Where it is kept.
    name : str
        The car's name, or a beginning of it that no other has.
    quantity : str
        What is read, by its id.

    Raises
    ------
    NotFoundError
        No such car, or no such round (slug ``round-unknown``).
    """
    from shutline.gauge.readings import instruments
    from shutline.gauge.readings.rounds import quantity_of, rounds, stops
    from shutline.usecases.readings import own_instruments

    car = find_car(store, name)
    this = rounds().get(quantity)
    if this is None:
        raise NotFoundError(
            Problem(
                slug="round-unknown",
                where=f"round {quantity[:40]!r}",
                found="there is no such round",
                allowed=", ".join(rounds()),
                advice="Choose one of them; anything else is entered on the page of readings.",
            )
        )
    of = quantity_of(this)
    known = {**instruments(), **own_instruments()}
    return RoundPage(
        car=car.name,
        title=car.title,
        quantity=of.id,
        label=of.label,
        round=this.title,
        each=this.each,
        how=this.how,
        cautions=this.cautions,
        units=tuple(
            RoundUnit(one.id, one.label, (of.lowest - one.offset) / one.factor, (of.highest - one.offset) / one.factor)
            for one in of.units
        ),
        decimals=of.decimals,
        details={key: tuple(words) for key, words in of.details.items() if key not in of.own_details},
        own_details={key: tuple(of.details[key]) for key in of.own_details},
        instruments=tuple((one.id, one.label) for one in known.values() if of.id in one.quantities),
        stops=_stops(car, this, stops(this, doors=car.doors, count=_cylinders(car))),
    )


def _stops(car: CarFile, this: Round, found: tuple[Stop, ...]) -> tuple[RoundStop, ...]:
    from shutline.publish.naming import capitalised, place_name, walk_order

    standing = (one.reading for one in car.readings if one.state is State.STANDS)
    readings = [one for one in standing if one.quantity == this.quantity]
    order = sorted(found, key=lambda stop: walk_order(stop.part, stop.side, stop.position))
    return tuple(
        RoundStop(
            name=capitalised(place_name(stop.part, stop.side, stop.position)),
            spot_words=this.words.get(stop.spot) or (f"cylinder {stop.spot}" if stop.spot.isdecimal() else stop.spot),
            part=stop.part,
            side=stop.side.value if stop.side else "",
            position=stop.position.value if stop.position else "",
            spot=stop.spot,
            read=tuple(
                RoundReading(one.value, one.unit, one.details)
                for one in readings
                if (one.part, one.side, one.position, one.spot) == (stop.part, stop.side, stop.position, stop.spot)
            ),
        )
        for stop in order
    )


def _cylinders(car: CarFile) -> int | None:
    """Give how many cylinders were told of, by whoever had the engine heard last."""
    return next((one.note.cylinders for one in reversed(car.engine_notes)), None)
