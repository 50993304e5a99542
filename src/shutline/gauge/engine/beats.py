"""The beats of one cycle beside each other: whether one of them is weak, and what sounds once a cycle.

A four-stroke engine comes round to the same cylinder once in two turns of the crankshaft. What differs from cylinder
to cylinder therefore sounds at half the order of the crankshaft (speed / 120) and its multiples: for four cylinders
that is a quarter of the firing frequency, for six a sixth. One cylinder that is missing sounds at all these multiples
alike; two that fire half a cycle apart only at the even ones, which are once a turn. So the beats are laid over each
other cycle by cycle, and both are read from their means: the weakest beat, and the strength of the change once a
cycle. A two-stroke engine comes round once a turn.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from shutline.gauge.engine.features import Array, Features, smooth
from shutline.gauge.engine.running import Run
from shutline.gauge.engine.settings import BeatSettings


@dataclass(frozen=True, slots=True)
class Beats:
    """The mean strength of each beat of a cycle against the middle of the others, strongest 1 or more.

    `weakest` is the smallest; `same` the share of the blocks in which that very beat is the smallest; `half_order` the
    swing of the strength once a cycle, as a share of its mean. `why` is the id of a reason where nothing is told.
    """

    strengths: tuple[float, ...] = ()
    weakest: float | None = None
    same: float = 0.0
    half_order: float | None = None
    why: str | None = None


def compare_beats(
    heard: Features, run: Run, *, cylinders: int, per_rpm: float, from_s: float, tuning: BeatSettings
) -> Beats:
    """Lay the beats of the last while of a run over each other.

    Parameters
    ----------
    heard : Features
        The sound.
    run : Run
        Its speed.
    cylinders : int
        Beats in a cycle.
    per_rpm : float
        Beats a second at one turn a minute.
    from_s : float
        Not before this moment, seconds from the start of the sound.
    tuning : BeatSettings
        How much is needed, and what counts as weak.
    """
    if cylinders < 2:
        return Beats(why="one-cylinder")
    rate = heard.rate_hz
    start_s, end_s = _longest_heard(run, from_s, tuning.longest_s)
    first, last = round(start_s * rate), min(round(end_s * rate), heard.channels.shape[1])
    time = np.arange(first, last) / rate
    if len(time) < rate:
        return Beats(why="too-few-cycles")
    firing = np.interp(time, run.times_s[run.heard], run.rpm[run.heard]) * per_rpm
    phase = _locked(heard.channels[:, first:last], np.cumsum(firing) / rate, float(np.median(firing)), rate)
    power = _loudness(heard.power[:, first:last], rate)
    number = np.floor(phase + 0.5).astype(int)
    number -= number[0]
    count = np.bincount(number)
    beats = (np.bincount(number, weights=power) / np.maximum(count, 1))[1:-1]
    cycles = len(beats) // cylinders
    if cycles < tuning.cycles:
        return Beats(why="too-few-cycles")
    cycle = beats[: cycles * cylinders].reshape(cycles, cylinders)
    return _judged(cycle, cylinders, tuning)


def _judged(cycle: Array, cylinders: int, tuning: BeatSettings) -> Beats:
    middle = np.median(cycle, axis=0)
    others = np.array([np.median(np.delete(middle, at)) for at in range(cylinders)])
    strengths = middle / others
    weak = int(strengths.argmin())
    size = max(1, round(tuning.block_cycles))
    blocks = [cycle[at : at + size].mean(axis=0) for at in range(0, len(cycle) - size + 1, size)]
    same = float(np.mean([int(block.argmin()) == weak for block in blocks]))
    swing = 2.0 * abs(np.fft.rfft(middle)[1]) / cylinders if cylinders > 2 else abs(middle[0] - middle[1]) / 2
    return Beats(
        strengths=tuple(float(one) for one in strengths),
        weakest=float(strengths[weak]),
        same=same,
        half_order=float(swing / middle.mean()),
    )


def _longest_heard(run: Run, from_s: float, longest_s: float) -> tuple[float, float]:
    """Give the longest stretch without a gap, its last part if it is longer than asked for."""
    index = np.flatnonzero(run.heard & (run.times_s >= from_s))
    if not len(index):
        return 0.0, 0.0
    stretches = np.split(index, np.flatnonzero(np.diff(index) > 1) + 1)
    best = max(stretches, key=len)
    end_s = float(run.times_s[best[-1]])
    return max(float(run.times_s[best[0]]), end_s - longest_s), end_s


def _locked(channels: Array, phase: Array, firing_hz: float, rate: int) -> Array:
    """Hold a phase to the beat that is heard: whole numbers fall where the bands are loudest."""
    beat = channels[1:].mean(axis=0)
    turned = beat * np.exp(-2j * np.pi * phase)
    width = round(8.0 / firing_hz * rate)
    slow = smooth(turned.real, width) + 1j * smooth(turned.imag, width)
    return np.asarray(phase + np.unwrap(np.angle(slow)) / (2 * np.pi))


def _loudness(power: Array, rate: int) -> Array:
    """Bring the bands to one loudness each over two seconds and give their mean."""
    return np.asarray(np.mean([row / np.maximum(smooth(row, 2 * rate), 1e-15) for row in power], axis=0))
