"""What to put right on a car and what it costs: tasks from what was found, ranges, and looks that are worth it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.errors import Problem, UserError
from shutline.publish.naming import place_name
from shutline.publish.statement import statement
from shutline.usecases.look import find_car
from shutline.usecases.own_prep import own_prep

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile, KeptFinding
    from shutline.car.findings import Finding
    from shutline.prep.cost import Cost, Spread, TaskCost
    from shutline.prep.looks import Look
    from shutline.prep.model import Range, Task
    from shutline.prep.tables import PrepTables
    from shutline.prep.tasks import Prepared
    from shutline.prep.worth import WorthRow
    from shutline.store import Store


@dataclass(frozen=True, slots=True)
class Pence:
    """A sum in whole pence: its mean, and what it stays below 5, 50 and 95 times in a hundred."""

    mean: int
    p05: int
    p50: int
    p95: int


@dataclass(frozen=True, slots=True)
class FoundShown:
    """A finding by its id, its place and what it says."""

    id: str
    place: str
    words: str


@dataclass(frozen=True, slots=True)
class OtherShown:
    """Another task that would cure the same, with what it costs on average without tax or set-up, in pence."""

    id: str
    words: str
    pence: int
    wished: str


@dataclass(frozen=True, slots=True)
class TaskShown:
    """One task made ready to look at: `place` is empty for one of the whole car; the rest as in `prep`."""

    id: str
    words: str
    place: str
    findings: tuple[FoundShown, ...]
    must: str
    wished: str
    heard_only: bool
    count: int
    cost: Pence
    share: float
    doubt: float
    before: tuple[str, ...]
    others: tuple[OtherShown, ...]
    cautions: tuple[str, ...]
    supplier: str
    source: str


@dataclass(frozen=True, slots=True)
class UntouchedShown:
    """A finding that makes no task, and why."""

    found: FoundShown
    left: str
    why: str


@dataclass(frozen=True, slots=True)
class LookShown:
    """A look at one task: as `prep.looks.Look`, money in pence."""

    task: str
    chance: float
    narrows: float
    value: int
    error: int
    price: int
    pays: bool
    changes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PrepShown:
    """What there is to do on one car, and what it costs, in pence.

    `hours` are by trade: mean, 5, 50 and 95 in a hundred. `errors` are the standard errors of `total`. `unanswered`
    are wishes that no job answers, in the presenter's words. `looks` come the most worth first.
    """

    car: str
    title: str
    tasks: tuple[TaskShown, ...]
    untouched: tuple[UntouchedShown, ...]
    unanswered: tuple[str, ...]
    total: Pence
    vat: Pence
    with_vat: Pence
    errors: Pence
    hours: dict[str, tuple[float, float, float, float]]
    looks: tuple[LookShown, ...]
    draws: int
    draws_enough: int
    seed: int


def prep(store: Store, car: str, *, asking_pence: int | None = None) -> PrepShown:
    """Work out what to put right on a car and what it costs.

    Parameters
    ----------
    store : Store
        Where it is kept.
    car : str
        Its name, or a beginning of it that no other has.
    asking_pence : int, optional
        What is to be asked for it. With it, to leave a finding and lose what a buyer knocks off is weighed too when it
        is worked out what a look is worth; without it, only one cure against another.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do; the price is no price (slug ``asking-price``); or a row of the user's own
        tables is wrong (slug ``prep-table-refused``).
    """
    return prep_of(find_car(store, car), asking_pence=asking_pence)


def prep_of(file: CarFile, *, asking_pence: int | None = None) -> PrepShown:
    """As `prep`, of a car file that was read already."""
    from shutline.prep.cost import cost_of
    from shutline.prep.looks import looks_of
    from shutline.prep.tasks import tasks_of

    if asking_pence is not None and not 0 < asking_pence <= 10**11:
        raise UserError(
            Problem("asking-price", "asking", f"{asking_pence / 100:,.2f} pounds", "more than nought", "Give a price.")
        )
    tables, rows = own_prep()
    prepared = tasks_of(file.findings, tables=tables)
    cost = cost_of(prepared.tasks, tables=tables)
    kept = {one.id: one for one in file.findings}
    worth = {} if asking_pence is None else _worth(prepared, kept, rows, asking_pence / 100)
    looks = looks_of(prepared.tasks, prepared.alternatives, worth=worth, tables=tables)
    return Sheet(kept, prepared, tables).shown(file, cost, looks)


def _worth(
    prepared: Prepared, kept: Mapping[str, KeptFinding], rows: Sequence[WorthRow], asking: float
) -> dict[str, Range]:
    from shutline.prep.worth import worth_of

    found = {}
    for id_ in (id_ for task in prepared.tasks for id_ in task.findings):
        one = kept[id_].finding
        worth = worth_of(rows, one.part, one.condition, one.severity, asking_pounds=asking)
        if worth is not None:
            found[id_] = worth.pounds
    return found


@dataclass(frozen=True, slots=True)
class Sheet:
    """What tasks and looks are told with: the findings by id, what was prepared of them, and the tables."""

    kept: Mapping[str, KeptFinding]
    prepared: Prepared
    tables: PrepTables

    def shown(self, file: CarFile, cost: Cost, looks: Sequence[Look]) -> PrepShown:
        """Make the whole ready to be shown."""
        prepared = self.prepared
        costs = {one.task: one for one in cost.tasks}
        every = (*prepared.tasks, *(other for others in prepared.alternatives.values() for other in others))
        words = {task.id: self.words(task) for task in every}
        tasks = (self.task(task, costs[task.id]) for task in prepared.tasks)
        return PrepShown(
            car=file.name,
            title=file.title,
            tasks=tuple(sorted(tasks, key=lambda one: (not one.must, -one.cost.mean, one.id))),
            untouched=tuple(UntouchedShown(self.found(one.finding), one.left, one.why) for one in prepared.untouched),
            unanswered=tuple(wish.words for wish in prepared.wishes if not wish.answered),
            total=pence_of(cost.total),
            vat=pence_of(cost.vat),
            with_vat=pence_of(cost.with_vat),
            errors=pence_of(cost.errors),
            hours={self.tables.trades[trade].name: _hours(one) for trade, one in cost.hours.items()},
            looks=tuple(look_of(look, words) for look in looks),
            draws=cost.draws,
            draws_enough=cost.draws_enough,
            seed=cost.seed,
        )

    def task(self, task: Task, cost: TaskCost) -> TaskShown:
        """Make a task ready to be shown."""
        from shutline.prep.tasks import expected_cost

        job, tables = task.job, self.tables
        return TaskShown(
            id=task.id,
            words=job.name,
            place=self.place(task),
            findings=tuple(self.found(id_) for id_ in task.findings),
            must=task.must,
            wished=task.wished,
            heard_only=task.heard_only,
            count=task.count,
            cost=pence_of(cost.cost),
            share=cost.share,
            doubt=cost.doubt,
            before=self.prepared.before.get(task.id, ()),
            others=tuple(
                OtherShown(other.id, other.job.name, round(100 * expected_cost(other, tables.rates)), other.wished)
                for other in self.prepared.alternatives.get(task.id, ())
            ),
            cautions=tuple(f"{tables.cautions[id_].title}: {tables.cautions[id_].text}" for id_ in job.cautions),
            supplier=job.supplier,
            source=job.source,
        )

    def found(self, id_: str) -> FoundShown:
        """Make a finding ready to be shown."""
        one = self.kept[id_].finding
        return FoundShown(id_, place_name(one.part, one.side, one.position), statement(one))

    def words(self, task: Task) -> str:
        """Call a task: its place, if it has one, and its job."""
        place = self.place(task)
        return f"{place}: {task.job.name}" if place else task.job.name

    def place(self, task: Task) -> str:
        """Call the place of a task: that of its finding that reaches furthest; empty for the whole car."""
        if task.job.whole:
            return ""
        of = max((self.kept[id_].finding for id_ in task.findings), key=_reach)
        return place_name(of.part, of.side, of.position)


def look_of(look: Look, words: Mapping[str, str]) -> LookShown:
    """Make a look ready to be shown; `words` are what tasks are called, by their ids."""
    from shutline.prep.looks import LEAVE

    def way(name: str) -> str:
        return "leave it and tell it" if name == LEAVE else words[name]

    return LookShown(
        task=look.task,
        chance=look.chance,
        narrows=look.narrows,
        value=round(100 * look.value),
        error=round(100 * look.error),
        price=round(100 * look.price),
        pays=look.pays,
        changes=tuple(
            f"{words[one.task]}. Now: {way(one.before)}; if it is worse: {way(one.if_worse)}; "
            f"if not: {way(one.if_not)}."
            for one in look.changes
        ),
    )


def _reach(finding: Finding) -> int:
    from shutline.car.findings import Position, Side

    return (finding.side is Side.BOTH) + (finding.position is Position.BOTH)


def pence_of(spread: Spread) -> Pence:
    """Give a spread in pounds as whole pence."""
    return Pence(*(round(100 * one) for one in (spread.mean, spread.p05, spread.p50, spread.p95)))


def _hours(spread: Spread) -> tuple[float, float, float, float]:
    return round(spread.mean, 2), round(spread.p05, 2), round(spread.p50, 2), round(spread.p95, 2)
