"""Draws of what tasks take: hours, rates, materials and what is found on opening, thousands of times at once.

Each range is a modified beta with lambda 4 (PERT). Each has a stream of random numbers of its own, named by the task
and what it is of, so that a task is drawn the same whatever else is done to the car.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from shutline.prep.model import Job, Range, Task, Worse
from shutline.prep.settings import prep_settings
from shutline.prep.tables import PrepTables, prep_tables

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

LAMBDA = 4.0
FEWEST, MOST = 100, 1_000_000
_KNOTS = 1025


@dataclass(frozen=True, slots=True)
class Drawn:
    """What one task, or the set-up of one job, takes: arrays of shape (draws,).

    `cost` is in pounds without tax, `taxed` how much of it value added tax goes on, `hours` by trade. `worse` tells in
    which draws more is found on opening; None where that cannot be.
    """

    cost: Array
    taxed: Array
    hours: Mapping[str, Array]
    worse: NDArray[np.bool_] | None = None


def shape_of(values: Range) -> tuple[float, float]:
    """Give the two parameters of the beta that a range with some width is taken as.

    >>> shape_of(Range(1.0, 2.0, 5.0))
    (2.0, 4.0)
    """
    width = values.high - values.low
    return 1 + LAMBDA * (values.likely - values.low) / width, 1 + LAMBDA * (values.high - values.likely) / width


def quantiles(first: float, second: float, at: Array) -> Array:
    """Give quantiles of a beta, shape as `at`, read between knots: never further off than the next knot, 1/1024.

    The true inverse takes ten to thirty times as long, and would be the longest of all that is done here.
    """
    import numpy as np

    values, reached = _knots(first, second)
    found: Array = np.interp(at, reached, values)
    return found


@lru_cache(maxsize=512)
def _knots(first: float, second: float) -> tuple[Array, Array]:
    import numpy as np
    from scipy.special import betainc

    values = np.linspace(0.0, 1.0, _KNOTS)
    return values, betainc(first, second, values)


class Drawing:
    """Draws for one car; the same `seed`, `draws` and task give the same arrays, in any order.

    Parameters
    ----------
    tables : PrepTables
        Rates, and on what tax goes.
    draws : int
        How many; from `FEWEST` to `MOST`.
    seed : int
        From nought.

    Raises
    ------
    ValueError
        `draws` or `seed` is out of its range.
    """

    def __init__(self, tables: PrepTables, *, draws: int, seed: int) -> None:
        if not FEWEST <= draws <= MOST or seed < 0:
            raise ValueError(f"{draws} draws with seed {seed}: from {FEWEST} to {MOST}, and a seed from 0")
        self._tables = tables
        self._draws = draws
        self._seed = seed
        self._rates: dict[str, Array] = {}
        self._opened: dict[tuple[str, Worse], tuple[Array, NDArray[np.bool_]]] = {}

    def task(self, task: Task) -> Drawn:
        """Draw what a task takes without the set-up that it shares; its places are found alike."""
        job, key = task.job, task.id
        grown, worse = self._grown(job, key)
        hours = {line.trade: self._zeros() for line in job.labour}
        for line in job.labour:
            hours[line.trade] = hours[line.trade] + task.count * grown * self._range(line.each, "task", key, line.trade)
        materials = task.count * grown * self._range(job.materials, "materials", key)
        outside = task.count * self._range(job.outside, "outside", key)
        return self._priced(hours, materials + outside, worse)

    def setup(self, job: Job) -> Drawn:
        """Draw the set-up of a job, once for a car."""
        hours = {line.trade: self._range(line.setup, "setup", job.id, line.trade) for line in job.labour}
        return self._priced(hours, self._zeros(), None)

    def _priced(self, hours: Mapping[str, Array], bought: Array, worse: NDArray[np.bool_] | None) -> Drawn:
        cost, taxed = bought, bought
        for trade, taken in hours.items():
            pounds = taken * self._rate(trade)
            cost = cost + pounds
            if self._tables.trades[trade].taxed:
                taxed = taxed + pounds
        return Drawn(cost, taxed, hours, worse)

    def _rate(self, trade: str) -> Array:
        if trade not in self._rates:
            self._rates[trade] = self._range(self._tables.trades[trade].rate, "rate", trade)
        return self._rates[trade]

    def _grown(self, job: Job, key: str) -> tuple[Array, NDArray[np.bool_] | None]:
        """Give by how much hours and materials grow, and where more is found.

        One latent number for each cause, even from 0 to 1, says of all its tasks whether more is found (where it is
        below the chance of each) and how much more (the quantile of the factor that it then stands for: the lower, the
        worse). Each task by itself so has the chance and the factor that its job says.
        """
        import numpy as np

        worse = job.worse
        if worse is None:
            return self._zeros() + 1.0, None
        if not job.cause:
            opened = self._stream("alone", key).random(self._draws) < worse.chance
            return np.where(opened, self._range(worse.factor, "worse", key), 1.0), opened
        if (job.cause, worse) not in self._opened:
            self._opened[job.cause, worse] = self._open(job.cause, worse)
        return self._opened[job.cause, worse]

    def _open(self, cause: str, worse: Worse) -> tuple[Array, NDArray[np.bool_]]:
        latent = self._stream("cause", cause).random(self._draws)
        opened = latent < worse.chance
        grown = self._zeros() + 1.0
        factor = worse.factor
        width = factor.high - factor.low
        grown[opened] = factor.low
        if width:
            grown[opened] += width * quantiles(*shape_of(factor), 1.0 - latent[opened] / worse.chance)
        return grown, opened

    def _range(self, values: Range, *key: str) -> Array:
        width = values.high - values.low
        if not width:
            return self._zeros() + values.low
        first, second = shape_of(values)
        drawn: Array = values.low + width * self._stream(*key).beta(first, second, self._draws)
        return drawn

    def _stream(self, *key: str) -> np.random.Generator:
        import numpy as np

        digest = hashlib.sha256("\x1f".join((str(self._seed), *key)).encode()).digest()
        return np.random.Generator(np.random.PCG64(int.from_bytes(digest[:16], "big")))

    def _zeros(self) -> Array:
        import numpy as np

        return np.zeros(self._draws)


@dataclass(frozen=True, slots=True)
class CarDrawn:
    """Draws of all tasks of a car, in the order of their ids, and of the set-ups by the id of their job."""

    tasks: tuple[Task, ...]
    alone: tuple[Drawn, ...]
    shared: Mapping[str, Drawn]
    drawing: Drawing
    tables: PrepTables
    draws: int
    seed: int

    @property
    def parts(self) -> tuple[Drawn, ...]:
        """All that adds up to the whole."""
        return (*self.alone, *self.shared.values())

    def pence(self) -> Array:
        """Give what each task costs in pence without its set-up, and then each set-up that takes anything.

        Tasks are by id and set-ups by job: shape (n, draws), as `Programme` wants it.
        """
        import numpy as np

        takes = {task.job.id for task in self.tasks if any(line.setup.high for line in task.job.labour)}
        rows = [*(one.cost for one in self.alone), *(one.cost for job, one in self.shared.items() if job in takes)]
        return 100 * np.array(rows).reshape(len(rows), self.draws)

    def only(self, ids: Iterable[str]) -> CarDrawn:
        """Give the draws of some of the tasks: a task is drawn the same whatever else is done to the car."""
        kept = set(ids)
        pairs = [(task, own) for task, own in zip(self.tasks, self.alone, strict=True) if task.id in kept]
        tasks = tuple(task for task, _ in pairs)
        return replace(
            self,
            tasks=tasks,
            alone=tuple(own for _, own in pairs),
            shared={id_: self.shared[id_] for id_ in setups(tasks)},
        )

    def costs(self) -> Array:
        """Give what each task costs with its equal part of the set-up of its job, shape (tasks, draws)."""
        import numpy as np

        count = Counter(task.job.id for task in self.tasks)
        rows = [
            drawn.cost + self.shared[task.job.id].cost / count[task.job.id]
            for task, drawn in zip(self.tasks, self.alone, strict=True)
        ]
        return np.array(rows).reshape(len(rows), self.draws)


def draw_car(tasks: Iterable[Task], *, tables: PrepTables | None, draws: int | None, seed: int | None) -> CarDrawn:
    """Draw all tasks of a car; what is left out is as shipped.

    Raises
    ------
    ValueError
        `draws` or `seed` is out of its range, or two tasks or two different jobs have one id.
    """
    every = tuple(sorted(tasks, key=lambda task: task.id))
    jobs = setups(every)
    if len({task.id for task in every}) != len(every):
        raise ValueError("two tasks have one id")
    if any(task.job != jobs[task.job.id] for task in every):
        raise ValueError("two jobs have one id")
    usual, known = prep_settings().cost, tables or prep_tables()
    draws, seed = usual.draws if draws is None else draws, usual.seed if seed is None else seed
    drawing = Drawing(known, draws=draws, seed=seed)
    alone = tuple(drawing.task(task) for task in every)
    shared = {id_: drawing.setup(job) for id_, job in jobs.items()}
    return CarDrawn(every, alone, shared, drawing, known, draws, seed)


def setups(tasks: Iterable[Task]) -> dict[str, Job]:
    """Give the jobs of tasks in the order of their ids, each once."""
    jobs = {task.job.id: task.job for task in tasks}
    return {id_: jobs[id_] for id_ in sorted(jobs)}
