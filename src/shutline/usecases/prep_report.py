"""What the house's own report says of preparation; nothing for a buyer is made of it."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import date, timedelta
from typing import TYPE_CHECKING

from shutline.car.errors import Problem, UserError
from shutline.usecases.own_prep import prep_mark
from shutline.usecases.prep_plan import prep_plan
from shutline.usecases.prep_shown import PlanLine, PlanShown, ToldShown
from shutline.usecases.prep_worked import PlanAsked

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.publish.report.model import MeasuredGauge, MeasuredLine, MeasuredSection
    from shutline.store import Store

HEADING = "Preparation, for the house alone"
INTRO = (
    "What was worked out of what to put right, with what the house reckons that it costs and what a buyer would knock "
    "off. These figures are the house's own: take this section out before the report is given to anybody else. Nothing "
    "that is made for a buyer has them."
)


def or_told(
    heading: str, intro: str, section: Callable[[], MeasuredSection | None], problems: list[Problem]
) -> MeasuredSection | None:
    """Make a section of the house's own, or where something of the user's is wrong one that says so, and what to mend.

    Parameters
    ----------
    heading, intro : str
        What it begins with.
    section : callable
        Makes it; raises UserError.
    problems : list of Problem
        What is wrong is put at its end, once.
    """
    from shutline.publish.report.model import MeasuredSection

    try:
        return section()
    except UserError as error:
        if error.problem not in problems:
            problems.append(error.problem)
        return MeasuredSection(heading, intro, "", (part_of("Not worked out", [line_of(f"{error}")]),))


def prep_section(store: Store, car: CarFile, *, day: date) -> MeasuredSection | None:
    """Give the section of the house's report; None where nobody has decided anything about preparation.

    Parameters
    ----------
    store : Store
    car : CarFile
    day : date
        That of the report; work begins on the next.

    Raises
    ------
    UserError
        A row of the user's own tables is wrong (slug ``prep-table-refused``).
    """
    from shutline.publish.report.model import MeasuredSection

    if not any(one.holds for one in store.prep_decisions(car.name)):
        return None
    plan = prep_plan(store, car.name, PlanAsked(start=day + timedelta(days=1), curve=False))
    parts = (
        part_of("To be done", [_job(line) for line in plan.lines if line.chosen], _sums(plan)),
        part_of("Left", [_left(line) for line in plan.lines if not line.chosen]),
        part_of("Disclose and leave", [_told(one) for one in plan.told]),
        part_of("When", _days(plan)),
    )
    return MeasuredSection(HEADING, INTRO, "", tuple(part for part in parts if part.lines or part.rest))


def prep_report_mark(store: Store, car: CarFile) -> str:
    """Give what changes whenever the section would, the day apart; empty where there is none."""
    decisions = [one for one in store.prep_decisions(car.name) if one.holds]
    if not decisions:
        return ""
    told = repr([(one.id, one.version) for one in decisions])
    return hashlib.sha256(f"{prep_mark()}\n{told}".encode()).hexdigest()


def part_of(name: str, lines: list[MeasuredLine], rest: str = "") -> MeasuredGauge:
    """Make a part of such a section: lines under a name, and what is said at its end."""
    from shutline.publish.report.model import MeasuredGauge

    return MeasuredGauge(name, tuple(lines), rest, (), "", (), "", "")


def line_of(words: str, notes: str = "") -> MeasuredLine:
    """Make a line of such a section, with a capital."""
    from shutline.publish.naming import capitalised
    from shutline.publish.plain import one_line
    from shutline.publish.report.model import MeasuredLine

    return MeasuredLine(one_line(capitalised(words)), one_line(capitalised(notes)) if notes else "")


def _job(line: PlanLine) -> MeasuredLine:
    cost = line.task.cost
    words = f"{_called(line)}: {_pounds(cost.p05)} to {_pounds(cost.p95)}"
    worth = f"; a buyer knocks off {_pounds(line.worth.low)} to {_pounds(line.worth.high)}" if line.worth else ""
    return line_of(f"{words}{worth}.", f"{line.task.must}." if line.task.must else "")


def _left(line: PlanLine) -> MeasuredLine:
    return line_of(f"{_called(line)}: {line.left or 'left'}.", f"{line.words}." if line.words else "")


def _told(one: ToldShown) -> MeasuredLine:
    worth = f": {_pounds(one.worth.low)} to {_pounds(one.worth.high)}" if one.worth else ""
    return line_of(f"{one.found.place}, {one.found.words}{worth}.")


def _days(plan: PlanShown) -> list[MeasuredLine]:
    from shutline.publish.report.times import day

    if plan.calendar is None:
        return []
    pieces = [
        line_of(f"{day(of.day)}, {piece.start[11:]}: {piece.trade}, {piece.words}.")
        for of in plan.calendar.days
        for piece in of.pieces
    ]
    return [*pieces, line_of(f"It can be filmed again on {day(plan.calendar.film_on)}.")]


def _sums(plan: PlanShown) -> str:
    words = "; ".join(f"what must be done cannot be done: {one}" for one in plan.in_the_way)
    if words:
        return f"{words[:1].upper()}{words[1:]}."
    if not any(line.chosen for line in plan.lines):
        return "Nothing is left that is to be done."
    enough = f" {_pounds(plan.sure_money)} is enough in {plan.sure} of a hundred." if plan.sure_money else ""
    total = f"All of it: {_pounds(plan.total.p05)} to {_pounds(plan.total.p95)} without tax, each set-up counted once"
    worth = f"; a buyer would knock off {_pounds(plan.worth)}" if plan.asking is not None else ""
    return f"{total}{worth}.{enough}"


def _called(line: PlanLine) -> str:
    return f"{line.task.place}: {line.task.words}" if line.task.place else line.task.words


def _pounds(pence: int) -> str:
    return f"£{pence / 100:,.0f}"
