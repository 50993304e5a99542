"""Figures as they are called out: 'one twenty, one eighteen', 'five point five', 'a hundred and ten'."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from statistics import median

from shutline.remarks.numbers import TENS, UNITS

_PARTS = {("a", "half"): 0.5, ("half",): 0.5, ("a", "quarter"): 0.25, ("three", "quarters"): 0.75}
_LEADS = {*UNITS, *TENS, "a", "half"}
_INSIDE = {*UNITS, *TENS, "hundred", "thousand", "point", "oh", "and", "half", "quarter", "quarters", "a"}
_Look = Callable[[int], str]
_FIGURES = re.compile(r"\d{1,3}(?:,\d{3})+|\d+(?:\.\d+)?")
_PAUSE_S = 0.25
"""A gap between two words that parts two figures more often than not: common practice, no source."""
_OUT_OF_RANGE = 6.0
_PAUSE = 0.7
_LONG_PAUSE_S = 0.8
"""A gap over which hardly anybody goes on with the same figure: common practice, no source."""
_LONG_PAUSE = 1.6
_DEVIATION = 0.6
_YEAR = -1.0
"""What stands for 'nineteen sixty-six', which no instrument shows: a step of its own, never given."""


@dataclass(frozen=True, slots=True)
class Token:
    """A word in lower case without marks: its index among the words, times in seconds, whether a mark follows."""

    text: str
    word: int
    start_s: float
    end_s: float
    mark: bool


@dataclass(frozen=True, slots=True)
class Called:
    """A figure that was called out, in the tokens from `first` up to and without `end`.

    `other` is True where the words could as well be parted otherwise.
    """

    first: int
    end: int
    value: float
    other: bool = False


def called(tokens: Sequence[Token], *, low: float, high: float, usual: float | None = None) -> tuple[Called, ...]:
    """Find the figures in tokens, parted so that they are of one size, within `low` to `high`, and at the pauses.

    'One twenty one eighteen one twenty five' without a mark is 120, 118, 125 where figures of about a hundred are
    likely; 'one', 'twenty-one' and so on are not. `usual` is a figure that the others are likely to be near; None
    where nobody knows.
    """
    found: list[Called] = []
    for first, end in _stretches(tokens):
        known = [one.value for one in found if low <= one.value <= high]
        near = median(known) if known else usual
        found += _parted(tokens, first, end, low=low, high=high, near=near)
    if usual is None and len(found) > 2:
        known = [one.value for one in found if low <= one.value <= high]
        if known:
            return called(tokens, low=low, high=high, usual=median(known))
    return tuple(one for one in found if low <= one.value <= high)


def _stretches(tokens: Sequence[Token]) -> Iterator[tuple[int, int]]:
    """Give the runs of tokens that are of figures without a mark between."""
    at = 0
    while at < len(tokens):
        if tokens[at].text not in _LEADS and not _FIGURES.fullmatch(tokens[at].text):
            at += 1
            continue
        end = at
        while end < len(tokens) and (tokens[end].text in _INSIDE or _FIGURES.fullmatch(tokens[end].text)):
            end += 1
            if tokens[end - 1].mark:
                break
        yield at, end
        at = end


def _parted(
    tokens: Sequence[Token], first: int, end: int, *, low: float, high: float, near: float | None
) -> list[Called]:
    """Give the likeliest way to part a run of number words, by the least sum of costs."""
    nothing: list[Called] = []
    best = [(0.0, nothing)] + [(math.inf, nothing)] * (end - first)
    second = [math.inf] * (end - first + 1)
    for at in range(first, end):
        cost, found = best[at - first]
        if math.isinf(cost):
            continue
        steps: list[tuple[int, float | None]] = [*_readings(tokens, at, end), (at + 1, None)]
        for stop, value in steps:
            more = _cost(tokens, at, stop, value, low=low, high=high, near=near)
            total = cost + more
            there = stop - first
            if total < best[there][0]:
                second[there] = min(second[there], best[there][0])
                best[there] = (total, found if value is None else [*found, Called(at, stop, value)])
            else:
                second[there] = min(second[there], total)
    total, found = best[end - first]
    if second[end - first] - total < 0.2:
        return [Called(one.first, one.end, one.value, other=True) for one in found]
    return found


def _cost(
    tokens: Sequence[Token], at: int, stop: int, value: float | None, *, low: float, high: float, near: float | None
) -> float:
    gaps = [tokens[k + 1].start_s - tokens[k].end_s for k in range(at, stop - 1)]
    paused = sum(_LONG_PAUSE if gap > _LONG_PAUSE_S else _PAUSE for gap in gaps if gap > _PAUSE_S)
    if value is None:
        # A word left out: 'and', 'a' between figures cost little, a number word much.
        return 0.1 if tokens[at].text in {"and", "a"} else 3.0
    cost = 1.0 + paused
    if value == _YEAR:
        return cost
    if not low <= value <= high:
        return cost + _OUT_OF_RANGE
    if near and value > 0:
        cost += _DEVIATION * min(2.0, abs(math.log(value / near)))
    return cost


def _readings(tokens: Sequence[Token], at: int, end: int) -> Iterator[tuple[int, float]]:
    """Give each number that the tokens from `at` on may be: where it ends, and its value."""
    text = tokens[at].text

    def word(k: int) -> str:
        return tokens[k].text if k < end else ""

    if _FIGURES.fullmatch(text):
        value = float(text.replace(",", ""))
        yield at + 1, value
        yield from _with_part(word, at + 1, value)
        if word(at + 1) == "point" and word(at + 2).isdecimal():
            yield at + 3, float(f"{text}.{word(at + 2)}")
        return
    for stop, value in _whole(word, at):
        yield stop, value
        yield from _with_part(word, stop, value)
        if word(stop) == "point":
            figures = ""
            k = stop + 1
            while word(k) in UNITS or word(k) == "oh" or word(k).isdecimal():
                figure = word(k) if word(k).isdecimal() else str(UNITS.get(word(k), 0))
                if len(figure) > 1 and figures:
                    break
                figures += figure
                k += 1
                yield k, float(f"{int(value)}.{figures}")


def _whole(word: _Look, at: int) -> Iterator[tuple[int, float]]:
    text = word(at)
    if text == "a" and word(at + 1) == "hundred":
        yield from _hundreds(word, at + 2, 100)
        return
    if text == "half" and word(at + 1) == "a":
        return
    low = list(_below_hundred(word, at))
    for stop, value in low:
        yield stop, value
        if text in {"nineteen", "twenty"} and stop == at + 1 and (word(stop) in TENS or word(stop) == "oh"):
            for after, _ in _below_hundred(word, stop + (word(stop) == "oh")):
                yield after, _YEAR
        if word(stop) == "hundred" and value < 100:
            yield from _hundreds(word, stop + 1, value * 100)
        if word(stop) == "thousand":
            yield stop + 1, value * 1000
    if text in UNITS and 0 < UNITS[text] < 10:
        lead = UNITS[text] * 100
        if word(at + 1) == "oh" and 0 < UNITS.get(word(at + 2), 0) < 10:
            yield at + 3, lead + UNITS[word(at + 2)]
        for stop, value in _below_hundred(word, at + 1):
            if value >= 10:
                yield stop, lead + value
        second, third = UNITS.get(word(at + 1), 99), UNITS.get(word(at + 2), 99)
        if second < 10 and third < 10:
            yield at + 3, lead + second * 10 + third


def _hundreds(word: _Look, at: int, value: float) -> Iterator[tuple[int, float]]:
    yield at, value
    after = at + (word(at) == "and")
    for stop, more in _below_hundred(word, after):
        if more:
            yield stop, value + more


def _below_hundred(word: _Look, at: int) -> Iterator[tuple[int, float]]:
    text = word(at)
    if text in UNITS:
        yield at + 1, UNITS[text]
    elif text in TENS:
        yield at + 1, TENS[text]
        if 0 < UNITS.get(word(at + 1), 0) < 10:
            yield at + 2, TENS[text] + UNITS[word(at + 1)]


def _with_part(word: _Look, at: int, value: float) -> Iterator[tuple[int, float]]:
    if word(at) == "and":
        for words, part in _PARTS.items():
            if all(word(at + 1 + k) == one for k, one in enumerate(words)):
                yield at + 1 + len(words), value + part
