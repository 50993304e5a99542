"""Cues as a transcript file has them, and what is done where their times do not fit together."""

from __future__ import annotations

import html
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from shutline.car.errors import Problem
from shutline.car.speech import Stretch, StretchOrigin, Word, share_out
from shutline.speech.settings import settings

_TAG: Final = re.compile(r"</?[A-Za-z][^<>]*>|<\d[\d:.]*>|\{\\[^}]*\}")
_BREAK: Final = re.compile(r"<br\s*/?>|\\N", re.IGNORECASE)
_MARKS: Final = re.compile("[\u200b\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff\x00]")
_STAMP: Final = re.compile(r"(?:(\d+):)?(\d+):(\d{1,2})(?:[.,](\d{1,9}))?")
_MOST_OF_ONE_KIND: Final = 20


@dataclass(frozen=True, slots=True)
class Cue:
    """One cue before its times are settled.

    `where` is its place in the file. A time is None where the file gives none that can be read. `words` are given only
    where the file has words with times.
    """

    where: str
    start_s: float | None
    end_s: float | None
    text: str
    words: tuple[Word, ...] = ()


class Complaints:
    """Problems of one file, so many of each kind and then a count of the rest."""

    def __init__(self, name: str) -> None:
        self.name = name
        self._kept: list[Problem] = []
        self._counts: Counter[str] = Counter()
        self._last: dict[str, Problem] = {}

    def add(self, slug: str, where: str, found: str, allowed: str, advice: str) -> None:
        """Add one; `where` is the place within the file."""
        place = f"{self.name}, {where}" if where else self.name
        problem = Problem(slug, place, found, allowed, advice)
        self._counts[slug] += 1
        if self._counts[slug] <= _MOST_OF_ONE_KIND:
            self._kept.append(problem)
        self._last[slug] = problem

    def all(self) -> tuple[Problem, ...]:
        """Give them in the order they came, and for each kind that had too many a count of what was left out."""
        more = tuple(
            replace(
                self._last[slug],
                found=f"and {count - _MOST_OF_ONE_KIND} more of these, the last here: {self._last[slug].found}",
            )
            for slug, count in self._counts.items()
            if count > _MOST_OF_ONE_KIND
        )
        return (*self._kept, *more)


def seconds_of(stamp: str) -> float | None:
    """Read a moment as ``h:mm:ss``, ``mm:ss``, either with a fraction after a point or a comma.

    Returns
    -------
    float or None
        Seconds; None where it cannot be read, or minutes (after hours) or seconds pass 59.

    Examples
    --------
    >>> seconds_of("1:02:03.500"), seconds_of("02:03,5"), seconds_of("75:10"), seconds_of("0:75")
    (3723.5, 123.5, 4510.0, None)
    """
    match = _STAMP.fullmatch(stamp.strip())
    if match is None:
        return None
    hours, minutes, seconds, fraction = match.groups()
    if int(seconds) > 59 or (hours is not None and int(minutes) > 59):
        return None
    thousandths = float(f"0.{fraction}") if fraction else 0.0
    return int(hours or 0) * 3600 + int(minutes) * 60 + int(seconds) + thousandths


def spoken_text(raw: str) -> str:
    """Take a cue's text down to what is said: tags off, entities decoded, white space folded."""
    return " ".join(_MARKS.sub("", html.unescape(_TAG.sub("", _BREAK.sub(" ", raw)))).split())


def settle(cues: Sequence[Cue], complaints: Complaints) -> tuple[Stretch, ...]:
    """Make stretches of cues: order them, fill in the times that are missing, say what was wrong.

    Nothing that can be read is left out. A time that is missing is reckoned from the neighbours, or from the number of
    words where there is no neighbour.
    """
    worded = [cue for cue in cues if _has_text(cue, complaints)]
    started = _with_starts(worded, complaints)
    ordered = sorted(started, key=lambda one: one[0])
    previous = -1.0
    for start, cue in started:
        if start < previous:
            complaints.add(
                "cue-out-of-order",
                cue.where,
                f"a start at {_clock(start)} after one at {_clock(previous)}",
                "cues stand in order of time, and are read in order of time",
                "Check whether this time is right; what was said is taken to belong to that moment.",
            )
        previous = max(previous, start)
    stretches = []
    latest_end = 0.0
    for at, (start, cue) in enumerate(ordered):
        following = ordered[at + 1][0] if at + 1 < len(ordered) else None
        end = _end(start, cue, following, complaints)
        if start < latest_end - 0.05:
            complaints.add(
                "cues-overlap",
                cue.where,
                f"a start at {_clock(start)} while the one before lasts until {_clock(latest_end)}",
                "both are kept with their own times",
                "Check the times if only one person speaks.",
            )
        latest_end = max(latest_end, end)
        words = cue.words or share_out(cue.text, start, end)
        stretches.append(Stretch(start, end, cue.text, words, StretchOrigin.TRANSCRIPT))
    return tuple(stretches)


def _has_text(cue: Cue, complaints: Complaints) -> bool:
    if not cue.text:
        complaints.add("cue-empty", cue.where, "a time without words", "it is passed over", "Nothing needs doing.")
    return bool(cue.text)


def _with_starts(cues: Sequence[Cue], complaints: Complaints) -> list[tuple[float, Cue]]:
    """Give each cue a start: its own, or where the one before it ends."""
    started: list[tuple[float, Cue]] = []
    for cue in cues:
        if cue.start_s is not None:
            started.append((cue.start_s, cue))
            continue
        before = 0.0
        if started:
            start, last = started[-1]
            before = last.end_s if last.end_s is not None and last.end_s > start else start + _by_words(last.text)
        complaints.add(
            "cue-without-time",
            cue.where,
            "words whose start cannot be read",
            f"they are taken to begin at {_clock(before)}, where the words before them end",
            "Put the time in if it matters.",
        )
        started.append((before, cue))
    return started


def _end(start: float, cue: Cue, following: float | None, complaints: Complaints) -> float:
    if cue.end_s is not None and cue.end_s > start:
        return cue.end_s
    reckoned = following if following is not None and following > start else start + _by_words(cue.text)
    if cue.end_s is not None:
        complaints.add(
            "cue-ends-before-start",
            cue.where,
            f"an end at {_clock(cue.end_s)} for a start at {_clock(start)}",
            f"the end is taken to be {_clock(reckoned)}",
            "Check the two times.",
        )
    return reckoned


def _by_words(text: str) -> float:
    return len(text.split()) / settings().transcript.words_per_s


def _clock(seconds: float) -> str:
    whole, thousandths = divmod(round(seconds * 1000), 1000)
    return f"{whole // 3600}:{whole // 60 % 60:02}:{whole % 60:02}.{thousandths:03}"
