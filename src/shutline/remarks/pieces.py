"""Words cut into the pieces that a general language encoder knows: the longest known beginning first."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field

UNKNOWN, OPENING, CLOSING = "[UNK]", "[CLS]", "[SEP]"
_LONGEST = 100
"""Letters from which a word is taken for unknown, as the encoder's own cutter does."""


def plain_letters(word: str) -> str:
    """Take accents off and make letters small.

    >>> plain_letters("Citroën")
    'citroen'
    """
    return "".join(c for c in unicodedata.normalize("NFD", word.lower()) if unicodedata.category(c) != "Mn")


def runs(word: str) -> list[str]:
    """Cut a word at its marks; each mark stands alone.

    >>> runs("o'clock")
    ['o', "'", 'clock']
    """
    out: list[str] = []
    fresh = True
    for letter in word:
        if letter.isspace():
            fresh = True
        elif unicodedata.category(letter).startswith("P") or (letter.isascii() and not letter.isalnum()):
            out.append(letter)
            fresh = True
        elif fresh:
            out.append(letter)
            fresh = False
        else:
            out[-1] += letter
    return out


@dataclass(slots=True)
class Pieces:
    """The pieces an encoder knows, and their numbers; a piece that goes on in a word starts with two hashes."""

    numbers: Mapping[str, int]
    _kept: dict[str, tuple[int, ...]] = field(default_factory=dict)

    def of(self, word: str) -> tuple[int, ...]:
        """Give the numbers of the pieces of a word, at least one."""
        kept = self._kept.get(word)
        if kept is None:
            kept = self._kept[word] = self._cut(word)
        return kept

    def _cut(self, word: str) -> tuple[int, ...]:
        out: list[int] = []
        for run in runs(plain_letters(word)):
            if len(run) > _LONGEST:
                out.append(self.numbers[UNKNOWN])
                continue
            found: list[int] = []
            at = 0
            while at < len(run):
                end = len(run)
                while end > at:
                    number = self.numbers.get(run[at:end] if at == 0 else "##" + run[at:end])
                    if number is not None:
                        found.append(number)
                        break
                    end -= 1
                if end == at:
                    found = [self.numbers[UNKNOWN]]
                    break
                at = end
            out += found
        return tuple(out) or (self.numbers[UNKNOWN],)
