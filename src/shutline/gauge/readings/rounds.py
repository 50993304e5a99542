"""Rounds of measuring: which places, in which order, how often, and what to take care of."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from shutline.car.findings import Position, Side
from shutline.car.vocabulary import vocabulary
from shutline.gauge.readings.quantities import Quantity, quantities


@dataclass(frozen=True, slots=True)
class Round:
    """One round.

    `each` readings are taken at each spot. `spots` are taken in turn at each part, but the middle alone on those of
    `middle`; `words` says what they are called. `count` is how many numbered places there are (cylinders); nought
    where they are parts.
    """

    quantity: str
    title: str
    each: int
    parts: tuple[str, ...]
    spots: tuple[str, ...]
    middle: tuple[str, ...]
    words: Mapping[str, str]
    sided: bool
    count: int
    how: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Stop:
    """One place of a round, as a reading names it."""

    part: str
    side: Side | None
    position: Position | None
    spot: str


@cache
def rounds() -> dict[str, Round]:
    """Give the rounds by their quantity, in the order in which they are shown."""
    text = files("shutline.gauge.readings").joinpath("data/rounds.toml").read_text(encoding="utf-8")
    found = {}
    for key, raw in tomllib.loads(text).items():
        of = quantities()[key]
        found[key] = Round(
            quantity=key,
            title=raw["title"],
            each=raw["each"],
            parts=tuple(raw.get("parts", of.parts[:1])),
            spots=tuple(raw.get("spots", ("",))),
            middle=tuple(raw.get("middle", ())),
            words=raw.get("words", {}),
            sided=raw.get("sided", False),
            count=raw.get("count", 0),
            how=raw["how"],
            cautions=tuple(raw["cautions"]),
        )
    return found


def stops(of: Round, *, doors: int | None = None, count: int | None = None) -> tuple[Stop, ...]:
    """Give the places of a round, not yet in walking order.

    Parameters
    ----------
    of : Round
        The round.
    doors : int, optional
        How many doors the car has; with two or three there are none at the rear.
    count : int, optional
        How many cylinders; what the round says when left out.
    """
    if of.count:
        return tuple(Stop(of.parts[0], None, None, str(number)) for number in range(1, (count or of.count) + 1))
    return tuple(
        Stop(part, side, position, spot)
        for part in of.parts
        for side, position in _sides(part, of, doors)
        for spot in (("middle",) if part in of.middle else of.spots)
    )


def _sides(part: str, of: Round, doors: int | None) -> Iterator[tuple[Side | None, Position | None]]:
    about = vocabulary().parts[part]
    for position in (Position.FRONT, Position.REAR) if about.ended else (None,):
        if part == "door" and position is Position.REAR and doors in (2, 3):
            continue
        for side in (Side.NEAR, Side.OFF) if about.sided or of.sided else (None,):
            yield side, position


def quantity_of(of: Round) -> Quantity:
    """Give what a round reads."""
    return quantities()[of.quantity]
