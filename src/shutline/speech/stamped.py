"""Plain text with a time before each stretch, to cues."""

from __future__ import annotations

import re
from typing import Final

from shutline.speech.cues import Complaints, Cue, seconds_of, spoken_text

_STAMP: Final = r"\d+(?::\d{1,2}){1,2}(?:[.,]\d+)?"
_RANGE: Final = rf"(?P<start>{_STAMP})(?:\s*(?:-+>?|[\u2010-\u2015]|to)\s*(?P<end>{_STAMP}))?"
_BARE: Final = re.compile(rf"\s*{_RANGE}(?![\d:.,]*\d)\s*(?:[-\u2010-\u2015:|]\s+)?")
_BRACKETED: Final = re.compile(rf"\s*[\[(]\s*{_RANGE}\s*[\])]\s*(?:[-\u2010-\u2015:|]\s+)?")
_INSIDE: Final = re.compile(rf"(?=\[\s*{_STAMP}(?:\s*(?:-+>?|[\u2010-\u2015]|to)\s*{_STAMP})?\s*\])")


def has_stamps(text: str) -> bool:
    """Tell whether any line begins with a time."""
    return any(_BRACKETED.match(line) or _BARE.match(line) for line in text.split("\n"))


def read_stamped(text: str, complaints: Complaints) -> list[Cue]:
    """Read text with ``[m:ss]``, ``m:ss`` or ``h:mm:ss`` before each stretch; a second time after it is its end.

    A line without a time goes on with the one before. Words before the first time, or in a text without any, are kept
    without one.
    """
    cues: list[Cue] = []
    untimed: list[str] = []
    first_untimed = 0
    for number, line in enumerate(text.split("\n"), start=1):
        for part in _INSIDE.split(line):
            match = _BRACKETED.match(part) or _BARE.match(part)
            said = spoken_text(part[match.end() :] if match else part)
            if match is not None:
                cues.append(_cue(match, said, f"line {number}", complaints))
            elif said and cues:
                last = cues[-1]
                cues[-1] = Cue(last.where, last.start_s, last.end_s, f"{last.text} {said}".strip())
            elif said:
                first_untimed = first_untimed or number
                untimed.append(said)
    if untimed and cues:
        cues.insert(0, Cue(f"line {first_untimed}", None, None, " ".join(untimed)))
    elif untimed:
        complaints.add(
            "transcript-without-times",
            f"line {first_untimed}",
            "text without a single time",
            "a time such as [1:05] stands before each stretch; these are reckoned from the number of words",
            "Put times in: a finding cannot be tied to its moment and picture without them.",
        )
        cues.append(Cue(f"line {first_untimed}", 0.0, None, " ".join(untimed)))
    return cues


def _cue(match: re.Match[str], said: str, where: str, complaints: Complaints) -> Cue:
    start = seconds_of(match["start"])
    end = seconds_of(match["end"]) if match["end"] else None
    if start is None or (match["end"] and end is None):
        complaints.add(
            "cue-broken",
            where,
            f"{match.group().strip()!r}",
            "minutes and seconds run from 00 to 59",
            "Mend this time; the words are kept.",
        )
    return Cue(where, start, end, said)
