"""What a short look would tell: how much it narrows the cost, and what it is worth to have looked before deciding."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from shutline.prep.draws import Drawing, draw_car
from shutline.prep.model import Range, Task
from shutline.prep.outlay import pert_mean
from shutline.prep.settings import prep_settings
from shutline.prep.tables import PrepTables
from shutline.prep.tasks import expected_total

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Worse = NDArray[np.bool_]

LEAVE = "leave"
"""The choice to leave a finding as it is and lose what a buyer knocks off for it."""


@dataclass(frozen=True, slots=True)
class Ways:
    """What is best done about one task before the look, and after it where more was found and where not.

    Each is the id of a task, itself or an alternative, or `LEAVE`.
    """

    task: str
    before: str
    if_worse: str
    if_not: str


@dataclass(frozen=True, slots=True)
class Look:
    """A look at one task, to see whether more will turn up when it is opened.

    `chance` is how likely that is. `narrows` is the part of the variance of the whole that goes on average once it is
    known: Var(E[total | look]) / Var(total). `value` is the expected gain in pounds from deciding after the look
    rather than before, of all tasks that share its cause, with the standard error of the draws; nought where the same
    is done either way, and then `changes` is empty. It is the value of a look that settles the question, so the most
    that a real one can be worth. `price` is what the look itself costs.
    """

    task: str
    findings: tuple[str, ...]
    chance: float
    narrows: float
    value: float
    error: float
    price: float
    changes: tuple[Ways, ...]

    @property
    def pays(self) -> bool:
        """Whether it gains more than it costs."""
        return self.value > self.price


def looks_of(
    tasks: Iterable[Task],
    alternatives: Mapping[str, Sequence[Task]],
    *,
    worth: Mapping[str, Range] | None = None,
    tables: PrepTables | None = None,
    draws: int | None = None,
    seed: int | None = None,
) -> tuple[Look, ...]:
    """Work out what a look at each task would tell, the most worth first, then what narrows most.

    For each task it is decided between doing it, each alternative, and leaving its findings, by the least expected
    loss; before the look over all draws, after it over those in which more is found and those in which not. The
    gain is the difference (the expected value of perfect information about that one question; Raiffa and Schlaifer,
    Applied Statistical Decision Theory, 1961, from memory). The draws are those of `cost_of`.

    Parameters
    ----------
    tasks : iterable of Task
        Those to be done.
    alternatives : mapping of str to sequence of Task
        For the id of a task, others that would cure the same findings.
    worth : mapping of str to Range, optional
        What a buyer knocks off for a finding, by its id, in pounds. A task can be left only where it is told of all
        its findings and nothing makes it a must.
    tables, draws, seed
        As for `cost_of`.

    Returns
    -------
    tuple of Look
        One for each task of which it is not known whether it is worse.
    """
    car = draw_car(tasks, tables=tables, draws=draws, seed=seed)
    every, known, costs = car.tasks, car.tables, car.costs()
    open_ = {
        task.id: drawn.worse
        for task, drawn in zip(every, car.alone, strict=True)
        if drawn.worse is not None and drawn.worse.any() and not drawn.worse.all()
    }
    together = {
        task.id: [one for one in every if one is task or (task.job.cause and one.job.cause == task.job.cause)]
        for task in every
    }
    losses = {}
    for task, cost in zip(every, costs, strict=True):
        seen = [open_[one.id] for one in together[task.id] if one.id in open_]
        most = max((float(cost[where].mean()) for worse in seen for where in (worse, ~worse)), default=0.0)
        others = [one for one in alternatives.get(task.id, ()) if _least_cost(one, known) < most]
        losses[task.id] = _losses(task, cost, others, worth or {}, car.drawing)
    total = costs.sum(axis=0)
    found = [
        _look(task, open_[task.id], total, [(one.id, losses[one.id]) for one in together[task.id]], known)
        for task in every
        if task.id in open_
    ]
    return tuple(sorted(found, key=lambda one: (-one.value, -one.narrows, one.task)))


def _least_cost(task: Task, known: PrepTables) -> float:
    """Give what a task costs on average where no more is found: never less, so a dearer one need not be drawn."""
    bare = replace(task, job=replace(task.job, worse=None))
    return expected_total([bare], known.rates)


def _losses(
    task: Task, cost: Array, others: Sequence[Task], worth: Mapping[str, Range], drawing: Drawing
) -> dict[str, Array]:
    """Give what each way of dealing with a task loses, shape (draws,); the first is to do it."""
    found = {task.id: cost}
    for other in others:
        found[other.id] = drawing.task(other).cost + drawing.setup(other.job).cost
    if not task.must and all(id_ in worth for id_ in task.findings):
        found[LEAVE] = 0 * cost + sum(pert_mean(worth[id_]) for id_ in task.findings)
    return found


def _look(
    task: Task, worse: Worse, total: Array, together: Sequence[tuple[str, Mapping[str, Array]]], known: PrepTables
) -> Look:
    chance = float(worse.mean())
    step = float(total[worse].mean() - total[~worse].mean())
    variance = float(total.var())
    gained = 0 * total
    changes = []
    for id_, losses in together:
        before = _least(losses, slice(None))
        bad, well = _least(losses, worse), _least(losses, ~worse)
        if {bad, well} != {before}:
            gained = gained + losses[before]
            gained[worse] -= losses[bad][worse]
            gained[~worse] -= losses[well][~worse]
            changes.append(Ways(id_, before, bad, well))
    return Look(
        task=task.id,
        findings=task.findings,
        chance=chance,
        narrows=chance * (1 - chance) * step**2 / variance if variance else 0.0,
        value=float(gained.mean()),
        error=float(gained.std(ddof=1)) / math.sqrt(len(gained)),
        price=prep_settings().cost.look_minutes / 60 * _hour(task, known),
        changes=tuple(changes),
    )


def _least(losses: Mapping[str, Array], where: slice | Worse) -> str:
    # The first of equals: what is done before the look stays where nothing is better.
    return min(losses, key=lambda name: float(losses[name][where].mean()))


def _hour(task: Task, known: PrepTables) -> float:
    """Give the mean rate of the trade that a task takes most hours of; of the dearest trade where it takes none."""
    lines = sorted(task.job.labour, key=lambda line: -pert_mean(line.each))
    rates = [pert_mean(known.rates[line.trade]) for line in lines[:1]]
    return rates[0] if rates else max(pert_mean(rate) for rate in known.rates.values())
