"""What of a sound beats with an engine: the sound itself far down, and how loud each band is, many times a second."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shutline.gauge.engine.settings import FeatureSettings

Sound = NDArray[np.float32]
Array = NDArray[np.float64]

_WINDOW_S = 0.004
_PIECE = 20_000


@dataclass(frozen=True, slots=True)
class Features:
    """Features of a stretch of sound.

    `channels` has shape (channels, samples): first the sound below a few hundred hertz, then the strength of each band,
    each brought to an even loudness over a second, mean 0. `power` has shape (1 + bands, samples): the power of the
    same, full scale 1. Sample ``i`` is ``i / rate_hz`` seconds from the start of the sound.
    """

    rate_hz: int
    channels: Array
    power: Array

    @property
    def length_s(self) -> float:
        """Length of the stretch, seconds."""
        return float(self.channels.shape[1] / self.rate_hz)


def features(sound: Sound, *, sound_hz: int, tuning: FeatureSettings) -> Features:
    """Follow a sound.

    Parameters
    ----------
    sound : ndarray of float32, shape (samples,)
        Mono, full scale 1.
    sound_hz : int
        Samples a second, a multiple of `tuning.rate_hz`.
    tuning : FeatureSettings
        Rate and bands.
    """
    step = sound_hz // tuning.rate_hz
    count = len(sound) // step
    width = round(_WINDOW_S * sound_hz)
    padded = np.concatenate([np.zeros(width // 2, np.float32), sound[: count * step], np.zeros(width, np.float32)])
    frames = np.lib.stride_tricks.sliding_window_view(padded, width)[::step][:count]
    shape = np.hanning(width).astype(np.float32)
    hertz = np.fft.rfftfreq(width, 1 / sound_hz)
    picks = [(hertz >= low) & (hertz < high) for low, high in tuning.bands_hz]
    power = np.empty((len(picks), count))
    for at in range(0, count, _PIECE):
        strength = np.abs(np.fft.rfft(frames[at : at + _PIECE] * shape, axis=1)) ** 2
        for row, pick in enumerate(picks):
            power[row, at : at + _PIECE] = strength[:, pick].sum(axis=1)
    power /= float(np.sum(shape**2)) * width / 2
    low = _low(sound, sound_hz=sound_hz, rate_hz=tuning.rate_hz, band_hz=tuning.low_hz, count=count)
    channels = [low, *(np.sqrt(row) for row in power)]
    return Features(
        rate_hz=tuning.rate_hz,
        channels=np.stack([even(channel, tuning.rate_hz) for channel in channels])
        if count
        else np.zeros((1 + len(picks), 0)),
        power=np.vstack([low[None, :] ** 2, power]),
    )


def even(channel: Array, rate_hz: int) -> Array:
    """Take the slow part away and bring what is left to the same strength everywhere, over a second."""
    fast = channel - smooth(channel, rate_hz // 2)
    level = np.sqrt(smooth(fast**2, rate_hz))
    # Where a gate has shut there is nothing to bring up.
    floor = max(float(np.median(level)) * 0.05, 1e-9)
    return np.asarray(fast / np.maximum(level, floor))


def smooth(values: Array, width: int) -> Array:
    """Give the running mean over `width` samples; at the ends over those that are there."""
    if not len(values):
        return values
    half = max(1, width // 2)
    total = np.concatenate([[0.0], np.cumsum(values)])
    index = np.arange(len(values))
    low, high = np.maximum(index - half, 0), np.minimum(index + half + 1, len(values))
    return np.asarray((total[high] - total[low]) / (high - low))


def _low(sound: Sound, *, sound_hz: int, rate_hz: int, band_hz: tuple[float, float], count: int) -> Array:
    """Bring the sound down to `rate_hz` with what lies outside of the band taken out, a minute at a time."""
    step = sound_hz // rate_hz
    out = np.zeros(count)
    piece, margin = 60 * sound_hz, sound_hz
    for at in range(0, count * step, piece):
        begin, end = max(0, at - margin), min(count * step, at + piece + margin)
        spectrum = np.fft.rfft(sound[begin:end])
        hertz = np.fft.rfftfreq(end - begin, 1 / sound_hz)
        spectrum *= _gate(hertz, *band_hz)
        length = (end - begin) // step
        low = np.fft.irfft(spectrum[: length // 2 + 1], length) / step
        taken = low[(at - begin) // step :][: min(piece // step, count - at // step)]
        out[at // step : at // step + len(taken)] = taken
    return out


def _gate(hertz: NDArray[np.floating[Any]], low: float, high: float) -> Array:
    rise = np.clip((hertz - 0.7 * low) / (0.3 * low), 0, 1)
    fall = np.clip((1.15 * high - hertz) / (0.15 * high), 0, 1)
    return np.asarray(rise * fall)
