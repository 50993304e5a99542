"""A written text cut into its sentences, each with the place of its letters."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from shutline.car.speech import Stretch, StretchOrigin, Word, WordTiming
from shutline.claims.relations import relations
from shutline.claims.written_data import small_words

_LINE = re.compile(r"[^\n\r]+")
_WORD = re.compile(r"\S+")
_BULLET = re.compile(r"(?:[-*+\u2022\u2023\u25e6\u2043\u2013\u2014\u00b7>#]+|\(?\d{1,2}[.)]|\(?[a-z][.)])\s+")
_END = re.compile(r"(?<![.!?])[.!?]++[)\"'\u2019\u201d]*+\s++(?=[\"'\u2018\u201c(]?[A-Z0-9\u00a3])|;\s++")
_TRAILING = re.compile(r"(?:(?<!\.)\.{2,}+|\u2026)\s*+(?=\w)")
"""Dots that run on: 'starts well…new battery'."""
_BETWEEN = re.compile(r"(?<!\s)\s++[*\u2022\u2023\u25e6\u2043\u00b7|~]++\s++")
"""Marks between the items of a list that is set in one line."""
_DASHED = re.compile(r"(?<!\s)\s++[-\u2013\u2014]++\s++")
_LISTED = 3
"""So many dashes in a line part the items of a list."""
_BROKEN = 50
"""The least letters of a line that may have been broken because it grew too long."""
_UNDER = re.compile(r"[^\S\n]*\n[^\S\n]*\n(?P<line>[^\n]+)")
"""An empty line, and the line behind it."""
_HEADED = 30
"""The least letters of the line behind a heading that stands alone."""
_HEAD = re.compile(r"[*_]{0,2}(?P<name>[A-Za-z][\w'\u2019/&-]*(?: [\w'\u2019/&-]+){0,3})[*_]{0,2}:[*_]{0,2}\s+(?=\S)")
_SHORT = re.compile(
    r"(?:\b(?:c|ca|c\.c|o\.k|prev|approx|no|nos|reg|mr|mrs|ms|dr|st|e\.g|i\.e|etc|m\.o\.t|o\.n\.o)|\b[A-Z])\.$",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence, or one line that is none.

    `first` is the place of its first letter in the whole text. `item` tells that it stands as a line of a list;
    `label` that it ends in a colon and introduces what follows; `runs_on` that only a semicolon parts it from the one
    before; `opens` that it begins a paragraph behind an empty line.
    """

    text: str
    first: int
    item: bool = False
    label: bool = False
    runs_on: bool = False
    opens: bool = False

    def stretch(self) -> Stretch:
        """Give its words, each with the places of its letters in the whole text where speech has seconds.

        A line without a mark at its end gets a full stop: what stands on two lines is not one sentence.
        """
        closed = self.text[-1:] in ".!?:;,"
        words = tuple(
            Word(
                _in_full(_without_point(m.group(), self.text[m.end() : m.end() + 2]))
                + ("" if closed or m.end() < len(self.text) else "."),
                float(self.first + m.start()),
                float(self.first + m.end()),
                WordTiming.GIVEN,
            )
            for m in _WORD.finditer(self.text)
        )
        start, end = (words[0].start_s, words[-1].end_s) if words else (0.0, 0.0)
        return Stretch(start, end, " ".join(word.text for word in words), words, StretchOrigin.TRANSCRIPT)


def _without_point(word: str, following: str) -> str:
    """Leave out the point of a short form that a sentence goes on behind: 'Int. exc. throughout'."""
    plain = word[:-1].casefold()
    if not word.endswith(".") or not (following[1:].islower() or following[1:].isdecimal()):
        return word
    return word[:-1] if plain in small_words().short or "/" in plain or len(plain) == 1 else word


def _in_full(word: str) -> str:
    """Give the word that a short form stands for: 'Seats exc.'."""
    if word in ("&", "+"):
        return "and"
    plain = word.rstrip(".,;:!?")
    full = small_words().short.get(plain.casefold())
    return word if full is None else full + word[len(plain) :]


def sentences(text: str) -> Iterator[Sentence]:
    r"""Cut a text into sentences, in order; a line break ends one, and the mark of a list is no part of it.

    Examples
    --------
    >>> [(s.text, s.first, s.item) for s in sentences("No rust. Two keys.\n- a new clutch")]
    [('No rust.', 0, False), ('Two keys.', 9, False), ('a new clutch', 21, True)]
    >>> [s.text for s in sentences("Starts well... new battery \u2022 two keys")]
    ['Starts well...', 'new battery', 'two keys']
    """
    behind = 0
    for begin, stop in _lines(text):
        lead = re.match(r"\s*", text[begin:stop])
        at = begin + (lead.end() if lead else 0)
        bullet = _BULLET.match(text, at, stop)
        if bullet is not None:
            at = bullet.end()
        opens = bullet is None and behind > 0 and text.count("\n", behind, at) > 1
        behind = stop
        if bullet is None and _is_heading(text, at, stop):
            yield Sentence(text[at:stop].rstrip(), at, label=True)
            continue
        for first, end, alone in _items(text, at, stop):
            for sentence in _of_line(text, first, end, item=bullet is not None or alone):
                yield replace(sentence, opens=opens)
                opens = False


def number_around(parts: Sequence[Sentence], letter: int) -> int:
    """Give the number of the sentence that a letter of the text stands in: the last that begins up to it, or the first.

    >>> number_around(list(sentences("No rust. Two keys.")), 10)
    1
    """
    return max(0, bisect_right(parts, letter, key=lambda one: one.first) - 1)


def _is_heading(text: str, first: int, end: int) -> bool:
    """Tell whether words that only say what comes stand alone over a paragraph, between empty lines."""
    if not relations().headings_alone.issuperset(text[first:end].casefold().split()):
        return False
    below = _UNDER.match(text, end)
    alone = first == 0 or text[:first].endswith("\n\n")
    return alone and below is not None and len(below["line"]) >= _HEADED


def headed(parts: Iterable[Sentence]) -> Iterator[Sentence]:
    """Cut off what a sentence begins with as a heading: 'Underneath: solid.'; it tells what is spoken of next.

    >>> [(s.text, s.label) for s in headed(sentences("Underneath: solid, no rust."))]
    [('Underneath:', True), ('solid, no rust.', False)]
    """
    for sentence in parts:
        head = _HEAD.match(sentence.text)
        if head is None or _answers(sentence.text[head.end() :]):
            yield sentence
            continue
        yield Sentence(
            sentence.text[: head.end()].rstrip(),
            sentence.first,
            sentence.item,
            label=True,
            runs_on=sentence.runs_on,
            opens=sentence.opens,
        )
        yield Sentence(sentence.text[head.end() :], sentence.first + head.end(), sentence.item, sentence.label)


def _answers(rest: str) -> bool:
    """Tell whether the words behind a heading only say whether it is so: 'rust: none found'."""
    return relations().answers.issuperset(re.findall(r"[a-z]+", rest.casefold()))


def _lines(text: str) -> Iterator[tuple[int, int]]:
    """Give the first letter and the end of each line; one that was broken where it grew too long goes on."""
    held: tuple[int, int] | None = None
    for line in _LINE.finditer(text):
        if held is not None and _goes_on(text, *held, line.start()):
            held = held[0], line.end()
            continue
        if held is not None:
            yield held
        held = line.start(), line.end()
    if held is not None:
        yield held


def _goes_on(text: str, first: int, end: int, following: int) -> bool:
    """Tell whether a line was broken in the middle of a sentence, as letters are."""
    last = text.rfind("\n", first, end) + 1
    long = end - max(first, last) >= _BROKEN
    return long and text[end - 1] not in ".!?:;" and text[following].islower() and text.count("\n", end, following) == 1


def _items(text: str, first: int, end: int) -> Iterator[tuple[int, int, bool]]:
    """Cut a line that is a list into its items: 'new tyres • two keys'; whether it is one is given with each."""
    marks = list(_BETWEEN.finditer(text, first, end))
    dashes = list(_DASHED.finditer(text, first, end))
    if len(dashes) >= _LISTED:
        marks = sorted([*marks, *dashes], key=lambda mark: mark.start())
    at = first
    for mark in marks:
        if mark.start() > at:
            yield at, mark.start(), True
        at = mark.end()
    yield at, end, bool(marks)


def _of_line(text: str, first: int, end: int, *, item: bool) -> Iterator[Sentence]:
    at, runs_on = first, False
    stops = [*_END.finditer(text, first, end), *_TRAILING.finditer(text, first, end)]
    for stop in sorted(stops, key=lambda mark: mark.start()):
        if stop.start() < at or _SHORT.search(text, at, stop.start() + 1):
            continue
        yield from _sentence(text, at, stop.end(), item=item, runs_on=runs_on)
        at, runs_on = stop.end(), text[stop.start()] in ";\u2026" or text.startswith("..", stop.start())
    yield from _sentence(text, at, end, item=item, runs_on=runs_on)


def _sentence(text: str, first: int, end: int, *, item: bool, runs_on: bool) -> Iterator[Sentence]:
    plain = text[first:end].rstrip()
    if any(letter.isalnum() for letter in plain):
        yield Sentence(plain, first, item, plain.endswith(":"), runs_on)
