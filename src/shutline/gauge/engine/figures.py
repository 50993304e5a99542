"""What was made of a sound, as figures with bounds, and what is not told, with why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shutline.car.engine import EngineFigure, Untold
from shutline.gauge.engine.beats import Beats
from shutline.gauge.engine.idling import Idle
from shutline.gauge.engine.settings import BeatSettings, IdleSettings, StartSettings
from shutline.gauge.engine.starting import Start

STARTS = ("starter_s", "tries", "to_fire_s", "cranking_rpm")
SPEEDS = ("fast_idle_rpm", "idle_rpm", "settling_s", "wander_pct")
BEATS = ("weak_beat_pct", "half_order_pct")


@dataclass(frozen=True, slots=True)
class Told:
    """Figures, and what is not told."""

    figures: tuple[EngineFigure, ...] = ()
    untold: tuple[Untold, ...] = ()

    def __add__(self, other: Told) -> Told:
        return Told(self.figures + other.figures, self.untold + other.untold)


def untold(names: Sequence[str], why: str) -> Told:
    """Tell none of some figures, for one reason."""
    return Told(untold=tuple(Untold(name, why) for name in names))


def start_figures(start: Start, *, per_rpm: float, tuning: StartSettings) -> Told:
    """Give the figures of a start."""
    if start.why is not None or start.fires_s is None:
        return untold(STARTS, start.why or "no-starter")
    count = len(start.turns)
    told = Told(
        (
            _figure("starter_s", sum(b - a for a, b in start.turns), tuning.moment_s * count, "s"),
            _figure("tries", count, 0, "times"),
            _figure("to_fire_s", start.fires_s - start.turns[0][0], tuning.moment_s, "s"),
        )
    )
    if start.beat_hz is None:
        return told + untold(("cranking_rpm",), "no-beat")
    rpm = start.beat_hz / per_rpm
    return told + Told((_figure("cranking_rpm", rpm, tuning.margin * rpm, "rpm", digits=0),))


def speed_figures(calm: Idle, start: Start, *, tuning: IdleSettings) -> Told:
    """Give the figures of a speed after the start."""
    fast, last = calm.fast_rpm, calm.last_rpm
    told = Told(
        (
            _figure("fast_idle_rpm", fast, 2 * tuning.margin * fast, "rpm", digits=0),
            _figure("idle_rpm", last, max(tuning.margin * last, calm.spread_rpm), "rpm", digits=0),
        )
    )
    if start.fires_s is None:
        told += untold(("settling_s",), start.why or "no-starter")
    elif calm.settled_s is None:
        told += untold(("settling_s",), calm.why or "not-settled")
    else:
        told += Told((_figure("settling_s", max(0.0, calm.settled_s - start.fires_s), 1.0, "s", digits=1),))
    if calm.wander is None:
        return told + untold(("wander_pct",), "not-settled")
    return told + Told((_figure("wander_pct", 100 * calm.wander, 0.5, "%", digits=1),))


def beat_figures(beats: Beats, *, tuning: BeatSettings) -> Told:
    """Give the figures of the beats of one cycle."""
    if beats.why is not None or beats.weakest is None or beats.half_order is None:
        return untold(BEATS, beats.why or "too-few-cycles")
    if beats.weakest < tuning.even_share and beats.same < tuning.same_share:
        return untold(BEATS, "unclear-beat")
    return Told(
        (
            _figure("weak_beat_pct", 100 * beats.weakest, 12.0, "%", digits=0),
            _figure("half_order_pct", 100 * beats.half_order, 8.0, "%", digits=0),
        )
    )


def _figure(name: str, value: float, margin: float, unit: str, *, digits: int = 2) -> EngineFigure:
    """Round a figure and its bounds; none of them is below nothing."""
    return EngineFigure(
        name, round(value, digits), round(max(0.0, value - margin), digits), round(value + margin, digits), unit
    )
