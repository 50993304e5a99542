"""What each task takes, as expected: money, how doubtful it is, minutes of each trade, days of a bay."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from shutline.prep.model import Job, Labour, Range, Task, Worse

DAY_HOURS = 8.0
"""Hours that a bay is worked in on one day, unless the house says otherwise."""


@dataclass(frozen=True, slots=True)
class Outlay:
    """What a task takes, or the set-up that the tasks of one job share.

    `cost_pence` is the expected cost without value added tax; `minutes` are the expected minutes by trade, `bay_days`
    the days that `bay` is held. `dear_pence` is what a limit of money reckons with in place of the expected cost.
    """

    cost_pence: int
    minutes: Mapping[str, int] = field(default_factory=dict)
    bay: str = ""
    bay_days: float = 0.0
    dear_pence: int | None = None

    @property
    def reckoned(self) -> int:
        """What a limit of money reckons with, pence."""
        return self.cost_pence if self.dear_pence is None else self.dear_pence


@dataclass(frozen=True, slots=True)
class Outlays:
    """The outlay of each task by its id, and of each set-up by the id of its job."""

    tasks: Mapping[str, Outlay]
    setups: Mapping[str, Outlay]


def pert_mean(values: Range) -> float:
    """Give the mean of a range taken as a modified beta with lambda 4: (low + 4 likely + high) / 6.

    >>> pert_mean(Range(1.0, 2.0, 9.0))
    3.0
    """
    return (values.low + 4 * values.likely + values.high) / 6


def pert_variance(values: Range) -> float:
    """Give the variance of such a range: (mean - low) (high - mean) / 7."""
    mean = pert_mean(values)
    return (mean - values.low) * (values.high - mean) / 7


def expected_growth(worse: Worse | None) -> float:
    """Give by how much hours and materials grow on average when a task is opened; 1 where nothing is told."""
    return 1.0 if worse is None else 1.0 + worse.chance * (pert_mean(worse.factor) - 1.0)


def outlays(tasks: Iterable[Task], rates: Mapping[str, Range], *, day_hours: float = DAY_HOURS) -> Outlays:
    """Work out what tasks take.

    Parameters
    ----------
    tasks : iterable of Task
    rates : mapping of str to Range
        What an hour of each trade costs, in pounds without value added tax.
    day_hours : float
        Hours that a bay is worked in on one day.

    Returns
    -------
    Outlays
        Each range enters by its mean.

    Raises
    ------
    ValueError
        A trade has no rate, or `day_hours` is not above nought.
    """
    if day_hours <= 0:
        raise ValueError(f"day_hours {day_hours!r}: more than nought is needed")
    every = sorted(tasks, key=lambda task: task.id)
    jobs = {task.job.id: task.job for task in every}
    for job in jobs.values():
        missing = [line.trade for line in job.labour if line.trade not in rates]
        if missing:
            raise ValueError(f"job {job.id!r}: trade {missing[0]!r} has no rate")
    return Outlays(
        {task.id: _task_outlay(task, rates, day_hours) for task in every},
        {id_: one for id_, job in jobs.items() if (one := _setup_outlay(job, rates, day_hours)) is not None},
    )


def _task_outlay(task: Task, rates: Mapping[str, Range], day_hours: float) -> Outlay:
    job = task.job
    grown = expected_growth(job.worse)
    inside = _labour([(line, line.each) for line in job.labour], rates) + pert_mean(job.materials)
    minutes = _minutes([(line.trade, task.count * pert_mean(line.each) * grown) for line in job.labour])
    days = sum(minutes.values()) / 60 / day_hours + (job.waits / 24 if job.holds_bay else 0.0)
    return Outlay(
        cost_pence=round(100 * task.count * (inside * grown + pert_mean(job.outside))),
        minutes=minutes,
        bay=job.bay,
        bay_days=days if job.bay else 0.0,
    )


def _setup_outlay(job: Job, rates: Mapping[str, Range], day_hours: float) -> Outlay | None:
    cost = _labour([(line, line.setup) for line in job.labour], rates)
    minutes = _minutes([(line.trade, pert_mean(line.setup)) for line in job.labour])
    if not cost and not minutes:
        return None
    days = sum(minutes.values()) / 60 / day_hours if job.bay else 0.0
    return Outlay(round(100 * cost), minutes, job.bay, days)


def _labour(lines: list[tuple[Labour, Range]], rates: Mapping[str, Range]) -> float:
    return sum(pert_mean(hours) * pert_mean(rates[line.trade]) for line, hours in lines)


def _minutes(hours: list[tuple[str, float]]) -> dict[str, int]:
    found: dict[str, float] = {}
    for trade, each in hours:
        found[trade] = found.get(trade, 0.0) + each
    return {trade: math.ceil(60 * each - 1e-9) for trade, each in found.items() if each > 0}
