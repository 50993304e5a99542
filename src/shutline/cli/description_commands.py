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
    our_draft: Annotated[
        bool, typer.Option("--our-draft", help="Give our draft, even where accepted words go out in its place.")
    ] = False,
    out: Annotated[
        Path | None, typer.Option("--out", help="Write it to this file. [default: print it]", metavar="FILE")
    ] = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Give the words a car is offered with: those that were accepted, or a draft out of what stands."""
    from shutline.usecases.describe import describe_out, write_description

    written = None
    missing = None if out is None else output.first_missing(out.parent)
    with opened(store) as there:
        if out is None:
            made = describe_out(there, car, length=length, form=form, footings=footings, our_draft=our_draft)
        else:
            made, written = write_description(
                there, car, out, length=length, form=form, footings=footings, our_draft=our_draft
            )
    if as_json:
        output.show_json(made)
        return
    for problem in made.problems:
        output.show_problem(problem)
    if made.accepted_by:
        output.log_line(output.wrapped(output.printable(_whose(made))))
    if written is not None:
        for line in output.new_folder(missing):
            output.print_line(line)
        output.print_line(f"Written: {output.printable(written.path)}  ({output.size(written.byte_size)})")
    elif form == "text":
        for line in made.text.splitlines():
            output.print_line(output.wrapped(output.printable(line)) if line else "")
    else:
        output.print_line(output.printable(made.text.rstrip("\n")))
    for line in _more(made, untold=footings, pictures=pictures):
        output.print_line(line)


def _whose(made: Described) -> str:
    """Tell whose words these are, where somebody accepted any."""
    who = made.accepted_by
    if not made.is_draft:
        return f"These are the words that {who} accepted. Our draft: shutline describe {made.car} --our-draft"
    if made.held_back:
        return f"This is our draft. The words that {who} accepted are held back: something else stands than stood then."
    return f"This is our draft. What goes out, at full length, are the words that {who} accepted."


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
