"""The firings a second along time: a comb of lines laid over short spectra, and the likeliest way through them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shutline.gauge.engine.features import Array, Features
from shutline.gauge.engine.settings import SpeedSettings

_PAD = 4096


@dataclass(frozen=True, slots=True)
class Combs:
    """How well each rate of firing fits each piece of sound.

    `times_s`, shape (pieces,), are the middles of the pieces; `hertz`, shape (rates,), the rates tried, evenly spaced
    in their logarithm; `fit`, shape (pieces, rates): mean height of the lines at its multiples less that half way
    between, in units of the level around. `lines`, shape (pieces, bins), are the heights, `bin_hz` apart.
    """

    times_s: Array
    hertz: Array
    fit: Array
    lines: Array
    bin_hz: float


def window_s(firing_hz: float, tuning: SpeedSettings) -> float:
    """Give the length of a piece for a rate of firing that is to be expected, seconds."""
    return float(np.clip(tuning.window_firings / firing_hz, *tuning.window_s))


def combs(heard: Features, *, lowest_hz: float, highest_hz: float, expected_hz: float, tuning: SpeedSettings) -> Combs:
    """Lay the comb of each rate between two bounds over each piece of a sound."""
    rate = heard.rate_hz
    width = round(window_s(expected_hz, tuning) * rate)
    hop = round(tuning.hop_s * rate)
    count = max(0, (heard.channels.shape[1] - width) // hop + 1)
    rates = np.exp(np.arange(np.log(lowest_hz), np.log(highest_hz), tuning.grid_step))
    bin_hz = rate / _PAD
    used = int(tuning.highest_line_hz * 1.1 / bin_hz)
    lines = np.zeros((count, used))
    if count:
        shape = np.hanning(width)
        for channel in heard.channels:
            pieces = np.lib.stride_tricks.sliding_window_view(channel, width)[::hop][:count]
            for at in range(0, count, 500):
                lines[at : at + 500] += _heights(pieces[at : at + 500] * shape, used, bin_hz)
        lines /= len(heard.channels)
    times = (np.arange(count) * hop + width / 2) / rate
    return Combs(times, rates, comb_fit(lines, rates, bin_hz=bin_hz, tuning=tuning), lines, bin_hz)


def _heights(pieces: Array, used: int, bin_hz: float) -> Array:
    """Give the height of each bin over the level around it, 0 at that level and no more than a strong line's."""
    size = np.abs(np.fft.rfft(pieces, _PAD, axis=1))[:, :used] + 1e-12
    log = np.log(size)
    half = round(30.0 / bin_hz)
    total = np.concatenate([np.zeros((len(log), 1)), np.cumsum(log, axis=1)], axis=1)
    index = np.arange(used)
    low, high = np.maximum(index - half, 0), np.minimum(index + half + 1, used)
    level = (total[:, high] - total[:, low]) / (high - low)
    return np.asarray(np.clip(np.exp(np.minimum(log - level, 2.3)) - 1.0, 0.0, 6.0))


def comb_fit(lines: Array, rates: Array, *, bin_hz: float, tuning: SpeedSettings) -> Array:
    """Give the fit of each rate in each piece; see `Combs`."""
    fit = np.zeros((len(lines), len(rates)))
    for column, hertz in enumerate(rates):
        count = max(1, min(tuning.harmonics, int(tuning.highest_line_hz / hertz)))
        order = np.arange(1, count + 1)
        weight = 1.0 / np.sqrt(order)
        weight /= weight.sum()
        at, between = at_hertz(lines, order * hertz, bin_hz), at_hertz(lines, (order - 0.5) * hertz, bin_hz)
        fit[:, column] = (at - between) @ weight
    return fit


def at_hertz(lines: Array, hertz: Array, bin_hz: float) -> Array:
    """Read heights between bins; shape (pieces, len(hertz))."""
    place = np.clip(np.asarray(hertz) / bin_hz, 0, lines.shape[1] - 2)
    low = place.astype(int)
    share = place - low
    return np.asarray(lines[:, low] * (1 - share) + lines[:, low + 1] * share)


def way(found: Combs, tuning: SpeedSettings) -> Array:
    """Give the likeliest course of the rate, firings a second, shape (pieces,): good fits, and no leaps."""
    pieces, rates = found.fit.shape
    if not pieces:
        return np.zeros(0)
    reach = int(tuning.largest_change / tuning.grid_step)
    shift = np.arange(-reach, reach + 1)
    cost = tuning.change_cost * np.maximum(0.0, np.abs(shift) * tuning.grid_step - tuning.free_change)
    best = found.fit[0].copy()
    came = np.zeros((pieces, rates), np.int32)
    for at in range(1, pieces):
        around = np.pad(best, reach, constant_values=-np.inf)
        options = np.lib.stride_tricks.sliding_window_view(around, 2 * reach + 1) - cost
        pick = options.argmax(axis=1)
        came[at] = pick
        best = options[np.arange(rates), pick] + found.fit[at]
    place = np.empty(pieces, np.int64)
    place[-1] = best.argmax()
    for at in range(pieces - 1, 0, -1):
        place[at - 1] = np.clip(place[at] + shift[came[at, place[at]]], 0, rates - 1)
    return np.asarray(found.hertz[0] * np.exp(_peaks(found.fit, place) * tuning.grid_step))


def _peaks(fit: Array, place: NDArray[np.int64]) -> Array:
    """Move each place to the top of the parabola through it and its neighbours."""
    row = np.arange(len(place))
    inner = np.clip(place, 1, fit.shape[1] - 2).astype(int)
    before, here, after = fit[row, inner - 1], fit[row, inner], fit[row, inner + 1]
    bend = before - 2 * here + after
    step = np.where(bend < -1e-9, 0.5 * (before - after) / np.where(bend < -1e-9, bend, -1.0), 0.0)
    return np.asarray(inner + np.clip(step, -1, 1))


def steady(values: Array, width: int) -> Array:
    """Give the running median over `width` values."""
    if len(values) < 3:
        return values
    half = width // 2
    padded = np.pad(values, half, mode="edge")
    return np.asarray(np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1), axis=1))
