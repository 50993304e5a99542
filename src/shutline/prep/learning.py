"""What hours that were taken say of the house's own ranges: moved by empirical Bayes, shown before accepted.

The logarithm of the hours of one task of job j is normal about m_j with variance v. The table says m_j to be t_j; how
far the two lie apart is normal about 0 with variance d. After n tasks with mean logarithm y the best guess of m_j is

    t_j + w (y - t_j),  w = n / (n + k),  k = v / d

so the table counts as k tasks. v is pooled over all jobs and begins with the widths of their ranges; d is estimated
from the jobs by the method of Paule and Mandel (1982) about the known mean 0. Widths move likewise, by a scaled inverse
chi-squared prior. Formulae: Gelman and others, Bayesian Data Analysis, sections 2.5, 2.6 and 5.4 (from memory).

A range that moved before is learnt again from where it began, with all hours, so that none counts twice: accepted after
n tasks and again after m more, it is what it would be if it were accepted once after n + m.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files

from shutline.prep.model import Job, Labour, Range
from shutline.prep.outlay import expected_growth, pert_mean, pert_variance


@dataclass(frozen=True, slots=True)
class LearningSettings:
    """What ``data/learning.toml`` says."""

    usual_distance: float
    least_distance: float
    jobs_to_judge: int
    width_count: float


@cache
def learning_settings() -> LearningSettings:
    """Read the shipped settings once."""
    text = files("shutline.prep").joinpath("data", "learning.toml").read_text(encoding="utf-8")
    return LearningSettings(**tomllib.loads(text))


@dataclass(frozen=True, slots=True)
class Taken:
    """Hours of one trade that one place of a task really took, its set-up left out."""

    job: str
    trade: str
    hours: float


@dataclass(frozen=True, slots=True)
class Moved:
    """How a range would move: shown first, and only what is accepted counts.

    `start` is what the table said before any hours were counted, `before` what it says now; they differ where a move
    was accepted already. `count` tasks were done, `start` counts as `table_count` of them, so what was done weighs
    `weight`. `middle_hours` is the middle (the geometric mean) of what was taken.
    """

    job: str
    trade: str
    before: Range
    after: Range
    count: int
    table_count: float
    weight: float
    middle_hours: float
    start: Range

    def told(self) -> str:
        """Give it in words."""
        was, now = (f"{one.low:.1f}, {one.likely:.1f}, {one.high:.1f}" for one in (self.before, self.after))
        return (
            f"{self.trade}: {was} hours become {now}; {self.count} done in {self.middle_hours:.1f} hours weigh "
            f"{self.weight:.0%}, the table counts as {self.table_count:.1f}"
        )


@dataclass(frozen=True, slots=True)
class Learnt:
    """All ranges that would move, and what the sums went by.

    `scatter` is the standard deviation of the logarithm of one task's hours, `distance` that of jobs about the table.
    """

    moved: tuple[Moved, ...]
    scatter: float
    distance: float
    left: tuple[str, ...]
    """What was not counted, in words."""


def learn(jobs: Mapping[str, Job], taken: Iterable[Taken], *, settings: LearningSettings | None = None) -> Learnt:
    """Work out how the ranges move.

    Parameters
    ----------
    jobs : mapping of str to Job
        The house's own, by id.
    taken : iterable of Taken
        In any order. The table's range is what a task takes before more is found, so a job that is worse on opening is
        compared with its range grown by what is expected.
    settings : LearningSettings, optional
        The shipped ones when left out.

    Returns
    -------
    Learnt
        Ranges of which nothing was done are not in it: they do not move.
    """
    by = settings or learning_settings()
    hours: dict[tuple[str, str], list[float]] = {}
    left = []
    tables: dict[tuple[str, str], Range] = {}
    present: dict[tuple[str, str], Range] = {}
    for one in sorted(taken, key=lambda one: (one.job, one.trade, one.hours)):
        line = (
            next((line for line in jobs[one.job].labour if line.trade == one.trade), None) if one.job in jobs else None
        )
        if line is None:
            left.append(f"{one.job}, {one.trade}: no such work in the tables")
        elif not math.isfinite(one.hours) or one.hours <= 0 or pert_mean(line.start) <= 0:
            left.append(f"{one.job}, {one.trade}: {one.hours:g} hours tell nothing")
        else:
            hours.setdefault((one.job, one.trade), []).append(one.hours / expected_growth(jobs[one.job].worse))
            tables[one.job, one.trade] = line.start
            present[one.job, one.trade] = line.each
    logs = {key: [math.log(one) for one in several] for key, several in hours.items()}
    means = {key: math.fsum(several) / len(several) for key, several in logs.items()}
    squares = {key: math.fsum((one - means[key]) ** 2 for one in logs[key]) for key in logs}
    centres = {key: log_centre(tables[key]) for key in logs}
    scatter = pooled_variance(
        [centres[key][1] for key in logs], [(squares[key], len(logs[key])) for key in logs], by.width_count
    )
    gaps = [(means[key] - centres[key][0], len(logs[key])) for key in logs]
    distance = distance_of(gaps, scatter, by)
    moved = []
    for key, several in logs.items():
        count, (centre, width) = len(several), centres[key]
        table_count = scatter / distance
        weight = count / (count + table_count)
        middle = centre + weight * (means[key] - centre)
        new_width = (by.width_count * width + squares[key]) / (by.width_count + count - 1)
        after = _shaped(tables[key], math.exp(middle + new_width / 2), math.sqrt(new_width / width) if width else 1.0)
        middle_hours = math.exp(means[key])
        moved.append(Moved(*key, present[key], after, count, table_count, weight, middle_hours, tables[key]))
    return Learnt(tuple(moved), math.sqrt(scatter), math.sqrt(distance), tuple(left))


def accepted(jobs: Mapping[str, Job], moves: Sequence[Moved]) -> dict[str, Job]:
    """Give the jobs with the moves that somebody accepted; each keeps the range that it began with."""
    new = {(one.job, one.trade): one for one in moves}

    def moved(job: str, line: Labour) -> Labour:
        one = new.get((job, line.trade))
        return line if one is None else replace(line, each=one.after, before=one.start)

    return {id_: replace(job, labour=tuple(moved(id_, line) for line in job.labour)) for id_, job in jobs.items()}


def log_centre(values: Range) -> tuple[float, float]:
    """Give mean and variance of the logarithm of the log-normal that has mean and variance of a range.

    >>> centre, variance = log_centre(Range(1.0, 2.0, 3.0))
    >>> round(math.exp(centre + variance / 2), 6)
    2.0
    """
    mean = pert_mean(values)
    variance = math.log1p(pert_variance(values) / mean**2)
    return math.log(mean) - variance / 2, variance


def pooled_variance(widths: Sequence[float], seen: Sequence[tuple[float, int]], prior_count: float) -> float:
    """Give the scatter within jobs: sums of squares over their degrees of freedom, the widths first.

    `widths` are the variances that the ranges say, `seen` the sum of squares about its own mean and the count of each
    job. The mean of the widths counts as `prior_count` degrees of freedom.
    """
    if not seen:
        return 0.0
    freedom = sum(count - 1 for _, count in seen)
    before = math.fsum(widths) / len(widths)
    return (prior_count * before + math.fsum(squares for squares, _ in seen)) / (prior_count + freedom)


def distance_of(gaps: Sequence[tuple[float, int]], scatter: float, settings: LearningSettings) -> float:
    """Give the variance of jobs about the table.

    `gaps` are how far the mean logarithm of each job lies from the table, with the count it is of. The d is sought with
    sum of gap² / (scatter / n + d) equal to the number of jobs; where there are fewer jobs than `jobs_to_judge` the
    usual one is taken.
    """
    least = settings.least_distance**2
    if len(gaps) < settings.jobs_to_judge:
        return max(least, settings.usual_distance**2)

    def excess(distance: float) -> float:
        return math.fsum(gap**2 / (scatter / count + distance) for gap, count in gaps) - len(gaps)

    if excess(least) <= 0:
        return least
    low, high = least, max(gap**2 for gap, _ in gaps)
    while high - low > 1e-12 * high:
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (middle, high) if excess(middle) > 0 else (low, middle)
    return high


def _shaped(table: Range, mean: float, stretch: float) -> Range:
    """Give a range of that mean, its ends drawn out about the likely value by a power."""
    if not table.likely:
        grown = mean / pert_mean(table)
        return Range(table.low * grown, table.likely * grown, table.high * grown)
    shape = Range((table.low / table.likely) ** stretch, 1.0, (table.high / table.likely) ** stretch)
    scale = mean / pert_mean(shape)
    return Range(shape.low * scale, scale, shape.high * scale)
