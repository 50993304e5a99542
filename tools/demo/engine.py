"""The sound of a four-stroke engine from the first turn of the starter to stopping, made from its speed alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from demo.script import ColdStart

Sound = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class EngineRun:
    """A run of the engine: its sound, and its speed at even steps.

    `sound` is mono at the asked rate, peak 1. `step_s` is the time between two values of `speed_rpm`. `fires_s` is
    when it first fires, `still_s` when it has come to rest; seconds from the first turn of the starter.
    """

    sound: Sound
    speed_rpm: Sound
    step_s: float
    fires_s: float
    still_s: float


def speed_curve(plan: ColdStart, run_s: float, step_s: float, seed: int) -> Sound:
    """Give the crankshaft's speed from the first turn of the starter, turns a minute at each step.

    On the starter the speed dips at each compression, `cylinders` / 2 times a turn; it fires, flares, falls to the fast
    idle and settles to the warm one with some wander; from `run_s` on it runs down within a second.
    """
    rng = np.random.default_rng(seed)
    t = np.arange(0.0, run_s + 1.2, step_s)
    speed = np.zeros_like(t)
    on_starter = t < plan.starter_s
    crank = plan.cranking_rpm * (1.0 - np.exp(-t[on_starter] / 0.06))
    speed[on_starter] = crank
    running = ~on_starter & (t < run_s)
    u = t[running] - plan.starter_s
    flare = (plan.catch_rpm - plan.fast_idle_rpm) * np.exp(-u / 0.8)
    settle = 1.0 / (1.0 + np.exp(-(u - plan.settle_s * 0.55) / (plan.settle_s * 0.11)))
    held = plan.fast_idle_rpm + (plan.settled_rpm - plan.fast_idle_rpm) * settle
    rise = 1.0 - np.exp(-u / 0.16)
    wander = np.cumsum(rng.normal(0.0, 1.0, u.size)) * np.sqrt(step_s)
    wander -= np.convolve(wander, np.ones(int(2.5 / step_s)) / int(2.5 / step_s), mode="same")
    speed[running] = plan.cranking_rpm + (held + flare - plan.cranking_rpm) * rise + 9.0 * wander
    stopping = t >= run_s
    last = speed[running][-1] if running.any() else plan.cranking_rpm
    speed[stopping] = last * np.clip(1.0 - (t[stopping] - run_s) / 0.9, 0.0, 1.0) ** 1.3
    return speed


def run_engine(plan: ColdStart, *, cylinders: int, run_s: float, rate_hz: int, seed: int) -> EngineRun:
    """Make the sound of the engine heard near the tail pipe.

    Parameters
    ----------
    plan : ColdStart
        Speeds and times.
    cylinders : int
        Fires `cylinders` / 2 times a turn.
    run_s : float
        Seconds from the first turn of the starter until it is switched off.
    rate_hz : int
        Samples a second.
    seed : int
        The same seed gives the same sound.
    """
    rng = np.random.default_rng(seed)
    step_s = 0.02
    curve = speed_curve(plan, run_s, step_s, seed)
    t = np.arange(int((run_s + 1.2) * rate_hz)) / rate_hz
    speed = np.interp(t, np.arange(curve.size) * step_s, curve)
    firings = np.cumsum(speed * cylinders / 120.0) / rate_hz
    fires_s = plan.starter_s
    sound = _starter(t, speed, firings, plan, rng) + _exhaust(
        t, firings, speed, rng, fires_s=fires_s, run_s=run_s, cylinders=cylinders, rate_hz=rate_hz
    )
    return EngineRun(sound / np.abs(sound).max(), curve, step_s, fires_s, run_s + 0.9)


def _starter(t: Sound, speed: Sound, firings: Sound, plan: ColdStart, rng: np.random.Generator) -> Sound:
    """Whine of the pinion on its ring, sinking at each compression, and the puffs of the turning engine."""
    on = (t < plan.starter_s + 0.12).astype(np.float64)
    on *= np.clip(t / 0.03, 0, 1) * np.clip((plan.starter_s + 0.12 - t) / 0.1, 0, 1)
    compression = 0.5 - 0.5 * np.cos(2 * np.pi * firings)
    tooth_hz = speed / 60.0 * 110.0 * (1.0 - 0.10 * compression)
    phase = 2 * np.pi * np.cumsum(tooth_hz) * (t[1] - t[0])
    whine = 0.5 * np.sin(phase) + 0.28 * np.sin(2 * phase + 0.4) + 0.12 * np.sin(3.02 * phase)
    hiss = _band(rng.normal(0.0, 1.0, t.size), t, 250.0, 2400.0)
    puff = compression**3
    knock = np.exp(-t / 0.02) * np.sin(2 * np.pi * 140.0 * t)
    return np.asarray(
        on * (0.16 * whine * (0.55 + 0.45 * (1 - compression)) + 0.22 * hiss * (0.15 + puff)) + 0.3 * knock * on
    )


def _exhaust(
    t: Sound,
    firings: Sound,
    speed: Sound,
    rng: np.random.Generator,
    *,
    fires_s: float,
    run_s: float,
    cylinders: int,
    rate_hz: int,
) -> Sound:
    """One damped pulse for each firing, with the small differences between cylinders, and the rush between them."""
    out = np.zeros(t.size)
    strength = 1.0 + rng.normal(0.0, 0.05, cylinders)
    kernel_t = np.arange(int(0.11 * rate_hz)) / rate_hz
    bodies = ((62.0, 34.0, 1.0), (118.0, 42.0, 0.75), (205.0, 70.0, 0.42), (430.0, 130.0, 0.20), (910.0, 260.0, 0.09))
    kernel = sum(a * np.exp(-d * kernel_t) * np.sin(2 * np.pi * f * kernel_t) for f, d, a in bodies)
    kernel = kernel * np.clip(kernel_t / 0.0015, 0, 1)
    first, last = int(np.ceil(firings[int(fires_s * rate_hz)])), int(firings[-1])
    marks = np.searchsorted(firings, np.arange(first, last + 1) + rng.normal(0.0, 0.012, last + 1 - first))
    envelope = np.zeros(t.size)
    for number, mark in enumerate(marks):
        if mark >= t.size or t[mark] > run_s:
            continue
        size = strength[number % cylinders] * (1.0 + rng.normal(0.0, 0.07))
        size *= 0.65 + 0.35 * speed[mark] / 1300.0
        end = min(t.size, mark + kernel.size)
        out[mark:end] += size * kernel[: end - mark]
        envelope[mark:end] += size * np.exp(-kernel_t[: end - mark] * 55.0)
    rush = _band(rng.normal(0.0, 1.0, t.size), t, 180.0, 2600.0)
    ticks = _band(rng.normal(0.0, 1.0, t.size), t, 1800.0, 5200.0) * (0.5 - 0.5 * np.cos(2 * np.pi * firings * 2)) ** 8
    running = np.clip((t - fires_s) / 0.1, 0, 1) * np.clip((run_s + 0.6 - t) / 0.6, 0, 1)
    return out + 0.10 * rush * envelope + 0.025 * ticks * running


def _band(noise: Sound, t: Sound, low_hz: float, high_hz: float) -> Sound:
    rate_hz = 1.0 / (t[1] - t[0])
    spectrum = np.fft.rfft(noise)
    f = np.fft.rfftfreq(noise.size, 1.0 / rate_hz)
    spectrum *= 1.0 / (1.0 + (low_hz / np.maximum(f, 1e-3)) ** 4) / (1.0 + (f / high_hz) ** 4)
    shaped = np.fft.irfft(spectrum, noise.size)
    return np.asarray(shaped / shaped.std(), dtype=np.float64)
