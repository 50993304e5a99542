"""Timed transcript files to stretches: WebVTT, SubRip, JSON segments, plain text with times."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from shutline.car.errors import Problem
from shutline.car.speech import Stretch
from shutline.speech.captions import read_captions
from shutline.speech.cues import Complaints, settle
from shutline.speech.decoding import decode
from shutline.speech.heard import Heard, HeardWord
from shutline.speech.language import doubt_english
from shutline.speech.segments import read_segments
from shutline.speech.stamped import has_stamps, read_stamped

_CUE: Final = re.compile(r"^\s*\d[\d:.,]*\s*-->", re.MULTILINE)


class Form(StrEnum):
    """What a transcript file was read as."""

    WEBVTT = "WebVTT"
    SUBRIP = "SubRip"
    JSON = "JSON segments"
    STAMPED = "text with times"


@dataclass(frozen=True, slots=True)
class Transcript:
    """What a transcript file says: stretches in order of time, what it was read as, and what was wrong in it."""

    form: Form
    stretches: tuple[Stretch, ...]
    problems: tuple[Problem, ...]


def parse_transcript(content: str | bytes, *, name: str) -> Transcript:
    """Read a timed transcript.

    The form is told by what stands in it, not by its name. Nothing that can be read is lost: a cue whose time is
    broken keeps its words, and each such case is a problem with its line.

    Parameters
    ----------
    content : str or bytes
        The file.
    name : str
        Its name, for problems.

    Returns
    -------
    Transcript
        Stretches whose words have times as given in the file (JSON with words), or shared out. No stretches, and the
        problem ``transcript-empty``, where it has no words; ``transcript-without-times`` where it has words and not one
        time; ``not-english`` where the words do not seem to be English.
    """
    complaints = Complaints(name)
    text = decode(content, complaints) if isinstance(content, bytes) else content
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    form = _form(text)
    if form is Form.JSON:
        cues = read_segments(text, complaints)
    elif form is Form.STAMPED:
        cues = read_stamped(text, complaints)
    else:
        cues = read_captions(text, complaints, webvtt=form is Form.WEBVTT)
    stretches = settle(cues, complaints)
    if not stretches:
        complaints.add(
            "transcript-empty",
            "",
            f"no words, read as {form}",
            "a transcript is WebVTT, SubRip, JSON segments, or text with a time before each stretch",
            "Give another file, or none: then the sound is listened to.",
        )
    words = [Heard(tuple(HeardWord(word.text) for word in stretch.words)) for stretch in stretches]
    return Transcript(form, stretches, (*complaints.all(), *doubt_english(words, where=name)))


def _form(text: str) -> Form:
    start = text.lstrip()
    if text.startswith("WEBVTT") and text[6:7] in {"", " ", "\t", "\n"}:
        return Form.WEBVTT
    if start.startswith(("{", "[")) and not _is_stamp(start):
        return Form.JSON
    return Form.SUBRIP if _CUE.search(text) or ("-->" in text and not has_stamps(text)) else Form.STAMPED


def _is_stamp(text: str) -> bool:
    """Tell '[1:05] Morning' from a JSON list."""
    return text[1:].lstrip()[:1].isdigit() and ":" in text[:8] and "]" in text[:30]
