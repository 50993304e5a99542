"""When the walk is at a part of the car: what was said of it, from first word to last, over all its recordings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.findings import Position, Side
from shutline.usecases.read import walk_of

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile, Recording
    from shutline.car.places import Visit
    from shutline.usecases.at_the_car import Place

_JOIN_S = 1.5
"""Two stays at one part with no more than this between them are one, seconds."""


@dataclass(frozen=True, slots=True)
class PartTime:
    """One stay at a part: in which recording, by its id, and from when to when, seconds."""

    recording: str
    start_s: float
    end_s: float


def walks_of(car: CarFile) -> dict[str, tuple[Visit, ...]]:
    """Say where the speaker was in each recording of a car; read from the words, which gives the same every time."""
    return {one.id: walk_of(one.stretches, drive=car.drive) if one.stretches else () for one in car.recordings}


def times_at(car: CarFile, place: Place, walks: dict[str, tuple[Visit, ...]] | None = None) -> tuple[PartTime, ...]:
    """Give each time that a place of a car was spoken of, in the order of the recordings and of time.

    Parameters
    ----------
    car : CarFile
        What is known of the car: findings that were not struck count as well as the walk itself.
    place : Place
        A place; what was said of its part without a side or an end counts for both.
    walks : dict, optional
        As `walks_of` gave it, where that is at hand.
    """
    walks = walks_of(car) if walks is None else walks
    return tuple(time for recording in car.recordings for time in _times_in(car, recording, place, walks[recording.id]))


def is_at(place: Place, part: str, side: Side | None, position: Position | None) -> bool:
    """Tell whether what is said of a part, side and end may be said of a place."""
    return (
        part == place.part
        and (place.side is None or side in (None, Side.BOTH, place.side))
        and (place.position is None or position in (None, Position.BOTH, place.position))
    )


def _times_in(car: CarFile, recording: Recording, place: Place, walk: tuple[Visit, ...]) -> Iterable[PartTime]:
    spans = [(v.start_s, v.end_s) for v in walk if is_at(place, v.part, v.side, v.position)]
    for kept in car.going_out():
        found = kept.finding
        if is_at(place, found.part, found.side, found.position):
            spans += [
                (footing.start_s, footing.end_s if footing.end_s is not None else footing.start_s)
                for footing in found.footings
                if footing.source == recording.id and footing.start_s is not None
            ]
    joined: list[tuple[float, float]] = []
    for start_s, end_s in sorted(spans):
        if joined and start_s <= joined[-1][1] + _JOIN_S:
            joined[-1] = (joined[-1][0], max(joined[-1][1], end_s))
        else:
            joined.append((start_s, end_s))
    return (PartTime(recording.id, start_s, end_s) for start_s, end_s in joined)
