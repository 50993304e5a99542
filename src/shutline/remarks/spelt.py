"""Short forms that are said or written letter by letter: 'M O T', 'm.o.t' and 'em oh tee' are one word."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
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
class Forms:
    """What is spelt out: for what is said one after another, in lower case, the word it stands for.

    `digits` and `tens` are the words for numbers from nought to nine, and from ten up.
    """

    words: Mapping[tuple[str, ...], str]
    digits: AbstractSet[str]
    tens: AbstractSet[str]


@dataclass(frozen=True, slots=True)
class Spelt:
    """The written words from `first` up to `end` spell `word`; `tail` hangs on it ("'s"), `marks` follow it."""

    first: int
    end: int
    word: str
    tail: str
    marks: str


def spelt(words: Sequence[str], forms: Forms) -> list[Spelt]:
    """Find the short forms spelt out in written words.

    Parameters
    ----------
    words : sequence of str
        The written words in order.
    forms : Forms
        What is looked for.

    Returns
    -------
    list of Spelt
        In order, none within another. A full stop behind each letter is none of a sentence, unless a capital follows.

    >>> test = Forms({("m", "o", "t"): "mot"}, frozenset(), frozenset())
    >>> spelt(["the", "M.", "O.", "T.", "runs"], test)
    [Spelt(first=1, end=4, word='mot', tail='', marks='')]
    >>> spelt(["mark", "M", "O", "T", "X"], test)
    []
    """
    begins = {pieces[0] for pieces in forms.words}
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


def _from(words: Sequence[str], first: int, forms: Forms) -> Spelt | None:
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
        word = forms.words.get(pieces)
        # A written word by itself ('mot', 'lpg') is none that was spelt.
        if word is not None and len(pieces) > 1 and not _in_longer_run(words, first, at + 1, forms):
            ends = cut["dot"] and not (stops and _goes_on(words, at + 1))
            return Spelt(first, at + 1, word, cut["tail"] or "", ("." if ends else "") + cut["marks"])
        if cut["tail"] or cut["marks"] not in _BETWEEN:
            return None
        stops |= bool(cut["dot"])
    return None


def _in_longer_run(words: Sequence[str], first: int, end: int, forms: Forms) -> bool:
    """Tell whether a letter or a number stands right before or after, as in a mark that is read out; a year may follow.

    What must not go out is found in such runs letter by letter: a short form made of their letters would hide it.
    """
    numbers = forms.digits | forms.tens
    before = _bare(words, first - 1)
    if len(before) == 1 and before.isalpha() and before not in _ALONE:
        return True
    if (before in numbers or before.isdecimal()) and words[first - 1].lower() == before:
        return True
    if words[end - 1].endswith((".", "!", "?", ";")) and not _goes_on(words, end):
        return False
    after = _bare(words, end)
    if after.isdecimal():
        return not (len(after) == 4 and after.startswith(("19", "20")))
    year = after in ("nineteen", "twenty") and _bare(words, end + 1) in forms.tens
    return (len(after) == 1 and after.isalpha()) or (after in numbers and not year)


def _bare(words: Sequence[str], at: int) -> str:
    return words[at].lower().strip(".,;:!?") if 0 <= at < len(words) else ""


def _goes_on(words: Sequence[str], at: int) -> bool:
    """Tell whether a sentence goes on with a word: no capital begins it."""
    return at < len(words) and not words[at][:1].isupper()
