"""The words of a sentence that nothing accounts for: no phrase takes them in, and they are not small words.

What a sentence claims can be read while the words beside it turn it round: a boot that is damp 'in one of our dreams',
a light 'cracked up to be even better', a dent 'in its pride'. Nobody can list such words. Those that change nothing can
be listed, and so can the names of parts, the words for their condition and the words of the former text; where any
other stands in a sentence about the car, a person is asked.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import replace
from functools import cache

from shutline.car.findings import Drive
from shutline.claims.gathered import analysed
from shutline.claims.lines import Sentence
from shutline.claims.stated import letters_of
from shutline.claims.written_data import WrittenWords, small_words

_MARKS = " .,;:!?()*_\"'\u2018\u2019\u201c\u201d"
_FILES = ("parts", "conditions", "cues", "places", "remedies")
_CUES = frozenset(
    {"deny", "except", "rest", "same", "slight", "moderate", "severe", "kind", "contrast", "stop", "doubt"}
)
"""The kinds of cue that are reckoned with; one that tells of wishes, hearsay or the past is shown."""


def unaccounted(
    around: Sentence,
    known: AbstractSet[str],
    *,
    facts: Sequence[tuple[int, int]] = (),
    told: Sequence[tuple[int, int]] = (),
    drive: Drive,
    words: WrittenWords,
) -> Iterator[tuple[int, int]]:
    """Give the words of a sentence that nothing accounts for.

    Parameters
    ----------
    around : Sentence
        The sentence.
    known : set of str
        Words that are accounted for besides, in small letters: those of the former text.
    facts, told : sequence of (int, int)
        First letter and end, in the whole text, of what was read as a fact, and as something of a part. A word for a
        condition that stands in none of them was not read.
    drive : Drive
        Which side the wheel is on.
    words : WrittenWords
        The phrases that are looked for.

    Yields
    ------
    (int, int)
        The first letter and the end of each, in the whole text.

    Examples
    --------
    >>> from shutline.claims.lines import sentences
    >>> from shutline.claims.written_data import shipped_words
    >>> text = "The boot is damp in one of our dreams."
    >>> left = unaccounted(next(sentences(text)), set(), told=[(0, 16)], drive=Drive.RHD, words=shipped_words())
    >>> [text[first:end] for first, end in left]
    ['dreams']
    """
    analysis = analysed(replace(around, first=0), drive, words)
    text = analysis.text
    spans = [(first - around.first, end - around.first) for first, end in told]
    counted = [(first - around.first, end - around.first) for first, end in facts]
    read: set[int] = set()
    for file in _FILES:
        for match in analysis.matches[file]:
            first, end = letters_of(text, match.first, match.end)
            if file == "cues" and match.rows[0].kind not in _CUES:
                continue
            if file == "conditions" and not any(begin < end and first < stop for begin, stop in spans):
                continue
            read.update(range(match.first, match.end))
    fine, last = known | _plain(), -1
    for at, norm in enumerate(text.norm):
        first, end = letters_of(text, at, at + 1)
        whole = around.text[first:end].casefold().strip(_MARKS)
        accounted = at in read or norm in fine or whole in fine or any(begin <= first < stop for begin, stop in counted)
        if accounted or first == last or not any(letter.isalpha() for letter in norm):
            continue
        last = first
        yield around.first + first, around.first + first + len(around.text[first:end].rstrip(_MARKS))


@cache
def _plain() -> frozenset[str]:
    words = small_words()
    return frozenset(words.untold["plain"]) | words.placing_names | words.function
