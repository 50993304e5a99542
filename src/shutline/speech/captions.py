"""WebVTT and SubRip files to cues."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from shutline.speech.cues import Complaints, Cue, seconds_of, spoken_text

_STAMP: Final = r"\d+(?::\d+){1,2}(?:[.,]\d+)?"
_TIMING: Final = re.compile(rf"\s*({_STAMP})\s*-->\s*({_STAMP})(?:\s+(.*))?")
_SLOPPY: Final = re.compile(rf"\s*({_STAMP})\s*(?:-+>?|=+>|[\u2010-\u2015]+>?|\u2192)\s*({_STAMP})(?:\s+(.*))?")
_MOMENT: Final = re.compile(r"\d+:\d")
_SETTING: Final = re.compile(r"[A-Za-z]\w*:\S+")
_SKIPPED: Final = ("NOTE", "STYLE", "REGION")


@dataclass(frozen=True, slots=True)
class _Timing:
    """The times of a cue as a line has them; `clean` where nothing was wrong; `words` that stand beside."""

    start_s: float | None
    end_s: float | None
    clean: bool
    words: str = ""


def read_captions(text: str, complaints: Complaints, *, webvtt: bool) -> list[Cue]:
    """Read the cues of a WebVTT or SubRip file.

    Parameters
    ----------
    text : str
        The file, lines ending with a line feed.
    complaints : Complaints
        Takes what is wrong in it.
    webvtt : bool
        Whether it has the WebVTT header: then notes, styles and regions are passed over.

    Returns
    -------
    list of Cue
        In the order of the file. Words that stand without a time are kept with the cue before them.
    """
    cues: list[Cue] = []
    for first, block in _blocks(text):
        lines = block
        number = first
        if webvtt and first == 1:
            # The rest of the heading is no speech, unless somebody forgot the empty line after it.
            skip = next((at for at, line in enumerate(block) if _timing(line)), len(block))
            lines, number = block[skip:], first + skip
        if not lines or (webvtt and lines[0].split(maxsplit=1)[0] in _SKIPPED):
            continue
        _read_block(number, lines, cues, complaints)
    return cues


def _blocks(text: str) -> Iterator[tuple[int, list[str]]]:
    block: list[str] = []
    for number, line in enumerate([*text.split("\n"), ""], start=1):
        if line.strip():
            block.append(line)
        elif block:
            yield number - len(block), block
            block = []


def _read_block(first: int, lines: Sequence[str], cues: list[Cue], complaints: Complaints) -> None:
    times = [(at, timing) for at, line in enumerate(lines) if (timing := _timing(line)) is not None]
    before = lines[: times[0][0]] if times else lines
    _read_untimed(first, before, cues, complaints, titled=bool(times))
    for this, (at, timing) in enumerate(times):
        until = times[this + 1][0] if this + 1 < len(times) else len(lines)
        body = list(lines[at + 1 : until])
        if this + 1 < len(times) and len(body) > 1 and body[-1].strip().isdigit():
            # The number of the next cue, where the empty line between the two is missing.
            body.pop()
        where = f"line {first + at}"
        if not timing.clean:
            complaints.add(
                "cue-broken",
                where,
                f"{lines[at].strip()[:80]!r}",
                "a cue's times stand as 0:01:02.500 --> 0:01:05.000; what could be read of it was taken",
                "Mend this line if its time matters.",
            )
        cues.append(Cue(where, timing.start_s, timing.end_s, spoken_text("\n".join([timing.words, *body]))))


def _read_untimed(first: int, lines: Sequence[str], cues: list[Cue], complaints: Complaints, *, titled: bool) -> None:
    """Keep words that stand before or without a time; a single line before one is the cue's own name."""
    if not lines or (titled and len(lines) == 1):
        return
    words = lines[:-1] if titled else lines
    text = spoken_text("\n".join(words))
    if not text or text.isdigit():
        return
    complaints.add(
        "words-without-cue",
        f"line {first}",
        f"words without a time: {text[:60]!r}",
        "they are kept with the cue before them",
        "Put a time above them if they belong elsewhere.",
    )
    if cues:
        last = cues[-1]
        cues[-1] = Cue(last.where, last.start_s, last.end_s, f"{last.text} {text}".strip())
    else:
        cues.append(Cue(f"line {first}", None, None, text))


def _timing(line: str) -> _Timing | None:
    """Read the times in a line; None where it is no line of times at all."""
    match = _TIMING.fullmatch(line)
    if match is not None:
        start, end = seconds_of(match[1]), seconds_of(match[2])
        return _Timing(start, end, clean=start is not None and end is not None, words=_beside(match[3] or ""))
    match = _SLOPPY.fullmatch(line)
    if match is not None:
        return _Timing(seconds_of(match[1]), seconds_of(match[2]), clean=False, words=_beside(match[3] or ""))
    left, arrow, right = line.partition("-->")
    if not arrow or not (_MOMENT.search(left) or _MOMENT.match(right.strip())):
        return None
    moment, *rest = right.split() or [""]
    if not _MOMENT.match(moment):
        rest.insert(0, moment)
    return _Timing(seconds_of(left), seconds_of(moment), clean=False, words=_beside(" ".join(rest)))


def _beside(text: str) -> str:
    """Keep words that stand beside the times; what is left of them when the settings of a cue are taken out."""
    return " ".join(word for word in text.split() if not _SETTING.fullmatch(word))
