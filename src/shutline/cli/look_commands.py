"""The verbs that look at what is kept: the list, a car file, the report."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from shutline.cli import output
from shutline.cli.options import AsJson, CarName, StoreFolder, opened
from shutline.cli.stopping import stoppable

app = typer.Typer()
"""Its commands are those of the whole command line; see `commands`."""


@app.command("list", epilog="Example: shutline list blue saloon --open heard")
def list_cars(
    *,
    words: Annotated[
        list[str] | None, typer.Argument(metavar="[WORD...]", help="Only cars in whose file all of these stand.")
    ] = None,
    open_: Annotated[
        str, typer.Option("--open", help="all, or heard: only cars with findings or facts that nobody has looked at.")
    ] = "all",
    aside: Annotated[bool, typer.Option("--aside", help="Those that are set aside, in place of the others.")] = False,
    limit: Annotated[int, typer.Option("--limit", help="At most so many cars.")] = 50,
    skip: Annotated[int, typer.Option("--skip", help="Leave out so many first.")] = 0,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """List the cars, newest first, or those that are found by some words."""
    from shutline.usecases.yard import yard

    with opened(store) as there:
        found = yard(there, " ".join(words or ()), open_=open_, aside=aside, limit=limit, skip=skip)
    if as_json:
        output.show_json(found)
        return
    if not found.cars:
        fits = words or aside or found.set_aside or open_ != "all"
        output.print_line("No car fits." if fits else "No cars yet. Add a recording: shutline add walk.mp4")
    for row in (one.car for one in found.cars):
        findings, facts = row.findings_heard + row.findings_standing, row.facts_heard + row.facts_standing
        output.print_line(
            f"{row.name:28} {findings:4} findings, {row.findings_heard} only heard; {facts} facts, {row.facts_heard} "
            f"only heard; recordings {row.recordings}, pictures {row.pictures}; since {row.created_at[:10]}"
        )
    left = found.count - found.skip - len(found.cars)
    if left > 0:
        output.print_line(f"and {left} more: --skip {found.skip + len(found.cars)}")
    if found.set_aside and not aside:
        output.print_line(f"{found.set_aside} set aside: --aside")
    if found.behind:
        output.print_line(f"{found.behind} cars changed of late and were not searched yet; search again.")


@app.command(epilog="Example: shutline show blue-saloon --why")
def show(
    *,
    car: CarName,
    why: Annotated[bool, typer.Option("--why", help="Tell of each finding why it was drawn.")] = False,
    struck: Annotated[bool, typer.Option("--struck", help="Show what was struck too.")] = False,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Show a car file: facts, findings, what was not mentioned."""
    from shutline.cli.words import car_file_lines
    from shutline.usecases.look import show_car

    with opened(store) as there:
        shown = show_car(there, car)
    if as_json:
        output.show_json(shown)
        return
    for line in car_file_lines(shown, why=why, struck=struck):
        output.print_line(line)


@app.command(epilog="Example: shutline report blue-saloon --out blue")
def report(
    *,
    car: CarName,
    out: Annotated[
        Path | None, typer.Option("--out", help="Folder for the output. [default: out/CAR]", metavar="DIR")
    ] = None,
    only: Annotated[
        list[str] | None,
        typer.Option(
            "--only",
            help="html, pdf, json, captions, chapters or description; may be repeated. [default: all but the last]",
        ),
    ] = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Write the condition report, captions, chapters and the car file as JSON."""
    from shutline.usecases.report import make_report

    with opened(store) as there, stoppable() as stop, output.progress(quiet=as_json) as tell:
        made = make_report(there, car, out=out, only=only, tell=tell, stop=stop)
    if as_json:
        output.show_json(made)
    else:
        show_report(made)


def show_report(made: Any) -> None:
    """Say what a report was made of and where it lies."""
    from shutline.cli.words import report_lines

    for line in report_lines(made):
        output.print_line(line)
    for problem in made.problems:
        output.show_problem(problem)
