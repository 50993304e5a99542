"""When the walk is at a part of the car: what was said of it, from first word to last, over all its recordings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from shutline.car.findings import Position, Side, State
from shutline.car.places import Visit
from shutline.usecases.read import walk_of

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile, Recording
    from shutline.car.findings import Finding
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


def confirmed_walk(car: CarFile, recording: str) -> tuple[Visit, ...]:
    """Say where the speaker was in a recording at each moment at which something was said that a person let stand."""
    spans: dict[tuple[str, Side | None, Position | None], list[tuple[float, float]]] = {}
    for kept in car.going_out():
        found = kept.finding
        if found.state is State.STANDS:
            # What a person entered for a moment is no place that the walk came to.
            said = replace(found, footings=tuple(one for one in found.footings if one not in found.by_hand))
            spans.setdefault((found.part, found.side, found.position), []).extend(_said_in(said, recording))
    visits = [Visit(start, end, *place) for place, said in spans.items() for start, end in _joined(said)]
    return tuple(sorted(visits, key=lambda one: (one.start_s, one.end_s, one.part)))


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
            spans += _said_in(found, recording.id)
    return (PartTime(recording.id, start_s, end_s) for start_s, end_s in _joined(spans))


def _said_in(found: Finding, recording: str) -> list[tuple[float, float]]:
    """Give from when to when the words of a finding are in a recording."""
    return [
        (footing.start_s, footing.end_s if footing.end_s is not None else footing.start_s)
        for footing in found.footings
        if footing.source == recording and footing.start_s is not None
    ]


def _joined(spans: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """Put spans together that lie no farther apart than one stay."""
    joined: list[tuple[float, float]] = []
    for start_s, end_s in sorted(spans):
        if joined and start_s <= joined[-1][1] + _JOIN_S:
            joined[-1] = (joined[-1][0], max(joined[-1][1], end_s))
        else:
            joined.append((start_s, end_s))
    return joined
