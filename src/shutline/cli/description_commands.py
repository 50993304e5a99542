"""The verb of the words that a car is offered with."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.cli import output
from shutline.cli.options import AsJson, CarName, StoreFolder, opened

if TYPE_CHECKING:
    from shutline.usecases.describe import Described

app = typer.Typer()
"""Its commands are those of the whole command line; see `commands`."""


@app.command(epilog="Example: shutline describe blue-saloon --length short --footings")
def describe(
    *,
    car: CarName,
    length: Annotated[str, typer.Option("--length", help="line, short or full.")] = "full",
    form: Annotated[str, typer.Option("--form", help="text, html, markdown or json-ld.")] = "text",
    footings: Annotated[
        bool, typer.Option("--footings", help="List what each sentence stands on, and what was left out and why.")
    ] = False,
    pictures: Annotated[bool, typer.Option("--pictures", help="Show captions and alternative texts, too.")] = False,
    out: Annotated[
        Path | None, typer.Option("--out", help="Write it to this file. [default: print it]", metavar="FILE")
    ] = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Draft the words a car is offered with, out of what stands; each sentence with what it stands on."""
    from shutline.usecases.describe import describe as run_describe
    from shutline.usecases.describe import write_description

    written = None
    with opened(store) as there:
        if out is None:
            made = run_describe(there, car, length=length, form=form, footings=footings)
        else:
            made, written = write_description(there, car, out, length=length, form=form, footings=footings)
    if as_json:
        output.show_json(made)
        return
    for problem in made.problems:
        output.show_problem(problem)
    if written is not None:
        output.print_line(f"Written: {output.printable(written.path)}  ({output.size(written.byte_size)})")
    elif form == "text":
        for line in made.text.splitlines():
            output.print_line(output.wrapped(output.printable(line)) if line else "")
    else:
        output.print_line(output.printable(made.text.rstrip("\n")))
    for line in _more(made, untold=footings, pictures=pictures):
        output.print_line(line)


def _more(made: Described, *, untold: bool, pictures: bool) -> Iterator[str]:
    if untold and made.draft.untold:
        yield ""
        yield "Not told, and why"
        for one in made.draft.untold:
            yield output.wrapped(output.printable(f"{one.id[:12]}  {one.what}: {one.why}"), indent="  ")
    if pictures:
        yield ""
        yield "Pictures" if made.pictures else "No picture shows anything that is told."
        for words in made.pictures:
            yield output.wrapped(output.printable(f"{words.picture[:12]}  {words.caption}"), indent="  ")
            yield output.wrapped(output.printable(words.alt), indent="      ")
