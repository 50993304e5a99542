"""Words cut into lines, and lines into pieces that overlap."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from shutline.car.speech import Stretch, Word
from shutline.second.settings import PieceSettings, settings

_ENDS: Final = (".", "!", "?", "…")
_CLOSING: Final = "\"')\u2019\u201d\u00bb"


@dataclass(frozen=True, slots=True)
class Line:
    """A run of words, about a sentence: from word `first` up to, not with, word `end`, counted from 0."""

    first: int
    end: int


@dataclass(frozen=True, slots=True)
class Piece:
    """A run of lines that is sent at once.

    `lines` count their words from the start of the piece, which is word `first` of the recording. A statement counts
    when its quote begins in words `core_first` up to, not with, `core_end` (of the piece): what lies outside is there
    for the context, and is core of the piece before or after. So each word is core of one piece and no more.
    """

    first: int
    texts: tuple[str, ...]
    lines: tuple[Line, ...]
    core_first: int
    core_end: int


def words_of(stretches: Sequence[Stretch]) -> tuple[Word, ...]:
    """Give all words of stretches, in order."""
    return tuple(word for stretch in stretches for word in stretch.words)


def pieces(stretches: Sequence[Stretch], *, sizes: PieceSettings | None = None) -> tuple[Piece, ...]:
    """Cut the words of a recording into pieces.

    Parameters
    ----------
    stretches : sequence of Stretch
        What was said.
    sizes : PieceSettings, optional
        How large; the shipped settings when left out.

    Returns
    -------
    tuple of Piece
        In order; their cores lie end to end and hold every word. None where there are no words.
    """
    sizes = sizes or settings().pieces
    lines = _lines(stretches, longest=sizes.longest_line)
    texts = [word.text for word in words_of(stretches)]
    found = []
    at = 0
    while at < len(lines):
        after = at + 1
        while after < len(lines) and lines[after].end - lines[at].first <= sizes.words:
            after += 1
        low, high = at, after
        while low > 0 and lines[at].first - lines[low].first < sizes.before:
            low -= 1
        while high < len(lines) and lines[high - 1].end - lines[after - 1].end < sizes.after:
            high += 1
        first = lines[low].first
        found.append(
            Piece(
                first=first,
                texts=tuple(texts[first : lines[high - 1].end]),
                lines=tuple(Line(line.first - first, line.end - first) for line in lines[low:high]),
                core_first=lines[at].first - first,
                core_end=lines[after - 1].end - first,
            )
        )
        at = after
    return tuple(found)


def _lines(stretches: Sequence[Stretch], *, longest: int) -> list[Line]:
    """Cut after each word that ends a sentence, at the end of each stretch, and wherever a line grows too long."""
    lines = []
    first = at = 0
    for stretch in stretches:
        for number, word in enumerate(stretch.words):
            at += 1
            last = number == len(stretch.words) - 1
            if last or at - first >= longest or word.text.rstrip(_CLOSING).endswith(_ENDS):
                lines.append(Line(first, at))
                first = at
    return lines


def folded(text: str) -> str:
    """Give the letters and digits of a text alone, without case, accents, marks and spaces."""
    decomposed = unicodedata.normalize("NFKD", text).casefold()
    return "".join(c for c in unicodedata.normalize("NFKD", decomposed) if c.isalnum())


class Quotes:
    """Where quotes stand in the words of a piece."""

    def __init__(self, piece: Piece) -> None:
        self._lines = piece.lines
        self._text = ""
        self._starts: dict[int, int] = {}
        self._ends: dict[int, int] = {}
        for number, text in enumerate(piece.texts):
            letters = folded(text)
            if not letters:
                continue
            self._starts[len(self._text)] = number
            self._text += letters
            self._ends[len(self._text)] = number

    def find(self, quote: str, *, line: int) -> tuple[int, int] | None:
        """Find a quote, whole words only, nearest to the line it is said to begin in.

        Parameters
        ----------
        quote : str
            Compared after both are folded, see `folded`.
        line : int
            Number of a line of the piece, from 0.

        Returns
        -------
        tuple of int, or None
            First and last word, of the piece; None where it does not stand in the words.
        """
        wanted = folded(quote)
        if not wanted:
            return None
        here = self._lines[line]
        best: tuple[int, int] | None = None
        at = self._text.find(wanted)
        while at >= 0:
            first, last = self._starts.get(at), self._ends.get(at + len(wanted))
            if first is not None and last is not None:
                far = max(here.first - first, first - (here.end - 1), 0)
                if best is None or far < max(here.first - best[0], best[0] - (here.end - 1), 0):
                    best = first, last
            at = self._text.find(wanted, at + 1)
        return best
