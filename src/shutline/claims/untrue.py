"""What a text brings up only to say that it is untrue, or is so no more.

'Some say that the sill is rusty, but that is nonsense'; 'the rust on the sill has been repaired'. Both claim that there
is none.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache

from shutline.car.findings import Found
from shutline.car.vocabulary import vocabulary
from shutline.claims.lines import Sentence
from shutline.claims.sayings import Saying
from shutline.claims.second_reading import SURE
from shutline.claims.written_data import any_of, small_words

_GOES_ON = ("", "which", "that", "these", "this", "it", "since", "now", "all")
"""Before what says that something was put right, these speak of what stands before the comma."""
_LEADING = 2
"""Words that may stand before those with which a sentence takes back the one before: 'but he' is mistaken."""


def taken_back(sayings: Sequence[Saying], parts: Sequence[Sentence], text: str) -> list[Saying]:
    """Turn each fault that a text brings up and says to be untrue, or put right, into one that it denies.

    Parameters
    ----------
    sayings : sequence of Saying
        What the text states.
    parts : sequence of Sentence
        Its sentences.
    text : str
        The whole text.

    Returns
    -------
    list of Saying
        As many, in the same order. The quote of one that is denied goes on up to the words that deny it, where they
        stand in its sentence.

    Examples
    --------
    >>> from shutline.claims.lines import sentences
    >>> from shutline.claims.sayings import Spot
    >>> text = "Some say that it has rust. That is nonsense."
    >>> told = Saying(22, 25, "has rust", Spot("car"), "rust", Found.YES)
    >>> [said.found.value for said in taken_back([told], list(sentences(text)), text)]
    ['no']
    """
    spans = [*_denied(parts), *_mended(parts)]
    out = []
    for saying in sayings:
        ends = [end for first, last, end in spans if first <= saying.first < last and saying.first < end]
        if not ends or not _is_fault(saying):
            out.append(saying)
        else:
            end = max(ends[0], saying.end)
            out.append(replace(saying, found=Found.NO, end=end, quote=text[saying.first : end], untrue=True))
    return out


def denials(parts: Sequence[Sentence]) -> Iterator[tuple[int, int]]:
    """Give the first letter and the end of all words that only say that something is untrue."""
    for sentence in parts:
        for found in _pattern().finditer(sentence.text):
            yield sentence.first + found.start(), sentence.first + found.end()


def _is_fault(saying: Saying) -> bool:
    read = saying.odds is None or saying.odds > SURE
    return (
        read and saying.spot is not None and saying.found is not Found.NO and vocabulary().is_defect(saying.condition)
    )


def _denied(parts: Sequence[Sentence]) -> Iterator[tuple[int, int, int]]:
    """Give the letters, first and end, of what is said to be untrue, and the end of a claim that says so."""
    before: Sentence | None = None
    for sentence in parts:
        found = _pattern().search(sentence.text)
        if found is not None:
            if before is not None and len(sentence.text[: found.start()].split()) <= _LEADING:
                end = before.first + len(before.text)
                yield before.first, end, end - len(before.text) + len(before.text.rstrip(" .;:,!?"))
            else:
                yield sentence.first, sentence.first + found.start(), sentence.first + found.end()
        before = sentence


def _mended(parts: Sequence[Sentence]) -> Iterator[tuple[int, int, int]]:
    """Give the letters of each clause up to where it says that something was put right, and the end of saying so."""
    words = small_words()
    edges = re.compile(rf"[,;:()\u2013\u2014]|\b{any_of(words.breaks.union(words.mended['apart']))}\b", re.IGNORECASE)
    still = frozenset(words.mended["still"])
    for sentence in parts:
        for found in _mending().finditer(sentence.text):
            before = list(edges.finditer(sentence.text, 0, found.start()))
            begins = [0, *(edge.end() for edge in before)]
            marked = bool(before) and not before[-1].group().isalpha()
            # Behind a mark it goes on about what stands before that; behind 'since' it does not.
            goes_on = marked and sentence.text[begins[-1] : found.start()].strip().casefold() in _GOES_ON
            first = begins[-2 if goes_on else -1]
            said = sentence.text[first : found.end()].casefold().replace("\u2019", "'").replace("n't", " n't").split()
            if still.isdisjoint(said):
                yield sentence.first + first, sentence.first + found.start(), sentence.first + found.end()


@cache
def _mending() -> re.Pattern[str]:
    """Put together what says that something was put right."""
    words = small_words().mended
    return re.compile(rf"\b{any_of(words['have'])}\s+(?:\w+ly\s+)?{any_of(words['done'])}\b", re.IGNORECASE)


@cache
def _pattern() -> re.Pattern[str]:
    """Put together what says that something is untrue."""
    words = small_words().untrue

    about, between = any_of(words["about"]), any_of(words["between"])
    is_so = rf"{about}(?:['\u2019]s|\s+(?:is|was|are))(?:\s+{between})*\s+{any_of(words['is'])}"
    is_not = rf"{about}\s+(?:isn|wasn)['\u2019]t\s+{any_of(words['not'])}"
    alone = rf"(?:^|(?<=[,;:.\u2013\u2014-]\s)){any_of(words['alone'])}(?=\s*[.,;:!?]|\s*$)"
    return re.compile(rf"\b(?:{is_so}|{is_not}|{any_of(words['phrases'])})\b|{alone}", re.IGNORECASE)
