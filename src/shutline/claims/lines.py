"""A written text cut into its sentences, each with the place of its letters."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from shutline.car.speech import Stretch, Word, WordTiming

_LINE = re.compile(r"[^\n\r]+")
_WORD = re.compile(r"\S+")
_BULLET = re.compile(r"(?:[-*+\u2022\u2023\u25e6\u2043\u2013\u2014\u00b7>#]+|\(?\d{1,2}[.)]|\(?[a-z][.)])\s+")
_END = re.compile(r"[.!?]+[)\"'\u2019\u201d]*\s+(?=[\"'\u2018\u201c(]?[A-Z0-9\u00a3])")
_SHORT = re.compile(
    r"(?:\b(?:c|ca|approx|no|nos|reg|mr|mrs|ms|dr|st|e\.g|i\.e|etc|m\.o\.t|o\.n\.o)|\b[A-Z])\.$", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence, or one line that is none.

    `first` is the place of its first letter in the whole text. `item` tells that it stands as a line of a list;
    `label` that it ends in a colon or stands as a heading, and introduces what follows.
    """

    text: str
    first: int
    item: bool = False
    label: bool = False

    def stretch(self) -> Stretch:
        """Give its words, each with the places of its letters in the whole text where speech has seconds.

        A line without a mark at its end gets a full stop: what stands on two lines is not one sentence.
        """
        closed = self.text[-1:] in ".!?:;,"
        words = tuple(
            Word(
                m.group() + ("" if closed or m.end() < len(self.text) else "."),
                float(self.first + m.start()),
                float(self.first + m.end()),
                WordTiming.GIVEN,
            )
            for m in _WORD.finditer(self.text)
        )
        start, end = (words[0].start_s, words[-1].end_s) if words else (0.0, 0.0)
        return Stretch(start, end, " ".join(word.text for word in words), words)


def sentences(text: str) -> Iterator[Sentence]:
    r"""Cut a text into sentences, in order; a line break ends one, and the mark of a list is no part of it.

    Examples
    --------
    >>> [(s.text, s.first, s.item) for s in sentences("No rust. Two keys.\n- a new clutch")]
    [('No rust.', 0, False), ('Two keys.', 9, False), ('a new clutch', 21, True)]
    """
    for line in _LINE.finditer(text):
        lead = re.match(r"\s*", line.group())
        at = line.start() + (lead.end() if lead else 0)
        bullet = _BULLET.match(text, at, line.end())
        if bullet is not None:
            at = bullet.end()
        yield from _of_line(text, at, line.end(), item=bullet is not None)


def _of_line(text: str, first: int, end: int, *, item: bool) -> Iterator[Sentence]:
    at = first
    for stop in _END.finditer(text, first, end):
        if _SHORT.search(text, at, stop.start() + 1):
            continue
        yield from _sentence(text, at, stop.end(), item=item)
        at = stop.end()
    yield from _sentence(text, at, end, item=item)


def _sentence(text: str, first: int, end: int, *, item: bool) -> Iterator[Sentence]:
    plain = text[first:end].rstrip()
    if any(letter.isalnum() for letter in plain):
        yield Sentence(plain, first, item, plain.endswith(":"))
