"""Job cards: for each trade what to do, where, in what order, with what and with what care."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from shutline.car.carfile import KeptFinding
from shutline.car.findings import Severity
from shutline.prep.model import NOUGHT, Range, Task
from shutline.prep.outlay import expected_growth
from shutline.prep.schedule import Piece, Schedule
from shutline.prep.tables import Caution, PrepTables

OUTSIDE = "outside"
"""The card of what is done by others and takes no hours of the house."""


@dataclass(frozen=True, slots=True)
class CardPlace:
    """A finding that the task cures, where it is, and what was said of it; empty where nothing was."""

    finding: KeptFinding
    words: tuple[str, ...]

    @property
    def severity(self) -> Severity | None:
        """How bad it is, where that was said."""
        return self.finding.finding.severity


@dataclass(frozen=True, slots=True)
class CardLine:
    """One task on the card of one trade.

    `number` counts through the cards of the car, and is the same on each card that the task is on. `hours` are for all
    its places, before more is found; `setup_hours` stand with the first task of a job. `may_grow` tells by how much on
    average it grows on opening, 1 for not. `parts` are to be ordered, `materials` in pounds. `piece` is when and by
    whom, None where nothing was scheduled.
    """

    number: int
    task: Task
    places: tuple[CardPlace, ...]
    hours: Range
    setup_hours: Range
    may_grow: float
    materials: Range
    parts: tuple[str, ...]
    piece: Piece | None

    @property
    def start(self) -> datetime | None:
        """When it begins."""
        return None if self.piece is None else self.piece.start


@dataclass(frozen=True, slots=True)
class Card:
    """What one trade has to do, in order, with each caution once and the tasks it is for."""

    trade: str
    name: str
    lines: tuple[CardLine, ...]
    cautions: tuple[tuple[Caution, tuple[int, ...]], ...]


def job_cards(
    tasks: Sequence[Task],
    findings: Iterable[KeptFinding],
    tables: PrepTables,
    *,
    schedule: Schedule | None = None,
    parts: Mapping[str, Sequence[str]] | None = None,
) -> tuple[Card, ...]:
    """Make the cards of the tasks that were chosen.

    Parameters
    ----------
    tasks : sequence of Task
    findings : iterable of KeptFinding
        Those of the car; each finding of a task is looked up in them by its id.
    tables : PrepTables
        Names of the trades, and the cautions.
    schedule : Schedule, optional
        Orders the tasks and tells days and people; else they come in the order that their jobs ask for, then by id.
    parts : mapping of str to sequence of str, optional
        What is to be ordered for a task, by its id.

    Returns
    -------
    tuple of Card
        In the order of the trades in the tables; work without hours of the house is on the card `OUTSIDE`, the last.
    """
    kept = {one.id: one for one in findings}
    pieces = {(one.task, one.trade): one for one in (schedule.pieces if schedule else ())}
    ordered = _in_order(tasks, schedule)
    numbers = {task.id: number for number, task in enumerate(ordered, start=1)}
    first_of_job: dict[str, str] = {}
    for task in sorted(tasks, key=lambda task: task.id):
        first_of_job.setdefault(task.job.id, task.id)
    cards = []
    for trade in (*tables.trades, OUTSIDE):
        lines = []
        for task in ordered:
            labour = [line for line in task.job.labour if line.trade == trade]
            if not labour and not (trade == OUTSIDE and not task.job.labour):
                continue
            each, setup = (labour[0].each, labour[0].setup) if labour else (NOUGHT, NOUGHT)
            times = float(task.count)
            lines.append(
                CardLine(
                    number=numbers[task.id],
                    task=task,
                    places=tuple(_place(kept[one]) for one in task.findings if one in kept),
                    hours=_times(each, times),
                    setup_hours=setup if first_of_job[task.job.id] == task.id else NOUGHT,
                    may_grow=expected_growth(task.job.worse),
                    materials=_times(task.job.materials, times),
                    parts=tuple((parts or {}).get(task.id, ())),
                    piece=pieces.get((task.id, trade)),
                )
            )
        if lines:
            name = tables.trades[trade].name if trade in tables.trades else OUTSIDE
            cards.append(Card(trade, name, tuple(lines), _cautions(lines, tables)))
    return tuple(cards)


def _in_order(tasks: Sequence[Task], schedule: Schedule | None) -> list[Task]:
    from graphlib import TopologicalSorter

    by_id = {task.id: task for task in sorted(tasks, key=lambda task: task.id)}
    if schedule is not None:
        starts: dict[str, datetime] = {}
        for piece in schedule.pieces:
            starts.setdefault(piece.task, piece.start)
        return sorted(by_id.values(), key=lambda task: (starts.get(task.id, schedule.end), task.id))
    by_job: dict[str, list[str]] = {}
    for id_, task in by_id.items():
        by_job.setdefault(task.job.id, []).append(id_)
    sorter = TopologicalSorter(
        {id_: [other for job in task.job.after for other in by_job.get(job, ())] for id_, task in by_id.items()}
    )
    sorter.prepare()
    found: list[Task] = []
    while sorter.is_active():
        ready = sorted(sorter.get_ready())
        found += [by_id[id_] for id_ in ready]
        sorter.done(*ready)
    return found


def _place(kept: KeptFinding) -> CardPlace:
    quotes = dict.fromkeys(footing.quote for footing in kept.finding.footings if footing.quote)
    return CardPlace(kept, tuple(quotes))


def _times(values: Range, times: float) -> Range:
    return Range(values.low * times, values.likely * times, values.high * times)


def _cautions(lines: Sequence[CardLine], tables: PrepTables) -> tuple[tuple[Caution, tuple[int, ...]], ...]:
    found: dict[str, list[int]] = {}
    for line in lines:
        for name in line.task.job.cautions:
            found.setdefault(name, []).append(line.number)
    return tuple((tables.cautions[name], tuple(found[name])) for name in tables.cautions if name in found)
