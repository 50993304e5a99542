"""How the gain moves with the budget: each sum at which a better choice comes within reach."""

from __future__ import annotations

import heapq
import time
from collections.abc import Mapping
from dataclasses import dataclass, replace

from shutline.prep.limits import Deadline, Limits
from shutline.prep.programme import Programme, Solved

MOST_POINTS = 200
"""How often the solver is asked at most."""
SPREAD_POINTS = 16
"""How often it is asked at the middle of a stretch, so that a curve that is broken off is known all along."""
TIME_LIMIT_S = 10.0
"""Wall seconds after which a curve is broken off."""


@dataclass(frozen=True, slots=True)
class Point:
    """From `money_pence` on the best choice gains `gain_pence`; `chosen` are the ids of its tasks."""

    money_pence: int
    gain_pence: int
    chosen: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Curve:
    """The points in order of money, each gaining more than the one before.

    `whole` tells that there is no point beside them. Where it is not whole the gain between two points is at least
    that of the first and at most that of the second.
    """

    points: tuple[Point, ...]
    whole: bool


def gain_curve(
    programme: Programme,
    limits: Limits,
    *,
    ready: Deadline | None = None,
    most_points: int = MOST_POINTS,
    time_limit_s: float = TIME_LIMIT_S,
) -> Curve:
    """Find how the gain moves with the money, the other limits standing.

    What is best at a budget is best from its own sum up to that budget, so one answer settles a stretch. The widest
    stretch that is not settled is taken first: at its middle while there are few points, then from its upper end.

    Parameters
    ----------
    programme : Programme
    limits : Limits
        Their money is not held to; their quantile is.
    ready : Deadline, optional
    most_points, time_limit_s
        Where the search is broken off, which makes the curve not whole.

    Returns
    -------
    Curve
        No points where the musts cannot be done at any budget.
    """
    deadline = time.monotonic() + time_limit_s

    def best_at(budget: int | None) -> Solved:
        left = max(0.0, deadline - time.monotonic())
        return programme.solve(replace(limits, money_pence=budget), ready=ready, time_limit_s=left)

    top = best_at(None)
    if top.chosen is None or not top.proved:
        return Curve((), whole=top.proved)
    points = {programme.money(top.chosen, limits.quantile): top.chosen}
    # Stretches of budgets that are not settled: less their width, from, to, and the gain just above.
    unsettled = [_stretch(0, next(iter(points)) - 1, programme.gain(top.chosen))]
    for asked in range(most_points):
        if not unsettled or time.monotonic() > deadline:
            break
        _, low, high, above = heapq.heappop(unsettled)
        if low > high:
            continue
        budget = (low + high) // 2 if asked < SPREAD_POINTS else high
        best = best_at(budget)
        if not best.proved:
            heapq.heappush(unsettled, _stretch(low, high, above))
            break
        gain = None if best.chosen is None else programme.gain(best.chosen)
        if best.chosen is not None:
            money = programme.money(best.chosen, limits.quantile)
            points.setdefault(money, best.chosen)
            heapq.heappush(unsettled, _stretch(low, money - 1, programme.gain(best.chosen)))
        if gain != above:
            heapq.heappush(unsettled, _stretch(budget + 1, high, above))
    return Curve(_rising(programme, points), whole=all(low > high for _, low, high, _ in unsettled))


def _stretch(low: int, high: int, above: int) -> tuple[int, int, int, int]:
    return low - high, low, high, above


def _rising(programme: Programme, points: Mapping[int, frozenset[str]]) -> tuple[Point, ...]:
    """Leave out points that gain no more than one for less money."""
    found: list[Point] = []
    for money, chosen in sorted(points.items()):
        gain = programme.gain(chosen)
        if not found or gain > found[-1].gain_pence:
            found.append(Point(money, gain, tuple(sorted(chosen))))
    return tuple(found)
