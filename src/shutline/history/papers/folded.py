"""Words as a reader of print may have got them, 0 for O, 1 for l, spaces gone; phrases are found all the same."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Generic, TypeVar

BREAK = "\n"
"""What parts the cells of a row: no phrase goes across it."""

# Signs that are taken for one another are folded into one.
_SAME = str.maketrans("0158i", "olsbl")
_ALIKE = {"i": "[i1l|!]", "l": "[l1i|!]", "o": "[o0]", "s": "[s5]", "b": "[b8]", "z": "[z2]"}
_APOSTROPHES = ("'", "\u2019")
# A shorter phrase has to be a word by itself; a longer one is found where the spaces are gone too.
_LONG = 8
_KEY = 3

Meaning = TypeVar("Meaning")


@dataclass(frozen=True, slots=True)
class Folded:
    """A text folded to small letters and figures: `text`, and for each sign of it where it stood."""

    text: str
    at: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Found(Generic[Meaning]):
    """A phrase in a text, from `first` to before `end`, and what it means."""

    first: int
    end: int
    meaning: Meaning


def folded(text: str) -> Folded:
    """Fold a text.

    >>> folded("Oate 0f Müll-1").text
    'oateofmulll'
    """
    plain = text.translate(_ONE_FOR_ONE)
    if _GONE not in text and not _ODD.search(plain):
        return Folded(plain.replace(_GONE, ""), tuple([at for at, sign in enumerate(plain) if sign != _GONE]))
    signs: list[str] = []
    at: list[int] = []
    for place, sign in enumerate(text):
        made = _FOLDED.get(sign)
        for one in _fold(sign) if made is None else made:
            signs.append(one)
            at.append(place)
    return Folded("".join(signs), tuple(at))


def noisy(word: str) -> str:
    """Give a pattern for a word whose signs may have been read as those that look like them.

    >>> noisy("mile")
    'm[i1l|!][l1i|!]e'
    """
    return "".join(_ALIKE.get(sign, re.escape(sign)) for sign in word.lower())


class Lexicon(Generic[Meaning]):
    """Phrases and what they mean; several may share one phrase.

    Of meanings of one type each stretch of a text has its longest phrase alone; of the types of `every` it has all.
    """

    def __init__(self, phrases: Iterable[tuple[str, Meaning]], *, every: tuple[type, ...] = ()) -> None:
        self._every = every
        self._by_key: dict[str, list[tuple[str, Meaning]]] = {}
        for phrase, meaning in phrases:
            plain = folded(phrase).text
            self._by_key.setdefault(plain[:_KEY], []).append((plain, meaning))
        for rows in self._by_key.values():
            rows.sort(key=lambda row: -len(row[0]))

    def found(self, text: str, fold: Folded | None = None) -> list[Found[Meaning]]:
        """Find the phrases of a text, in their order."""
        fold = fold or folded(text)
        letters, at, by_key = fold.text, fold.at, self._by_key
        hits: list[tuple[int, int, Meaning]] = []
        begins = [first for first in range(len(letters) - 1) if letters[first : first + _KEY] in by_key]
        for first in begins:
            for plain, meaning in by_key[letters[first : first + _KEY]]:
                if letters.startswith(plain, first) and _stands(text, at, first, len(plain)):
                    hits.append((first, first + len(plain), meaning))
        return [Found(at[first], at[end - 1] + 1, meaning) for first, end, meaning in self._longest(hits)]

    def _longest(self, hits: list[tuple[int, int, Meaning]]) -> list[tuple[int, int, Meaning]]:
        taken: dict[type, list[tuple[int, int]]] = {}
        kept = [hit for hit in hits if isinstance(hit[2], self._every)]
        for hit in sorted(hits, key=lambda one: (one[0] - one[1], one[0])):
            span, same = (hit[0], hit[1]), taken.setdefault(type(hit[2]), [])
            free = all(span == one or span[1] <= one[0] or one[1] <= span[0] for one in same)
            if free and not isinstance(hit[2], self._every):
                same.append(span)
                kept.append(hit)
        return sorted(kept, key=lambda one: one[:2])


def _stands(text: str, at: Sequence[int], first: int, length: int) -> bool:
    """Tell whether a phrase is there as words: a short one by itself, a long one also where spaces are gone."""
    begin, end = at[first], at[first + length - 1] + 1
    # A sign that folds to several letters is not cut in two.
    if (first and at[first - 1] == begin) or (first + length < len(at) and at[first + length] == end - 1):
        return False
    before, after = text[begin - 1 : begin], text[end : end + 1]
    if length >= _LONG:
        # What goes on in small letters is another word: 'registrations', 'Rechnungsdatumfeld'.
        return not (before.isalpha() and text[begin].islower()) and not (after.isalpha() and after.islower())
    owned = after in _APOSTROPHES and text[end + 1 : end + 2].isalpha()
    return not before.isalnum() and not after.isalpha() and not owned


def _fold(sign: str) -> str:
    if sign == BREAK:
        made = BREAK
    else:
        plain = unicodedata.normalize("NFKD", sign.casefold())
        made = "".join(one for one in plain if one.isalnum()).translate(_SAME)
    if len(_FOLDED) < 4096:
        _FOLDED[sign] = made
    return made


_FOLDED: dict[str, str] = {}
# Most signs are folded into one, or dropped; a text of such signs alone is folded at once.
_GONE = "\0"
_ONE_FOR_ONE = {
    ord(sign): _fold(sign) or _GONE for sign in map(chr, range(1, 0x250)) if len(_fold(sign)) <= 1
}  # fmt: skip
_ODD = re.compile(r"[^a-z0-9\n\0]")


@lru_cache(maxsize=1 << 14)
def folded_word(word: str) -> str:
    """Fold a word: as `folded`, and kept for the next time."""
    return folded(word).text
