"""Word error rate: the fewest words changed, left out or put in, over the words that were said."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

_NUMBER = re.compile(r"\d[\d,]*(?:\.\d+)?")
_WORD = re.compile(r"[a-z]+(?:'[a-z]+)?")


@dataclass(frozen=True, slots=True)
class WordErrors:
    """What it takes to turn the said words into the heard ones."""

    said: int
    changed: int
    left_out: int
    put_in: int

    @property
    def rate(self) -> float:
        """Errors for each word said; may pass 1."""
        return (self.changed + self.left_out + self.put_in) / max(1, self.said)


def word_errors(said: Sequence[str], heard: Sequence[str]) -> WordErrors:
    """Count by Levenshtein's distance on words, with one of the cheapest ways.

    Each cell holds cost, changed, left out, put in; ties go to the smaller tuple, so that the count is always the same.
    """
    above = [(j, 0, 0, j) for j in range(len(heard) + 1)]
    for i, word in enumerate(said, start=1):
        row = [(i, 0, i, 0)]
        for j, other in enumerate(heard, start=1):
            cost, changed, left_out, put_in = above[j - 1]
            differs = int(word != other)
            here = (cost + differs, changed + differs, left_out, put_in)
            cost, changed, left_out, put_in = above[j]
            here = min(here, (cost + 1, changed, left_out + 1, put_in))
            cost, changed, left_out, put_in = row[j - 1]
            row.append(min(here, (cost + 1, changed, left_out, put_in + 1)))
        above = row
    _, changed, left_out, put_in = above[-1]
    return WordErrors(len(said), changed, left_out, put_in)


def plain_words(text: str) -> list[str]:
    """Reduce a text to what a listener could tell apart: lower case, no marks, hyphens open, figures as words.

    Figures need the `inflect` library, a development dependency.
    """
    import inflect

    engine = inflect.engine()

    def spoken(match: re.Match[str]) -> str:
        figures = match.group().replace(",", "")
        if re.fullmatch(r"1[1-9]\d\d|20[1-9]\d", figures) and "," not in match.group():
            return f" {engine.number_to_words(figures[:2])} {engine.number_to_words(figures[2:])} "
        return f" {engine.number_to_words(figures, andword='and')} "

    plain = unicodedata.normalize("NFKC", text).lower().replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")
    plain = plain.replace("%", " percent ").replace("£", " pounds ")
    return _WORD.findall(_NUMBER.sub(spoken, plain).replace("-", " "))
