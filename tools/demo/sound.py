"""The sound track: voice, engine, the yard, feet on gravel, a door; brought to an even loudness."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from demo.engine import EngineRun
from demo.timeline import Timeline

Sound = NDArray[np.float64]

RATE_HZ = 48_000
LOUDNESS_LUFS = -18.0


def mix(timeline: Timeline, engine: EngineRun, steps_s: list[float], *, seed: int) -> Sound:
    """Mix the film's sound: mono, 48 kHz, -18 LUFS, peaks below -1.5 dB.

    Parameters
    ----------
    timeline : Timeline
        Voice and times.
    engine : EngineRun
        From the first turn of the starter.
    steps_s : list of float
        When a foot comes down.
    seed : int
        For the wind and the gravel.
    """
    rng = np.random.default_rng(seed)
    total = np.zeros(int(timeline.length_s * RATE_HZ))
    for spoken in timeline.spoken:
        voice = _resampled(spoken.take, spoken.rate_hz)
        _add(total, _outdoors(voice), spoken.start_s)
    voice_level = np.sqrt(np.mean(total[np.abs(total) > 0.02] ** 2))
    _add(total, _engine_level(engine, timeline) * voice_level, timeline.engine_start_s)
    total += _yard(total.size, rng) * voice_level * 10 ** (-41 / 20)
    for at in steps_s:
        _add(total, _footstep(rng) * voice_level * 0.20, at)
    for spoken in timeline.spoken:
        if spoken.line.sound == "door":
            _add(total, _door(rng) * voice_level * 1.1, spoken.end_s + 0.10)
    total = _fade(total)
    total *= 10 ** ((LOUDNESS_LUFS - loudness(total)) / 20)
    ceiling = 10 ** (-1.5 / 20)
    over = np.abs(total) > 0.6
    # Peaks above 0.6 are pressed gently towards the ceiling instead of being cut.
    total[over] = np.sign(total[over]) * (
        0.6 + (ceiling - 0.6) * np.tanh((np.abs(total[over]) - 0.6) / (ceiling - 0.6))
    )
    return total


def loudness(sound: Sound, rate_hz: int = RATE_HZ) -> float:
    """Measure mono sound in LUFS: K-weighting and both gates of ITU-R BS.1770-4 (filters at 48 kHz from memory)."""
    spectrum = np.fft.rfft(sound)
    f = np.fft.rfftfreq(sound.size, 1 / rate_hz)
    z = np.exp(-2j * np.pi * f / rate_hz)
    shelf = (1.53512485958697 - 2.69169618940638 * z + 1.19839281085285 * z**2) / (
        1 - 1.69065929318241 * z + 0.73248077421585 * z**2
    )
    high = (1 - 2 * z + z**2) / (1 - 1.99004745483398 * z + 0.99007225036621 * z**2)
    weighted = np.fft.irfft(spectrum * shelf * high, sound.size)
    block, hop = int(0.4 * rate_hz), int(0.1 * rate_hz)
    energy = np.cumsum(np.concatenate(([0.0], weighted**2)))
    starts = np.arange(0, sound.size - block, hop)
    power = (energy[starts + block] - energy[starts]) / block
    level = -0.691 + 10 * np.log10(np.maximum(power, 1e-12))
    power = power[level > -70]
    gate = -0.691 + 10 * np.log10(power.mean()) - 10
    kept = power[-0.691 + 10 * np.log10(power) > gate]
    return float(-0.691 + 10 * np.log10(kept.mean()))


def _resampled(take: Sound, rate_hz: int) -> Sound:
    spectrum = np.fft.rfft(take)
    n = take.size * RATE_HZ // rate_hz
    wide = np.zeros(n // 2 + 1, dtype=complex)
    wide[: min(spectrum.size, wide.size)] = spectrum[: wide.size]
    return np.asarray(np.fft.irfft(wide, n) * (n / take.size))


def _shaped(sound: Sound, low_hz: float, high_hz: float, *, order: int = 2) -> Sound:
    spectrum = np.fft.rfft(sound)
    f = np.fft.rfftfreq(sound.size, 1 / RATE_HZ)
    gain = 1 / np.sqrt(1 + (low_hz / np.maximum(f, 1e-3)) ** (2 * order)) / np.sqrt(1 + (f / high_hz) ** (2 * order))
    return np.asarray(np.fft.irfft(spectrum * gain, sound.size))


def _outdoors(voice: Sound) -> Sound:
    """Put a voice beside the microphone in a yard: little below 100 Hz, faint answers from wall and ground."""
    padded = np.concatenate((voice, np.zeros(int(0.12 * RATE_HZ))))
    dry = _shaped(padded, 95.0, 11_000.0)
    out = dry.copy()
    for delay_s, gain in ((0.0047, 0.10), (0.021, 0.055), (0.043, 0.030)):
        shift = int(delay_s * RATE_HZ)
        out[shift:] += gain * _shaped(dry, 200.0, 3_500.0)[:-shift]
    return out


def _engine_level(engine: EngineRun, timeline: Timeline) -> Sound:
    """Hold the engine beside the tail pipe, then further off under the voice."""
    sound = engine.sound / np.sqrt(np.mean(engine.sound**2))
    t = np.arange(sound.size) / RATE_HZ
    until = timeline.listen_end_s - timeline.engine_start_s
    near, far = 0.62, 0.085
    return np.asarray(sound * (far + (near - far) / (1 + np.exp((t - until + 0.35) / 0.16))))


def _yard(size: int, rng: np.random.Generator) -> Sound:
    """Air: low noise whose strength drifts, and now and then a bird far off."""
    slow = np.interp(
        np.arange(size), np.arange(0, size + RATE_HZ * 3, RATE_HZ * 3), rng.uniform(0.5, 1.3, size // (RATE_HZ * 3) + 2)
    )
    air = _shaped(rng.normal(0, 1, size), 110.0, 620.0, order=1)
    air = air / air.std() * slow
    at = 4.0
    while at < size / RATE_HZ - 2:
        base = rng.uniform(2600, 3900)
        for k in range(int(rng.integers(2, 5))):
            t = np.arange(int(0.09 * RATE_HZ)) / RATE_HZ
            sweep = np.sin(2 * np.pi * (base + 500 * np.sin(2 * np.pi * 9 * t)) * t) * np.hanning(t.size)
            _add(air, sweep * 1.3, at + 0.15 * k)
        at += float(rng.uniform(9, 21))
    return np.asarray(air)


def _footstep(rng: np.random.Generator) -> Sound:
    size = int(0.16 * RATE_HZ)
    t = np.arange(size) / RATE_HZ
    grit = _shaped(rng.normal(0, 1, size), 700.0, 5_200.0) * np.exp(-t / 0.035) * (1 + 0.8 * rng.random(size))
    return np.asarray(grit / np.abs(grit).max()) + 0.7 * np.sin(2 * np.pi * 85 * t) * np.exp(-t / 0.03)


def _door(rng: np.random.Generator) -> Sound:
    size = int(0.4 * RATE_HZ)
    t = np.arange(size) / RATE_HZ
    thud = np.sin(2 * np.pi * 78 * t) * np.exp(-t / 0.06) + 0.5 * np.sin(2 * np.pi * 151 * t) * np.exp(-t / 0.04)
    latch = _shaped(rng.normal(0, 1, size), 900.0, 4_000.0) * (
        np.exp(-t / 0.006) + 0.6 * np.exp(-np.abs(t - 0.05) / 0.005)
    )
    return np.asarray(thud + 0.35 * latch / np.abs(latch).max())


def _add(total: Sound, piece: Sound, at_s: float) -> None:
    start = int(at_s * RATE_HZ)
    end = min(total.size, start + piece.size)
    if start < end:
        total[start:end] += piece[: end - start]


def _fade(sound: Sound) -> Sound:
    n = int(0.5 * RATE_HZ)
    sound[:n] *= np.linspace(0, 1, n)
    sound[-n:] *= np.linspace(1, 0, n)
    return sound
