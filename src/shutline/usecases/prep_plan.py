"""What to do about a car: the tasks that pay within a budget, what is left and why, who does what when."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

from shutline.car.errors import Problem, UserError
from shutline.car.prep_decisions import PrepDecision, PrepKind
from shutline.usecases.look import find_car
from shutline.usecases.own_prep import own_shop, prep_mark
from shutline.usecases.prep import Sheet, UntouchedShown, pence_of
from shutline.usecases.prep_shown import (
    BudgetPoint,
    CalendarShown,
    DayShown,
    PieceShown,
    PlanLine,
    PlanShown,
    ToldShown,
    WorthShown,
)
from shutline.usecases.prep_worked import (
    CurveAsked,
    Ground,
    PlanAsked,
    ScheduleAsked,
    Worked,
    check_pence,
    curve_of,
    ground_of,
    ready_within,
    scheduled,
    sure_of,
    worked_out,
)

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.prep.choice import Choice
    from shutline.prep.curve import Curve
    from shutline.prep.limits import Deadline
    from shutline.prep.model import Range, Task
    from shutline.prep.schedule import Schedule
    from shutline.prep.tables import PrepTables
    from shutline.store import Store


@dataclass(frozen=True)
class Planned:
    """A plan with the tasks and the schedule that it is shown from."""

    shown: PlanShown
    tasks: tuple[Task, ...]
    schedule: Schedule | None
    file: CarFile
    tables: PrepTables


def prep_plan(store: Store, car: str, asked: PlanAsked | None = None) -> PlanShown:
    """Work out what to do about a car.

    Parameters
    ----------
    store : Store
        Where it is kept.
    car : str
        Its name, or a beginning of it that no other has.
    asked : PlanAsked, optional
        In place of what was decided.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do; a price, a budget, a trade or its hours cannot be (slugs ``asking-price``,
        ``prep-refused``); or a row of the user's own tables is wrong (slug ``prep-table-refused``).
    """
    return planned(store, car, asked or PlanAsked()).shown


def planned(store: Store, car: str, asked: PlanAsked) -> Planned:
    """As `prep_plan`, with the tasks and the schedule."""
    file = find_car(store, car)
    return planned_of(file, store.prep_decisions(file.name), asked)


def planned_of(file: CarFile, decisions: tuple[PrepDecision, ...], asked: PlanAsked) -> Planned:
    """As `planned`, of a car file and decisions that were read already."""
    ground = ground_of(file, decisions, asked)
    return _Sums(ground, worked_out(ground), decisions, asked).planned()


class _Sums:
    """One plan, from what is the same at every budget to what is shown."""

    def __init__(self, ground: Ground, worked: Worked, decisions: tuple[PrepDecision, ...], asked: PlanAsked) -> None:
        self.ground, self.worked, self.decisions, self.asked = ground, worked, decisions, asked
        kept = {one.id: one for one in ground.file.findings}
        self.sheet = Sheet(kept, worked.prepared, ground.tables)
        sums = {one.kind: one.pence for one in decisions if one.holds}
        self.budget = sums.get(PrepKind.BUDGET) if asked.budget_pence is None else asked.budget_pence
        check_pence(self.budget, slug="prep-refused", where="budget", least=0)
        self.start = asked.start or datetime.now().astimezone().date() + timedelta(days=1)
        self.minutes = _minutes(asked.hours, ground.tables)
        self.sure = sure_of(asked, decisions)

    def planned(self) -> Planned:
        from shutline.prep.cost import cost_of, cost_of_drawn

        ground, worked = self.ground, self.worked
        by_id = {task.id: task for task in worked.prepared.candidates}
        curve = None if ground.asking_pence is None else self._curve()
        choice = None if ground.asking_pence is None else self._choice(curve)
        chosen = self._all() if choice is None else tuple(by_id[id_] for id_ in choice.chosen)
        # Without a choice a task may cure less than the candidate of the same id, so it is drawn by itself.
        cost = (
            cost_of(chosen, tables=ground.tables) if choice is None else cost_of_drawn(worked.drawn.only(choice.chosen))
        )
        schedule, trouble = self._schedule(chosen)
        shares = {one.task: (one.share, one.doubt) for one in cost.tasks}
        points = self._points(curve)
        told = self._told(choice, chosen)
        shown = PlanShown(
            car=ground.file.name,
            title=ground.file.title,
            asking=ground.asking_pence,
            budget=self.budget,
            start=self.start.isoformat(),
            lines=self._lines(chosen, choice, points, shares),
            untouched=tuple(
                UntouchedShown(self.sheet.found(one.finding), one.left, one.why) for one in worked.prepared.untouched
            ),
            unanswered=tuple(wish.words for wish in worked.prepared.wishes if not wish.answered),
            total=pence_of(cost.total),
            vat=pence_of(cost.vat),
            with_vat=pence_of(cost.with_vat),
            gain=0 if choice is None else choice.gain_pence,
            worth=0 if choice is None else choice.worth_pence,
            money=worked.programme.cost(frozenset(one.id for one in chosen)),
            sure=self.sure,
            sure_money=0 if choice is None or not self.sure else self._sure_money(choice),
            by="" if self.asked.by is None else self.asked.by.isoformat(),
            gap=0 if choice is None else choice.gap_pence,
            in_the_way=() if choice is None else tuple(self._in_the_way(choice)),
            told=told,
            told_worth=_sum_of([one.worth for one in told if one.worth is not None]),
            curve=points,
            whole=curve is not None and curve.whole,
            calendar=None if schedule is None else self._calendar(schedule),
            trouble=trouble,
            look=worked.look[0] if worked.look else None,
            look_task=worked.look[1] if worked.look else "",
            decisions=self.decisions,
        )
        return Planned(shown, chosen, schedule, ground.file, ground.tables)

    def _curve(self) -> Curve | None:
        """Give the curve; a budget that is to be kept to so surely is chosen from it, so then it is always there."""
        by = () if self.asked.by is None else (prep_mark(), self.start, self.asked.by)
        asked = CurveAsked(self.ground.mark, self.minutes, self.sure, by, self._ready())
        wanted = bool(self.sure) and self.budget is not None
        return curve_of(self.ground, asked, work=self.asked.curve or wanted)

    def _choice(self, curve: Curve | None) -> Choice:
        from shutline.prep.choice import choose_of
        from shutline.prep.limits import Limits

        quantile = self.sure / 100 if self.sure else None
        return choose_of(
            self.worked.programme,
            self.worked.worths,
            limits=Limits(self.budget, quantile, dict(self.minutes)),
            wishes=self.worked.wishes,
            ready=self._ready(),
            line=curve,
        )

    def _sure_money(self, choice: Choice) -> int:
        return self.worked.programme.money(frozenset(choice.chosen), self.sure / 100)

    def _ready(self) -> Deadline | None:
        if self.asked.by is None:
            return None
        key = (prep_mark(), self.ground.mark, self.start)
        return ready_within(ScheduleAsked(key, self.worked.prepared.candidates, own_shop(), self._begin), self.asked.by)

    @property
    def _begin(self) -> datetime:
        return datetime.combine(self.start, time())

    def _all(self) -> tuple[Task, ...]:
        return tuple(task for task in self.worked.prepared.tasks if task.id not in self.ground.refused)

    def _schedule(self, chosen: tuple[Task, ...]) -> tuple[Schedule | None, Problem | None]:
        if not chosen or not self.asked.calendar:
            return None, None
        key = (prep_mark(), self.ground.mark, self.start, tuple(task.id for task in chosen))
        return scheduled(ScheduleAsked(key, chosen, own_shop(), self._begin))

    def _lines(
        self,
        chosen: Sequence[Task],
        choice: Choice | None,
        points: Sequence[BudgetPoint],
        shares: Mapping[str, tuple[float, float]],
    ) -> tuple[PlanLine, ...]:
        from shutline.prep.cost import TaskCost, spread_of

        drawn = self.worked.drawn
        taken = {one.id for one in chosen}
        left = {one.task: one for one in (() if choice is None else choice.left)}
        wanted = (
            {task.id for task in self.worked.prepared.tasks} | taken | {id_ for one in points for id_ in one.chosen}
        )
        lines = []
        for task, own in zip(drawn.tasks, drawn.alone, strict=True):
            if task.id not in wanted:
                continue
            spread = spread_of(own.cost + drawn.shared[task.job.id].cost)
            share, doubt = shares.get(task.id, (0.0, 0.0))
            out = left.get(task.id)
            refused = self.ground.refused.get(task.id)
            lines.append(
                PlanLine(
                    task=self.sheet.task(task, TaskCost(task.id, task.findings, spread, share, doubt)),
                    chosen=task.id in taken,
                    left=str(out.why) if out else "refused" if refused is not None else "",
                    words=self._called(out.words) if out else refused or "",
                    adds=out.gain_pence if out else 0,
                    worth=_sum_of([self._worth(id_) for id_ in task.findings if id_ in self.worked.worths]),
                )
            )
        return tuple(sorted(lines, key=lambda one: (not one.task.must, -one.task.cost.mean, one.task.id)))

    def _in_the_way(self, choice: Choice) -> Iterator[str]:
        kept = self.sheet.kept
        for one in choice.in_the_way:
            found = self.sheet.found(one.what) if one.what in kept else None
            what = f"{found.place}, {found.words}" if found else self._called(one.what)
            yield f"{what}: {self._called(one.words)}"

    def _called(self, words: str) -> str:
        """Put what tasks are called in the place of their ids."""
        by_id = self.worked.programme.by_id
        for id_ in sorted(by_id, key=lambda one: -len(one)):
            if id_ in words:
                words = words.replace(id_, f"'{self.sheet.words(by_id[id_])}'")
        return words

    def _worth(self, id_: str) -> WorthShown:
        worth = self.worked.worths[id_]
        return WorthShown(*_in_pence(worth.pounds), worth.footing)

    def _told(self, choice: Choice | None, chosen: Sequence[Task]) -> tuple[ToldShown, ...]:
        if choice is not None:
            stays = [one.finding for one in choice.disclosed]
        else:
            cured = {id_ for task in chosen for id_ in task.findings}
            prepared = self.worked.prepared
            stays = [id_ for task in prepared.tasks for id_ in task.findings if id_ not in cured]
            stays += [one.finding for one in prepared.untouched]
        known = self.worked.worths
        told = [ToldShown(self.sheet.found(id_), self._worth(id_) if id_ in known else None) for id_ in stays]
        return tuple(sorted(told, key=lambda one: (-(one.worth.likely if one.worth else 0), one.found.id)))

    def _points(self, curve: Curve | None) -> tuple[BudgetPoint, ...]:
        from shutline.prep.cost import spread_of

        drawn = self.worked.drawn
        alone = {task.id: own.cost for task, own in zip(drawn.tasks, drawn.alone, strict=True)}
        jobs = {task.id: task.job.id for task in drawn.tasks}
        found = []
        for point in curve.points if curve else ():
            total = sum((alone[id_] for id_ in point.chosen), 0 * next(iter(alone.values())))
            total = sum((drawn.shared[job].cost for job in sorted({jobs[id_] for id_ in point.chosen})), total)
            found.append(BudgetPoint(point.money_pence, point.gain_pence, point.chosen, pence_of(spread_of(total))))
        return tuple(found)

    def _calendar(self, schedule: Schedule) -> CalendarShown:
        by_id, tables = self.worked.programme.by_id, self.ground.tables
        own = {task.id: task for task in self.worked.prepared.tasks}
        days: dict[str, list[PieceShown]] = {}
        for one in schedule.pieces:
            task = by_id.get(one.task) or own[one.task]
            days.setdefault(one.start.date().isoformat(), []).append(
                PieceShown(
                    task=one.task,
                    words=self.sheet.words(task),
                    trade=tables.trades[one.trade].name if one.trade in tables.trades else one.trade or "no work",
                    person=one.person,
                    bay=one.bay,
                    start=one.start.isoformat(timespec="minutes"),
                    end=one.end.isoformat(timespec="minutes"),
                    late=one.latest.isoformat(timespec="minutes"),
                    critical=one.critical,
                    why=one.why,
                )
            )
        return CalendarShown(
            days=tuple(DayShown(day, tuple(pieces)) for day, pieces in days.items()),
            end=schedule.end.isoformat(timespec="minutes"),
            film_on=schedule.film_on.isoformat(),
            earliest=schedule.earliest,
        )


def _minutes(hours: Mapping[str, float], tables: PrepTables) -> tuple[tuple[str, int], ...]:
    for trade, most in hours.items():
        if trade not in tables.trades or not 0 <= most <= 10_000:
            allowed = f"a trade and hours from 0: {', '.join(tables.trades)}"
            raise UserError(Problem("prep-refused", "hours", f"{trade}={most:g}", allowed, "Give another."))
    return tuple(sorted((trade, round(60 * most)) for trade, most in hours.items()))


def _in_pence(pounds: Range) -> tuple[int, int, int]:
    return round(100 * pounds.low), round(100 * pounds.likely), round(100 * pounds.high)


def _sum_of(worths: Sequence[WorthShown]) -> WorthShown | None:
    if not worths:
        return None
    footing = worths[0].footing if len(worths) == 1 else ""
    return WorthShown(
        sum(one.low for one in worths), sum(one.likely for one in worths), sum(one.high for one in worths), footing
    )
