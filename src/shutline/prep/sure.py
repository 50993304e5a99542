"""What pays where the budget is to be kept to with some chance, by the draws of what tasks cost.

The sum that a set stays below in so many draws is no sum of its tasks: shared rates and causes make them dear together,
and what is by itself evens out. So sets are tried: those that gain most at each sum of the expected cost, and those
that do where each task counts for what it costs when the whole comes near its limit. Both lines are the same at every
budget, so more money never gains less. That no other set gains more is not proven.
"""

from __future__ import annotations

import math
import time
from dataclasses import replace

import numpy as np

from shutline.prep.apart import Had, rising
from shutline.prep.curve import TIME_LIMIT_S, Curve, gain_curve, points_of
from shutline.prep.limits import Deadline, Limits
from shutline.prep.outlay import Outlay, Outlays
from shutline.prep.programme import Programme, Solved, rank_of

NEAR = 0.025
"""The share of the draws to either side that count as near the limit."""


def sure_curve(
    programme: Programme, limits: Limits, *, ready: Deadline | None = None, time_limit_s: float = TIME_LIMIT_S
) -> Curve:
    """Find how the gain moves with the budget that is kept to in a share of the draws.

    Parameters
    ----------
    programme : Programme
        With draws.
    limits : Limits
        With a quantile; their money is not held to.
    ready : Deadline, optional
    time_limit_s : float
        Wall seconds after which it is broken off.

    Returns
    -------
    Curve
        `money_pence` of each point is what its set costs at most in that share of the draws. `whole` tells that both
        lines were walked to their ends, not that no other set gains more.

    Raises
    ------
    ValueError
        There are no draws, or no quantile.
    """
    if limits.quantile is None:
        raise ValueError("a quantile is needed")
    until = time.monotonic() + time_limit_s
    expected = gain_curve(programme, limits, ready=ready, time_limit_s=time_limit_s / 2)
    if not expected.points:
        return expected
    dear = replace(programme, outlays=_dear(programme, frozenset(expected.points[-1].chosen), limits.quantile))
    doubtful = gain_curve(dear, limits, ready=ready, time_limit_s=max(0.0, until - time.monotonic()))
    tried = {frozenset(point.chosen): point.gain_pence for point in (*expected.points, *doubtful.points)}
    sets = [Had(programme.money(chosen, limits.quantile), gain, len(chosen), chosen) for chosen, gain in tried.items()]
    return Curve(points_of(rising(sets)), whole=expected.whole and doubtful.whole)


def best_of(
    programme: Programme,
    limits: Limits,
    *,
    ready: Deadline | None = None,
    time_limit_s: float = math.inf,
    line: Curve | None = None,
) -> Solved:
    """Give the set that gains most: as `Programme.solve`, and with a quantile from `line`, or one made for it.

    With a quantile `bound_pence` is infinite and `proved` False, but for where both lines were walked to their ends and
    the budget does not reach their beginnings.
    """
    if limits.quantile is None or limits.money_pence is None:
        return programme.solve(limits, ready=ready, time_limit_s=time_limit_s)
    line = line or sure_curve(programme, limits, ready=ready, time_limit_s=min(time_limit_s, TIME_LIMIT_S))
    point = line.within(limits.money_pence)
    if point is None:
        return Solved(None, math.inf, proved=line.whole)
    return Solved(frozenset(point.chosen), math.inf, proved=False)


def _dear(programme: Programme, chosen: frozenset[str], quantile: float) -> Outlays:
    """Give the outlays with what each costs on average in the draws in which a set comes near its quantile."""
    draws = programme.draws
    drawn = programme.drawn(chosen)
    rank, reach = rank_of(quantile, len(drawn)), max(1, round(NEAR * len(drawn)))
    near = np.argsort(drawn, kind="stable")[max(0, rank - reach) : rank + reach + 1]
    means = np.zeros(0) if draws is None else draws[:, near].mean(axis=1)

    def reckoned(outlay: Outlay, at: int) -> Outlay:
        return replace(outlay, dear_pence=max(0, round(float(means[at]))))

    return Outlays(
        {id_: reckoned(programme.outlays.tasks[id_], at) for id_, at in programme.columns.items()},
        {job: reckoned(programme.outlays.setups[job], at) for job, at in programme.setups.items()},
    )
