"""From findings to tasks: the cheapest set that cures them, what else would, and what no task touches."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from shutline.car.carfile import KeptFinding
from shutline.car.findings import Finding, FootingKind, Found, Position, Remedy, Severity, Side, State
from shutline.car.vocabulary import Part, vocabulary
from shutline.prep.model import Job, Range, Task
from shutline.prep.outlay import expected_growth, pert_mean
from shutline.prep.settings import prep_settings
from shutline.prep.tables import Must, PrepTables, prep_tables

_REASONS = ("safety", "roadworthiness", "promised")


class Left(StrEnum):
    """Why a finding makes no task."""

    UNSURE = "unsure"
    """Nobody is sure that it is there: look first."""
    WATCHED = "watched"
    """The presenter said to keep an eye on it, and nothing says that it must be put right."""
    TOLD = "told"
    """It is no fault by itself, and nobody asked for it to be put right."""
    NO_JOB = "no job"
    """No job cures it."""


@dataclass(frozen=True, slots=True)
class Untouched:
    """A finding, by its id, that makes no task, and why in words."""

    finding: str
    left: Left
    why: str


@dataclass(frozen=True, slots=True)
class Wish:
    """What the presenter wanted done about a finding, in their own words, and the task that the finding is in.

    `answered` is False where no job does that there: the task is then the cheapest that cures it.
    """

    finding: str
    remedy: Remedy
    words: str
    task: str
    answered: bool


@dataclass(frozen=True, slots=True)
class Prepared:
    """What there is to do on one car.

    `tasks` are the cheapest set that cures all that can be cured, each finding in one of them. `candidates` are all
    tasks that could be, each with every finding it would cure; `alternatives` gives for each of `tasks` those that
    would cure all of its findings in its place, the cheapest first. `before` names for each the tasks that come first.
    """

    tasks: tuple[Task, ...]
    candidates: tuple[Task, ...]
    alternatives: Mapping[str, tuple[Task, ...]]
    before: Mapping[str, tuple[str, ...]]
    untouched: tuple[Untouched, ...]
    wishes: tuple[Wish, ...]


@dataclass(frozen=True, slots=True)
class _Place:
    """A place of the car that a task is done at; without a part, the whole car."""

    part: str = ""
    side: Side | None = None
    position: Position | None = None

    def holds(self, finding: Finding) -> bool:
        """Tell whether a finding lies there: one of the near door lies in both doors."""
        if not self.part:
            return True
        return (
            self.part == finding.part
            and (self.side == finding.side or (self.side is Side.BOTH and self._part.sided))
            and (self.position == finding.position or (self.position is Position.BOTH and self._part.ended))
        )

    @property
    def count(self) -> int:
        """How many there are of it."""
        if not self.part:
            return 1
        sides = 2 if self.side is Side.BOTH and self._part.sided else 1
        return sides * (2 if self.position is Position.BOTH and self._part.ended else 1)

    @property
    def name(self) -> str:
        return ".".join(word for word in (self.part, self.side, self.position) if word)

    @property
    def _part(self) -> Part:
        return vocabulary().parts[self.part]


def tasks_of(
    findings: Iterable[KeptFinding],
    *,
    tables: PrepTables | None = None,
    promised: Mapping[str, str] | None = None,
    unsaid_severity: str | None = None,
) -> Prepared:
    """Work out what there is to do.

    A finding that stands or was heard, says that a defect is there, and is cured by some job is in exactly one of the
    tasks. Where the presenter said what to do ('that wants a polish'), only jobs that do that are taken for it, if
    there are any. The set of tasks has the least expected cost, set-ups counted once: an exact optimum, so that
    leaving a finding out never makes it dearer.

    Parameters
    ----------
    findings : iterable of KeptFinding
        In any order; what was struck, withdrawn or put right makes no task, nor does good news.
    tables : PrepTables, optional
        The shipped ones when left out.
    promised : mapping of str to str, optional
        Ids of findings that somebody was promised would be put right, and in what words.
    unsaid_severity : str, optional
        What a finding is taken for where nobody said how bad it is; see ``data/settings.toml``.
    """
    known = tables or prep_tables()
    unsaid = unsaid_severity or prep_settings().tasks.unsaid_severity
    bad = {kept.id: kept for kept in sorted(findings, key=lambda one: one.id) if _is_bad(kept)}
    musts = {id_: _must(kept, known.musts, (promised or {}).get(id_, ""), unsaid) for id_, kept in bad.items()}
    unsure = (Left.UNSURE, "nobody is sure that it is there: look before anything is done")
    left = {id_: unsure for id_, kept in bad.items() if kept.finding.found is Found.UNSURE}
    left |= {
        id_: why
        for id_, kept in bad.items()
        if not (musts[id_] or id_ in left) and (why := _not_now(kept, known, unsaid))
    }
    candidates = _candidates({id_: kept for id_, kept in bad.items() if id_ not in left}, known.jobs.values(), unsaid)
    cures: dict[str, list[Task]] = {id_: [] for id_ in bad if id_ not in left}
    for task in candidates:
        for id_ in task.findings:
            cures[id_].append(task)
    left |= {id_: (Left.NO_JOB, _no_job(bad[id_], known, unsaid)) for id_, found in cures.items() if not found}
    wished = {id_: [task for task in found if _answers(bad[id_], task.job)] for id_, found in cures.items() if found}
    costs = {task.id: expected_cost(task, known.rates) for task in candidates}
    allowed = {id_: found or cures[id_] for id_, found in wished.items()}
    home = _cheapest(candidates, allowed, costs, known.rates)
    told = _Telling(bad, musts).told
    tasks = tuple(
        told(task, [id_ for id_, name in home.items() if name == task.id])
        for task in candidates
        if task.id in home.values()
    )
    by_cost = sorted(candidates, key=lambda task: (costs[task.id], task.id))
    return Prepared(
        tasks=tasks,
        candidates=tuple(told(task, task.findings) for task in candidates),
        alternatives={
            task.id: tuple(
                told(other, task.findings)
                for other in by_cost
                if other.id != task.id and set(task.findings) <= set(other.findings)
            )
            for task in tasks
        },
        before=order_of(tasks),
        untouched=tuple(Untouched(id_, *left[id_]) for id_ in sorted(left)),
        wishes=tuple(
            Wish(id_, remedy, _words(bad[id_]), home[id_], answered=bool(found))
            for id_, found in wished.items()
            if (remedy := _wish(bad[id_].finding)) is not None
        ),
    )


@dataclass(frozen=True, slots=True)
class _Telling:
    """What is told with a task: why it must be, the presenter's words, whether anything of it stands."""

    kept: Mapping[str, KeptFinding]
    musts: Mapping[str, tuple[str, ...]]

    def told(self, task: Task, ids: Sequence[str]) -> Task:
        wished = [_words(self.kept[id_]) for id_ in ids if _answers(self.kept[id_], task.job)]
        return replace(
            task,
            findings=tuple(ids),
            must="; ".join(dict.fromkeys(why for id_ in ids for why in self.musts[id_])),
            wished=" / ".join(dict.fromkeys(wished)),
            heard_only=all(self.kept[id_].finding.state is State.HEARD for id_ in ids),
        )


def order_of(tasks: Collection[Task]) -> dict[str, tuple[str, ...]]:
    """Give for each task, by its id, the ids of those that come first: their jobs stand in `after` of its own."""
    by_job: dict[str, list[str]] = defaultdict(list)
    for task in sorted(tasks, key=lambda one: one.id):
        by_job[task.job.id].append(task.id)
    return {task.id: tuple(id_ for job in task.job.after for id_ in by_job.get(job, ())) for task in tasks}


def expected_cost(task: Task, rates: Mapping[str, Range]) -> float:
    """Give what a task costs on average, in pounds without tax, without the set-up that it shares.

    Hours, rates, materials and what is found on opening are taken as independent, so means multiply.
    """
    job = task.job
    inside = sum(pert_mean(line.each) * pert_mean(rates[line.trade]) for line in job.labour) + pert_mean(job.materials)
    return task.count * (expected_growth(job.worse) * inside + pert_mean(job.outside))


def expected_setup(job: Job, rates: Mapping[str, Range]) -> float:
    """Give what the set-up of a job costs on average, once for a car, in pounds without tax."""
    return sum(pert_mean(line.setup) * pert_mean(rates[line.trade]) for line in job.labour)


def expected_total(tasks: Iterable[Task], rates: Mapping[str, Range]) -> float:
    """Give what tasks cost on average with their set-ups, each set-up once, in pounds without tax."""
    every = tuple(tasks)
    jobs = {task.job.id: task.job for task in every}
    return sum(expected_cost(task, rates) for task in every) + sum(expected_setup(job, rates) for job in jobs.values())


def _is_bad(kept: KeptFinding) -> bool:
    finding = kept.finding
    return (
        not kept.withdrawn
        and kept.put_right is None
        and finding.state is not State.STRUCK
        and finding.found is not Found.NO
        and vocabulary().is_defect(finding.condition)
    )


def _not_now(kept: KeptFinding, known: PrepTables, unsaid: str) -> tuple[Left, str] | None:
    finding = kept.finding
    if finding.remedy is Remedy.MONITOR:
        return Left.WATCHED, "the presenter said to keep an eye on it"
    if (
        finding.condition in prep_settings().tasks.on_request
        and finding.remedy is None
        and finding.severity is not Severity.SEVERE
    ):
        return Left.TOLD, _no_job(kept, known, unsaid)
    return None


def _no_job(kept: KeptFinding, known: PrepTables, unsaid: str) -> str:
    severity = kept.finding.severity or unsaid
    rows = (row.why for row in known.no_jobs if row.of.holds(kept.finding, severity))
    return next(rows, "no job of the tables cures it")


def _must(kept: KeptFinding, musts: Sequence[Must], promised: str, unsaid: str) -> tuple[str, ...]:
    severity = kept.finding.severity or unsaid
    found = [(row.reason, row.why) for row in musts if row.of.holds(kept.finding, severity)]
    if promised:
        found.append(("promised", promised))
    return tuple(f"{reason}: {why}" for reason, why in sorted(found, key=lambda one: _REASONS.index(one[0])))


def _wish(finding: Finding) -> Remedy | None:
    return None if finding.remedy is Remedy.MONITOR else finding.remedy


def _answers(kept: KeptFinding, job: Job) -> bool:
    return _wish(kept.finding) == job.remedy


def _words(kept: KeptFinding) -> str:
    """Give the presenter's words; where it was entered by hand, what is to be done."""
    said = (one.quote for one in kept.finding.footings if one.kind is FootingKind.SAID and one.quote)
    return next(said, f"to {kept.finding.remedy}")


def _candidates(open_: Mapping[str, KeptFinding], jobs: Iterable[Job], unsaid: str) -> tuple[Task, ...]:
    """Give every task that cures something: one for each job and place, and each with all that it cures there."""
    found = []
    for job in jobs:
        curable = {id_: kept.finding for id_, kept in open_.items() if _cures(job, kept.finding, unsaid)}
        places = {_Place() if job.whole else _Place(f.part, f.side, f.position) for f in curable.values()}
        for place in places:
            ids = tuple(id_ for id_, finding in curable.items() if place.holds(finding))
            name = f"{job.id}@{place.name}" if place.part else job.id
            found.append(Task(name, job, ids, must="", wished="", heard_only=False, count=place.count))
    return tuple(sorted(found, key=lambda task: task.id))


def _cures(job: Job, finding: Finding, unsaid: str) -> bool:
    severity = finding.severity or unsaid
    return any(
        (not cure.parts or finding.part in cure.parts)
        and finding.condition in cure.conditions
        and (not cure.severities or severity in cure.severities)
        for cure in job.cures
    )


def _cheapest(
    candidates: Sequence[Task],
    allowed: Mapping[str, Sequence[Task]],
    costs: Mapping[str, float],
    rates: Mapping[str, Range],
) -> dict[str, str]:
    """Give for each finding the id of its task in the set of least cost: a covering problem with set-ups."""
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import lil_array

    if not allowed:
        return {}
    useful = {task.id for cures in allowed.values() for task in cures}
    tasks = [task for task in candidates if task.id in useful]
    jobs = sorted({task.job.id: task.job for task in tasks}.values(), key=lambda job: job.id)
    at = {task.id: column for column, task in enumerate(tasks)}
    setup_at = {job.id: len(tasks) + column for column, job in enumerate(jobs)}
    rules = lil_array((len(allowed) + len(tasks), len(tasks) + len(jobs)))
    for row, cures in enumerate(allowed.values()):
        for task in cures:
            rules[row, at[task.id]] = 1.0
    for row, task in enumerate(tasks, start=len(allowed)):
        rules[row, setup_at[task.job.id]], rules[row, at[task.id]] = 1.0, -1.0
    least = np.concatenate([np.ones(len(allowed)), np.zeros(len(tasks))])
    price = np.array([costs[task.id] for task in tasks] + [expected_setup(job, rates) for job in jobs])
    found = milp(
        price,
        integrality=np.ones(len(price)),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(rules.tocsr(), least, np.inf),
        options={"mip_rel_gap": 0.0},
    )
    if found.x is None:
        raise RuntimeError(f"the cheapest set of tasks was not found: {found.message}")
    return {
        id_: min((costs[task.id], task.id) for task in cures if found.x[at[task.id]] > 0.5)[1]
        for id_, cures in allowed.items()
    }
