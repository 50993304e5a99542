"""Where an engine runs, how well it was heard, and whether its speed can only be that."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from shutline.gauge.engine.features import Array, Features
from shutline.gauge.engine.settings import EngineSettings, RunningSettings
from shutline.gauge.engine.speed import Combs, comb_fit, combs, steady, way

Flags = NDArray[np.bool_]
Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Run:
    """One run of an engine.

    `times_s` and `rpm`, shape (pieces,), cover it; `heard` is where the speed was heard. `fit` is the middle fit of
    what was heard, `share` how much of the run that is; `covered` how much somebody spoke over.
    """

    start_s: float
    end_s: float
    times_s: Array
    rpm: Array
    heard: Flags
    fit: float
    share: float
    covered: float


@dataclass(frozen=True, slots=True)
class Listening:
    """All pieces of a sound: their combs, the likeliest speed in each, its fit, where it was heard, who spoke."""

    combs: Combs
    per_rpm: float
    rpm: Array
    fit: Array
    heard: Flags
    spoken: Flags
    step_s: float


def firings_per_rpm(cylinders: int, strokes: int) -> float:
    """Give the firings a second at one turn a minute.

    A four-stroke engine fires each cylinder once in two turns: firing frequency = speed x cylinders / 120; a two-stroke
    one once a turn, / 60 (check page 12: a maker of exhausts and a book of engine frequencies, in agreement).
    """
    return cylinders / (30.0 * strokes)


def listen_for(
    heard: Features, *, cylinders: int, strokes: int, speech: Sequence[Span], tuning: EngineSettings
) -> Listening:
    """Follow the likeliest speed through a whole sound, whether or not an engine is in it."""
    per_rpm = firings_per_rpm(cylinders, strokes)
    speed = tuning.speed
    found = combs(
        heard,
        lowest_hz=speed.lowest_rpm * per_rpm,
        highest_hz=speed.highest_rpm * per_rpm,
        expected_hz=800.0 * per_rpm,
        tuning=speed,
    )
    firing = way(found, speed)
    place = np.abs(np.log(found.hertz)[None, :] - np.log(np.maximum(firing, 1e-6))[:, None]).argmin(axis=1)
    fit = found.fit[np.arange(len(firing)), place]
    spoken = spoken_over(found.times_s, speech, width_s=speed.hop_s, share=tuning.running.speech_share)
    flags = _heard(firing, fit, spoken, step_s=speed.hop_s, tuning=tuning.running)
    return Listening(found, per_rpm, firing / per_rpm, fit, flags, spoken, speed.hop_s)


def spoken_over(times_s: Array, speech: Sequence[Span], *, width_s: float, share: float) -> Flags:
    """Tell in which pieces, `width_s` wide about each time, somebody speaks for a share of them."""
    covered = np.zeros(len(times_s))
    for start, end in speech:
        covered += np.clip(np.minimum(times_s + width_s / 2, end) - np.maximum(times_s - width_s / 2, start), 0, None)
    return np.asarray(covered >= share * width_s)


def _heard(firing: Array, fit: Array, spoken: Flags, *, step_s: float, tuning: RunningSettings) -> Flags:
    if not len(fit):
        return np.zeros(0, bool)
    width = max(3, round(tuning.over_s / step_s) | 1)
    over = steady(fit, width)
    padded = np.pad(np.log(np.maximum(firing, 1e-6)), width // 2, mode="edge")
    pieces = np.lib.stride_tricks.sliding_window_view(padded, width)
    spread = pieces.max(axis=1) - pieces.min(axis=1)
    plain = ~spoken & (over >= tuning.fit)
    through = spoken & (over >= tuning.fit_in_speech) & (spread <= tuning.spread_in_speech)
    return np.asarray(plain | through)


def noises(found: Listening, *, tuning: RunningSettings) -> tuple[tuple[Span, ...], ...]:
    """Give where something beats like an engine: for each noise, in order of time, the pieces that it falls into.

    A pause parts two noises, a longer one where somebody speaks. Within a noise a moment that fits nothing parts two
    pieces: where an engine fires the beat of the starter ends and another begins.
    """
    index = np.flatnonzero(found.heard)
    if not len(index):
        return ()
    longest, unspoken = (round(one / found.step_s) for one in (tuning.longest_gap_s, tuning.longest_unspoken_gap_s))
    parted = [
        at
        for at, (here, following) in enumerate(pairwise(index), start=1)
        if following - here > (longest if found.spoken[here:following].mean() >= 0.5 else unspoken)
    ]
    return tuple(_pieces(found, group, tuning) for group in np.split(index, parted))


def _pieces(found: Listening, group: NDArray[np.int64], tuning: RunningSettings) -> tuple[Span, ...]:
    fits = group[(found.fit[group] >= tuning.unfit) | found.spoken[group]]
    if not len(fits):
        fits = group
    times = found.combs.times_s
    pieces = np.split(fits, np.flatnonzero(np.diff(fits) > 1) + 1)
    return tuple((float(times[piece[0]]), float(times[piece[-1]])) for piece in pieces if len(piece) >= 3) or (
        (float(times[group[0]]), float(times[group[-1]])),
    )


def run_of(found: Listening, start_s: float, end_s: float) -> Run:
    """Give the run between two moments."""
    times = found.combs.times_s
    first, last = np.searchsorted(times, (start_s - 1e-6, end_s + 1e-6))
    return _run(found, int(first), max(int(last), int(first) + 1))


def is_run(run: Run, *, tuning: RunningSettings) -> bool:
    """Tell whether a run is long enough, and heard for enough of it, to be taken for an engine's."""
    return run.end_s - run.start_s >= tuning.shortest_s and run.share >= tuning.heard_share


def _run(found: Listening, first: int, last: int) -> Run:
    here = slice(first, last)
    heard = found.heard[here]
    times = found.combs.times_s[here]
    return Run(
        start_s=float(times[0]),
        end_s=float(times[-1]),
        times_s=times,
        rpm=found.rpm[here],
        heard=heard,
        fit=float(np.median(found.fit[here][heard])) if heard.any() else 0.0,
        share=float(heard.mean()),
        covered=float(found.spoken[here].mean()),
    )


def doubt(found: Listening, run: Run, *, cylinders: int, settled_rpm: float, tuning: EngineSettings) -> str | None:
    """Say why the speed of a run may be another one, as the id of a reason; None where it can only be that.

    The comb is laid once more at other multiples of the speed. Where one that an engine may turn at fits nearly as
    well, nothing is told. What beats as steadily as the mains, at its rate, is hum.
    """
    rules = tuning.running
    here = (found.combs.times_s >= run.start_s) & (found.combs.times_s <= run.end_s)
    lines = found.combs.lines[here][run.heard]
    firing = run.rpm[run.heard] * found.per_rpm
    calm = steady(firing, max(3, round(rules.over_s / found.step_s) | 1))
    if float(np.std(calm) / np.mean(calm)) < rules.hum_spread and any(
        abs(float(np.median(firing)) / hum - 1.0) < rules.hum_share for hum in rules.hum_hz
    ):
        return "hum"
    if cylinders == 2 and settled_rpm < rules.twin_floor_rpm:
        return "twin"
    own = _fit_at(lines, firing, 1.0, found.combs.bin_hz, tuning)
    for factor in rules.rivals:
        if not tuning.speed.lowest_rpm <= settled_rpm * factor <= tuning.speed.highest_rpm:
            continue
        if _fit_at(lines, firing, factor, found.combs.bin_hz, tuning) > rules.rival_share * own:
            return "rival"
    return None


def _fit_at(lines: Array, firing: Array, factor: float, bin_hz: float, tuning: EngineSettings) -> float:
    """Lay the comb of a multiple of the speed over all pieces, each stretched from its own speed to one."""
    middle = float(np.median(firing))
    step = np.arange(lines.shape[1]) * bin_hz
    total = np.zeros(lines.shape[1])
    for row, hertz in zip(lines, firing, strict=True):
        total += np.interp(step * hertz / middle, step, row)
    return float(
        comb_fit(total[None, :] / max(1, len(lines)), np.array([middle * factor]), bin_hz=bin_hz, tuning=tuning.speed)[
            0, 0
        ]
    )
