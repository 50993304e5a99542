"""The verb of a tyre: what follows from what stands on it."""

from __future__ import annotations

from typing import Annotated

import typer

from shutline.cli import output
from shutline.cli.options import AsJson

app = typer.Typer()
"""Its command is one of the whole command line; see `commands`."""


@app.command(epilog='Example: shutline tyre "165 SR 13" --date 346 --meant "155/80 R13"')
def tyre(
    *,
    marking: Annotated[str, typer.Argument(metavar="MARKING", help="What stands on the tyre: 205/55 R16 91V.")],
    date: Annotated[str, typer.Option("--date", help="Its date code, or the line that begins with DOT.")] = "",
    triangle: Annotated[bool, typer.Option("--triangle", help="A triangle stands behind the date code.")] = False,
    meant: Annotated[str, typer.Option("--meant", help="The tyre that is meant for the car, if another.")] = "",
    diameter: Annotated[str, typer.Option("--diameter", help="As measured over the tread, mm.")] = "",
    on: Annotated[str, typer.Option("--on", help="Day on which its age is counted. [default: today]")] = "",
    as_json: AsJson = False,
) -> None:
    """Tell what a tyre's marking says, how old it is, how far it rolls, and what it does to the speedometer."""
    from shutline.usecases.tyre import tyre_told

    told = tyre_told(marking, date_on_it=date, triangle=triangle, meant=meant, diameter_mm=diameter, day=on)
    if as_json:
        output.show_json(told)
        return
    output.print_line(f"{told.marking.text}: {told.words}")
    for result in told.results:
        output.print_line(f"  {output.printable(result.sentence)}")
        for note in result.notes:
            output.print_line(f"      {output.printable(note)}")
    for problem in told.problems:
        output.show_problem(problem)
