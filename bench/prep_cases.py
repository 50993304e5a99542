"""Tasks of no real car: made by hand, and at random with the same set solved by another solver."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from shutline.prep.choice import Choice, choose
from shutline.prep.left_out import Wishes
from shutline.prep.limits import Limits
from shutline.prep.model import NOUGHT, Job, Range, Task
from shutline.prep.outlay import Outlay, Outlays
from shutline.prep.worth import Worth


def job(id_: str, **more: Any) -> Job:
    """Make a job that takes nothing, but for what is told."""
    given: dict[str, Any] = {
        "id": id_,
        "name": id_.replace("_", " "),
        "cures": (),
        "labour": (),
        "materials": NOUGHT,
        "outside": NOUGHT,
        "whole": False,
        "after": (),
        "waits": 0.0,
        "holds_bay": False,
        "bay": "",
        "worse": None,
        "cause": "",
        "cautions": (),
        "source": "a test",
    }
    return Job(**(given | more))


def task(id_: str, *findings: str, of: Job | None = None, must: str = "") -> Task:
    """Make a task of a job of its own, or of the one told."""
    return Task(id_, of or job(f"job_{id_}"), findings or (f"finding_{id_}",), must, "", heard_only=False)


def worth(pence: int) -> Worth:
    """Make a worth that is certain."""
    return Worth(Range(pence / 100, pence / 100, pence / 100), "a test")


def outlays(costs: Mapping[str, int | Outlay], setups: Mapping[str, int | Outlay] | None = None) -> Outlays:
    """Make outlays out of pence."""
    both = (
        {id_: one if isinstance(one, Outlay) else Outlay(one) for id_, one in some.items()}
        for some in (costs, setups or {})
    )
    return Outlays(*both)


DRAWS = 400


class Case:
    """A random car: tasks that share findings and set-ups, needs, musts, refusals and limits."""

    def __init__(self, seed: int, count: int, *, must_share: float = 0.1) -> None:
        random = np.random.default_rng(seed)
        jobs = [job(f"job{at}") for at in range(max(2, count // 3))]
        findings = [f"f{at}" for at in range(count)]
        self.tasks = [
            task(
                f"t{at:02}",
                *sorted(random.choice(findings, size=random.integers(1, 4), replace=False).tolist()),
                of=jobs[int(random.integers(len(jobs)))],
                must="safety" if random.random() < must_share else "",
            )
            for at in range(count)
        ]
        self.ids = [one.id for one in self.tasks]

        def outlay(most: int) -> Outlay:
            minutes = {"paint": int(random.integers(0, 90)), "trim": int(random.integers(0, 60))}
            return Outlay(int(random.integers(1, most)), minutes, "ramp", 0.25)

        self.outlays = Outlays(
            {one: outlay(9000) for one in self.ids}, {jobs[0].id: outlay(4000), jobs[1].id: outlay(900)}
        )
        self.worths = {one: worth(int(random.integers(0, 12000))) for one in findings}
        self.limits = Limits(
            money_pence=int(random.integers(2000, 4000 * count)) if random.random() < 0.9 else None,
            minutes={"paint": int(random.integers(60, 40 * count))} if random.random() < 0.5 else {},
            bay_days={"ramp": float(random.integers(1, count)) / 4} if random.random() < 0.5 else {},
        )
        some = random.permutation(self.ids).tolist()
        self.wishes = Wishes(
            musts={some[0]: "promised"} if random.random() < 0.4 else {},
            refused={some[1]: "the owner of the firm says no"} if random.random() < 0.4 else {},
            needs={some[2]: (some[3],)} if random.random() < 0.5 else {},
        )
        self.draws = self._drawn(random)

    def _drawn(self, random: np.random.Generator) -> NDArray[np.float64]:
        """Draw what each task and set-up costs: by itself, with a rate that all share, and some worse together."""
        jobs = sorted({one.job.id for one in self.tasks} & set(self.outlays.setups))
        means = [self.outlays.tasks[one].cost_pence for one in self.ids]
        means += [self.outlays.setups[one].cost_pence for one in jobs]
        spread, part = random.uniform(0.05, 0.6, (len(means), 1)), random.uniform(0.0, 0.8, (len(means), 1))
        rate, own = random.standard_normal(DRAWS), random.standard_normal((len(means), DRAWS))
        drawn: NDArray[np.float64] = np.exp(spread * (part * rate + np.sqrt(1 - part**2) * own))
        found_worse = random.random(DRAWS) < 0.25
        drawn[random.random(len(means)) < 0.4] *= np.where(found_worse, 1.8, 1.0)
        scaled: NDArray[np.float64] = drawn / drawn.mean(axis=1, keepdims=True) * np.array(means)[:, None]
        return scaled

    def choose(self, **more: Any) -> Choice:
        """Choose as the product does."""
        given_: dict[str, Any] = {
            "limits": self.limits,
            "wishes": self.wishes,
            "draws": self.draws,
            "time_limit_s": 60.0,
        }
        return choose(self.tasks, self.outlays, self.worths, **(given_ | more))

    def allowed(self, chosen: frozenset[str], limits: Limits | None = None) -> bool:
        """Tell by the words of the documentation whether a set may be chosen."""
        by_id = {one.id: one for one in self.tasks}
        cured = {finding for one in chosen for finding in by_id[one].findings}
        if not self.must_findings() <= cured or not self.must_tasks() <= chosen or set(self.wishes.refused) & chosen:
            return False
        if any(one in chosen and not set(others) <= chosen for one, others in self.wishes.needs.items()):
            return False
        if any(set(by_id[a].findings) <= set(by_id[b].findings) for a, b in itertools.permutations(chosen, 2)):
            return False
        limits = limits or self.limits
        taken = [self.outlays.tasks[one] for one in chosen]
        taken += [self.outlays.setups[one] for one in {by_id[one].job.id for one in chosen} & set(self.outlays.setups)]
        money = float(sum(one.cost_pence for one in taken))
        within = limits.money_pence is None or money <= limits.money_pence
        if limits.money_pence is not None and limits.quantile is not None:
            within = bool(np.mean(self.costs(chosen) <= limits.money_pence + 1e-6) >= limits.quantile - 1e-9)
        return (
            within
            and all(sum(one.minutes[name] for one in taken) <= most for name, most in limits.minutes.items())
            and all(sum(one.bay_days for one in taken) <= most for most in limits.bay_days.values())
        )

    def costs(self, chosen: frozenset[str]) -> NDArray[np.float64]:
        """Give what a set costs in each draw."""
        jobs = sorted({one.job.id for one in self.tasks} & set(self.outlays.setups))
        paid = {one.job.id for one in self.tasks if one.id in chosen}
        on = [one in chosen for one in self.ids] + [one in paid for one in jobs]
        total: NDArray[np.float64] = np.array(on, dtype=float) @ self.draws
        return total

    def must_findings(self) -> set[str]:
        """Give the findings that only musts cure."""
        other = {finding for one in self.tasks if not one.must for finding in one.findings}
        return {finding for one in self.tasks if one.must for finding in one.findings} - other

    def must_tasks(self) -> set[str]:
        """Give the tasks that have to be in themselves."""
        bare = {one.id for one in self.tasks if one.must and not self.must_findings() & set(one.findings)}
        return bare | set(self.wishes.musts)

    def pence(self, finding: str) -> int:
        """Give the worth of a finding."""
        return round(100 * self.worths[finding].pounds.likely)

    def gain(self, chosen: frozenset[str]) -> int:
        """Give what a set gains, counted anew."""
        by_id = {one.id: one for one in self.tasks}
        cured = {finding for one in chosen for finding in by_id[one].findings}
        jobs = {by_id[one].job.id for one in chosen} & set(self.outlays.setups)
        costs = [self.outlays.tasks[one].cost_pence for one in chosen] + [
            self.outlays.setups[one].cost_pence for one in jobs
        ]
        return sum(self.pence(one) for one in cured) - sum(costs)

    def sets(self) -> list[frozenset[str]]:
        """Give every set of the tasks."""
        return [frozenset(s) for size in range(len(self.ids) + 1) for s in itertools.combinations(self.ids, size)]


def by_scip(case: Case) -> int | None:
    """Give the best gain as SCIP has it, put up on its own; None where no set is allowed."""
    from pyscipopt import Model, quicksum

    model = Model()
    model.hideOutput()
    by_id = {one.id: one for one in case.tasks}
    x = {one: model.addVar(vtype="B") for one in case.ids}
    y = {one: model.addVar(vtype="B") for one in {t.job.id for t in case.tasks} & set(case.outlays.setups)}
    cured = {one: model.addVar(vtype="B") for one in case.worths}
    by = {finding: quicksum(x[t.id] for t in case.tasks if finding in t.findings) for finding in cured}
    rules = [cured[finding] <= by[finding] for finding in cured]
    rules += [x[t.id] <= y[t.job.id] for t in case.tasks if t.job.id in y]
    rules += [by[finding] >= 1 for finding in case.must_findings()]
    rules += [
        x[a] + x[b] <= 1
        for a, b in itertools.permutations(case.ids, 2)
        if set(by_id[a].findings) <= set(by_id[b].findings)
    ]
    rules += [x[one] == 1 for one in case.must_tasks()]
    rules += [x[one] == 0 for one in case.wishes.refused]
    rules += [x[one] <= x[other] for one, others in case.wishes.needs.items() for other in others]
    taken = [(case.outlays.tasks[one], x[one]) for one in x] + [(case.outlays.setups[one], y[one]) for one in y]
    cost = quicksum(one.cost_pence * on for one, on in taken)
    if case.limits.money_pence is not None:
        rules.append(cost <= case.limits.money_pence)
    for name, most in case.limits.minutes.items():
        rules.append(quicksum(one.minutes[name] * on for one, on in taken) <= most)
    for days in case.limits.bay_days.values():
        rules.append(quicksum(one.bay_days * on for one, on in taken) <= days)
    for rule in rules:
        model.addCons(rule)
    model.setObjective(quicksum(case.pence(one) * on for one, on in cured.items()) - cost, "maximize")
    model.optimize()
    return round(model.getObjVal()) if model.getStatus() == "optimal" else None
