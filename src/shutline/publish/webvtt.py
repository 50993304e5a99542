"""Cues and the WebVTT text they make."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shutline.publish.plain import one_line, plain


@dataclass(frozen=True, slots=True)
class Cue:
    """A text and when it is shown: whole milliseconds from the start of the recording, ``0 <= start_ms < end_ms``."""

    start_ms: int
    end_ms: int
    text: str


def webvtt(cues: Sequence[Cue]) -> str:
    """Write cues as WebVTT.

    Any text may stand in a cue: markup characters are escaped (so that ``-->`` cannot occur), blank lines closed up
    and what cannot be shown replaced.

    Parameters
    ----------
    cues : sequence of Cue
        In the order of their starts.

    Returns
    -------
    str
        To be written in UTF-8; ids count from 1.

    Raises
    ------
    ValueError
        A cue starts before the one ahead of it, or ends at or before its start.

    Examples
    --------
    >>> print(webvtt([Cue(0, 1500, "Sills & floors")]))
    WEBVTT
    <BLANKLINE>
    1
    00:00:00.000 --> 00:00:01.500
    Sills &amp; floors
    <BLANKLINE>
    """
    blocks = ["WEBVTT\n"]
    latest = 0
    for number, cue in enumerate(cues, 1):
        if cue.start_ms < latest or cue.end_ms <= cue.start_ms:
            raise ValueError(f"cue {number} from {cue.start_ms} ms to {cue.end_ms} ms does not follow the one before")
        latest = cue.start_ms
        lines = [line for line in (one_line(text) for text in plain(cue.text).split("\n")) if line]
        payload = "\n".join(_escaped(line) for line in lines) or "\N{HORIZONTAL ELLIPSIS}"
        blocks.append(f"{number}\n{timestamp(cue.start_ms)} --> {timestamp(cue.end_ms)}\n{payload}\n")
    return "\n".join(blocks)


def timestamp(milliseconds: int) -> str:
    """Write a time as ``hh:mm:ss.ttt``.

    >>> timestamp(3_725_050)
    '01:02:05.050'
    """
    seconds, thousandths = divmod(milliseconds, 1000)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02d}:{minutes:02d}:{seconds:02d}.{thousandths:03d}"


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
