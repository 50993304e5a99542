"""What tasks cost: a range for the whole, the share of each, and what the doubt comes from."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.prep.draws import Drawing, Drawn, setups
from shutline.prep.model import Task
from shutline.prep.settings import prep_settings
from shutline.prep.tables import PrepTables, prep_tables

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_QUANTILES = (0.05, 0.5, 0.95)


@dataclass(frozen=True, slots=True)
class Spread:
    """A sum with its doubt: the mean, and what it stays below 5, 50 and 95 times in a hundred."""

    mean: float
    p05: float
    p50: float
    p95: float


@dataclass(frozen=True, slots=True)
class TaskCost:
    """What one task costs in pounds without tax, with its part of the set-up that the tasks of its job share.

    `share` is its part of the mean of the whole. `doubt` is its part of the variance of the whole: its covariance with
    the whole over that variance. These add up to one, shared rates and causes and all, which no other division does;
    below nought it makes the whole surer.
    """

    task: str
    findings: tuple[str, ...]
    cost: Spread
    share: float
    doubt: float


@dataclass(frozen=True, slots=True)
class Cost:
    """What all tasks cost together, in pounds.

    `total` is without tax, `vat` the tax on what is bought in and `with_vat` both. `errors` are the standard errors of
    the four figures of `total`, from the draws themselves, and `draws_enough` is how many draws would bring each of
    them to a hundredth (see ``data/settings.toml``) of its figure. `hours` are by trade, set-ups with them. `tasks`
    are in the order of their doubt, the most first.
    """

    total: Spread
    vat: Spread
    with_vat: Spread
    errors: Spread
    hours: dict[str, Spread]
    tasks: tuple[TaskCost, ...]
    draws: int
    draws_enough: int
    seed: int


def cost_of(
    tasks: Iterable[Task], *, tables: PrepTables | None = None, draws: int | None = None, seed: int | None = None
) -> Cost:
    """Work out what tasks cost, by drawing every range many times.

    Tasks of one cause are found worse together; a set-up is counted once; a rate is the same for all tasks of a trade.
    Everything else is drawn independently. The same seed gives the same answer, in whatever order the tasks come.

    Parameters
    ----------
    tasks : iterable of Task
        Each id once.
    tables : PrepTables, optional
        Rates and tax; the shipped ones when left out.
    draws, seed : int, optional
        See ``data/settings.toml``.

    Raises
    ------
    ValueError
        `draws` or `seed` is out of its range, or two tasks or two different jobs have one id.
    """
    import numpy as np

    known = tables or prep_tables()
    usual = prep_settings().cost
    draws, seed = usual.draws if draws is None else draws, usual.seed if seed is None else seed
    every = in_order(tasks)
    drawing = Drawing(known, draws=draws, seed=seed)
    alone = [drawing.task(task) for task in every]
    shared = {id_: drawing.setup(job) for id_, job in setups(every).items()}
    costs = np.array(with_setups(every, alone, shared)).reshape(len(every), draws)
    parts = [*alone, *shared.values()]
    total = costs.sum(axis=0) + np.zeros(draws)
    vat = sum((part.taxed for part in parts), np.zeros(draws)) * known.vat_percent / 100
    trades = sorted({trade for part in parts for trade in part.hours})
    hours = {
        trade: spread_of(sum((part.hours[trade] for part in parts if trade in part.hours), np.zeros(draws)))
        for trade in trades
    }
    whole = spread_of(total)
    errors = _errors(total)
    apart = total - whole.mean
    variance = float(apart @ apart)
    doubts = (costs - costs.mean(axis=1, keepdims=True)) @ apart / variance if variance else np.zeros(len(every))
    told = [
        TaskCost(
            task.id,
            task.findings,
            spread := spread_of(costs[row]),
            share=spread.mean / whole.mean if whole.mean else 0.0,
            doubt=float(doubts[row]),
        )
        for row, task in enumerate(every)
    ]
    return Cost(
        total=whole,
        vat=spread_of(vat),
        with_vat=spread_of(total + vat),
        errors=errors,
        hours=hours,
        tasks=tuple(sorted(told, key=lambda one: (-one.doubt, one.task))),
        draws=draws,
        draws_enough=_enough(whole, errors, draws, usual.enough),
        seed=seed,
    )


def in_order(tasks: Iterable[Task]) -> tuple[Task, ...]:
    """Give tasks in the order of their ids; raises ValueError where two tasks, or two different jobs, have one id."""
    every = tuple(sorted(tasks, key=lambda task: task.id))
    if len({task.id for task in every}) != len(every):
        raise ValueError("two tasks have one id")
    jobs = setups(every)
    if any(task.job != jobs[task.job.id] for task in every):
        raise ValueError("two jobs have one id")
    return every


def with_setups(tasks: Sequence[Task], alone: Sequence[Drawn], shared: dict[str, Drawn]) -> list[Array]:
    """Give what each task costs with its part of the set-up that the tasks of its job share alike."""
    count = {id_: sum(task.job.id == id_ for task in tasks) for id_ in shared}
    return [
        drawn.cost + shared[task.job.id].cost / count[task.job.id] for task, drawn in zip(tasks, alone, strict=True)
    ]


def spread_of(values: Array) -> Spread:
    """Give the mean and the quantiles of draws, shape (draws,)."""
    import numpy as np

    low, middle, high = (float(one) for one in np.quantile(values, _QUANTILES))
    return Spread(float(values.mean()), low, middle, high)


def _errors(values: Array) -> Spread:
    """Give the standard errors of mean and quantiles.

    That of a quantile is a quarter of the distance of the order statistics two standard deviations of the binomial
    count to either side of it: no density has to be guessed.
    """
    import numpy as np

    count = len(values)
    ranked = np.sort(values)

    def of_quantile(share: float) -> float:
        reach = 2 * math.sqrt(count * share * (1 - share))
        low, high = (min(max(round(count * share + way * reach), 0), count - 1) for way in (-1, 1))
        return float(ranked[high] - ranked[low]) / 4

    low, middle, high = (of_quantile(share) for share in _QUANTILES)
    return Spread(float(values.std(ddof=1)) / math.sqrt(count), low, middle, high)


def _enough(whole: Spread, errors: Spread, draws: int, aim: float) -> int:
    pairs = (
        *((whole.mean, errors.mean), (whole.p05, errors.p05)),
        *((whole.p50, errors.p50), (whole.p95, errors.p95)),
    )
    return max(math.ceil(draws * (error / (aim * figure)) ** 2) if figure else 0 for figure, error in pairs)
