"""In which countries a car was, from when to when, and what contradicts that."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from shutline.history.countries import HOME, said_in
from shutline.history.doubts import Doubt, doubt
from shutline.history.keepers import overlapping
from shutline.history.spans import Period, Span, span_words


@dataclass(frozen=True, slots=True)
class Stays:
    """The countries in their order, each in a sentence, and what does not add up."""

    stays: tuple[Period, ...]
    sentences: tuple[str, ...]
    doubts: tuple[Doubt, ...]


def stays_of(stays: Sequence[Period], *, day: date, imported: Span | None = None, tested: Sequence[date] = ()) -> Stays:
    """Put the countries a car was in into their order, and hold them against one another and against what was here.

    Parameters
    ----------
    stays : sequence of Period
        Each of a country's letters, in any order; the order changes nothing.
    day : date
        Until when a stay lasts that has not ended.
    imported : (date, date), optional
        Between which days it was brought or first registered here; from then on it was here.
    tested : sequence of date
        Days on which it was tested here.
    """
    ordered = tuple(sorted(stays, key=Period.place))
    doubts = [
        doubt(
            "countries-overlap",
            f"It is entered as in {said_in(ordered[a].of)} and in {said_in(ordered[b].of)} at once.",
            stands_on=", ".join(sorted({ordered[a].stands_on, ordered[b].stands_on})),
        )
        for a, b in overlapping(ordered, day)
    ]
    for one in ordered:
        if one.of == HOME:
            continue
        abroad = f"it is entered as in {said_in(one.of)} {one.words()}"
        if imported is not None and _covers(one, imported, day):
            doubts.append(
                doubt(
                    "here-while-abroad",
                    f"It was imported {span_words(imported)}, and {abroad}.",
                    stands_on=one.stands_on,
                )
            )
        early = [test for test in tested if _covers(one, (test, test), day)]
        if early:
            words = f"It was tested here on {min(early).isoformat()}, and {abroad}."
            doubts.append(doubt("here-while-abroad", words, stands_on=one.stands_on))
    sentences = tuple(
        f"In {said_in(one.of)} {one.words()}{f' ({one.stands_on})' if one.stands_on else ''}." for one in ordered
    )
    return Stays(ordered, sentences, tuple(dict.fromkeys(doubts)))


def _covers(one: Period, span: Span, day: date) -> bool:
    """Tell whether it was there for certain all that time, and before and after it."""
    end = day if one.lasts else one.until[0] if one.until is not None else None
    return one.start is not None and end is not None and one.start[1] < span[0] and span[1] < end
