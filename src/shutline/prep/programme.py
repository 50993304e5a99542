"""The choice of tasks as a mixed-integer programme, solved by HiGHS."""

from __future__ import annotations

import math
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shutline.prep.limits import Deadline, Limits, most_of, over
from shutline.prep.model import Task
from shutline.prep.outlay import Outlay, Outlays
from shutline.prep.quiet import told_as_errors

Row = dict[int, float]

NUDGE_PENCE = 0.5
"""Less than this is what the preference for fewer and earlier tasks moves the gain by, pence."""

LEAST_ROUND_S = 0.05
"""The least that is left to the solver, seconds."""


@dataclass(frozen=True, slots=True)
class Solved:
    """The tasks of the best set found; None where there is none.

    `bound_pence` is what no set can gain more than; `proved` tells whether the search came to its end.
    """

    chosen: frozenset[str] | None
    bound_pence: float
    proved: bool


@dataclass(frozen=True)
class Programme:
    """Tasks of one car with what they take and gain, and the rules between them.

    `worths` are the expected worths of findings in pence. `needs` names for a task those that it cannot do without.
    `musts` are ids of tasks that are in, `refused` of such as are out. A finding that only tasks with a must of their
    own cure has to be cured by one of them. `draws` are what tasks by id and then set-ups by job cost in pence, one
    column for each draw; they are needed where money is held against a quantile.
    """

    tasks: tuple[Task, ...]
    outlays: Outlays
    worths: Mapping[str, int]
    needs: Mapping[str, Sequence[str]]
    musts: frozenset[str]
    refused: frozenset[str]
    draws: NDArray[np.float64] | None = field(default=None, compare=False)

    @cached_property
    def by_id(self) -> dict[str, Task]:
        """Give the tasks by id, in the order of their ids."""
        return {task.id: task for task in sorted(self.tasks, key=lambda task: task.id)}

    @cached_property
    def columns(self) -> dict[str, int]:
        """Give the column of each task."""
        return {id_: at for at, id_ in enumerate(self.by_id)}

    @cached_property
    def setups(self) -> dict[str, int]:
        """Give the column of each set-up, by job."""
        jobs = sorted({task.job.id for task in self.tasks} & set(self.outlays.setups))
        return {job: len(self.by_id) + at for at, job in enumerate(jobs)}

    @cached_property
    def cures(self) -> dict[str, tuple[str, ...]]:
        """Give the tasks that cure each finding."""
        found: dict[str, list[str]] = {}
        for id_, task in self.by_id.items():
            for finding in task.findings:
                found.setdefault(finding, []).append(id_)
        return {finding: tuple(found[finding]) for finding in sorted(found)}

    @cached_property
    def must_findings(self) -> tuple[str, ...]:
        """Give the findings that some task has to cure: those that only tasks with a must cure."""
        return tuple(one for one, by in self.cures.items() if all(self.by_id[id_].must for id_ in by))

    @cached_property
    def bare_musts(self) -> frozenset[str]:
        """Give the tasks that have to be in themselves: those asked for, and musts without such a finding."""
        bare = {task.id for task in self.tasks if task.must and not set(task.findings) & set(self.must_findings)}
        return self.musts | bare

    @cached_property
    def rivals(self) -> tuple[tuple[str, str], ...]:
        """Give the pairs of which the first has nothing left to cure where the second is done."""
        found = []
        for first, one in self.by_id.items():
            others = sorted({other for finding in one.findings for other in self.cures[finding]} - {first})
            for second in others:
                covered = set(one.findings) <= set(self.by_id[second].findings)
                twins = covered and set(one.findings) == set(self.by_id[second].findings)
                if covered and not (twins and second < first):
                    found.append((first, second))
        return tuple(found)

    def outlays_of(self, chosen: frozenset[str]) -> list[Outlay]:
        """Give what a set takes, each set-up once."""
        jobs = {self.by_id[one].job.id for one in chosen}
        return [self.outlays.tasks[one] for one in sorted(chosen)] + [
            self.outlays.setups[job] for job in self.setups if job in jobs
        ]

    def gain(self, chosen: frozenset[str]) -> int:
        """Give expected worth less expected cost of a set, pence."""
        return self.worth(chosen) - self.cost(chosen)

    def worth(self, chosen: frozenset[str]) -> int:
        """Give the expected worth of what a set cures, pence; each finding counts once."""
        cured = {finding for one in chosen for finding in self.by_id[one].findings}
        return sum(self.worths.get(finding, 0) for finding in cured)

    def cost(self, chosen: frozenset[str]) -> int:
        """Give the expected cost of a set, pence."""
        return sum(one.cost_pence for one in self.outlays_of(chosen))

    def money(self, chosen: frozenset[str], quantile: float | None) -> int:
        """Give what a limit of money is held against, pence: what is reckoned with, or a quantile of the draws.

        The latter is the least sum, rounded up, that a set does not go beyond in so large a share of the draws.
        """
        if quantile is None:
            return sum(one.reckoned for one in self.outlays_of(chosen))
        drawn = self.drawn(chosen)
        rank = rank_of(quantile, len(drawn))
        return math.ceil(float(np.partition(drawn, rank)[rank]) - 1e-6)

    def drawn(self, chosen: frozenset[str]) -> NDArray[np.float64]:
        """Give what a set costs in each draw, pence; raises ValueError where there are no draws."""
        if self.draws is None:
            raise ValueError("money is held against a quantile, and no draws were given")
        jobs = {self.by_id[one].job.id for one in chosen}
        rows = [at for id_, at in self.columns.items() if id_ in chosen]
        rows += [at for job, at in self.setups.items() if job in jobs]
        total: NDArray[np.float64] = self.draws[rows].sum(axis=0)
        return total

    def used(self, chosen: frozenset[str], limits: Limits) -> dict[str, float]:
        """Give how much a set takes of each limit, by its name."""
        found: dict[str, float] = {}
        for name in limits.names():
            kind, _, of = name.partition(" ")
            if kind == "money":
                found[name] = self.money(chosen, limits.quantile)
            elif kind == "hours":
                found[name] = sum(one.minutes.get(of, 0) for one in self.outlays_of(chosen))
            else:
                found[name] = sum(one.bay_days for one in self.outlays_of(chosen) if one.bay == of)
        return found

    def broken(self, chosen: frozenset[str], limits: Limits) -> tuple[str, ...]:
        """Give the limits that a set goes beyond."""
        return over(self.used(chosen, limits), limits)

    def allows(self, chosen: frozenset[str], limits: Limits, ready: Deadline | None) -> bool:
        """Tell whether a set that the rules allow keeps to limits and a day too."""
        return not self.broken(chosen, limits) and (ready is None or ready.fits(chosen))

    def solve(self, limits: Limits, *, ready: Deadline | None = None, time_limit_s: float = math.inf) -> Solved:
        """Find the set that gains most.

        Parameters
        ----------
        limits : Limits
            Money is held against what is reckoned with, whatever their quantile; `sure` holds it against that.
        ready : Deadline, optional
        time_limit_s : float
            Wall seconds after which the best set so far is given, and the bound.

        Returns
        -------
        Solved
            The same for the same tasks in any order, unless it was stopped: equal gains go to fewer tasks, then to
            ids that come earlier.
        """
        deadline = time.monotonic() + time_limit_s
        limits = replace(limits, quantile=None)
        cuts: list[tuple[Row, float]] = []
        if ready is not None:
            at = self.columns
            cuts += [({at[id_]: much for id_, much in row.items() if id_ in at}, most) for row, most in ready.rows]
            cuts += [self._never(late) for late in ready.late if late <= at.keys()]
        bound = math.inf
        while True:
            left = max(LEAST_ROUND_S, deadline - time.monotonic())
            answer = self._milp(limits, cuts, left)
            if answer.status == 2:
                return Solved(None, -math.inf, proved=True)
            if answer.mip_dual_bound is not None:
                bound = min(bound, -float(answer.mip_dual_bound) + NUDGE_PENCE)
            stopped = answer.status != 0
            if answer.x is None:
                return Solved(None, bound, proved=False)
            chosen = frozenset(id_ for id_, at in self.columns.items() if answer.x[at] > 0.5)
            cut = self._cut(chosen, limits, ready)
            if cut is None:
                gain = self.gain(chosen)
                return Solved(chosen, gain if not stopped else max(gain, math.floor(bound)), proved=not stopped)
            if stopped or time.monotonic() > deadline:
                return Solved(self._cut_down(chosen, limits, ready), bound, proved=False)
            cuts.append(cut)

    @cached_property
    def size(self) -> int:
        """Give how many columns there are: tasks, then set-ups, then findings that are shared."""
        return len(self.by_id) + len(self.setups) + len(self.shared)

    @cached_property
    def shared(self) -> dict[str, int]:
        """Give the column of each finding that has a worth and that several tasks cure."""
        shared = [one for one, by in self.cures.items() if len(by) > 1 and self.worths.get(one, 0) > 0]
        return {one: len(self.by_id) + len(self.setups) + at for at, one in enumerate(shared)}

    @cached_property
    def gains(self) -> NDArray[np.float64]:
        """Give what each column gains, pence."""
        gains = np.zeros(self.size)
        for id_, at in self.columns.items():
            own = sum(self.worths.get(one, 0) for one in self.by_id[id_].findings if one not in self.shared)
            gains[at] = own - self.outlays.tasks[id_].cost_pence
        for job, at in self.setups.items():
            gains[at] = -self.outlays.setups[job].cost_pence
        for finding, at in self.shared.items():
            gains[at] = self.worths[finding]
        return gains

    @cached_property
    def _objective(self) -> NDArray[np.float64]:
        nudge = np.zeros(self.size)
        count = len(self.columns)
        nudge[:count] = NUDGE_PENCE / 2 / max(1, count) * (1 + np.arange(count) / max(1, count))
        return nudge - self.gains

    @cached_property
    def rules(self) -> list[tuple[Row, float]]:
        """Give the rows between the tasks, each as: sum at most."""
        rows: list[tuple[Row, float]] = []
        for finding, at in self.shared.items():
            rows.append(({at: 1.0, **{self.columns[one]: -1.0 for one in self.cures[finding]}}, 0.0))
        for job, at in self.setups.items():
            own = [self.columns[id_] for id_, task in self.by_id.items() if task.job.id == job]
            rows += [({one: 1.0, at: -1.0}, 0.0) for one in own]
            rows.append(({at: 1.0, **dict.fromkeys(own, -1.0)}, 0.0))
        rows += [({self.columns[one]: 1.0, self.columns[other]: 1.0}, 1.0) for one, other in self.rivals]
        for one, others in self.needs.items():
            rows += [({self.columns[one]: 1.0, self.columns[other]: -1.0}, 0.0) for other in others]
        rows += [({self.columns[one]: -1.0 for one in self.cures[finding]}, -1.0) for finding in self.must_findings]
        return rows

    def least(self, name: str, limits: Limits) -> frozenset[str] | None:
        """Give the set allowed by the rules and `limits` that takes least of what a limit of this name counts."""
        objective = np.zeros(self.size)
        for at, value in self.counted(name).items():
            objective[at] = value
        answer = self._milp(limits, (), math.inf, objective)
        return None if answer.x is None else frozenset(id_ for id_, at in self.columns.items() if answer.x[at] > 0.5)

    def _milp(
        self,
        limits: Limits,
        cuts: Sequence[tuple[Row, float]],
        time_limit_s: float,
        objective: NDArray[np.float64] | None = None,
    ) -> Any:
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import coo_array

        rows = [*self.rules, *map(_scaled, [*self._limit_rows(limits), *cuts])]
        low, high = self.bounds
        if np.any(low > high):
            return _Impossible()
        if not self.size:
            return _Nothing()
        entries = [(at, column, value) for at, (row, _) in enumerate(rows) for column, value in row.items()]
        constraints = []
        if entries:
            across, down, values = zip(*entries, strict=True)
            matrix = coo_array((values, (across, down)), shape=(len(rows), self.size)).tocsr()
            constraints.append(LinearConstraint(matrix, -np.inf, np.array([most for _, most in rows])))
        options: dict[str, float] = {"mip_rel_gap": 0.0}
        if math.isfinite(time_limit_s):
            options["time_limit"] = time_limit_s
        # Where tasks are whole so are set-ups and cured findings.
        kinds = np.zeros(self.size)
        kinds[: len(self.columns)] = 1
        aim = self._objective if objective is None else objective
        with told_as_errors():
            return milp(aim, integrality=kinds, bounds=Bounds(low, high), constraints=constraints, options=options)

    @cached_property
    def bounds(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Give the least and the most of each column."""
        low, high = np.zeros(self.size), np.ones(self.size)
        for id_, at in self.columns.items():
            low[at] = float(id_ in self.bare_musts)
            high[at] = float(id_ not in self.refused)
        return low, high

    def _limit_rows(self, limits: Limits) -> list[tuple[Row, float]]:
        rows = [(self.counted(name), float(most_of(limits, name))) for name in limits.names()]
        return [(row, most) for row, most in rows if row]

    def counted(self, name: str) -> Row:
        """Give what each column takes of what a limit counts; of money what is reckoned with."""
        every = [(at, self.outlays.tasks[id_]) for id_, at in self.columns.items()]
        every += [(at, self.outlays.setups[job]) for job, at in self.setups.items()]
        kind, _, of = name.partition(" ")
        if kind == "money":
            row = {at: float(one.reckoned) for at, one in every}
        elif kind == "hours":
            row = {at: float(one.minutes.get(of, 0)) for at, one in every}
        else:
            row = {at: one.bay_days for at, one in every if one.bay == of}
        return {at: value for at, value in row.items() if value}

    def _cut(self, chosen: frozenset[str], limits: Limits, ready: Deadline | None) -> tuple[Row, float] | None:
        """Give a row that this set breaks and no allowed set does; None where it is allowed."""
        if self.broken(chosen, limits):
            return self._never(chosen)
        if ready is None or ready.fits(chosen):
            return None
        late = set(chosen)
        for one in sorted(chosen):
            if not ready.fits(frozenset(late - {one})):
                late.discard(one)
        ready.late.append(frozenset(late))
        return self._never(frozenset(late))

    def _never(self, chosen: frozenset[str]) -> tuple[Row, float]:
        return {self.columns[one]: 1.0 for one in chosen}, len(chosen) - 1.0

    def _cut_down(self, chosen: frozenset[str], limits: Limits, ready: Deadline | None) -> frozenset[str] | None:
        """Leave out what gains least until a set is allowed; None where the musts alone are not."""
        kept = set(chosen)
        while not self.allows(frozenset(kept), limits, ready):
            loose = [one for one in sorted(kept) if self._may_go(one, kept)]
            if not loose:
                return None
            kept.discard(max(loose, key=lambda one: self.gain(frozenset(kept - {one}))))
        return frozenset(kept)

    def _may_go(self, one: str, kept: set[str]) -> bool:
        rest = kept - {one}
        needed = any(one in self.needs.get(other, ()) for other in rest)
        cured = {finding for other in rest for finding in self.by_id[other].findings}
        must = one in self.bare_musts or any(
            finding in self.must_findings and finding not in cured for finding in self.by_id[one].findings
        )
        return not needed and not must


def rank_of(quantile: float, draws: int) -> int:
    """Give the place, from nought, of the draw that a share of all draws does not go beyond.

    >>> rank_of(0.9, 10)
    8
    """
    return max(0, math.ceil(quantile * draws - 1e-9) - 1)


def _scaled(row: tuple[Row, float]) -> tuple[Row, float]:
    """Bring a row to a largest coefficient of one: HiGHS holds rows to an absolute tolerance."""
    most = max(map(abs, row[0].values()), default=1.0) or 1.0
    return {at: value / most for at, value in row[0].items()}, row[1] / most


class _Impossible:
    """The answer where a must is refused."""

    status, x, mip_dual_bound = 2, None, None


class _Nothing:
    """The answer where there are no tasks."""

    status, x, mip_dual_bound = 0, np.zeros(0), 0.0
