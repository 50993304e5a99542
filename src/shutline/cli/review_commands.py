"""The verbs of a review: what there is to look at; confirm, strike, undo, amend, enter, another still; who did what."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from shutline.car.errors import Problem, UserError
from shutline.cli import output
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, opened

if TYPE_CHECKING:
    from shutline.usecases.queue import Entry

app = typer.Typer()
"""Its commands are those of the whole command line; see `commands`."""

Id = Annotated[str, typer.Argument(metavar="ID", help="Id of a finding or a fact, or the start of it.")]
At = Annotated[
    str, typer.Option("--at", help="The moment of the recording: seconds, or minutes and seconds as 1:05.4.")
]
Recording = Annotated[
    str | None, typer.Option("--recording", help="Id of the recording. [default: the only one, or its own]")
]
Part = Annotated[str | None, typer.Option("--part", help="A part of the vocabulary, by id or by name.")]
Side = Annotated[str | None, typer.Option("--side", help="near, off, both, or '' for none.")]
Position = Annotated[str | None, typer.Option("--position", help="front, rear, both, or '' for none.")]
Condition = Annotated[str | None, typer.Option("--condition", help="What was found, by id or by name.")]
Found = Annotated[str | None, typer.Option("--found", help="yes, no or unsure.")]
Severity = Annotated[str | None, typer.Option("--severity", help="slight, moderate, severe, or '' for none.")]
Remedy = Annotated[
    str | None, typer.Option("--remedy", help="clean, polish, repaint, repair and so on, or '' for none.")
]
Words = Annotated[str | None, typer.Option("--words", help="The words that were said, or your own.")]


@app.command(epilog="Example: shutline review blue-saloon")
def review(
    *,
    car: CarName,
    order: Annotated[str, typer.Option("--order", help="doubt: the doubtful first; film: as it was filmed.")] = "doubt",
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """List what was heard and nobody has looked at yet, the doubtful first."""
    from shutline.usecases.queue import left_words, queue

    with opened(store) as there:
        found = queue(there, car, order=order)
    if as_json:
        output.show_json(found)
        return
    output.print_line(
        f"{left_words(found)} to look at; confirm, strike or amend them by their ids, or use `shutline serve`."
    )
    for entry in found.entries:
        if entry.open:
            _show_entry(entry)


Ids = Annotated[list[str], typer.Argument(metavar="ID...", help="Ids of findings or facts, or the start of them.")]


@app.command(epilog="Example: shutline confirm blue-saloon 569acb 7959c4")
def confirm(*, car: CarName, ids: Ids, by: Author = None, store: StoreFolder = None, as_json: AsJson = False) -> None:
    """Let findings and facts stand: somebody has looked, and it is so."""
    from shutline.usecases.review import confirm as run_confirm

    with opened(store) as there:
        show_decided(run_confirm(there, car, ids, author=by), as_json=as_json)


@app.command(epilog="Example: shutline strike blue-saloon 569acb")
def strike(*, car: CarName, ids: Ids, by: Author = None, store: StoreFolder = None, as_json: AsJson = False) -> None:
    """Reject findings and facts: they are kept, and go out nowhere."""
    from shutline.usecases.review import strike as run_strike

    with opened(store) as there:
        show_decided(run_strike(there, car, ids, author=by), as_json=as_json)


@app.command(epilog="Example: shutline undo blue-saloon 569acb")
def undo(
    *,
    car: CarName,
    ids: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[ID...]", help="Ids of findings or facts. [default: what you decided last on this car]"
        ),
    ] = None,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Take back the last decision about findings and facts, or your own last one on this car."""
    from shutline.usecases.review import undo as run_undo
    from shutline.usecases.review import undo_last

    with opened(store) as there:
        done = run_undo(there, car, ids, author=by) if ids else undo_last(there, car, author=by)
    show_decided(done, as_json=as_json)


@app.command(epilog="Example: shutline amend blue-saloon 569acb --side off --severity slight")
def amend(
    *,
    car: CarName,
    id_: Id,
    part: Part = None,
    side: Side = None,
    position: Position = None,
    condition: Condition = None,
    found: Found = None,
    severity: Severity = None,
    remedy: Remedy = None,
    words: Words = None,
    value: Annotated[str | None, typer.Option("--value", help="Of a fact: its value.")] = None,
    unit: Annotated[str | None, typer.Option("--unit", help="Of the odometer: mi or km.")] = None,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Change a finding or a fact; it stands then, and what it was is kept."""
    from shutline.usecases.amend import amend as run_amend

    fields = _given(
        part=part,
        side=side,
        position=position,
        condition=condition,
        found=found,
        severity=severity,
        remedy=remedy,
        words=words,
        value=value,
        unit=unit,
    )
    with opened(store) as there:
        show_decided(run_amend(there, car, id_, fields, author=by), as_json=as_json)


@app.command(epilog="Example: shutline enter blue-saloon --at 1:05 --part sill --side near --condition rust")
def enter(
    *,
    car: CarName,
    at: At,
    part: Part = None,
    condition: Condition = None,
    side: Side = None,
    position: Position = None,
    found: Found = None,
    severity: Severity = None,
    remedy: Remedy = None,
    words: Words = None,
    recording: Recording = None,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Enter a finding that nothing was heard of, at a moment of a recording; it stands."""
    from shutline.usecases.amend import enter as run_enter

    fields = _given(
        part=part,
        side=side,
        position=position,
        condition=condition,
        found=found,
        severity=severity,
        remedy=remedy,
        words=words,
    )
    with opened(store) as there:
        done = run_enter(there, car, fields, at_s=_seconds(at), recording=recording, author=by)
    show_decided(done, as_json=as_json)


@app.command(epilog="Example: shutline still blue-saloon 569acb --at 1:05.4")
def still(
    *,
    car: CarName,
    id_: Id,
    at: At,
    recording: Recording = None,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Let another frame of the film show a finding."""
    from shutline.usecases.stills import choose_still

    with opened(store) as there:
        done = choose_still(there, car, id_, _seconds(at), recording=recording, author=by)
    show_decided(done, as_json=as_json)


@app.command(epilog="Example: shutline history blue-saloon 569acb")
def history(
    *,
    car: CarName,
    ids: Annotated[
        list[str] | None, typer.Argument(metavar="[ID...]", help="Only these findings or facts. [default: all]")
    ] = None,
    program: Annotated[bool, typer.Option("--program", help="Tell also what the program did.")] = False,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Tell who did what when to findings and facts, the latest first."""
    from shutline.publish.naming import place_name
    from shutline.publish.statement import statement
    from shutline.usecases.history import history as run_history

    with opened(store) as there:
        told = run_history(there, car, ids or (), program=program)
    if as_json:
        output.show_json(told)
        return
    if not told.lines:
        output.print_line("Nobody has decided anything yet.")
    for line in told.lines:
        if line.finding is not None:
            finding = line.finding.finding
            what = f"{place_name(finding.part, finding.side, finding.position)}: {statement(finding)}"
        else:
            what = f"{line.fact.fact.name.replace('_', ' ')}: {line.fact.fact.value}" if line.fact else ""
        change = line.change
        names = ", ".join(name for name in change.after if name in change.before)
        output.print_line(
            f"{change.at[:16].replace('T', ' ')}  {output.printable(change.author)}: {change.action}"
            f"{f' ({names})' if names else ''}; {output.printable(what)}  {line.id}"
        )


def show_decided(decided: Any, *, as_json: bool) -> None:
    """Show what stands of the things decided about."""
    from shutline.cli.words import fact_line, finding_lines

    if as_json:
        output.show_json(decided)
        return
    for kept in decided.findings:
        for line in finding_lines(kept.finding, why=False, id_=kept.id):
            output.print_line(line)
    for kept in decided.facts:
        output.print_line(f"{fact_line(kept.fact)}  {kept.id}")


def _show_entry(entry: Entry) -> None:
    from shutline.cli.words import fact_line, finding_lines, second_statement

    if entry.finding is not None:
        for line in finding_lines(entry.finding.finding, why=False, id_=entry.id):
            output.print_line(line)
    elif entry.question is not None:
        moment = output.clock(entry.question.start_s)
        output.print_line(f"  {moment:>7}  {second_statement(entry.question)}?  {entry.id}")
    else:
        if entry.at_odds:
            output.print_line(f"  At odds: {entry.id.replace('_', ' ')}")
        for kept in entry.facts:
            output.print_line(f"{fact_line(kept.fact)}  {kept.id}")


def _given(**fields: str | None) -> dict[str, str | None]:
    return {name: value for name, value in fields.items() if value is not None}


def _seconds(text: str) -> float:
    """Read a moment: ``65.4``, ``1:05.4`` or ``1:02:05``."""
    total = 0.0
    try:
        for piece in text.split(":"):
            value = float(piece)
            if value < 0:
                raise ValueError(text)  # noqa: TRY301 - said below, with what is allowed
            total = total * 60 + value
    except ValueError:
        raise UserError(
            Problem(
                slug="command-line",
                where="--at",
                found=repr(text[:40]),
                allowed="seconds, or minutes and seconds: 65.4, 1:05.4, 1:02:05",
                advice="Give a moment so; nothing was done.",
            )
        ) from None
    return total
