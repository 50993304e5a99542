"""The verb of the history: the timeline of a car, its test histories, and what does not add up."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.car.errors import Problem, UserError
from shutline.cli import output
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, opened

if TYPE_CHECKING:
    from datetime import date

    from shutline.usecases.car_history import CarHistory
    from shutline.usecases.kept_tests import RecordLine, RecordVerb

app = typer.Typer()
"""Its command is one of the whole command line; see `commands`."""


@app.command(epilog="Example: shutline timeline blue-saloon --tests history.json")
def timeline(
    *,
    car: CarName,
    tests: Annotated[
        Path | None, typer.Option("--tests", help="Bring in a file of test histories (JSON).", metavar="FILE")
    ] = None,
    same: Annotated[
        str | None, typer.Option("--same", help="Say of a record that it is this car.", metavar="ID")
    ] = None,
    other: Annotated[
        str | None, typer.Option("--other", help="Say of a record that it is another car.", metavar="ID")
    ] = None,
    unsaid: Annotated[
        str | None, typer.Option("--open", help="Take back what was said of a record.", metavar="ID")
    ] = None,
    day: Annotated[str, typer.Option("--day", help="Day on which it is asked for. [default: today]")] = "",
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Tell what is known of a car in use: marks, dates, tests, mileages, keepers; and what does not add up."""
    from shutline.usecases.car_history import car_history
    from shutline.usecases.kept_tests import decide_tests, enter_tests

    said: dict[RecordVerb, str | None] = {"same": same, "other": other, "open": unsaid}
    chosen = [(verb, ref) for verb, ref in said.items() if ref is not None]
    if len(chosen) + (tests is not None) > 1:
        raise _refused("several things to do at once", "one of --tests, --same, --other, --open")
    asked = _day(day)
    with opened(store) as there:
        if tests is not None:
            came = enter_tests(there, car, tests, author=by)
            if as_json:
                output.show_json(came)
                return
            for line in came.records:
                _show_record(line)
            output.print_line(f"{came.new} new, {len(came.records) - came.new} known before.")
            for problem in came.problems:
                output.show_problem(problem)
        elif chosen:
            verb, ref = chosen[0]
            decided = decide_tests(there, car, ref, verb, author=by)
            if as_json:
                output.show_json(decided)
            else:
                _show_record(decided)
        else:
            told = car_history(there, car, day=asked)
            if as_json:
                output.show_json(told)
            else:
                _show(told)


def _show(told: CarHistory) -> None:
    for title, lines in (
        ("Dates", told.dates),
        ("Marks", [one.told.sentence for one in told.marks]),
        ("Chassis numbers", [f"{one.told.sentence}{_others(one.told.others)}" for one in told.chassis]),
        ("Tax and test", [f"{one.sentence} {one.ask}" for one in told.exemptions]),
        ("Mileage", [told.mileage.sentence, *(f"Day not known, not weighed: {one}" for one in told.undated)]),
        ("Keepers", told.keepers),
        ("Tests", [_tested(one.day, one.mileage, passed=one.passed, retest=one.retest) for one in told.tests]),
        ("Noted again and again", [" ".join((one.sentence, one.ask, *one.findings)) for one in told.returning]),
        ("What does not add up", [f"{one.sentence} Rule: {one.rule} ({one.source}). {one.ask}" for one in told.doubts]),
    ):
        if lines:
            output.print_line(title)
        for line in lines:
            output.print_line(f"  {output.printable(line)}")
    for record in told.records:
        _show_record(record)
    for problem in told.problems:
        output.show_problem(problem)


def _others(others: tuple[str, ...]) -> str:
    return f" It may be {' or '.join(others[:4])}, misread." if others else ""


def _tested(day: date, mileage: str, *, passed: bool, retest: bool) -> str:
    return f"{day.isoformat()}  {'passed' if passed else 'failed'}{', a retest' if retest else ''}, {mileage}"


def _show_record(line: RecordLine) -> None:
    called = " ".join(part for part in (line.mark, line.make, line.model) if part)
    state = "counts" if line.counts else "kept apart"
    output.print_line(output.printable(f"{called}, {line.tests} tests, {state}: {line.why}  {line.id}"))


def _day(text: str) -> date | None:
    from datetime import date

    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise _refused(f"--day {text!r}", "a day such as 2026-11-26") from None


def _refused(found: str, allowed: str) -> UserError:
    return UserError(Problem("command-line", "timeline", found, allowed, "Give it so; nothing was done."))
