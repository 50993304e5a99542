"""Open film and sound with FFmpeg's libraries so that a file reaches nothing but itself; read it packet by packet.

Times are seconds from the start of the recording: the moment at which the earlier of picture and sound begins.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from shutline.capture import files, whole
from shutline.car.errors import BadInputError, Problem

if TYPE_CHECKING:
    from av import AudioStream, Packet, VideoStream
    from av.container import InputContainer
    from av.stream import Stream

# Formats that hold their own sound and picture. Playlists, scripts and image sequences, which name other files, are not
# among them.
_FORMATS = "mov,matroska,wav,w64,mp3,flac,ogg,aac,aiff,caf,amr,mpegts,mpeg,avi,asf"
_OPTIONS = {"format_whitelist": _FORMATS, "protocol_whitelist": "pyav", "max_streams": "64"}
_BUFFER_BYTES = 1 << 18
# After so many failed reads in a row without a packet between them there is nothing more to come.
_TRIES = 64


@contextlib.contextmanager
def opened(path: Path) -> Iterator[InputContainer]:
    """Open a film or sound.

    Raises
    ------
    BadInputError
        `not-a-recording` when nothing in the file is known, and what `files.opened` raises.
    """
    import av

    with files.opened(path) as file:
        usable_bytes = whole.look(file).usable_bytes
        source = file if usable_bytes is None else _Beginning(file, usable_bytes)
        try:
            container = av.open(
                source, "r", options=dict(_OPTIONS), metadata_errors="replace", buffer_size=_BUFFER_BYTES
            )
        except (av.FFmpegError, ValueError) as trouble:
            raise BadInputError(not_a_recording(path, "bytes that are no film, sound, picture or text")) from trouble
        with container:
            yield container


class _Beginning:
    """The beginning of a file as a file: FFmpeg gives all of an MP4 up when the table of its last piece is cut."""

    def __init__(self, file: BinaryIO, size: int) -> None:
        self._file = file
        self._size = size

    def read(self, count: int) -> bytes:
        return self._file.read(max(0, min(count, self._size - self._file.tell())))

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        if whence == os.SEEK_END:
            return self._file.seek(self._size + offset)
        return self._file.seek(offset, whence)

    def tell(self) -> int:
        return self._file.tell()


def not_a_recording(path: Path, found: str) -> Problem:
    """Say that nothing can be taken from a file."""
    return Problem(
        slug="not-a-recording",
        where=files.shown_name(path),
        found=found,
        allowed=(
            "film (MP4, MOV, MKV, WebM), sound (WAV, MP3, M4A, FLAC, OGG), a picture, or a transcript with times "
            "(WebVTT, SubRip, JSON segments, lines that begin with a time)"
        ),
        advice="Play it to see that it is what its name says, or copy it from the camera again.",
    )


def no_sound_track(path: Path) -> Problem:
    """Say that a recording has no sound that can be read."""
    return Problem(
        slug="no-sound-track",
        where=files.shown_name(path),
        found="no sound track",
        allowed="nothing that was said can be read",
        advice="Film again with the microphone on, or add a transcript or notes.",
    )


def picture_streams(container: InputContainer) -> tuple[VideoStream, ...]:
    """Give the streams of moving picture that can be decoded; cover pictures of sound files are none."""
    return tuple(stream for stream in container.streams.video if not is_cover(stream) and is_readable(stream))


def sound_streams(container: InputContainer) -> tuple[AudioStream, ...]:
    """Give the sound streams that can be decoded, in the order of the file."""
    return tuple(stream for stream in container.streams.audio if is_readable(stream))


def is_cover(stream: Stream) -> bool:
    """Tell whether a stream is a picture attached to a sound file rather than a film."""
    from av.stream import Disposition

    return bool(stream.disposition & (Disposition.attached_pic | Disposition.timed_thumbnails))


def is_readable(stream: Stream) -> bool:
    """Tell whether there is a decoder for a stream."""
    # PyAV gives no context, against its own annotation, where FFmpeg has no decoder.
    context: object = stream.codec_context
    return context is not None


def zero_s(container: InputContainer) -> Fraction:
    """Give the file's own time at which the recording starts, in seconds; exact."""
    starts = [
        stream.start_time * stream.time_base
        for stream in (*picture_streams(container), *sound_streams(container))
        if stream.start_time is not None and stream.time_base is not None
    ]
    return Fraction(min(starts, default=Fraction(0)))


def promised_s(container: InputContainer) -> float | None:
    """Give the length that the file's header tells, seconds; None where it tells none."""
    return container.duration / 1_000_000 if container.duration is not None and container.duration > 0 else None


def packets(container: InputContainer, *streams: Stream) -> Iterator[Packet[Stream]]:
    """Give the packets of some streams in the order of the file, going on past damage.

    The empty packets that ask a decoder for what it still holds are left out: ask it with ``decode(None)``.
    """
    import av

    failed = 0
    while failed < _TRIES:
        try:
            for packet in container.demux(streams):
                if packet.size:
                    failed = 0
                    yield packet
        except av.EOFError:
            return
        except av.FFmpegError:
            failed += 1
        else:
            return
