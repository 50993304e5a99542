"""Coded pictures without the notes that a camera writes between them: place, time and device can stand there."""

from __future__ import annotations

import re
from collections.abc import Iterator

# ITU-R H.264 clause D.1 and H.265 clause D.2: payloads 4 and 5 hold whatever a maker or user wants.
_NOTES = frozenset({4, 5})
# NAL unit types that carry such payloads, and the length of their header (H.264 clause 7.4.1, H.265 clause 7.4.2.2).
_CARRIERS = {"h264": (frozenset({6}), 1), "hevc": (frozenset({39, 40}), 2)}
_START = re.compile(rb"\x00\x00\x00?\x01")


def without_notes(data: bytes, codec: str, extradata: bytes | None) -> bytes:
    """Leave out the units of a coded picture that hold user data; all else stays byte for byte.

    Parameters
    ----------
    data : bytes
        One packet, of units with their lengths before them (as in MP4) or with start codes between them.
    codec : str
        FFmpeg's name; other than ``h264`` and ``hevc`` nothing is done.
    extradata : bytes or None
        The codec's own header, which tells the two forms apart.

    Returns
    -------
    bytes
        `data` itself where there is nothing to leave out, or it cannot be read as units.
    """
    if codec not in _CARRIERS:
        return data
    width = _length_bytes(codec, extradata)
    units = list(_with_lengths(data, width) if width else _with_starts(data))
    if not units or sum(len(unit) for unit, _ in units) != len(data):
        return data
    kept = [unit for unit, head in units if not _is_note(unit[head:], codec)]
    return data if len(kept) == len(units) else b"".join(kept)


def _length_bytes(codec: str, extradata: bytes | None) -> int:
    """Give how many bytes a length takes (ISO/IEC 14496-15, 5.3.3.1.2 and 8.3.3.1.2); 0 for start codes."""
    if not extradata or extradata[0] != 1:
        return 0
    at = 4 if codec == "h264" else 21
    return (extradata[at] & 3) + 1 if len(extradata) > at else 0


def _with_lengths(data: bytes, width: int) -> Iterator[tuple[bytes, int]]:
    at = 0
    while at + width < len(data):
        end = at + width + int.from_bytes(data[at : at + width], "big")
        yield data[at:end], width
        at = end


def _with_starts(data: bytes) -> Iterator[tuple[bytes, int]]:
    starts = [(match.start(), match.end()) for match in _START.finditer(data)]
    if not starts or starts[0][0]:
        return
    ends = [start for start, _ in starts[1:]] + [len(data)]
    for (start, begin), end in zip(starts, ends, strict=True):
        yield data[start:end], begin - start


def _is_note(unit: bytes, codec: str) -> bool:
    types, head = _CARRIERS[codec]
    if len(unit) <= head:
        return False
    kind = unit[0] & 31 if codec == "h264" else unit[0] >> 1 & 63
    if kind not in types:
        return False
    # Emulation prevention puts a 3 between two noughts and what would look like a start code.
    return any(payload in _NOTES for payload in _payloads(unit[head:].replace(b"\0\0\x03", b"\0\0")))


def _payloads(body: bytes) -> Iterator[int]:
    at = 0
    while at + 1 < len(body) and body[at:] != b"\x80":
        values = []
        for _ in range(2):
            value = 0
            while at < len(body) and body[at] == 255:
                value, at = value + 255, at + 1
            if at >= len(body):
                return
            value, at = value + body[at], at + 1
            values.append(value)
        yield values[0]
        at += values[1]
