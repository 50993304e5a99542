"""When everything happens: the lines laid one after another, with the engine between two of them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from demo.script import Line, Script, Stretch
from demo.voice import read_wav, take_name
from shutline.car.speech import Word, share_out


@dataclass(frozen=True, slots=True)
class Spoken:
    """A line with its take and its times, seconds from the start of the film."""

    stretch: Stretch
    line: Line
    start_s: float
    end_s: float
    words: tuple[Word, ...]
    take: NDArray[np.float64]
    rate_hz: int


@dataclass(frozen=True, slots=True)
class Timeline:
    """All lines, the engine's times and the length of the film."""

    spoken: tuple[Spoken, ...]
    engine_start_s: float
    engine_off_s: float
    listen_end_s: float
    length_s: float

    def of(self, stretch_id: str) -> tuple[Spoken, ...]:
        """Give the lines of a stretch."""
        return tuple(s for s in self.spoken if s.stretch.id == stretch_id)


def lay_out(script: Script, takes: Path) -> Timeline:
    """Lay the takes one after another with the pauses of the script.

    Word times are rough: the voiced time of a line shared out among its words by their length.
    """
    at = 0.0
    spoken: list[Spoken] = []
    engine_start = engine_off = listen_end = 0.0
    cold = script.cold_start
    for stretch in script.stretches:
        for line in stretch.lines:
            at += line.before_s
            take, rate_hz = read_wav(takes / take_name(script, line))
            voiced = np.flatnonzero(np.abs(take) > 0.02 * np.abs(take).max())
            take = take[max(0, voiced[0] - rate_hz // 50) : voiced[-1] + rate_hz // 16]
            length = take.size / rate_hz
            words = share_out(line.text, at + 0.02, at + length - 0.05)
            spoken.append(Spoken(stretch, line, at, at + length, words, take, rate_hz))
            at += length + line.after_s
        at += stretch.after_s
        if stretch.id == cold.after:
            engine_start = at
            at = listen_end = at + cold.listen_s
        if stretch.id == cold.stop_after:
            engine_off = at - 0.4
            at += 1.4
    return Timeline(tuple(spoken), engine_start, engine_off, listen_end, round(at, 2))
