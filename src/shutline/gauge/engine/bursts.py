"""Knocks and whistles over the beat of an engine, as moments to listen to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shutline.car.engine import Burst
from shutline.car.engine import Sound as Kind
from shutline.gauge.engine.features import Array, Sound, smooth
from shutline.gauge.engine.running import Flags, Span, spoken_over
from shutline.gauge.engine.settings import ListenSettings

_STEP_S = 0.02
Spectrum = NDArray[np.floating[Any]]


def find_bursts(
    sound: Sound, *, sound_hz: int, start_s: float, end_s: float, speech: Sequence[Span], tuning: ListenSettings
) -> tuple[Burst, ...]:
    """Find what stands out between two moments, where nobody speaks.

    Parameters
    ----------
    sound : ndarray of float32, shape (samples,)
        Mono.
    sound_hz : int
        Samples a second.
    start_s, end_s : float
        Seconds from the start of the sound.
    speech : sequence of (float, float)
        Where somebody speaks, seconds.
    tuning : ListenSettings
        What stands out.

    Returns
    -------
    tuple of Burst
        In order of time; the strongest, where there are more than `tuning.most`.
    """
    first = round(start_s * sound_hz)
    piece = sound[first : round(end_s * sound_hz)]
    hop, width = round(_STEP_S * sound_hz), round(2 * _STEP_S * sound_hz)
    count = (len(piece) - width) // hop + 1
    if count < 10:
        return ()
    frames = np.lib.stride_tricks.sliding_window_view(piece, width)[::hop][:count]
    power = np.abs(np.fft.rfft(frames * np.hanning(width).astype(np.float32), axis=1)) ** 2 + 1e-12
    hertz = np.fft.rfftfreq(width, 1 / sound_hz)
    times = start_s + (np.arange(count) * hop + width / 2) / sound_hz
    spoken = spoken_over(times, speech, width_s=0.4, share=0.1)
    found = _knocks(power, hertz, times, spoken, tuning) + _whistles(power, hertz, times, spoken, tuning)
    strongest = sorted(found, key=lambda one: -one.over_db)[: tuning.most]
    return tuple(sorted(strongest, key=lambda one: one.start_s))


def _knocks(
    power: Spectrum,
    hertz: Spectrum,
    times: Array,
    spoken: Flags,
    tuning: ListenSettings,
) -> list[Burst]:
    low, high = tuning.knock_band_hz
    level = 10 * np.log10(power[:, (hertz >= low) & (hertz < high)].mean(axis=1))
    # A beat of the engine is itself a burst: what is compared is the loudest moment of each fifth of a second.
    width = round(0.2 / _STEP_S)
    padded = np.pad(level, width // 2, mode="edge")
    crest = np.lib.stride_tricks.sliding_window_view(padded, width)[: len(level)].max(axis=1)
    half = round(tuning.around_s / _STEP_S)
    around = np.lib.stride_tricks.sliding_window_view(
        np.pad(crest, half, mode="reflect" if len(crest) > half else "edge"), 2 * half + 1
    )[:, :: max(1, half // 20)]
    over = level - np.median(around, axis=1)
    return _merged(Kind.KNOCK, over, (over >= tuning.knock_db) & ~spoken, times, tuning.merge_s)


def _whistles(
    power: Spectrum,
    hertz: Spectrum,
    times: Array,
    spoken: Flags,
    tuning: ListenSettings,
) -> list[Burst]:
    low, high = tuning.squeal_band_hz
    band = 10 * np.log10(power[:, (hertz >= low) & (hertz < min(high, hertz[-1]))])
    wide = np.stack([smooth(row, 30) for row in band])
    over = band - wide
    line = over.argmax(axis=1)
    height = over[np.arange(len(over)), line]
    long = round(tuning.squeal_s / _STEP_S)
    holds = np.zeros(len(line), bool)
    loud = (height >= tuning.squeal_db) & ~spoken
    for at in range(len(line) - long + 1):
        part = slice(at, at + long)
        if loud[part].all() and np.abs(np.diff(line[part])).max() <= 2:
            holds[part] = True
    return _merged(Kind.WHISTLE, height, holds, times, tuning.merge_s)


def _merged(kind: Kind, over: Array, there: Flags, times: Array, merge_s: float) -> list[Burst]:
    index = np.flatnonzero(there)
    if not len(index):
        return []
    groups = np.split(index, np.flatnonzero(np.diff(times[index]) > merge_s) + 1)
    return [Burst(kind, float(times[g[0]]), float(times[g[-1]]), float(over[g].max())) for g in groups]
