"""Sound on its way from the packets of a recording to a track that is written."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np

from shutline.capture.film_writer import CodedSound

if TYPE_CHECKING:
    from av import AudioFrame, Packet
    from av.stream import Stream


class Resampled:
    """Sound on its way from packets to a track: decoded, brought to 48 kHz, cut to the sample.

    It is silent in the stretches of `muted`, seconds of the recording.
    """

    def __init__(
        self, track: CodedSound, begin_s: float, end_s: float, *, muted: Sequence[tuple[float, float]] = ()
    ) -> None:
        import av

        self._muted = muted
        self._track, self._begin_s, self._end_s = track, begin_s, end_s
        self._resampler = av.AudioResampler(format="fltp", layout=track.layout, rate=48_000)
        self.reached_s = 0.0

    def take(self, packet: Packet[Stream], zero: Fraction) -> None:
        """Decode a packet and write what of it lies in the stretch; what cannot be decoded is left out."""
        import av

        try:
            decoded: list[AudioFrame] = packet.decode()  # type: ignore[assignment]
        except av.FFmpegError:
            return
        for frame in decoded:
            if frame.pts is None or not frame.time_base:
                continue
            at_s = float(frame.pts * frame.time_base - zero)
            frame.pts = None
            for ready in self._resampler.resample(frame):
                self._put(ready, at_s)
                at_s += ready.samples / 48_000

    def _put(self, frame: AudioFrame, at_s: float) -> None:
        samples = np.asarray(frame.to_ndarray(), np.float32)
        skip = max(0, round((self._begin_s - at_s) * 48_000))
        keep = samples.shape[1] if math.isinf(self._end_s) else round((self._end_s - at_s) * 48_000)
        samples = samples[:, skip : max(skip, keep)]
        at_s += skip / 48_000
        for from_s, until_s in self._muted:
            first, end = (max(0, round((edge_s - at_s) * 48_000)) for edge_s in (from_s, until_s))
            if first < min(end, samples.shape[1]):
                samples = samples.copy()
                samples[:, first:end] = 0.0
        self.reached_s = max(self.reached_s, at_s + samples.shape[1] / 48_000)
        self._track.put(samples, max(0.0, at_s - self._begin_s))

    def end(self) -> None:
        """Write what the coder still holds."""
        self._track.end(self.reached_s)
