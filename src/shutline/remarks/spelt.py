"""Short forms that are said or written letter by letter: 'M O T', 'm.o.t' and 'em oh tee' are one word."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

_WORD = re.compile(r"[^\w']*(?P<letters>[a-z]+(?:[.\-][a-z]+)*)(?P<dot>\.?)(?P<tail>'s|'d)?(?P<marks>[^\w']*)")
_BETWEEN = frozenset({"", ",", "-"})
"""What may stand behind a letter within a short form, beside a full stop."""

_ALONE = frozenset({"a", "i"})
"""Letters that are words by themselves; any other before or after makes it a longer run, as in a registration mark."""

_LONGEST = 4
"""Words that a short form is spelt in, at most."""


@dataclass(frozen=True, slots=True)
class Spelt:
    """The written words from `first` up to `end` spell `word`; `tail` hangs on it ("'s"), `marks` follow it."""

    first: int
    end: int
    word: str
    tail: str
    marks: str


def spelt(words: Sequence[str], forms: Mapping[tuple[str, ...], str]) -> list[Spelt]:
    """Find the short forms spelt out in written words.

    Parameters
    ----------
    words : sequence of str
        The written words in order.
    forms : mapping of tuple of str to str
        For what is said one after another, in lower case, the word it stands for.

    Returns
    -------
    list of Spelt
        In order, none within another. A full stop behind each letter is none of a sentence, unless a capital follows.

    >>> spelt(["the", "M.", "O.", "T.", "runs"], {("m", "o", "t"): "mot"})
    [Spelt(first=1, end=4, word='mot', tail='', marks='')]
    >>> spelt(["mark", "M", "O", "T", "X"], {("m", "o", "t"): "mot"})
    []
    """
    begins = {pieces[0] for pieces in forms}
    out: list[Spelt] = []
    at = 0
    while at < len(words):
        pieces = _pieces(words[at])
        found = _from(words, at, forms) if pieces and pieces[0] in begins else None
        if found is not None:
            out.append(found)
        at = found.end if found is not None else at + 1
    return out


@cache
def _pieces(word: str) -> tuple[str, ...]:
    """Give what a written word is spelt in: one piece, or several with full stops or hyphens between them."""
    cut = _WORD.fullmatch(word.lower())
    return tuple(re.split(r"[.\-]", cut["letters"])) if cut else ()


def _from(words: Sequence[str], first: int, forms: Mapping[tuple[str, ...], str]) -> Spelt | None:
    """Give the short form that begins at a word; None where none does."""
    pieces: tuple[str, ...] = ()
    stops = False
    for at in range(first, min(first + _LONGEST, len(words))):
        cut = _WORD.fullmatch(words[at].lower())
        if cut is None:
            return None
        here = _pieces(words[at])
        stops |= len(here) > 1
        pieces += here
        word = forms.get(pieces)
        # A written word by itself ('mot', 'lpg') is none that was spelt.
        if word is not None and len(pieces) > 1 and not _in_longer_run(words, first, at + 1):
            ends = cut["dot"] and not (stops and _goes_on(words, at + 1))
            return Spelt(first, at + 1, word, cut["tail"] or "", ("." if ends else "") + cut["marks"])
        if cut["tail"] or cut["marks"] not in _BETWEEN:
            return None
        stops |= bool(cut["dot"])
    return None


def _in_longer_run(words: Sequence[str], first: int, end: int) -> bool:
    """Tell whether a single letter or figure stands right before or after."""
    before = words[first - 1].lower() if first else ""
    after = words[end].lower() if end < len(words) else ""
    return (len(before) == 1 and before.isalnum() and before not in _ALONE) or (len(after) == 1 and after.isalnum())


def _goes_on(words: Sequence[str], at: int) -> bool:
    """Tell whether a sentence goes on with a word: no capital begins it."""
    return at < len(words) and not words[at][:1].isupper()
