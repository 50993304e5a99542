"""Reach frames of a film by key frame: packets are read for a stretch, and only those asked for are decoded."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.capture import media

if TYPE_CHECKING:
    from av import Packet, VideoFrame, VideoStream
    from av.container import InputContainer

# A decoder hands frames out in another order than it takes packets in; a key frame's own followers come within this.
_REORDER_S = 1.0
# Where a seek lands too late, it is tried again this much earlier, and at last from the start.
_EARLIER_S = (0.0, 12.0)


@dataclass(slots=True)
class KeyRun:
    """A key frame and what hangs on it, not decoded yet: `key_s` and `end_s` are seconds from the start."""

    key_s: float
    end_s: float
    packets: list[Packet[VideoStream]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Frame:
    """A decoded frame with its own time, seconds from the start of the recording."""

    at_s: float
    image: VideoFrame


@dataclass(slots=True)
class Met:
    """What was met in decoding: how many packets could not be decoded, and whether frames hold two half pictures."""

    failed_packets: int = 0
    interlaced: bool = False

    @staticmethod
    def of_all(several: Iterable[Met]) -> Met:
        """Give what several decoders met."""
        told = list(several)
        return Met(sum(one.failed_packets for one in told), any(one.interlaced for one in told))


class Film:
    """The picture of an open recording; use `open_film`."""

    def __init__(self, container: InputContainer, stream: VideoStream) -> None:
        self._container = container
        self._stream = stream
        self._zero = media.zero_s(container)
        self._tick = stream.time_base or Fraction(1, 1000)
        self.length_s = media.promised_s(container)
        context = stream.codec_context
        self.size = (context.width, context.height)
        self.met = Met()

    @property
    def pixel_shape(self) -> Fraction:
        """How wide a pixel is against its height."""
        return self._stream.codec_context.sample_aspect_ratio or Fraction(1)

    def keys_s(self) -> list[float]:
        """Give the times of the key frames, nearly, as the file's own table has them; empty where it has none."""
        times = (entry.timestamp for entry in self._stream.index_entries if entry.is_keyframe)
        return sorted(float(at * self._tick - self._zero) for at in times)

    def runs(self, start_s: float, end_s: float) -> list[KeyRun]:
        """Read the packets of a stretch, from the key frame before it to its end, without decoding any.

        Parameters
        ----------
        start_s, end_s : float
            Seconds from the start of the recording.

        Returns
        -------
        list of KeyRun
            In the order of time; empty where the film has nothing there.
        """
        import av

        for earlier_s in _EARLIER_S:
            with contextlib.suppress(av.FFmpegError):
                found = self._read(max(0.0, start_s - earlier_s), end_s)
                if found and found[0].key_s <= start_s + _REORDER_S:
                    return found
        with contextlib.suppress(av.FFmpegError):
            # From the very start only what can be read is wanted, so that the stretch's first key frame is kept.
            return _from(self._read(0.0, end_s), start_s)
        return []

    def _read(self, start_s: float, end_s: float) -> list[KeyRun]:
        self._container.seek(round((start_s + self._zero) / self._tick), stream=self._stream)
        runs: list[KeyRun] = []
        for packet in media.packets(self._container, self._stream):
            at = packet.pts if packet.pts is not None else packet.dts
            if at is None:
                continue
            at_s = float(at * self._tick - self._zero)
            if packet.is_keyframe:
                if at_s > end_s:
                    break
                runs = _from(runs, start_s) if at_s <= start_s else runs
                runs.append(KeyRun(at_s, at_s))
            if runs:
                runs[-1].packets.append(packet)  # type: ignore[arg-type]
                runs[-1].end_s = max(runs[-1].end_s, at_s)
                if packet.dts is not None and float(packet.dts * self._tick - self._zero) > end_s + _REORDER_S:
                    break
        return runs

    def decode(self, run: KeyRun, *, count: int | None = None, until_s: float | None = None) -> Iterator[Frame]:
        """Decode a run from its key frame.

        Parameters
        ----------
        run : KeyRun
            As `runs` gave it.
        count : int, optional
            Decode this many packets only.
        until_s : float, optional
            Stop after the first frame later than this, seconds.

        Yields
        ------
        Frame
            In the order of time. What cannot be decoded is left out and counted in `met`.
        """
        import av

        context = self._stream.codec_context
        try:
            for packet in run.packets[:count]:
                try:
                    images = context.decode(packet)
                except av.FFmpegError:
                    self.met.failed_packets += 1
                    continue
                for frame in self._timed(images):
                    yield frame
                    if until_s is not None and frame.at_s > until_s:
                        return
            with contextlib.suppress(av.FFmpegError):
                yield from self._timed(context.decode(None))
        finally:
            context.flush_buffers()

    def _timed(self, images: list[VideoFrame]) -> Iterator[Frame]:
        for image in images:
            if image.pts is not None and not image.is_corrupt:
                self.met.interlaced = self.met.interlaced or image.interlaced_frame
                yield Frame(float(image.pts * self._tick - self._zero), image)


def _from(runs: list[KeyRun], start_s: float) -> list[KeyRun]:
    """Leave out the runs that end before a stretch begins, but never the last one before it."""
    first = max((at for at, run in enumerate(runs) if run.key_s <= start_s), default=0)
    return runs[first:]


@contextlib.contextmanager
def open_film(path: Path, *, threads: int = 0) -> Iterator[Film | None]:
    """Open the picture of a recording; None when it has none.

    Parameters
    ----------
    path : Path
        A film.
    threads : int
        How many threads decode; 0 for as many as there are processors.

    Raises
    ------
    BadInputError
        As `media.opened`.
    """
    from av.stream import Discard

    with media.opened(path) as container:
        streams = media.picture_streams(container)
        if not streams:
            yield None
            return
        chosen = streams[0]
        for stream in container.streams:
            if stream.index != chosen.index:
                stream.discard = Discard.all
        chosen.thread_type = "AUTO"
        chosen.codec_context.thread_count = threads
        yield Film(container, chosen)
