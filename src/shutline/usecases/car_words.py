"""The words of a recording with the findings that each of them gave."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from shutline.car.carfile import Recording
from shutline.car.speech import Stretch, Word, share_out
from shutline.publish.plain import one_line

if TYPE_CHECKING:
    from shutline.store import Store

WHOLE = 300
"""So many stretches are shown in one go; of more, `AT_ONCE` at a time."""
AT_ONCE = 150

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

    @property
    def steps_cs(self) -> tuple[int, ...]:
        """The start of each word, hundredths of a second after that of the one before: in few characters."""
        return tuple(start - before for start, before in zip(self.starts_cs, (0, *self.starts_cs), strict=False))


@dataclass(frozen=True, slots=True)
class SaidRun:
    """A run of the words of a recording: of `count` stretches those from `first` on, counted from 0.

    `runs` are the count of the first stretch of each run, with its start in seconds; `now` is the count of the stretch
    that is spoken at the moment that was asked for, None where none was.
    """

    count: int
    first: int
    stretches: tuple[MarkedStretch, ...]
    runs: tuple[tuple[int, float], ...]
    now: int | None = None


def said_run(
    store: Store,
    recording: Recording | None,
    moments: Sequence[Moment],
    *,
    stretch: int = 0,
    at_s: float | None = None,
) -> SaidRun:
    """Give a run of the words of a recording, marked.

    Parameters
    ----------
    store : Store
        Where they are kept.
    recording : Recording or None
        None gives no words.
    moments : sequence of Moment
        Of the findings of this recording.
    stretch : int
        A count of the run's stretches, from 0.
    at_s : float, optional
        A moment, seconds; the run is then the one spoken at it.
    """
    if recording is None:
        return SaidRun(0, 0, (), ())
    starts = store.stretch_starts(recording.id)
    now = None if at_s is None or not starts else max(0, bisect_right(starts, at_s + _SLACK_S) - 1)
    step = max(len(starts), 1) if len(starts) <= WHOLE else AT_ONCE
    wanted = min(stretch if now is None else now, max(len(starts) - 1, 0))
    first = wanted - wanted % step
    words = marked_words(store.stretches(recording.id, skip=first, limit=step), moments)
    runs = tuple((at, starts[at]) for at in range(0, len(starts), step))
    return SaidRun(len(starts), first, words, runs, now)


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
    starts = [moment.start_s for moment in ordered]
    longest = max((moment.end_s - moment.start_s for moment in ordered), default=0.0)
    marked = []
    for stretch in stretches:
        # None that begins earlier than the longest lasts can reach into the stretch.
        first = bisect_left(starts, stretch.start_s - longest - 2 * _SLACK_S)
        last = bisect_right(starts, stretch.end_s + _SLACK_S)
        marked.append(_stretch(stretch, ordered[first:last]))
    return tuple(marked)


def _stretch(stretch: Stretch, moments: Sequence[Moment]) -> MarkedStretch:
    spoken = stretch.words or share_out(stretch.text, stretch.start_s, stretch.end_s)
    words = [(word, text) for word in spoken if (text := one_line(word.text))]
    near = [m for m in moments if m.end_s >= stretch.start_s - _SLACK_S]
    runs = []
    for of, own in groupby(words, key=lambda pair: _of(pair[0], near)):
        tone = of[0].tone if of else ""
        numbers = tuple(dict.fromkeys(moment.number for moment in of))
        runs.append(Run(" ".join(text for _, text in own), numbers, tone))
    # A word that holds white space of its own counts as the words it is read as.
    starts = tuple(round(word.start_s * 100) for word, text in words for _ in range(text.count(" ") + 1))
    return MarkedStretch(stretch.start_s, stretch.end_s, tuple(runs), starts)


def _of(word: Word, moments: Sequence[Moment]) -> tuple[Moment, ...]:
    middle = (word.start_s + word.end_s) / 2
    return tuple([m for m in moments if m.start_s - _SLACK_S <= middle <= m.end_s + _SLACK_S])
