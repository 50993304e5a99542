"""The chain of keepers: who had the car from when to when, where it overlaps or has gaps, and what it contradicts."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

from shutline.history.doubts import Doubt, doubt
from shutline.history.spans import Period, Span, span_words
from shutline.history.tables import text_of


@dataclass(frozen=True, slots=True)
class NumberTold:
    """How many keepers were told, by which day, and how that is known."""

    count: int
    day: date | None
    how: str


@dataclass(frozen=True, slots=True)
class Gap:
    """A time of which nobody is entered."""

    start: date
    until: date


@dataclass(frozen=True, slots=True)
class Chain:
    """The keepers in their order, each in a sentence with its name, what lies between, and what does not add up."""

    keepings: tuple[Period, ...]
    sentences: tuple[str, ...]
    gaps: tuple[Gap, ...]
    doubts: tuple[Doubt, ...]


def chain_of(
    keepings: Sequence[Period],
    *,
    day: date,
    made: Span | None = None,
    registered: Span | None = None,
    told: Sequence[NumberTold] = (),
) -> Chain:
    """Put keepers in their order, and hold them against one another and against what else is known.

    What cannot be told for certain, because a date is known to a year alone, is no doubt. Two entries of one name that
    overlap are one keeper. Dates that lie within `slack_days` of one another (`data/keepers.toml`) meet.

    Parameters
    ----------
    keepings : sequence of Period
        Each of a keeper's name, in any order; the order changes nothing.
    day : date
        Until when a keeper lasts who has not ended.
    made, registered : (date, date), optional
        Between which days the car was made and first registered.
    told : sequence of NumberTold
        Numbers of keepers that were told.
    """
    ordered = tuple(sorted(keepings, key=Period.place))
    gaps = tuple(_gaps(ordered, day, registered))
    doubts = [
        doubt(
            "keeper-before-made",
            f"The car was made {span_words(made)}, and {_called(number, one)} began {span_words(one.start)}.",
            stands_on=one.stands_on,
        )
        for number, one in enumerate(ordered, 1)
        if made is not None and one.start is not None and one.start[1] < made[0]
    ]
    doubts += [
        doubt(
            "keepers-overlap",
            f"The times of {_called(a + 1, ordered[a])} and {_called(b + 1, ordered[b])} overlap.",
            stands_on=", ".join(sorted({ordered[a].stands_on, ordered[b].stands_on})),
        )
        for a, b in overlapping(ordered, day)
    ]
    doubts += [
        doubt("keepers-gap", f"Nobody is entered as keeper from {gap.start.isoformat()} to {gap.until.isoformat()}.")
        for gap in gaps
    ]
    doubts += _count_doubts(ordered, gaps, told, day, registered)
    sentences = tuple(_sentence(number, one) for number, one in enumerate(ordered, 1))
    return Chain(ordered, sentences, gaps, tuple(dict.fromkeys(doubts)))


def _gaps(ordered: Sequence[Period], day: date, registered: Span | None) -> Iterator[Gap]:
    # Up to which day it is told who had it; None where an end is not known, and nothing can be said.
    told = registered[1] if registered is not None else None
    for one in ordered:
        if told is not None and one.start is not None and one.start[0] - told > _slack():
            yield Gap(told, one.start[0])
        end = day if one.lasts else one.until[1] if one.until is not None else None
        told = max(each for each in (told, end, one.begun_by) if each is not None) if end is not None else None


def overlapping(ordered: Sequence[Period], day: date) -> Iterator[tuple[int, int]]:
    """Give the places of each two of different names that overlap for certain, and by more than a little."""
    for b, later in enumerate(ordered):
        for a, earlier in enumerate(ordered[:b]):
            if not _same(earlier, later) and _overlap(earlier, later, day):
                yield a, b


def _overlap(one: Period, other: Period, day: date) -> bool:
    begun = [each.begun_by for each in (one, other)]
    ended = [each.ended_from(day) for each in (one, other)]
    if None in begun or None in ended:
        return False
    return min(each for each in ended if each) - max(each for each in begun if each) > _slack()


def _same(one: Period, other: Period) -> bool:
    return bool(one.of) and " ".join(one.of.casefold().split()) == " ".join(other.of.casefold().split())


def _count_doubts(
    ordered: Sequence[Period], gaps: Sequence[Gap], told: Sequence[NumberTold], day: date, registered: Span | None
) -> Iterator[Doubt]:
    keepers = [
        one
        for number, one in enumerate(ordered)
        if not any(_same(one, other) and _overlap(one, other, day) for other in ordered[:number])
    ]
    whole = (
        bool(ordered)
        and not gaps
        and registered is not None
        and ordered[0].start is not None
        and all(one.start is not None and (one.lasts or one.until is not None) for one in ordered)
    )
    for number in told:
        if number.day is None:
            continue
        begun = sum(1 for one in keepers if one.begun_by is not None and one.begun_by <= number.day)
        possible = sum(1 for one in keepers if one.start is None or one.start[0] <= number.day)
        said = f"{_keepers(number.count)} told by {number.day.isoformat()} ({number.how})"
        if begun > number.count:
            yield doubt("keepers-count", f"{_keepers(begun)} entered who had begun by then, and {said}.")
        elif whole and possible < number.count:
            yield doubt("keepers-count", f"{_keepers(possible)} entered without a gap, and {said}.")


def _keepers(count: int) -> str:
    return "1 keeper is" if count == 1 else f"{count} keepers are"


def _called(number: int, one: Period) -> str:
    return f"keeper {number} ({one.of})" if one.of else f"keeper {number}"


def _sentence(number: int, one: Period) -> str:
    name = f": {one.of}" if one.of else ""
    rests = f" ({one.stands_on})" if one.stands_on else ""
    return f"Keeper {number}{name}, {one.words()}{rests}."


@cache
def _slack() -> timedelta:
    return timedelta(days=tomllib.loads(text_of("keepers.toml"))["slack_days"])
