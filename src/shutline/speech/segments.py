"""JSON segments to cues."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from typing import Any, Final

from shutline.car.speech import Word, WordTiming
from shutline.speech.cues import Complaints, Cue, seconds_of, spoken_text

_MOST_SALVAGED: Final = 200_000


def read_segments(text: str, complaints: Complaints) -> list[Cue]:
    """Read ``{"segments": [{"start": 1.5, "end": 4.0, "text": "..."}]}`` or the bare list; other keys are ignored.

    Words with times (``words``: ``word`` or ``text``, ``start``, ``end``, ``probability``) are kept as given. Of a file
    that is cut off or broken, each whole segment is kept.
    """
    cues: list[Cue] = []
    for at, segment in enumerate(_segments(text, complaints)):
        where = f"segment {at + 1}"
        if not isinstance(segment, dict) or not isinstance(segment.get("text", segment.get("words")), str | list):
            complaints.add(
                "segment-broken",
                where,
                f"{json.dumps(segment)[:80]}",
                "a segment has a start, an end and a text",
                "Mend it; it is passed over.",
            )
            continue
        cues.append(_cue(segment, where, complaints))
    return cues


def _segments(text: str, complaints: Complaints) -> list[Any]:
    try:
        whole = json.loads(text)
    except (ValueError, RecursionError) as error:
        place = f"line {error.lineno}" if isinstance(error, json.JSONDecodeError) else ""
        found = error.msg if isinstance(error, json.JSONDecodeError) else "figures or nesting out of all bounds"
        rescued = list(_salvaged(text))
        complaints.add(
            "json-broken",
            place,
            f"JSON that cannot be read on from here ({found})",
            f"{len(rescued)} whole segments were found in the file and are kept",
            "Make the file again; what was said after this place may be missing.",
        )
        return rescued
    segments = whole.get("segments") if isinstance(whole, dict) else whole
    if isinstance(segments, list):
        return segments
    complaints.add(
        "segment-broken",
        "",
        "JSON without a list of segments",
        'segments stand as {"segments": [{"start": 1.5, "end": 4.0, "text": "..."}]}',
        "Give a file of that form.",
    )
    return []


def _salvaged(text: str) -> Iterator[Any]:
    """Give every whole object with a text and a start or an end, from the front."""
    decoder = json.JSONDecoder()
    at = 0
    for _ in range(_MOST_SALVAGED):
        at = text.find("{", at)
        if at < 0:
            return
        try:
            value, end = decoder.raw_decode(text, at)
        except (ValueError, RecursionError):
            at += 1
            continue
        if isinstance(value, dict) and isinstance(value.get("text"), str) and ("start" in value or "end" in value):
            yield value
        at = end


def _cue(segment: dict[str, Any], where: str, complaints: Complaints) -> Cue:
    start = _time(segment, "start", where, complaints)
    end = _time(segment, "end", where, complaints)
    words = _words(segment.get("words"))
    raw = segment.get("text")
    text = spoken_text(raw) if isinstance(raw, str) else " ".join(word.text for word in words)
    if words and [word.text for word in words] != text.split():
        complaints.add(
            "words-differ-from-text",
            where,
            f"{len(words)} words with times that do not join to the text of the segment",
            "the text is taken, its time shared out among its words",
            "Nothing needs doing unless the times of single words matter.",
        )
        words = ()
    if words and start is None:
        start = words[0].start_s
    if words and end is None:
        end = max(word.end_s for word in words)
    return Cue(where, start, end, text, words)


def _time(segment: dict[str, Any], key: str, where: str, complaints: Complaints) -> float | None:
    raw = segment.get(key)
    value = _seconds(raw)
    if raw is not None and value is None:
        complaints.add(
            "cue-broken",
            where,
            f"{key} {json.dumps(raw)[:40]}",
            "times are seconds from the start of the recording, nought or more",
            "Mend it if its time matters.",
        )
    return value


def _seconds(raw: object) -> float | None:
    if isinstance(raw, str):
        stamp = seconds_of(raw)
        if stamp is not None:
            return stamp
        try:
            raw = float(raw)
        except ValueError:
            return None
    if isinstance(raw, bool) or not isinstance(raw, int | float):
        return None
    try:
        value = float(raw)
    except OverflowError:
        return None
    return value if math.isfinite(value) and 0 <= value < 1e7 else None


def _words(raw: object) -> tuple[Word, ...]:
    """Read words with times; empty where one of them has none, or the times run backwards."""
    if not isinstance(raw, list):
        return ()
    words: list[Word] = []
    for one in raw:
        if not isinstance(one, dict):
            return ()
        written = one.get("word", one.get("text"))
        start, end = _seconds(one.get("start")), _seconds(one.get("end"))
        if not isinstance(written, str) or start is None or end is None or end < start:
            return ()
        if words and start < words[-1].start_s:
            return ()
        text = spoken_text(written)
        sureness = _seconds(one.get("probability"))
        if not text:
            continue
        if " " in text:
            return ()
        words.append(
            Word(text, start, end, WordTiming.GIVEN, sureness if sureness is not None and sureness <= 1 else None)
        )
    return tuple(words)
