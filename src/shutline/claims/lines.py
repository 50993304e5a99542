"""A written text cut into its sentences, each with the place of its letters."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from shutline.car.speech import Stretch, StretchOrigin, Word, WordTiming
from shutline.claims.written_data import small_words

_LINE = re.compile(r"[^\n\r]+")
_WORD = re.compile(r"\S+")
_BULLET = re.compile(r"(?:[-*+\u2022\u2023\u25e6\u2043\u2013\u2014\u00b7>#]+|\(?\d{1,2}[.)]|\(?[a-z][.)])\s+")
_END = re.compile(r"[.!?]+[)\"'\u2019\u201d]*\s+(?=[\"'\u2018\u201c(]?[A-Z0-9\u00a3])|;\s+")
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
    before.
    """

    text: str
    first: int
    item: bool = False
    label: bool = False
    runs_on: bool = False

    def stretch(self) -> Stretch:
        """Give its words, each with the places of its letters in the whole text where speech has seconds.

        A line without a mark at its end gets a full stop: what stands on two lines is not one sentence.
        """
        closed = self.text[-1:] in ".!?:;,"
        words = tuple(
            Word(
                _in_full(m.group()) + ("" if closed or m.end() < len(self.text) else "."),
                float(self.first + m.start()),
                float(self.first + m.end()),
                WordTiming.GIVEN,
            )
            for m in _WORD.finditer(self.text)
        )
        start, end = (words[0].start_s, words[-1].end_s) if words else (0.0, 0.0)
        return Stretch(start, end, " ".join(word.text for word in words), words, StretchOrigin.TRANSCRIPT)


def _in_full(word: str) -> str:
    """Give the word that a short form stands for: 'Seats exc.'."""
    if word == "&":
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
    """
    for line in _LINE.finditer(text):
        lead = re.match(r"\s*", line.group())
        at = line.start() + (lead.end() if lead else 0)
        bullet = _BULLET.match(text, at, line.end())
        if bullet is not None:
            at = bullet.end()
        yield from _of_line(text, at, line.end(), item=bullet is not None)


def headed(parts: Iterable[Sentence]) -> Iterator[Sentence]:
    """Cut off what a sentence begins with as a heading: 'Underneath: solid.'; it tells what is spoken of next.

    >>> [(s.text, s.label) for s in headed(sentences("Underneath: solid, no rust."))]
    [('Underneath:', True), ('solid, no rust.', False)]
    """
    for sentence in parts:
        head = _HEAD.match(sentence.text)
        if head is None:
            yield sentence
            continue
        yield Sentence(
            sentence.text[: head.end()].rstrip(), sentence.first, sentence.item, label=True, runs_on=sentence.runs_on
        )
        yield Sentence(sentence.text[head.end() :], sentence.first + head.end(), sentence.item, sentence.label)


def _of_line(text: str, first: int, end: int, *, item: bool) -> Iterator[Sentence]:
    at, runs_on = first, False
    for stop in _END.finditer(text, first, end):
        if _SHORT.search(text, at, stop.start() + 1):
            continue
        yield from _sentence(text, at, stop.end(), item=item, runs_on=runs_on)
        at, runs_on = stop.end(), text[stop.start()] == ";"
    yield from _sentence(text, at, end, item=item, runs_on=runs_on)


def _sentence(text: str, first: int, end: int, *, item: bool, runs_on: bool) -> Iterator[Sentence]:
    plain = text[first:end].rstrip()
    if any(letter.isalnum() for letter in plain):
        yield Sentence(plain, first, item, plain.endswith(":"), runs_on)
