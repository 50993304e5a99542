"""What was being said at a moment of a recording."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.speech import Word, share_out

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile, Recording

_SENTENCE_END = re.compile(r"[.!?…][\"'”\u2019)]*$")
_PLAIN = re.compile(r"[^\w]+")
_REACH_S = 30.0
"""How far from a moment its words are looked for, seconds."""
_AROUND_WORDS = 15
"""How many words are shown on either side of a remark, at most."""


@dataclass(frozen=True, slots=True)
class Spoken:
    """A run of words as they were said, seconds from the start of the recording; no text where nothing was said."""

    text: str
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class InTheWords:
    """A remark among the words around it: what came before, the remark itself, and what came after.

    An ellipsis stands where further words were left out.
    """

    before: str
    said: str
    after: str


def words_of(recording: Recording) -> tuple[Word, ...]:
    """Give all words of a recording in the order of time."""
    words = (
        word
        for stretch in recording.stretches
        for word in (stretch.words or share_out(stretch.text, stretch.start_s, stretch.end_s))
    )
    return tuple(sorted(words, key=lambda word: word.start_s))


def sentence_at(recording: Recording, at_s: float) -> Spoken:
    """Give the sentence that is being said at a moment, or was said just before it.

    Parameters
    ----------
    recording : Recording
        With its words.
    at_s : float
        Seconds from its start.
    """
    words = [word for word in words_of(recording) if abs(word.start_s - at_s) <= _REACH_S]
    before = [number for number, word in enumerate(words) if word.start_s <= at_s]
    if not before:
        return Spoken("", at_s, at_s)
    first = last = before[-1]
    while first > 0 and not _SENTENCE_END.search(words[first - 1].text):
        first -= 1
    while last + 1 < len(words) and not _SENTENCE_END.search(words[last].text):
        last += 1
    return _joined(words[first : last + 1])


def find_words(recording: Recording, text: str, near_s: float) -> Spoken | None:
    """Find where words were said, the place nearest to a moment; None where they were not said within half a minute.

    Capitals and marks do not count.
    """
    wanted = [plain for word in text.split() if (plain := _PLAIN.sub("", word.casefold()))]
    spoken = [
        (plain, word)
        for word in words_of(recording)
        if abs(word.start_s - near_s) <= _REACH_S and (plain := _PLAIN.sub("", word.text.casefold()))
    ]
    if not wanted:
        return None
    plain_words = [plain for plain, _ in spoken]
    begins = [at for at in range(len(spoken)) if plain_words[at : at + len(wanted)] == wanted]
    if not begins:
        return None
    at = min(begins, key=lambda one: abs(spoken[one][1].start_s - near_s))
    return _joined([word for _, word in spoken[at : at + len(wanted)]])


def in_the_words(car: CarFile, recording: str, quote: str, start_s: float, end_s: float) -> InTheWords:
    """Set a remark among the words that were said around it.

    Parameters
    ----------
    car : CarFile
        With its recordings.
    recording : str
        Id of the recording.
    quote : str
        The remark's own words, shown as they are.
    start_s, end_s : float
        When they were said, seconds.
    """
    words: Sequence[Word] = ()
    for one in car.recordings:
        if one.id == recording:
            words = words_of(one)
    before = [word.text for word in words if word.start_s < start_s - 0.001 and word.end_s <= end_s]
    after = [word.text for word in words if word.start_s >= max(end_s - 0.001, start_s)]
    left = "… " if len(before) > _AROUND_WORDS else ""
    right = " …" if len(after) > _AROUND_WORDS else ""
    return InTheWords(left + " ".join(before[-_AROUND_WORDS:]), quote, " ".join(after[:_AROUND_WORDS]) + right)


def _joined(words: Sequence[Word]) -> Spoken:
    return Spoken(" ".join(word.text for word in words), words[0].start_s, max(word.end_s for word in words))
