"""The words of a recording with the findings that each of them gave."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from shutline.car.speech import Stretch, Word, share_out
from shutline.publish.plain import one_line

_SLACK_S = 0.02
"""How far the middle of a word may lie outside the moment of a finding and still be of it: times are rounded."""


@dataclass(frozen=True, slots=True)
class Moment:
    """When a finding was spoken of: its number, seconds from the start of the recording, and its tone."""

    number: int
    start_s: float
    end_s: float
    tone: str


@dataclass(frozen=True, slots=True)
class Run:
    """Words one after the other that gave the same findings; `tone` is that of the first, empty where there is none."""

    text: str
    findings: tuple[int, ...] = ()
    tone: str = ""


@dataclass(frozen=True, slots=True)
class MarkedStretch:
    """One stretch of speech: its runs, and the start of each word in hundredths of a second, in order."""

    start_s: float
    end_s: float
    runs: tuple[Run, ...]
    starts_cs: tuple[int, ...]


def marked_words(stretches: Sequence[Stretch], moments: Sequence[Moment]) -> tuple[MarkedStretch, ...]:
    """Mark in the words of a recording which gave which finding.

    Parameters
    ----------
    stretches : sequence of Stretch
        In the order they were spoken.
    moments : sequence of Moment
        Of the findings of this recording; a finding may have several.
    """
    ordered = sorted(moments, key=lambda moment: (moment.start_s, moment.number))
    return tuple(_stretch(stretch, ordered) for stretch in stretches)


def _stretch(stretch: Stretch, moments: Sequence[Moment]) -> MarkedStretch:
    words = [
        word for word in stretch.words or share_out(stretch.text, stretch.start_s, stretch.end_s) if one_line(word.text)
    ]
    near = [m for m in moments if m.start_s <= stretch.end_s + _SLACK_S and m.end_s >= stretch.start_s - _SLACK_S]
    runs = []
    for of, own in groupby(words, key=lambda word: _of(word, near)):
        tone = of[0].tone if of else ""
        numbers = tuple(dict.fromkeys(moment.number for moment in of))
        runs.append(Run(" ".join(one_line(word.text) for word in own), numbers, tone))
    # A word that holds white space of its own counts as the words it is read as.
    starts = tuple(round(word.start_s * 100) for word in words for _ in one_line(word.text).split())
    return MarkedStretch(stretch.start_s, stretch.end_s, tuple(runs), starts)


def _of(word: Word, moments: Sequence[Moment]) -> tuple[Moment, ...]:
    middle = (word.start_s + word.end_s) / 2
    return tuple(m for m in moments if m.start_s - _SLACK_S <= middle <= m.end_s + _SLACK_S)
