"""Words with their times, and the stretches they come in."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class WordTiming(StrEnum):
    """How the time of a word is known."""

    RECOGNISER = "recogniser"
    """The recogniser gave it with the word."""
    ALIGNED = "aligned"
    """The known words were laid along the sound."""
    SHARED_OUT = "shared out"
    """The stretch's time was divided among its words by their length."""
    GIVEN = "given"
    """A transcript that came with word times."""


class StretchOrigin(StrEnum):
    """Where the words of a stretch come from."""

    HEARD = "heard"
    """Drawn from the sound by a recogniser."""
    TRANSCRIPT = "transcript"
    """Read from a file that somebody supplied."""


@dataclass(frozen=True, slots=True)
class Word:
    """One spoken word as written, punctuation attached.

    `start_s` and `end_s` count seconds from the start of the recording, ``0 <= start_s <= end_s``. `sureness` is the
    recogniser's own probability in [0, 1], or None where it gives none.
    """

    text: str
    start_s: float
    end_s: float
    timing: WordTiming
    sureness: float | None = None


@dataclass(frozen=True, slots=True)
class Stretch:
    """A run of speech: what a recogniser returned at once, or one cue of a transcript.

    `words` are those of `text`, in order; joining their texts with single spaces gives `text` with white space folded.
    `origin` tells the reader whether words may have been misheard.
    """

    start_s: float
    end_s: float
    text: str
    words: tuple[Word, ...]
    origin: StretchOrigin


@dataclass(frozen=True, slots=True)
class Segment:
    """One piece of the sound as a recogniser heard it; what is kept so that a run that was stopped can go on.

    `index` counts the pieces from 0. `stretch` may be without words: something sounded like speech and was none.
    `broken_off` is True where the recogniser lost its way and words may be missing.
    """

    index: int
    stretch: Stretch
    broken_off: bool = False


def share_out(text: str, start_s: float, end_s: float) -> tuple[Word, ...]:
    """Divide the time of a stretch among its words in proportion to their length in letters.

    Parameters
    ----------
    text : str
        The words, separated by white space.
    start_s, end_s : float
        Seconds, ``start_s <= end_s``.

    Returns
    -------
    tuple of Word
        One for each word, back to back from `start_s` to `end_s`, timing `WordTiming.SHARED_OUT`; empty for a blank
        text.
    """
    pieces = text.split()
    weights = [len(piece) + 1 for piece in pieces]
    total = sum(weights)
    words = []
    spent = 0
    for piece, weight in zip(pieces, weights, strict=True):
        start = start_s + (end_s - start_s) * spent / total
        spent += weight
        end = start_s + (end_s - start_s) * spent / total
        words.append(Word(piece, start, end, WordTiming.SHARED_OUT))
    return tuple(words)


def stretch_of(text: str, start_s: float, end_s: float, *, origin: StretchOrigin) -> Stretch:
    """Make a stretch whose words share out its time."""
    return Stretch(start_s, end_s, " ".join(text.split()), share_out(text, start_s, end_s), origin)
