"""Read what can be heard in a recording as mono samples that stay true to time, also where the file is damaged."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from shutline.capture import files, media
from shutline.capture.limits import limits
from shutline.capture.timeline import Timeline
from shutline.capture.track import choose_track
from shutline.car.errors import Problem, StoppedError

if TYPE_CHECKING:
    from av import AudioFrame, AudioResampler, AudioStream
    from av.container import InputContainer

Samples = npt.NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class SoundBlock:
    """Consecutive mono samples.

    `start_s` is the time of the first, seconds from the start of the recording. `samples` are float32, full scale 1;
    each block but the last has the length that was asked for.
    """

    start_s: float
    samples: Samples


class SoundBlocks:
    """The sound of one recording, block after block; what went wrong stands in `problems` when the last has been taken.

    Iterating anew reads anew.
    """

    def __init__(
        self,
        path: Path,
        *,
        track: int | None = None,
        rate_hz: int = 16_000,
        block_s: float = 60.0,
        on_progress: Callable[[float], None] | None = None,
        should_stop: Callable[[], bool] | None = None,
    ) -> None:
        if rate_hz < 1 or block_s * rate_hz < 1:
            raise ValueError(f"rate_hz {rate_hz} and block_s {block_s}: a block must hold at least one sample")
        self.path = path
        self.rate_hz = rate_hz
        self.block_samples = round(block_s * rate_hz)
        self.problems: tuple[Problem, ...] = ()
        self.track: int | None = None
        self._asked = track
        self._on_progress = on_progress
        self._should_stop = should_stop

    def __iter__(self) -> Iterator[SoundBlock]:
        """Read the recording from its start."""
        self.problems = ()
        with media.opened(self.path) as container:
            self.track, told = choose_track(self.path, container, asked=self._asked)
            self.problems += told
            if self.track is None:
                return
        # The file is opened anew: some formats do not find back to their start after they were listened to.
        with media.opened(self.path) as container:
            chosen = next(stream for stream in container.streams.audio if stream.index == self.track)
            yield from self._blocks(container, chosen)

    def _blocks(self, container: InputContainer, stream: AudioStream) -> Iterator[SoundBlock]:
        timeline = Timeline(
            rate_hz=self.rate_hz, block_samples=self.block_samples, promised_s=media.promised_s(container)
        )
        done = 0
        peak = 0.0
        for piece in _pieces(container, stream, timeline, self._heed):
            peak = max(peak, float(np.max(np.abs(piece), initial=0.0)))
            yield SoundBlock(done / self.rate_hz, piece)
            done += len(piece)
            self._tell(done, timeline.promised_s)
        self.problems += timeline.problems(files.shown_name(self.path))
        if peak < limits().sound.silence_peak:
            self.problems += (_no_sound(self.path, stream.index),)
        if self._on_progress is not None:
            self._on_progress(1.0)

    def _tell(self, done: int, promised_s: float | None) -> None:
        if self._on_progress is not None and promised_s:
            self._on_progress(min(1.0, done / self.rate_hz / promised_s))

    def _heed(self) -> None:
        if self._should_stop is not None and self._should_stop():
            raise StoppedError(files.shown_name(self.path))


def sound_blocks(
    path: Path,
    *,
    track: int | None = None,
    rate_hz: int = 16_000,
    block_s: float = 60.0,
    on_progress: Callable[[float], None] | None = None,
    should_stop: Callable[[], bool] | None = None,
) -> SoundBlocks:
    """Read the sound of a recording block by block, so that hours of it need not be held at once.

    Parameters
    ----------
    path : Path
        A film or a sound.
    track : int, optional
        The stream index of the sound track (`Track.index`). By default the file's own default track, or the one in
        which there is most speech (see `track.choose_track`).
    rate_hz : int
        Samples a second.
    block_s : float
        Length of a block, seconds.
    on_progress : callable, optional
        Told the share that is done, 0 to 1, after each block.
    should_stop : callable, optional
        Asked after each packet; True ends the reading with `StoppedError`.

    Returns
    -------
    SoundBlocks
        Iterate over it to get each `SoundBlock`; look at its `problems` and `track` afterwards.

    Raises
    ------
    BadInputError
        While iterating: the file is no recording (see `media.opened`), or has no track `track` (`no-such-track`).
    """
    return SoundBlocks(
        path, track=track, rate_hz=rate_hz, block_s=block_s, on_progress=on_progress, should_stop=should_stop
    )


def read_sound(
    path: Path,
    *,
    track: int | None = None,
    rate_hz: int = 16_000,
    on_progress: Callable[[float], None] | None = None,
    should_stop: Callable[[], bool] | None = None,
) -> tuple[Samples, tuple[Problem, ...]]:
    """Read all the sound of a recording.

    Parameters
    ----------
    path, track, rate_hz, on_progress, should_stop
        As for `sound_blocks`.

    Returns
    -------
    numpy.ndarray
        Shape (samples,), float32, mono, full scale 1. Sample ``i`` was heard ``i / rate_hz`` seconds after the start of
        the recording, that is of the earlier of picture and sound; where nothing could be read there is silence. Empty
        when there is no sound track. An hour at 16 kHz takes 230 MB.
    tuple of Problem
        `no-sound-track`, `several-sound-tracks`, `no-sound`, `sound-gap`, `sound-clock`.

    Raises
    ------
    BadInputError
        As for `sound_blocks`.
    """
    blocks = sound_blocks(path, track=track, rate_hz=rate_hz, on_progress=on_progress, should_stop=should_stop)
    whole = np.empty(0, np.float32)
    used = 0
    for block in blocks:
        if used + len(block.samples) > len(whole):
            # The system moves pages instead of copying them where it can, so that two copies are seldom held.
            whole.resize(max(used + len(block.samples), len(whole) + len(whole) // 8), refcheck=False)
        whole[used : used + len(block.samples)] = block.samples
        used += len(block.samples)
    whole.resize(used, refcheck=False)
    return whole, blocks.problems


def _pieces(
    container: InputContainer, stream: AudioStream, timeline: Timeline, heed: Callable[[], None]
) -> Iterator[Samples]:
    """Decode packet by packet and lay each frame at its own time."""
    import av

    zero = media.zero_s(container)
    laying = _Laying(timeline, zero, stream.time_base or Fraction(1, stream.codec_context.sample_rate))
    for packet in media.packets(container, stream):
        heed()
        try:
            frames = stream.codec_context.decode(packet)
        except av.FFmpegError:
            timeline.lost_packets += 1
            continue
        for frame in frames:
            laying.lay(frame)
        yield from timeline.full_blocks()
    try:
        for frame in stream.codec_context.decode(None):
            laying.lay(frame)
    except av.FFmpegError:
        timeline.lost_packets += 1
    laying.end_run()
    yield from timeline.full_blocks()
    yield from timeline.rest()


class _Laying:
    """Bring frames to the wanted rate and hand them to the timeline, one resampler for each unbroken run."""

    def __init__(self, timeline: Timeline, zero: Fraction, tick: Fraction) -> None:
        self._timeline = timeline
        self._zero = zero
        self._tick = tick
        self._resampler: AudioResampler | None = None
        self._form: tuple[int, str, str] | None = None
        self._run_in_s = Fraction(0)

    def lay(self, frame: AudioFrame) -> None:
        form = (frame.sample_rate, frame.format.name, frame.layout.name)
        if frame.sample_rate < 1 or not frame.samples:
            return
        at_s = None
        if frame.pts is not None:
            at_s = frame.pts * self._tick - self._zero
        expected_s = self._timeline.run_start_s + self._run_in_s
        if form != self._form or self._timeline.leaves(at_s, float(expected_s)):
            self.end_run()
            self._timeline.start_run(None if at_s is None else float(at_s))
            self._begin(form)
        self._run_in_s += Fraction(frame.samples, frame.sample_rate)
        # Without times of its own the resampler counts samples, which is all that is wanted of it within a run.
        frame.pts = None
        self._take(frame)

    def end_run(self) -> None:
        if self._resampler is not None:
            self._take(None)
        self._resampler = None
        self._form = None
        self._run_in_s = Fraction(0)

    def _begin(self, form: tuple[int, str, str]) -> None:
        from av import AudioResampler

        self._resampler = AudioResampler(format="flt", layout="mono", rate=self._timeline.rate_hz)
        self._form = form

    def _take(self, frame: AudioFrame | None) -> None:
        if self._resampler is None:
            return
        for done in self._resampler.resample(frame):
            self._timeline.add(done.to_ndarray().reshape(-1).astype(np.float32, copy=False))


def _no_sound(path: Path, index: int) -> Problem:
    return Problem(
        slug="no-sound",
        where=files.shown_name(path),
        found=f"sound track {index} is silent from end to end",
        allowed="nothing that was said can be read",
        advice="See whether the microphone was on; choose another sound track if there is one, or add a transcript.",
    )
