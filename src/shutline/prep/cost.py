"""What tasks cost: a range for the whole, the share of each, and what the doubt comes from."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.prep.draws import CarDrawn, draw_car
from shutline.prep.model import Task
from shutline.prep.settings import prep_settings
from shutline.prep.tables import PrepTables

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
    return cost_of_drawn(draw_car(tasks, tables=tables, draws=draws, seed=seed))


def cost_of_drawn(car: CarDrawn) -> Cost:
    """As `cost_of`, of tasks that were drawn already."""
    import numpy as np

    costs = car.costs()
    total = costs.sum(axis=0)
    nought = np.zeros(car.draws)
    vat = sum((part.taxed for part in car.parts), nought) * car.tables.vat_percent / 100
    trades = sorted({trade for part in car.parts for trade in part.hours})
    hours = {trade: sum((p.hours[trade] for p in car.parts if trade in p.hours), nought) for trade in trades}
    whole, errors = spread_of(total), _errors(total)
    apart = total - whole.mean
    variance = float(apart @ apart)
    doubts = (costs - costs.mean(axis=1, keepdims=True)) @ apart / (variance or 1.0)
    told = [
        TaskCost(
            task.id,
            task.findings,
            spread := spread_of(costs[row]),
            share=spread.mean / whole.mean if whole.mean else 0.0,
            doubt=float(doubts[row]),
        )
        for row, task in enumerate(car.tasks)
    ]
    return Cost(
        total=whole,
        vat=spread_of(vat),
        with_vat=spread_of(total + vat),
        errors=errors,
        hours={trade: spread_of(taken) for trade, taken in hours.items()},
        tasks=tuple(sorted(told, key=lambda one: (-one.doubt, one.task))),
        draws=car.draws,
        draws_enough=_enough(whole, errors, car.draws, prep_settings().cost.enough),
        seed=car.seed,
    )


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
