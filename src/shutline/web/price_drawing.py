"""What the page of a price draws: bridges in pounds, and the curves of asking prices; a thousand units wide."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shutline.market import Bridge
    from shutline.usecases.price_shown import AskingShown

WIDE, HIGH = 1000.0, 200.0
_LEAST = 2.0
"""A step is drawn at least so wide."""


@dataclass(frozen=True, slots=True)
class StepDrawn:
    """One step: from where it leads and where to, and whether it adds."""

    what: str
    pounds: int
    doubt: int
    start: float
    end: float
    left: float
    wide: float
    adds: bool


@dataclass(frozen=True, slots=True)
class BridgeDrawn:
    """The way from the price of a car to the estimate; `start_x` and `end_x` are where both stand."""

    car: str
    start: int
    end: int
    start_x: float
    end_x: float
    steps: tuple[StepDrawn, ...]


@dataclass(frozen=True, slots=True)
class CurveDrawn:
    """Two drawings over the same prices: what is left, and how long it stands.

    `line` and `band` are paths, `nought` is where nothing is left, None where that is out of sight. `flat` is the
    stretch in which no price is much worse: where it begins, and how wide it is. `best` and `at` are where the best
    and the price that is looked at stand. `top` and `foot` are what the edges of the first drawing stand for, `days`
    the upper edge of the second.
    """

    line: str
    band: str
    nought: float | None
    flat: tuple[float, float]
    best: float
    at: float
    top: int
    foot: int
    times: str
    times_band: str
    days: int


def bridge_drawn(bridge: Bridge) -> BridgeDrawn:
    """Lay the steps of a bridge out to one scale."""
    reached = list(accumulate((one.pounds for one in bridge.steps), initial=bridge.start))
    place = _scale(min(reached), max(reached))
    steps = [
        StepDrawn(
            what=one.what,
            pounds=one.pounds,
            doubt=one.doubt,
            start=place(before),
            end=place(after),
            left=min(place(before), place(after)),
            wide=max(_LEAST, abs(place(after) - place(before))),
            adds=one.pounds >= 0,
        )
        for one, before, after in zip(bridge.steps, reached, reached[1:], strict=False)
    ]
    return BridgeDrawn(bridge.car, bridge.start, bridge.end, place(bridge.start), place(bridge.end), tuple(steps))


def curve_drawn(shown: AskingShown, *, last_day: float) -> CurveDrawn:
    """Draw the curve of asking prices; days after the last count as the last."""
    curve = shown.asking.curve
    across = _scale(curve[0].price, curve[-1].price)
    xs = [across(one.price) for one in curve]
    foot, top = min(one.left[1] for one in curve), max(one.left[2] for one in curve)
    up = _scale(foot, top, size=-HIGH, begin=HIGH)
    later = _scale(0.0, last_day, size=-HIGH / 2, begin=HIGH / 2)

    def stood(days: Iterable[float]) -> list[float]:
        return [later(min(one, last_day)) for one in days]

    flat = across(shown.asking.flat_low)
    return CurveDrawn(
        line=_path(xs, [up(one.left[0]) for one in curve]),
        band=_area(xs, [up(one.left[1]) for one in curve], [up(one.left[2]) for one in curve]),
        nought=up(0.0) if foot < 0 < top else None,
        flat=(flat, round(across(shown.asking.flat_high) - flat, 1)),
        best=across(shown.asking.best.price),
        at=min(max(across(shown.at), 0.0), WIDE),
        top=round(top),
        foot=round(foot),
        times=_path(xs, stood(one.half[0] for one in curve)),
        times_band=_area(xs, stood(one.half[1] for one in curve), stood(one.half[2] for one in curve)),
        days=round(last_day),
    )


def _scale(low: float, high: float, *, size: float = WIDE, begin: float = 0.0) -> Callable[[float], float]:
    wide = (high - low) or 1.0
    return lambda value: round(begin + size * (value - low) / wide, 1)


def _path(xs: Sequence[float], ys: Sequence[float]) -> str:
    return "M" + "L".join(f"{x:g} {y:g}" for x, y in zip(xs, ys, strict=True))


def _area(xs: Sequence[float], lower: Sequence[float], upper: Sequence[float]) -> str:
    there = "L".join(f"{x:g} {y:g}" for x, y in zip(xs, lower, strict=True))
    back = "L".join(f"{x:g} {y:g}" for x, y in zip(reversed(xs), reversed(upper), strict=True))
    return f"M{there}L{back}Z"
