"""Tell from the outermost boxes of a file whether its end is missing, without decoding anything."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import BinaryIO

_MOST_BOXES = 100_000
_RIFF_UNKNOWN = frozenset({0, 0xFFFFFFFF})
_EBML = b"\x1a\x45\xdf\xa3"
_PAGE = b"OggS"
# RFC 3533 clause 6: a page has at most 65,307 bytes; the sixth byte's bit 4 marks the last page of a stream.
_LONGEST_PAGE = 65_307
_LAST_PAGE = 4
_SEGMENT = b"\x18\x53\x80\x67"


@dataclass(frozen=True, slots=True)
class Wholeness:
    """What the outermost boxes tell.

    `promised_bytes` is how long the file says it is, None where it does not say; `byte_size` how long it is.
    `index_missing` is True for an MP4 or MOV whose table of contents is not there, so that nothing in it can be found.
    `in_pieces` is True for one written piece by piece, whose table does not cover all of it; `usable_bytes` is then how
    far to read when the table of the last piece is cut, None otherwise. `end_missing` is True for an Ogg file whose
    last page is not marked as the last.
    """

    byte_size: int
    promised_bytes: int | None = None
    index_missing: bool = False
    in_pieces: bool = False
    usable_bytes: int | None = None
    end_missing: bool = False

    @property
    def cut_off(self) -> bool:
        """True when bytes are missing at the end."""
        return self.end_missing or (self.promised_bytes is not None and self.promised_bytes > self.byte_size)


def look(file: BinaryIO) -> Wholeness:
    """Look at the outermost boxes of MP4, MOV, Matroska, WebM, WAV and Ogg; anything else tells nothing.

    Parameters
    ----------
    file : BinaryIO
        Open for reading in bytes, seekable; left at its start.
    """
    size = file.seek(0, os.SEEK_END)
    file.seek(0)
    head = file.read(12)
    try:
        if head[4:8] in {b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip", b"styp"}:
            return _iso(file, size)
        if head[:4] == _EBML:
            return _matroska(file, size)
        if head[:4] == b"RIFF" and head[8:12] == b"WAVE":
            return _wave(file, size)
        if head[:4] == _PAGE:
            return _ogg(file, size)
        return Wholeness(size)
    finally:
        file.seek(0)


def _iso(file: BinaryIO, size: int) -> Wholeness:
    """Walk the boxes of ISO/IEC 14496-12, clause 4.2: size, type, and a long size where the size is 1."""
    at = 0
    usable = None
    index = pieces = False
    for _ in range(_MOST_BOXES):
        file.seek(at)
        head = file.read(16)
        if len(head) < 8:
            break
        length = int.from_bytes(head[:4], "big")
        name = head[4:8]
        if length == 1 and len(head) == 16:
            length = int.from_bytes(head[8:16], "big")
        elif length == 0:
            length = size - at
        if length < 8:
            break
        end = at + length
        index = index or (name == b"moov" and end <= size)
        pieces = pieces or name in {b"moof", b"sidx"}
        if end > size and name != b"mdat":
            usable = at
        at = end
        if end > size:
            break
    # What follows the last box, or a box header that is cut, is not a promise.
    return Wholeness(
        size, max(at, 0), index_missing=not index, in_pieces=pieces, usable_bytes=usable if pieces else None
    )


def _matroska(file: BinaryIO, size: int) -> Wholeness:
    """Read the size of the one segment (RFC 8794 clause 4, RFC 9559 clause 5.1): all ones means that it is unknown."""
    file.seek(4)
    header, width = _ebml_size(file.read(8))
    if header is None:
        return Wholeness(size)
    at = 4 + width + header
    file.seek(at)
    head = file.read(12)
    if head[:4] != _SEGMENT:
        return Wholeness(size)
    length, width = _ebml_size(head[4:])
    # A recorder that was switched off leaves the size unknown; that is no cut by itself.
    return Wholeness(size, None if length is None else at + 4 + width + length)


def _ebml_size(data: bytes) -> tuple[int | None, int]:
    if not data or data[0] == 0:
        return None, 1
    width = 9 - data[0].bit_length()
    value = int.from_bytes(data[:width], "big") & ((1 << (7 * width)) - 1)
    return (None if value == (1 << (7 * width)) - 1 else value), width


def _wave(file: BinaryIO, size: int) -> Wholeness:
    file.seek(4)
    length = int.from_bytes(file.read(4), "little")
    # A recorder that streams writes none or all ones; the sound then goes to the end of the file.
    return Wholeness(size, None if length in _RIFF_UNKNOWN else length + 8)


def _ogg(file: BinaryIO, size: int) -> Wholeness:
    file.seek(max(0, size - 2 * _LONGEST_PAGE))
    tail = file.read()
    at = tail.rfind(_PAGE)
    marked = at >= 0 and len(tail) > at + 5 and bool(tail[at + 5] & _LAST_PAGE)
    return Wholeness(size, end_missing=not marked)
