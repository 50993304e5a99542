"""Sound cut into pieces that a recogniser takes well, at the pauses."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from shutline.speech.heard import SAMPLES_PER_S, Sound
from shutline.speech.settings import SplitSettings, settings
from shutline.speech.voice import CHUNK_S, CHUNK_SAMPLES, Detector, voice_detector


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of sound with speech in it.

    `index` counts from 0 in order of time; `start_s` and `end_s` count from the start of the recording; `sound` is
    what lies between them.
    """

    index: int
    start_s: float
    end_s: float
    sound: Sound


def split(
    blocks: Iterable[Sound],
    *,
    longest_s: float,
    detector: Detector | None = None,
    tuning: SplitSettings | None = None,
) -> Iterator[Piece]:
    """Cut sound into pieces with speech, each at most `longest_s` long.

    A piece ends at a pause; where nobody pauses for `longest_s`, at the longest short one, and where there is none at
    the moment that sounds least like speech. What has no speech is left out. The same sound gives the same pieces
    however it is blocked.

    Parameters
    ----------
    blocks : iterable of ndarray of float32, shape (any,)
        Sound at 16 kHz, one channel, in order. At most about `longest_s` of it is held at a time.
    longest_s : float
        Seconds, more than 2.
    detector : Detector, optional
        What tells speech; a fresh `voice_detector` when not given.
    tuning : SplitSettings, optional
        Pauses and paddings; the shipped ones when not given.

    Yields
    ------
    Piece
        In order, without overlap.
    """
    cutter = _Cutter(longest_s=longest_s, tuning=tuning or settings().split)
    tell = detector or voice_detector()
    for chunk in _chunks(blocks):
        yield from cutter.take(chunk, _chance(chunk, tell))
    yield from cutter.finish()


def _chance(chunk: Sound, tell: Detector) -> float:
    # Silence to the last bit needs no ear: a camera left running for hours would cost minutes.
    if not chunk.any():
        return 0.0
    return tell(chunk if len(chunk) == CHUNK_SAMPLES else np.pad(chunk, (0, CHUNK_SAMPLES - len(chunk))))


def _chunks(blocks: Iterable[Sound]) -> Iterator[Sound]:
    rest = np.zeros(0, dtype=np.float32)
    for block in blocks:
        sound = np.concatenate([rest, block]) if len(rest) else block
        whole = len(sound) - len(sound) % CHUNK_SAMPLES
        for at in range(0, whole, CHUNK_SAMPLES):
            yield sound[at : at + CHUNK_SAMPLES]
        rest = sound[whole:].copy()
    if len(rest):
        yield rest


class _Cutter:
    """Holds the chunks since the last cut and says where the next one falls."""

    def __init__(self, *, longest_s: float, tuning: SplitSettings) -> None:
        self._tuning = tuning
        self._longest = max(2, int(longest_s / CHUNK_S))
        self._pad = round(tuning.pad_s / CHUNK_S)
        self._pause = round(tuning.pause_s / CHUNK_S)
        self._settled = round(tuning.settled_s / CHUNK_S)
        self._long_pause = round(tuning.long_pause_s / CHUNK_S)
        self._shortest = max(1, round(tuning.shortest_speech_s / CHUNK_S))
        self._chunks: list[Sound] = []
        self._chances: list[float] = []
        self._speech: list[bool] = []
        self._first = 0
        self._talking = False
        self._index = 0

    def take(self, chunk: Sound, chance: float) -> Iterator[Piece]:
        """Add a chunk; give the piece that it ends, if it ends one."""
        self._talking = chance >= (self._tuning.off if self._talking else self._tuning.on)
        self._chunks.append(chunk)
        self._chances.append(chance)
        self._speech.append(self._talking)
        if not self._any_speech():
            self._drop(len(self._chunks) - self._pad)
            return
        quiet = self._quiet_at_end()
        held = len(self._chunks)
        if quiet >= self._long_pause or (quiet >= self._pause and held - quiet >= self._settled):
            yield from self._cut(held - quiet + min(self._pad, quiet), drop=held - min(self._pad, quiet // 2))
        elif held >= self._longest:
            at = self._best_cut()
            yield from self._cut(at, drop=at)

    def finish(self) -> Iterator[Piece]:
        """Give what is left."""
        if self._chunks and self._any_speech():
            quiet = self._quiet_at_end()
            held = len(self._chunks)
            yield from self._cut(held - max(0, quiet - self._pad), drop=held)

    def _any_speech(self) -> bool:
        return True in self._speech

    def _quiet_at_end(self) -> int:
        count = 0
        for talking in reversed(self._speech):
            if talking:
                break
            count += 1
        return count

    def _best_cut(self) -> int:
        """Find the middle of the longest pause in the latter two thirds, or the chunk least like speech."""
        held = len(self._chunks)
        low = held // 3
        best, best_length, run = 0, 0, 0
        for at in range(low, held):
            run = 0 if self._speech[at] else run + 1
            if run > best_length:
                best, best_length = at - run // 2, run
        if best_length >= 2:
            return best
        around = [sum(self._chances[at - 1 : at + 2]) for at in range(low, held - 1)]
        return low + int(np.argmin(around))

    def _cut(self, at: int, *, drop: int) -> Iterator[Piece]:
        """Give the chunks before `at` as a piece if they hold speech, and let go of those before `drop`."""
        if sum(self._speech[:at]) >= self._shortest:
            start = self._first * CHUNK_SAMPLES
            sound = np.concatenate(self._chunks[:at])
            yield Piece(self._index, start / SAMPLES_PER_S, (start + len(sound)) / SAMPLES_PER_S, sound)
            self._index += 1
        self._drop(drop)

    def _drop(self, count: int) -> None:
        if count > 0:
            del self._chunks[:count], self._chances[:count], self._speech[:count]
            self._first += count
