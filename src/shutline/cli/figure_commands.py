"""The verb of figures read off pictures: what waits, read more, take, amend, set aside."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from shutline.car.errors import Problem, UserError
from shutline.car.figures import FigureKind
from shutline.cli import output
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, opened
from shutline.cli.review_commands import _seconds as seconds

if TYPE_CHECKING:
    from shutline.car.figures import Figure
    from shutline.usecases.figures import CarFigures, FigureVerb
    from shutline.usecases.figures_beside import Beside

app = typer.Typer()
"""Its command is one of the whole command line; see `commands`."""


@app.command(epilog="Example: shutline figures blue-saloon --read")
def figures(
    *,
    car: CarName,
    read: Annotated[bool, typer.Option("--read", help="Read the pictures and moments that were not read yet.")] = False,
    sweep: Annotated[
        bool, typer.Option("--sweep", help="Read a sharp frame each few seconds of the films too: slower.")
    ] = False,
    picture: Annotated[str | None, typer.Option("--picture", help="Read this picture.", metavar="ID")] = None,
    at: Annotated[
        str | None, typer.Option("--at", help="Read the frame at this moment of a film: 65.4 or 1:05.4.", metavar="M")
    ] = None,
    recording: Annotated[
        str | None, typer.Option("--recording", help="The film meant by --at; needed where there are several.")
    ] = None,
    kind: Annotated[
        FigureKind | None, typer.Option("--kind", help="What --picture or --at shows, where you know it.")
    ] = None,
    take: Annotated[str | None, typer.Option("--take", help="Take a figure as it was read.", metavar="ID")] = None,
    amend: Annotated[
        str | None, typer.Option("--amend", help="Take a figure with another --value, --unit or place.", metavar="ID")
    ] = None,
    value: Annotated[str | None, typer.Option("--value", help="What stands in the picture, as you read it.")] = None,
    unit: Annotated[str | None, typer.Option("--unit", help="mi or km; um or mil for a paint gauge.")] = None,
    part: Annotated[str | None, typer.Option("--part", help="The part it belongs to, by its id.")] = None,
    side: Annotated[str | None, typer.Option("--side", help="near or off.")] = None,
    position: Annotated[str | None, typer.Option("--position", help="front or rear.")] = None,
    aside: Annotated[str | None, typer.Option("--aside", help="Set a figure aside.", metavar="ID")] = None,
    again: Annotated[
        str | None, typer.Option("--again", help="Let a figure that was decided about wait again.", metavar="ID")
    ] = None,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """List the figures read off a car's pictures, read more, and decide: nothing counts until somebody takes it."""
    from shutline.usecases.figure_reading import read_figures_at, read_figures_of
    from shutline.usecases.figures import car_figures, decide_figure, read_place

    decided: dict[FigureVerb, str | None] = {"take": take, "amend": amend, "aside": aside, "again": again}
    chosen = [(verb, id_) for verb, id_ in decided.items() if id_ is not None]
    at_one = picture is not None or at is not None
    if len(chosen) + (read or sweep or at_one) > 1:
        raise UserError(
            Problem(
                slug="command-line",
                where="figures",
                found="several things to do at once",
                allowed="one of --read or --sweep, --picture, --at, --take, --amend, --aside, --again",
                advice="Give them one after another; nothing was done.",
            )
        )
    with opened(store) as there:
        if chosen:
            verb, id_ = chosen[0]
            done = decide_figure(
                there,
                car,
                id_,
                verb,
                value=value,
                unit=unit,
                place=read_place(part, side, position),
                author=by,
            )
            if as_json:
                output.show_json(done)
            else:
                _show_figure(done.figure)
            return
        if read or sweep or at_one:
            with output.progress(quiet=as_json) as tell:
                if at_one:
                    moment = None if at is None else seconds(at)
                    came = read_figures_at(
                        there, car, picture=picture, at_s=moment, recording=recording, kind=kind, tell=tell
                    )
                else:
                    came = read_figures_of(there, car, sweep=sweep, tell=tell)
            if as_json:
                output.show_json(came)
                return
            told = f"{came.refused} more too unclear to offer" if came.refused else "nothing refused"
            new = sum(came.found.values())
            figures_ = "figure" if new == 1 else "figures"
            output.print_line(f"Looked at {came.looked_at} places: {new} new {figures_}, {told}.")
            for problem in came.problems:
                output.show_problem(problem)
        found = car_figures(there, car)
    if as_json:
        output.show_json(found)
        return
    _show_all(found)


def _show_all(found: CarFigures) -> None:
    for figure in found.figures:
        _show_figure(figure)
    if not found.figures:
        output.print_line("No figures were read yet.")
    for one in found.beside:
        _show_beside(one)
    if found.unread:
        output.print_line(f"{found.unread} pictures and moments were not read yet: shutline figures {found.car} --read")


def _show_figure(figure: Figure) -> None:
    read = figure.read
    kind = read.kind.value.replace("_", " ")
    state = {"waits": "waits", "taken": "taken", "aside": "set aside"}[figure.state.value]
    where = output.clock(figure.at_s) if figure.at_s is not None else "picture"
    if read.kind is FigureKind.PAPER:
        output.print_line(f"{where:>8}  {kind}: {len(read.lines)} lines; {state}  {figure.id}")
        for line in read.lines:
            output.print_line(f"            {output.printable(line.text)}")
        return
    unit = f" {figure.unit}" if figure.unit else ""
    sure = f"sure {read.sureness:.0%}" if read.fits else "in no known form"
    output.print_line(
        f"{where:>8}  {kind}: {output.printable(str(figure.value))}{unit} "
        f"(read {output.printable(read.text)}, {sure}); {state}  {figure.id}"
    )
    if figure.state.value == "waits":
        for other in read.others:
            output.print_line(f"            or {output.printable(str(other.value))}: {output.printable(other.why)}")
        for note in read.notes:
            output.print_line(f"            {output.printable(note)}")


def _show_beside(one: Beside) -> None:
    words = {
        "at odds": "At odds",
        "equal": "Equal",
        "rounded": "Equal but for rounding",
        "other day": "Told on different days",
        "decided": "All can stand",
        "alone": "Only one told",
    }
    output.print_line(f"{words[one.verdict]}: {one.name.replace('_', ' ')}")
    if one.decision is not None:
        output.print_line(output.printable(f"  {one.decision.author}: because {one.decision.reason}"))
    for told in one.told:
        unit = f" {told.unit}" if told.unit else ""
        at = f" at {output.clock(told.start_s)}" if told.start_s is not None else ""
        output.print_line(f"  {told.how:8} {output.printable(str(told.value))}{unit}{at} ({told.state})")
