"""Engines made by arithmetic alone, whose speeds are known: the ground truth of these tests.

A four-stroke engine of n cylinders fires n / 2 times a turn, evenly. Each firing is a damped pulse in a pipe whose
resonances come from the seed; cylinders differ a little; every interval and strength wavers. It shares no code with the
program, nor with the sound of the demo film.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 16_000
Sound = NDArray[np.float64]


@dataclass(frozen=True)
class Plan:
    """What engine, and what it does; seconds and turns a minute."""

    cylinders: int = 4
    strokes: int = 4
    quiet_s: float = 2.0
    cranking_rpm: float = 180.0
    starter_s: float = 1.6
    attempts: int = 1
    attempt_gap_s: float = 1.5
    flare_rpm: float = 1300.0
    fast_rpm: float = 1150.0
    idle_rpm: float = 820.0
    settle_s: float = 8.0
    run_s: float = 20.0
    wander: float = 0.01
    timing_jitter: float = 0.015
    strength_jitter: float = 0.10
    spread: float = 0.06
    weak: tuple[float, ...] = ()
    low_cut_hz: float = 0.0
    seed: int = 0


@dataclass(frozen=True)
class Made:
    """The sound, and what is true of it; times are seconds from its start."""

    sound: Sound
    times_s: Sound
    rpm: Sound
    first_turn_s: float
    fires_s: float
    end_s: float
    on_starter_s: float


def make(plan: Plan) -> Made:
    """Make one start and the run after it."""
    rng = np.random.default_rng(plan.seed)
    step = 0.005
    first = plan.quiet_s
    each = plan.starter_s / plan.attempts
    last_start = first + (plan.attempts - 1) * (each + plan.attempt_gap_s)
    fires = last_start + each
    end = fires + plan.run_s
    t = np.arange(0.0, end + 0.3, step)
    rpm = np.zeros(t.size)
    turning = np.zeros(t.size, bool)
    for number in range(plan.attempts):
        begun = first + number * (each + plan.attempt_gap_s)
        turning |= (t >= begun) & (t < begun + each)
    rpm[turning] = plan.cranking_rpm
    u = t[t >= fires] - fires
    settle = 1.0 / (1.0 + np.exp(-(u - plan.settle_s * 0.6) / max(plan.settle_s * 0.1, 0.05)))
    curve = plan.fast_rpm + (plan.idle_rpm - plan.fast_rpm) * settle + (plan.flare_rpm - plan.fast_rpm) * np.exp(-u)
    slow = np.cumsum(rng.normal(0, 1, u.size))
    slow -= np.convolve(slow, np.ones(401) / 401, mode="same") if u.size > 401 else slow.mean()
    slow /= max(slow.std(), 1e-9)
    rpm[t >= fires] = np.maximum(plan.cranking_rpm, curve * (1 - np.exp(-u / 0.12)) * (1 + plan.wander * slow))
    n = int((end + 0.3) * RATE_HZ)
    at = np.arange(n) / RATE_HZ
    speed = np.interp(at, t, rpm)
    beats = np.cumsum(speed * plan.cylinders / (30.0 * plan.strokes)) / RATE_HZ
    sound = _run(plan, rng, at, beats, speed, fires=fires, end=end)
    sound += 0.6 * np.std(sound[at > fires]) * _crank(plan, rng, at, beats, np.interp(at, t, turning) > 0.5)
    if plan.low_cut_hz:
        spectrum = np.fft.rfft(sound)
        f = np.fft.rfftfreq(n, 1 / RATE_HZ)
        sound = np.fft.irfft(spectrum / np.sqrt(1 + (plan.low_cut_hz / np.maximum(f, 1e-3)) ** 4), n)
    return Made(sound / np.max(np.abs(sound)) * 0.7, t, rpm, first, fires, end, plan.starter_s)


def _run(
    plan: Plan, rng: np.random.Generator, at: Sound, beats: Sound, speed: Sound, *, fires: float, end: float
) -> Sound:
    n = at.size
    length = int(0.12 * RATE_HZ)
    k = np.arange(length) / RATE_HZ
    resonances = rng.uniform((55, 130, 260, 600, 1300), (95, 220, 480, 1100, 2600))
    kernel = sum(
        g * np.exp(-k * f * rng.uniform(0.35, 0.7)) * np.sin(2 * np.pi * f * k + rng.uniform(0, 6))
        for f, g in zip(resonances, (1.0, 0.8, 0.5, 0.3, 0.15), strict=True)
    )
    strength = 1 + rng.normal(0, plan.spread, plan.cylinders)
    for number, factor in enumerate(plan.weak):
        strength[number] *= factor
    first, last = int(np.ceil(np.interp(fires, at, beats))), int(np.interp(end, at, beats))
    moments = np.interp(np.arange(first, last) + rng.normal(0, plan.timing_jitter, last - first), beats, at)
    out, gate = np.zeros(n + length), np.zeros(n + length)
    for number, moment in enumerate(moments):
        i = int(moment * RATE_HZ)
        size = strength[number % plan.cylinders] * max(0.0, 1 + rng.normal(0, plan.strength_jitter))
        size *= 0.6 + 0.4 * speed[min(i, n - 1)] / 1000
        out[i : i + length] += size * kernel
        gate[i : i + length] += size * np.exp(-k * 60)
    rush = np.diff(rng.normal(0, 1, n + 1))
    return out[:n] + 0.12 * np.std(kernel) / np.std(rush) * rush * gate[:n]


def _crank(plan: Plan, rng: np.random.Generator, at: Sound, beats: Sound, turning: NDArray[np.bool_]) -> Sound:
    squeeze = 0.5 - 0.5 * np.cos(2 * np.pi * beats)
    teeth = np.cumsum(plan.cranking_rpm / 60 * rng.uniform(90, 130) * (1 - 0.12 * squeeze)) / RATE_HZ
    whine = np.sin(2 * np.pi * teeth) + 0.5 * np.sin(4 * np.pi * teeth)
    hiss = rng.normal(0, 1, at.size)
    hiss = np.convolve(hiss, np.ones(5) / 5, mode="same")
    return turning * (0.8 * whine * (1 - 0.5 * squeeze) + 1.5 * hiss * (0.2 + squeeze**2))


def at_db(made: Made, noise: Sound, ratio_db: float) -> Sound:
    """Lay noise under an engine, so many decibels below it while it runs; peak 0.9."""
    running = made.sound[int(made.fires_s * RATE_HZ) : int(made.end_s * RATE_HZ)]
    noise = noise[: made.sound.size]
    scale = np.std(running) / np.std(noise) / 10 ** (ratio_db / 20)
    mixed = made.sound.copy()
    mixed[: noise.size] += scale * noise
    return mixed / np.max(np.abs(mixed)) * 0.9


def hiss(count: int, seed: int) -> Sound:
    """Noise whose strength falls with the square root of its frequency, between white and pink."""
    rng = np.random.default_rng(seed)
    spectrum = np.fft.rfft(rng.normal(0, 1, count))
    f = np.fft.rfftfreq(count, 1 / RATE_HZ)
    return np.fft.irfft(spectrum / np.maximum(f, 20) ** 0.25, count)


def wind(count: int, seed: int) -> Sound:
    """Gusts of low rumble, as wind makes in a bare microphone."""
    rng = np.random.default_rng(seed)
    spectrum = np.fft.rfft(rng.normal(0, 1, count))
    f = np.fft.rfftfreq(count, 1 / RATE_HZ)
    rumble = np.fft.irfft(spectrum / (1 + (f / 40) ** 1.5), count)
    knots = np.arange(0, count + 8000, 8000)
    gusts = np.interp(np.arange(count), knots, rng.uniform(0.2, 1.6, knots.size))
    return rumble * gusts
