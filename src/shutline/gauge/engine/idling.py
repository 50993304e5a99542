"""What a speed does after the start: how high it runs up, whether and when it settles, how even it is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from shutline.gauge.engine.features import Array, smooth
from shutline.gauge.engine.running import Run
from shutline.gauge.engine.settings import IdleSettings
from shutline.gauge.engine.speed import steady


@dataclass(frozen=True, slots=True)
class Idle:
    """A run's speed in figures; turns a minute and seconds from the start of the sound.

    `fast_rpm` is the highest speed held for a second, `settled_rpm` the speed of the last while with `spread_rpm` to
    either side, `settled_s` from when on it stayed there; None, with `why`, where it had not settled. `wander` is how
    far the speed strays from its own running mean, as a share of it, standard deviation.
    """

    fast_rpm: float
    last_rpm: float
    spread_rpm: float
    settled_s: float | None
    wander: float | None
    why: str | None


def idle(run: Run, *, step_s: float, tuning: IdleSettings) -> Idle:
    """Look at the speed of a run where it was heard."""
    times, rpm = run.times_s[run.heard], run.rpm[run.heard]
    even = steady(rpm, max(3, round(tuning.over_s / step_s) | 1))
    # The first pieces still hold the starter.
    held = even[round(0.5 / step_s) :] if len(even) > 2.0 / step_s else even
    last = times >= times[-1] - tuning.last_s
    last_rpm = float(np.median(rpm[last]))
    spread = float(np.percentile(np.abs(rpm[last] - last_rpm), 80))
    outside = np.abs(even / last_rpm - 1.0) > tuning.band
    settled_s = float(times[np.flatnonzero(outside)[-1] + 1]) if outside.any() and not outside[-1] else float(times[0])
    drift = abs(float(np.polyfit(times[last], rpm[last], 1)[0])) / last_rpm if last.sum() > 5 else 1.0
    why = None
    if times[-1] - settled_s < tuning.held_s or outside[-1] or drift > tuning.drift:
        why = "not-settled"
    return Idle(
        fast_rpm=float(held.max()),
        last_rpm=last_rpm,
        spread_rpm=spread,
        settled_s=None if why else settled_s,
        wander=_wander(times, rpm, settled_s, step_s, tuning),
        why=why,
    )


def _wander(times: Array, rpm: Array, from_s: float, step_s: float, tuning: IdleSettings) -> float | None:
    here = times >= from_s
    if here.sum() * step_s < tuning.held_s:
        return None
    speed = rpm[here]
    fast = speed / smooth(speed, round(tuning.slow_s / step_s)) - 1.0
    # The middle of the distances, so that one slip of the ear is no unevenness.
    return float(1.4826 * np.median(np.abs(fast - np.median(fast))))
