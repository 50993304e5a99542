"""What pays: the tasks that gain most within money, hours, bays and a date, and why each of the others is left."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from shutline.prep.curve import Curve
from shutline.prep.left_out import Asked, InTheWay, LeftOut, Wishes, in_the_way, left_out
from shutline.prep.limits import Deadline, Limits
from shutline.prep.model import NOUGHT, Range, Task
from shutline.prep.outlay import Outlays, pert_mean
from shutline.prep.programme import Programme
from shutline.prep.sure import best_of, sure_curve
from shutline.prep.worth import Worth

Number = TypeVar("Number", int, float)

TIME_LIMIT_S = 5.0
"""Wall seconds after which the best choice so far is given with its gap."""
NO_LIMITS, NO_WISHES = Limits(), Wishes()


@dataclass(frozen=True, slots=True)
class Disclosed:
    """A finding that stays: it is to be told, and costs what a buyer knocks off for it; None where nobody knows."""

    finding: str
    worth: Worth | None


@dataclass(frozen=True, slots=True)
class Choice:
    """The tasks chosen, by id, what they take and gain, and what is left.

    `gain_pence` is expected worth less expected cost. `money_pence` is what the limit of money is held against, with
    its quantile where one was given. `gap_pence` is how much more some other choice could gain at most: 0 where the
    search came to its end, None where nobody knows: nothing was found in time, or money is held against a quantile.
    `disclosed_pounds` sums what a buyer knocks off for what stays. Where `in_the_way` is not empty the musts cannot be
    done, and nothing is chosen.
    """

    chosen: tuple[str, ...]
    gain_pence: int
    worth_pence: int
    cost_pence: int
    money_pence: int
    minutes: Mapping[str, int]
    bay_days: Mapping[str, float]
    left: tuple[LeftOut, ...]
    disclosed: tuple[Disclosed, ...]
    disclosed_pounds: Range
    gap_pence: int | None = 0
    in_the_way: tuple[InTheWay, ...] = ()


def choose(
    tasks: Sequence[Task],
    outlays: Outlays,
    worths: Mapping[str, Worth],
    *,
    limits: Limits = NO_LIMITS,
    wishes: Wishes = NO_WISHES,
    ready: Deadline | None = None,
    draws: NDArray[np.float64] | None = None,
    time_limit_s: float = TIME_LIMIT_S,
) -> Choice:
    """Choose the tasks that gain most.

    Parameters
    ----------
    tasks : sequence of Task
        In any order, alternatives among them. Of two tasks of which one cures nothing that the other does not, only
        one is done.
    outlays : Outlays
        What each takes.
    worths : mapping of str to Worth
        By finding. A finding without one gains nothing.
    limits : Limits
    wishes : Wishes
        Where every task that cures a finding has a `must` of its own, one of them is done.
    ready : Deadline, optional
        The day by which all has to be done.
    draws : array, optional
        See `Programme`.
    time_limit_s : float
        Wall seconds of the search. What is left and what is in the way is searched for besides, each within as many.

    Returns
    -------
    Choice
        The same for the same tasks in any order, unless it was stopped.

    Raises
    ------
    ValueError
        A wish names a task that there is not, two tasks have one id, a task has no outlay, or the draws are of another
        number of costs, or are lacking.
    """
    programme = programme_of(tasks, outlays, worths, wishes=wishes, draws=draws)
    return choose_of(programme, worths, limits=limits, wishes=wishes, ready=ready, time_limit_s=time_limit_s)


def choose_of(
    programme: Programme,
    worths: Mapping[str, Worth],
    *,
    limits: Limits,
    wishes: Wishes,
    ready: Deadline | None = None,
    line: Curve | None = None,
    time_limit_s: float = TIME_LIMIT_S,
) -> Choice:
    """As `choose`, of a programme made of `worths` and `wishes`; `line` is its `sure_curve`, where it is known.

    Without a quantile, or without a budget, it is not looked at.
    """
    if limits.quantile is None or limits.money_pence is None:
        line = None
    elif line is None:
        line = sure_curve(programme, limits, ready=ready, time_limit_s=time_limit_s)
    best = best_of(programme, limits, ready=ready, time_limit_s=time_limit_s, line=line)
    asked = Asked(programme, limits, wishes, ready, time_limit_s, line)
    chosen = best.chosen or frozenset()
    taken = programme.outlays_of(chosen)
    cured = {finding for one in chosen for finding in programme.by_id[one].findings}
    told = tuple(Disclosed(one, worths.get(one)) for one in sorted({*programme.cures, *worths} - cured))
    gap = math.inf if best.chosen is None else best.bound_pence - programme.gain(chosen)
    return Choice(
        chosen=tuple(sorted(chosen)),
        gain_pence=programme.gain(chosen),
        worth_pence=programme.worth(chosen),
        cost_pence=programme.cost(chosen),
        money_pence=programme.money(chosen, limits.quantile),
        minutes=_summed((trade, much) for one in taken for trade, much in one.minutes.items()),
        bay_days=_summed((one.bay, one.bay_days) for one in taken if one.bay),
        left=() if best.chosen is None else left_out(asked, best),
        disclosed=told,
        disclosed_pounds=_pounds(one.worth for one in told if one.worth is not None),
        gap_pence=0 if best.proved else max(0, math.floor(gap)) if math.isfinite(gap) else None,
        in_the_way=in_the_way(asked, best) if best.chosen is None else (),
    )


def programme_of(
    tasks: Sequence[Task],
    outlays: Outlays,
    worths: Mapping[str, Worth],
    *,
    wishes: Wishes,
    draws: NDArray[np.float64] | None = None,
) -> Programme:
    """Put tasks, worths and wishes together; raises as `choose` does."""
    known = {task.id for task in tasks}
    if len(known) < len(tasks):
        raise ValueError("two tasks have one id")
    named = {
        *wishes.musts,
        *wishes.refused,
        *wishes.needs,
        *(one for several in wishes.needs.values() for one in several),
    }
    if unknown := sorted(named - known):
        raise ValueError(f"task {unknown[0]!r} is not among the tasks")
    if bare := sorted(known - set(outlays.tasks)):
        raise ValueError(f"task {bare[0]!r} has no outlay")
    programme = Programme(
        tasks=tuple(tasks),
        outlays=outlays,
        worths={finding: round(100 * pert_mean(worth.pounds)) for finding, worth in worths.items()},
        needs=wishes.needs,
        musts=frozenset(wishes.musts),
        refused=frozenset(wishes.refused),
        draws=draws,
    )
    count = len(programme.columns) + len(programme.setups)
    if draws is not None and len(draws) != count:
        raise ValueError(f"draws of {len(draws)} costs: {count} tasks and set-ups have costs")
    return programme


def _pounds(worths: Iterable[Worth]) -> Range:
    sums = [
        math.fsum(values)
        for values in zip(*((w.pounds.low, w.pounds.likely, w.pounds.high) for w in worths), strict=True)
    ]
    return Range(*sums) if sums else NOUGHT


def _summed(much_by_name: Iterable[tuple[str, Number]]) -> dict[str, Number]:
    found: dict[str, Number] = {}
    for name, much in much_by_name:
        found[name] = found[name] + much if name in found else much
    return dict(sorted(found.items()))
