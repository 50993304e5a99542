"""The verbs of what does not agree: statements at odds, and what changed from one recording to another."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.cli import output
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, opened
from shutline.publish.naming import place_name
from shutline.publish.statement import statement as finding_statement

if TYPE_CHECKING:
    from shutline.car.carfile import KeptFinding
    from shutline.car.findings import Footing
    from shutline.car.odds import OddsDecision
    from shutline.usecases.changed import ChangedChoice, ChangedShown
    from shutline.usecases.odds import OddsCase, OddsShown

app = typer.Typer()
"""Its commands are those of the whole command line; see `commands`."""


@app.command(epilog="Example: shutline odds blue-saloon 3f2a --holds 2 --because 'looked at it again: there is a ding'")
def odds(
    *,
    car: CarName,
    case: Annotated[
        str | None, typer.Argument(metavar="[CASE]", help="Id of a case to decide, or the start of one.")
    ] = None,
    holds: Annotated[
        str | None, typer.Option("--holds", help="Which side holds, by its number; or all, none, or open.")
    ] = None,
    because: Annotated[str, typer.Option("--because", help="Why, in your own words.")] = "",
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Show what cannot be true together, each with both moments; with a case, say which of them holds and why."""
    from shutline.usecases.odds import odds as run_odds
    from shutline.usecases.odds_deciding import decide_odds

    with opened(store) as there:
        if case is None and holds is None:
            found = run_odds(there, car)
        else:
            found = decide_odds(there, car, case or "", holds=holds or "", reason=because, author=by)
    if as_json:
        output.show_json(found)
        return
    for line in _odds_lines(found):
        output.print_line(line)


def _odds_lines(found: OddsShown) -> Iterator[str]:
    if not found.open:
        yield "Nothing is at odds that has not been decided."
    for case in found.open:
        yield from _case_lines(case)
    if found.settled:
        yield "Decided"
    for case in found.settled:
        yield from _case_lines(case)
    if found.past:
        yield "Decided, and no longer at odds"
    for past in found.past:
        told = " / ".join(f"{number}. {output.printable(one)}" for number, one in enumerate(past.told, start=1))
        yield output.wrapped(f"{past.id}  {told}")
        yield from (_decision_line(decision, past.holds) for decision in past.decisions)


def _case_lines(case: OddsCase) -> Iterator[str]:
    from shutline.usecases.odds_sides import told_words
    from shutline.usecases.odds_stale import holds_number

    yield f"{case.odds.id}  {output.printable(case.about)}"
    yield output.wrapped(output.printable(f"{case.sort}: {case.odds.why}."), indent=" " * 5)
    for number, (side, words) in enumerate(zip(case.odds.sides, case.words, strict=True), start=1):
        yield f"  {number}. {output.printable(words) if len(side) == 1 else f'{len(side)} that say so'}"
        for told in side:
            if len(side) > 1:
                yield output.wrapped(output.printable(told_words(told)), indent=" " * 5)
            for footing in told.footings:
                yield output.wrapped(_footing_words(footing), indent=" " * 7)
    if case.changed:
        yield "     Decided before; what was said has changed since, or is back:"
    for decision in case.decisions:
        yield _decision_line(decision, holds_number(case, decision))


def _footing_words(footing: Footing) -> str:
    moment = "" if footing.start_s is None else f" at {output.clock(footing.start_s)}"
    source = f" in {footing.source[:12]}" if footing.source else ""
    quote = f": «{output.printable(footing.quote)}»" if footing.quote else ""
    return f"{footing.kind}{moment}{source}{quote}"


def _decision_line(decision: OddsDecision, holds: int | None) -> str:
    from shutline.usecases.odds_stale import answer_words

    when = decision.at[:16].replace("T", " ")
    return output.wrapped(
        output.printable(f"{when}  {decision.author}: {answer_words(decision, holds)}"), indent=" " * 5
    )


@app.command("odds-tables", epilog="Example: shutline odds-tables")
def odds_tables(*, as_json: AsJson = False) -> None:
    """Check the tables of your own that tell what cannot be true together, and say where they lie."""
    from shutline.usecases.own_odds import check_own_odds

    own = check_own_odds()
    if as_json:
        output.show_json(own)
        return
    for file in own.files:
        output.print_line(f"{output.printable(file.name)}: {file.rows} of your own")
    if not own.files:
        output.print_line(f"No tables of your own; they would lie in {output.printable(own.folder)}")
    counts = ", ".join(f"{count} in {name}" for name, count in own.counts.items())
    output.print_line(output.wrapped(f"Rows that count: {counts}"))


@app.command(epilog="Example: shutline changed blue-saloon --from arrival.mp4 --to handover.mp4 --statement")
def changed(
    *,
    car: CarName,
    first: Annotated[
        str, typer.Option("--from", help="The earlier recording, by number, file name or id; or a day of several.")
    ] = "",
    second: Annotated[
        str, typer.Option("--to", help="The later one, or work. Without both, the first and the last.")
    ] = "",
    statement: Annotated[
        bool, typer.Option("--statement", help="Write a statement of it for both parties to sign, as a PDF.")
    ] = False,
    out: Annotated[
        Path | None, typer.Option("--out", help="Folder for the statement. [default: out/CAR]", metavar="DIR")
    ] = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Show what changed of a car from one recording to another: new, gone, better, worse, same, or unclear."""
    from shutline.usecases.changed import changed as run_changed
    from shutline.usecases.changed import changed_choice, changed_statement

    with opened(store) as there:
        if not (first and second):
            choice = changed_choice(there, car, first=first, second=second)
            if choice.shown is None or not statement:
                _show_choice(choice, as_json=as_json)
                return
            first, second = choice.shown.first, choice.shown.second
        if statement:
            made = changed_statement(there, car, first=first, second=second, out=out)
        else:
            shown = run_changed(there, car, first=first, second=second)
    if as_json:
        output.show_json(made if statement else shown)
        return
    for line in _changed_lines(made.shown if statement else shown):
        output.print_line(line)
    if statement:
        output.print_line(f"Written: {output.printable(made.path)}  ({output.size(made.byte_size)})")
        for problem in made.problems:
            output.show_problem(problem)


def _show_choice(choice: ChangedChoice, *, as_json: bool) -> None:
    if as_json:
        output.show_json(choice)
        return
    if choice.shown is None:
        output.print_line("The car was not looked over twice yet; there is nothing to compare.")
    else:
        for line in _changed_lines(choice.shown):
            output.print_line(line)
    for one in choice.times:
        unread = "" if one.whole else ", not read to its end"
        output.print_line(output.printable(f"  can be compared: {one.id[:12]}  {one.name}{unread}"))


def _changed_lines(shown: ChangedShown) -> Iterator[str]:
    from shutline.survey.changed import Because
    from shutline.usecases.changed import PUT_RIGHT

    counts = ", ".join(f"{count} {outcome}" for outcome, count in shown.counts.items() if count) or "nothing told"
    yield output.printable(f"From {shown.first_name} to {shown.second_name}: {counts}")
    for one in shown.found:
        finding = one.finding
        place = place_name(finding.part, finding.side, finding.position)
        after = PUT_RIGHT if one.because is Because.PUT_RIGHT else _told(one.second)
        yield f"  {one.outcome:8} {place}: {_told(one.first)} → {after}"
        yield output.wrapped(output.printable(one.why or one.because), indent=" " * 11)


def _told(kept: KeptFinding | None) -> str:
    if kept is None:
        return "nothing told"
    start_s = kept.finding.start_s
    return finding_statement(kept.finding) + ("" if start_s is None else f" ({output.clock(start_s)})")
