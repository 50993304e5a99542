"""Tell whether a text is a timed transcript, and in which form; reading it is the work of speech."""

from __future__ import annotations

import codecs
import json
import re

from shutline.capture.limits import limits

_MARKS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
_CUE = re.compile(r"^\s*(?:\d+:)?\d{1,2}:\d{2}[.,]\d{1,3}\s*-->\s*(?:\d+:)?\d{1,2}:\d{2}[.,]\d{1,3}", re.MULTILINE)
_COMMA_CUE = re.compile(r"^\s*\d+:\d{2}:\d{2},\d{1,3}\s*-->", re.MULTILINE)
_STAMPED = re.compile(r"^\s*(?:\[(?:\d+:)?\d{1,3}:\d{2}(?:[.,]\d+)?\]|(?:\d+:)?\d{1,3}:\d{2}(?:[.,]\d+)?(?=\s|$))")
_CONTROL = re.compile(r"[\x00-\x08\x0e-\x1a\x1c-\x1f\x7f]")
_SEGMENTS = re.compile(r'"segments"\s*:\s*\[')


def as_text(head: bytes, *, whole: bool) -> str | None:
    """Read bytes as text, or say that they are none.

    Parameters
    ----------
    head : bytes
        The beginning of a file, or all of it.
    whole : bool
        True when `head` is the whole file; otherwise a sign that is cut at its end is left out.

    Returns
    -------
    str or None
        UTF-8, UTF-16 with a byte order mark, or else Windows-1252; None when signs stand in it that no text has.
    """
    for mark, encoding in _MARKS:
        if head.startswith(mark):
            try:
                return codecs.getincrementaldecoder(encoding)().decode(head, final=whole)
            except UnicodeDecodeError:
                return None
    try:
        text = codecs.getincrementaldecoder("utf-8")().decode(head, final=whole)
    except UnicodeDecodeError:
        text = head.decode("cp1252", "replace")
        if "\ufffd" in text:
            return None
    return None if _CONTROL.search(text) else text


def transcript_form(text: str, *, whole: bool) -> str | None:
    """Name the form of a timed transcript.

    Parameters
    ----------
    text : str
        All of the text, or its beginning.
    whole : bool
        True when it is all of it.

    Returns
    -------
    str or None
        ``webvtt``, ``subrip``, ``json`` (segments), ``text`` (lines that begin with a time such as ``[1:05]`` or
        ``1:05``); None when it is no transcript.
    """
    start = text.lstrip("\ufeff \t\r\n")
    if re.match(r"WEBVTT(\s|$)", start):
        return "webvtt"
    if start[:1] in {"{", "["} and not _STAMPED.match(start):
        return "json" if _holds_segments(start, whole=whole) else None
    if _CUE.search(text):
        return "subrip" if _COMMA_CUE.search(text) else "webvtt"
    lines = [line for line in text.splitlines() if line.strip()]
    stamped = sum(1 for line in lines if _STAMPED.match(line))
    return "text" if stamped and (stamped > 1 or _STAMPED.match(lines[0])) else None


def _holds_segments(text: str, *, whole: bool) -> bool:
    if whole and len(text) <= limits().transcript.max_json_bytes:
        try:
            read = json.loads(text)
        except (ValueError, RecursionError):
            # Speech says what is wrong with a broken one; here it is enough that it means to be a transcript.
            return _SEGMENTS.search(text) is not None
        rows = read.get("segments") if isinstance(read, dict) else read
        return isinstance(rows, list) and (isinstance(read, dict) or _has_times(rows))
    return _SEGMENTS.search(text) is not None


def _has_times(rows: list[object]) -> bool:
    first = rows[0] if rows else None
    return isinstance(first, dict) and "text" in first and any(str(key).startswith("start") for key in first)
