"""Work that was done is ticked off: trade by trade, with the hours it took, a picture after it, and what was found."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.prep_decisions import PrepKind
from shutline.car.prep_done import WorkDone, sent_with, task_done, trades_done
from shutline.publish.naming import place_name
from shutline.publish.statement import statement
from shutline.usecases.look import find_car
from shutline.usecases.own_prep import own_prep
from shutline.usecases.prep import FoundShown
from shutline.usecases.prep_renewed import follow
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile, KeptFinding
    from shutline.prep.model import Job, Task
    from shutline.prep.tables import PrepTables
    from shutline.store import Store

LONGEST_FOUND = 2_000
"""The longest words about what was found besides, characters."""

MOST_HOURS = Decimal(1000)

_TOKEN = re.compile(r"[A-Za-z0-9_-]{8,64}")


@dataclass(frozen=True, slots=True)
class DoneAsked:
    """What somebody says is done.

    `task` is the id of a task of the preparation, `trade` one of its trades, empty for the whole task. `hours` are
    those taken at `places` places together, without setting up, which is `setup_hours`; None where nobody noted them.
    `places` is None for every place of the task; at fewer, it is not done yet. `picture` is the id of a picture of the
    car, `found` what was found besides, `on` the day, today when None. `findings` are those that are cured, all that
    the plan lists with the task when empty. `version` is that of the line that the person had before them, None for no
    line that holds: a line that somebody ticked off meanwhile is then not written over. The same `token` again changes
    nothing.
    """

    task: str
    trade: str = ""
    hours: Decimal | None = None
    setup_hours: Decimal | None = None
    places: int | None = None
    picture: str = ""
    found: str = ""
    on: date | None = None
    findings: tuple[str, ...] = ()
    version: int | None = None
    token: str = ""


@dataclass(frozen=True, slots=True)
class TradeDone:
    """One trade of a task, by its id and its name; `line` is None where it is not ticked off.

    The empty trade is the whole task, there where somebody said so.
    """

    trade: str
    name: str
    line: WorkDone | None


@dataclass(frozen=True, slots=True)
class TaskDone:
    """A task of which something is ticked off; `whole` when all of it is done, last on the ISO 8601 day `day`."""

    task: str
    words: str
    place: str
    findings: tuple[FoundShown, ...]
    trades: tuple[TradeDone, ...]
    whole: bool
    day: str


@dataclass(frozen=True, slots=True)
class TaskToDo:
    """A task that a trade has still to do."""

    task: str
    words: str
    place: str


@dataclass(frozen=True, slots=True)
class TradeToDo:
    """What one trade has still to do."""

    trade: str
    name: str
    tasks: tuple[TaskToDo, ...]


@dataclass(frozen=True, slots=True)
class WorksShown:
    """What is done of the preparation of a car, and what of the chosen plan is not yet, trade by trade.

    `lines` are all lines, those that were taken back too. `to_film` are the findings that were put right and of which
    there is no picture after: what has to be filmed again.
    """

    car: str
    title: str
    done: tuple[TaskDone, ...]
    to_do: tuple[TradeToDo, ...]
    to_film: tuple[FoundShown, ...]
    lines: tuple[WorkDone, ...]


def tick_off(store: Store, car: str, asked: DoneAsked, *, author: str | None = None) -> WorkDone:
    """Keep that work is done; a task that is done wholly puts its findings right.

    Parameters
    ----------
    store : Store
        Where the car is kept.
    car : str
        Its name, or a beginning of it that no other has.
    asked : DoneAsked
        What is done.
    author : str, optional
        Who says so; whoever is logged in when left out.

    Raises
    ------
    NotFoundError, UserError
        No such car, or what is said cannot be (slug ``work-refused``).
    StaleError
        Somebody changed the line meanwhile, or ticked it off and said otherwise.
    """
    who = author or present_author()
    with store.together():
        file = find_car(store, car)
        lines = store.works_done(file.name)
        sent = sent_with(lines, asked.token)
        if sent is not None:
            # It came before: what it says need not be possible any more.
            return sent
        work = _work(store, file, asked, lines)
        done = store.tick_work(file.name, work, author=who, expected_version=asked.version)
        follow(store, file, lines, store.works_done(file.name), author=who)
        return done


def take_back_tick(
    store: Store, car: str, work: str, *, version: int | None = None, token: str = "", author: str | None = None
) -> WorkDone:
    """Take back that work is done; what it had put right stands again.

    Parameters
    ----------
    store, car, author
        As for `tick_off`.
    work : str
        Id of the line, or a beginning of it that no other of the car has.
    version : int, optional
        Refuse it when the line is at another version.
    token : str
        The same again changes nothing.

    Raises
    ------
    NotFoundError
        No such car, or no such line of it (slug ``work-unknown``).
    StaleError
        Somebody changed the line since `version`.
    """
    who = author or present_author()
    _check_token(token)
    with store.together():
        file = find_car(store, car)
        lines = store.works_done(file.name)
        meant = [one.id for one in lines if work and one.id.startswith(work)]
        if len(meant) != 1:
            raise NotFoundError(
                Problem(
                    "work-unknown",
                    f"{file.name}, work {work[:60]!r}",
                    f"{len(meant) or 'no'} lines of work of that id",
                    "the id of work that was ticked off, or a beginning that no other has",
                    f"Show what is done: shutline prep {file.name} --plan.",
                )
            )
        back = store.take_back_work(file.name, meant[0], author=who, token=token, expected_version=version)
        follow(store, file, lines, store.works_done(file.name), author=who)
        return back


def works_done(store: Store, car: str) -> WorksShown:
    """Give what is done of a car's preparation, and what of its plan, as it was decided, is not yet.

    Raises as `prep_plan` does.
    """
    from shutline.usecases.prep_plan import planned
    from shutline.usecases.prep_worked import PlanAsked

    plan = planned(store, car, PlanAsked(curve=False))
    return works_of(plan.file, store.works_done(plan.file.name), plan.tasks, plan.tables)


def works_of(file: CarFile, lines: Sequence[WorkDone], tasks: Iterable[Task], tables: PrepTables) -> WorksShown:
    """As `works_done`, of a car file that was read and the tasks of a plan that was made already."""
    from shutline.prep.cards import OUTSIDE

    kept = {one.id: one for one in file.findings}
    holding = [one for one in lines if one.holds]
    done = tuple(
        _task_done([one for one in holding if (one.task, one.findings) == key], kept, tables)
        for key in dict.fromkeys((one.task, one.findings) for one in holding)
    )
    to_do: dict[str, list[TaskToDo]] = {}
    for task in tasks:
        there = trades_done(holding, task.id, task.findings)
        for trade in () if "" in there else needs_of(task.job):
            if trade not in there:
                to_do.setdefault(trade, []).append(
                    TaskToDo(task.id, task.job.name, _place(task.findings, kept, whole=task.job.whole))
                )
    pictured = {finding for one in holding if one.picture for finding in one.findings}
    right = dict.fromkeys(one.id for task in done if task.whole for one in task.findings)
    return WorksShown(
        car=file.name,
        title=file.title,
        done=done,
        to_do=tuple(
            TradeToDo(trade, _trade_name(trade, tables), tuple(to_do[trade]))
            for trade in (*tables.trades, OUTSIDE)
            if trade in to_do
        ),
        to_film=tuple(_found(kept[id_]) for id_ in right if id_ not in pictured),
        lines=tuple(lines),
    )


def work_words(work: WorkDone) -> str:
    """Say a line in words.

    >>> work_words(WorkDone("", "t", "j", "weld a patch", "repair", (), "weld", ("weld",), Decimal("2.5"), None, 1,
    ...     "", "", "2026-11-26", True))
    'weld a patch (weld): done on 2026-11-26, 2.5 hours'
    """
    hours = "" if work.hours is None else f", {work.hours.normalize():f} hours"
    setup = "" if work.setup_hours is None else f", {work.setup_hours.normalize():f} of setting up"
    trade = f" ({work.trade})" if work.trade else ""
    places = "" if work.places >= work.of_places else f" at {work.places} of {work.of_places} places"
    picture = ", with a picture" if work.picture else ""
    found = f", found besides: {work.found}" if work.found else ""
    done = "done" if work.holds else "not done, taken back; it was said to be done"
    return f"{work.words}{trade}: {done}{places} on {work.done_on}{hours}{setup}{picture}{found}"


def needs_of(job: Job) -> tuple[str, ...]:
    """Give the trades that a job needs, as its cards have them: work without hours of the house is done outside."""
    from shutline.prep.cards import OUTSIDE

    return tuple(line.trade for line in job.labour) or (OUTSIDE,)


def _task_done(lines: Sequence[WorkDone], kept: Mapping[str, KeptFinding], tables: PrepTables) -> TaskDone:
    last = lines[-1]
    known = tables.jobs.get(last.job)
    findings = tuple(id_ for id_ in last.findings if id_ in kept)
    by_trade = {one.trade: one for one in lines}
    trades = (*([""] if "" in by_trade else []), *last.needs)
    return TaskDone(
        task=last.task,
        words=last.words,
        place=_place(findings, kept, whole=known is not None and known.whole),
        findings=tuple(_found(kept[id_]) for id_ in findings),
        trades=tuple(TradeDone(trade, _trade_name(trade, tables), by_trade.get(trade)) for trade in trades),
        whole=task_done(lines, last.task, last.findings, last.needs),
        day=max(one.done_on for one in lines),
    )


def _found(kept: KeptFinding) -> FoundShown:
    one = kept.finding
    return FoundShown(kept.id, place_name(one.part, one.side, one.position), statement(one))


def _place(findings: Sequence[str], kept: Mapping[str, KeptFinding], *, whole: bool) -> str:
    """Call the place of a task; empty for the whole car."""
    return "" if whole else ", ".join(dict.fromkeys(_found(kept[id_]).place for id_ in findings if id_ in kept))


def _trade_name(trade: str, tables: PrepTables) -> str:
    return tables.trades[trade].name if trade in tables.trades else trade or "the whole task"


def _work(store: Store, file: CarFile, asked: DoneAsked, lines: Sequence[WorkDone]) -> WorkDone:
    """Make the line that is meant, of what can be done now or of a line that there is; refuse what cannot be."""
    today = datetime.now().astimezone().date()
    found = " ".join(asked.found.split())
    of, most = _meant(store, file, asked, lines)
    places = most if asked.places is None else asked.places
    if asked.trade and asked.trade not in of.needs:
        raise _refused(f"{asked.task}, trade {asked.trade[:60]!r}", "no trade of it", ", ".join(of.needs))
    for name, hours in (("hours", asked.hours), ("set-up hours", asked.setup_hours)):
        if hours is not None and not (hours.is_finite() and 0 < hours <= MOST_HOURS):
            raise _refused(f"{asked.task}, {name}", str(hours)[:60], f"more than nought, up to {MOST_HOURS}")
    if not 1 <= places <= most:
        raise _refused(f"{asked.task}, places", str(places), f"from 1 to {most}")
    if asked.picture and asked.picture not in {one.id for one in file.pictures}:
        raise _refused(f"{asked.task}, picture {asked.picture[:60]!r}", "no picture of the car", "the id of one")
    if len(found) > LONGEST_FOUND:
        raise _refused(f"{asked.task}, found besides", f"{len(found)} characters", f"up to {LONGEST_FOUND}")
    day = asked.on or today
    if day > today + timedelta(days=1):
        raise _refused(f"{asked.task}, day", day.isoformat(), f"a day that has come: {today.isoformat()} or before")
    _check_token(asked.token)
    return replace(
        of,
        trade=asked.trade,
        hours=asked.hours,
        setup_hours=asked.setup_hours,
        places=places,
        # Who names the findings says what is done with them.
        of_places=places if asked.findings else most,
        picture=asked.picture,
        found=found,
        done_on=day.isoformat(),
        holds=True,
        token=asked.token,
    )


def _meant(store: Store, file: CarFile, asked: DoneAsked, lines: Sequence[WorkDone]) -> tuple[WorkDone, int]:
    """Give a line of the task that is meant, nothing said of it yet, and at how many places it is done at most.

    It is one that the plan lists now, or one of which something was ticked off before.
    """
    from shutline.prep.tasks import tasks_of

    tables, _ = own_prep()
    every = {one.id: one for one in tasks_of(_as_before(file.findings), tables=tables).candidates}
    before = [one for one in lines if one.task == asked.task]
    same = [one for one in before if one.holds and (one.trade, one.version) == (asked.trade, asked.version)]
    now = None if same else _listed(store, file, tables).get(asked.task)
    of = now or every.get(asked.task)
    if asked.findings:
        known = {*(of.findings if of else ()), *(id_ for one in before for id_ in one.findings)}
        findings = tuple(dict.fromkeys(asked.findings))
        if not set(findings) <= known:
            raise _refused(f"{asked.task}, findings", ", ".join(findings)[:200], ", ".join(sorted(known)))
    elif now is not None and not same:
        findings = now.findings
    elif before:
        findings = (same or [one for one in before if one.holds] or before)[-1].findings
    else:
        ids = ", ".join(sorted(_listed(store, file, tables)))
        raise _refused(f"task {asked.task[:80]!r}", "no task of that id", f"one of: {ids}" if ids else "none: no task")
    if of is None:
        last = before[-1]
        return replace(last, findings=findings), last.of_places
    job = of.job
    empty = WorkDone(
        id="",
        task=of.id,
        job=job.id,
        words=job.name,
        remedy=job.remedy,
        findings=findings,
        trade="",
        needs=needs_of(job),
        hours=None,
        setup_hours=None,
        places=of.count,
        picture="",
        found="",
        done_on="",
        holds=True,
    )
    return empty, of.count


def _as_before(findings: Iterable[KeptFinding]) -> tuple[KeptFinding, ...]:
    """Give the findings as if nothing had been put right."""
    return tuple(replace(one, put_right=None) for one in findings)


def _listed(store: Store, file: CarFile, tables: PrepTables) -> dict[str, Task]:
    """Give the tasks as the plan lists them: with all that each would cure where they are weighed, else shared out."""
    from shutline.prep.tasks import tasks_of

    decisions = store.prep_decisions(file.name)
    promised = {one.about: one.words for one in decisions if one.holds and one.kind is PrepKind.PROMISED}
    prepared = tasks_of(file.findings, tables=tables, promised=promised)
    weighed = any(one.holds and one.kind is PrepKind.ASKING for one in decisions)
    shared_out = {task.id: task for task in prepared.tasks}
    whole = {task.id: task for task in prepared.candidates}
    return shared_out | whole if weighed else whole | shared_out


def _check_token(token: str) -> None:
    if token and not _TOKEN.fullmatch(token):
        raise _refused("work, token", repr(token[:64]), "8 to 64 letters, digits, hyphens and low lines")


def _refused(where: str, found: str, allowed: str) -> UserError:
    return UserError(
        Problem(
            "work-refused", where, found, allowed[:600], "Show the preparation with the ids: shutline prep CAR --plan."
        )
    )
