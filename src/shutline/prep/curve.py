"""How the gain moves with the budget: each sum at which a better choice comes within reach."""

from __future__ import annotations

import heapq
import math
import time
from dataclasses import dataclass, replace

from shutline.prep.apart import FEW, Had, Line, apart, rising, whole_line
from shutline.prep.limits import Deadline, Limits
from shutline.prep.programme import Programme, Solved

MOST_POINTS = 200
"""How often the solver is asked at most, and the most points that are given."""
SPREAD_POINTS = 16
"""How often it is asked at the middle of a stretch, so that a curve that is broken off is known all along."""
TIME_LIMIT_S = 10.0
"""Wall seconds after which a curve is broken off."""
ONE_SHARE = 0.4
"""The share of the time that is left which one budget may take."""
APART_SHARE = 0.75
"""The share of the time in which parts that share nothing are tried by themselves."""


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

    def within(self, money_pence: int | None) -> Point | None:
        """Give the last point that a budget reaches; None where it reaches none, the last of all without a budget."""
        reached = [one for one in self.points if money_pence is None or one.money_pence <= money_pence]
        return reached[-1] if reached else None


def gain_curve(
    programme: Programme,
    limits: Limits,
    *,
    ready: Deadline | None = None,
    most_points: int = MOST_POINTS,
    time_limit_s: float = TIME_LIMIT_S,
) -> Curve:
    """Find how the gain moves with the money that is reckoned with, the other limits standing.

    Parts of a programme that share nothing are walked by themselves and put together. Where other limits or a day
    bind them, what is best without these is still best wherever it keeps to them; elsewhere it is searched.

    Parameters
    ----------
    programme : Programme
    limits : Limits
        Their money and quantile are not held to.
    ready : Deadline, optional
    most_points, time_limit_s
        Where the search is broken off, which makes the curve not whole.

    Returns
    -------
    Curve
        No points where the musts cannot be done at any budget.
    """
    start = time.monotonic()
    bare = replace(limits, money_pence=None, quantile=None)

    def search(part: Programme) -> Line | None:
        curve = _searched(part, Limits(), None, None, most_points=most_points, until=start + APART_SHARE * time_limit_s)
        return _line(curve) if curve.whole else None

    free, bound = None, bool(bare.names()) or ready is not None
    parts = apart(programme)
    if bound or len(parts) != 1 or len(programme.columns) <= FEW:
        free = whole_line(programme, parts, search, until=start + APART_SHARE * time_limit_s)
    if free is not None and not bound:
        return _thinned(free, most_points)
    return _searched(programme, bare, ready, free, most_points=most_points, until=start + time_limit_s)


def _searched(
    programme: Programme,
    limits: Limits,
    ready: Deadline | None,
    free: Line | None,
    *,
    most_points: int,
    until: float,
) -> Curve:
    """Search for the points.

    What is best at a budget is best from its own sum up to that budget, so one answer settles a stretch. The widest
    stretch that is not settled is taken first: at its middle while there are few points, then from its upper end. A
    budget at which the best is not found in its share of the time is passed over.
    """

    def best_at(budget: int | None) -> Solved:
        known = [one for one in free or () if budget is None or one.money <= budget]
        if known and programme.allows(known[-1].chosen, limits, ready):
            return Solved(known[-1].chosen, known[-1].gain, proved=True)
        left = max(0.0, until - time.monotonic()) * ONE_SHARE
        return programme.solve(replace(limits, money_pence=budget), ready=ready, time_limit_s=left)

    top = best_at(None)
    whole, found = top.proved, []
    if top.proved and top.chosen is not None:
        found.append(_had(programme, top.chosen))
    highest = found[0].money - 1 if found else free[-1].money if free and not whole else -1
    # Stretches of budgets that are not settled: less their width, from, to, and the gain just above, infinite where it
    # is not known.
    unsettled = [_stretch(0, highest, found[0].gain if found else math.inf)]
    for asked in range(most_points):
        if not unsettled or time.monotonic() > until:
            break
        _, low, high, above = heapq.heappop(unsettled)
        if low > high:
            continue
        budget = (low + high) // 2 if asked < SPREAD_POINTS else high
        best = best_at(budget)
        if not best.proved:
            whole = False
            heapq.heappush(unsettled, _stretch(low, budget - 1, math.inf))
            heapq.heappush(unsettled, _stretch(budget + 1, high, above))
            continue
        gain = None
        if best.chosen is not None:
            found.append(_had(programme, best.chosen))
            gain = found[-1].gain
            heapq.heappush(unsettled, _stretch(low, found[-1].money - 1, gain))
        if gain != above:
            heapq.heappush(unsettled, _stretch(budget + 1, high, above))
    return Curve(points_of(rising(found)), whole=whole and all(low > high for _, low, high, _ in unsettled))


def _stretch(low: int, high: int, above: float) -> tuple[int, int, int, float]:
    return low - high, low, high, above


def _had(programme: Programme, chosen: frozenset[str]) -> Had:
    return Had(programme.money(chosen, None), programme.gain(chosen), 0, chosen)


def points_of(line: Line) -> tuple[Point, ...]:
    """Give a line as points."""
    return tuple(Point(one.money, one.gain, tuple(sorted(one.chosen))) for one in line)


def _line(curve: Curve) -> Line:
    return tuple(Had(one.money_pence, one.gain_pence, 0, frozenset(one.chosen)) for one in curve.points)


def _thinned(line: Line, most: int) -> Curve:
    """Keep points spread evenly where there are more than is asked for, the first and the last among them."""
    step = max(1.0, (len(line) - 1) / max(1, most - 1))
    kept = [line[math.floor(at * step + 0.5)] for at in range(min(len(line), most))]
    return Curve(points_of(tuple(kept)), whole=len(kept) == len(line))
