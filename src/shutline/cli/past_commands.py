"""The verb by which a person enters a car's past: its keepers, the countries it was in, and its dates."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from shutline.car.errors import Problem, UserError
from shutline.cli import output
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, opened

if TYPE_CHECKING:
    from shutline.usecases.past import PastLine, PastVerb

app = typer.Typer()
"""Its command is one of the whole command line; see `commands`."""


@app.command(epilog="Example: shutline past blue-saloon --country FR --from 1969 --until 1987-03 --on 'carte grise'")
def past(
    *,
    car: CarName,
    keeper: Annotated[
        str | None, typer.Option("--keeper", help="Enter a keeper by name, which stays private, or ''.")
    ] = None,
    country: Annotated[
        str | None, typer.Option("--country", help="Enter a country it was in, by its name or its two letters.")
    ] = None,
    date: Annotated[
        str | None, typer.Option("--date", help="Enter a date of the car: made, registered, used or imported.")
    ] = None,
    start: Annotated[
        str | None, typer.Option("--from", help="From when: a year, a month or a day, such as 1987-03.")
    ] = None,
    until: Annotated[str | None, typer.Option("--until", help="Until when, or 'now'.")] = None,
    on: Annotated[
        str | None, typer.Option("--on", help="What it rests on: said, registration, or what a paper is called.")
    ] = None,
    where: Annotated[str | None, typer.Option("--in", help="In which country a date was.")] = None,
    amend: Annotated[str | None, typer.Option("--amend", help="Amend an entry by what else is given.")] = None,
    strike: Annotated[str | None, typer.Option("--strike", help="Strike an entry; it is kept.")] = None,
    again: Annotated[str | None, typer.Option("--again", help="Let a struck entry stand again.")] = None,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Show what was entered of a car's keepers, countries and dates; enter more, amend it, or strike it."""
    from shutline.car.past import PastKind
    from shutline.usecases.past import change_past, enter_past, past_shown

    about = {PastKind.KEEPER: keeper, PastKind.COUNTRY: country, PastKind.DATE: date}
    named = [(kind, text) for kind, text in about.items() if text is not None]
    asked: dict[PastVerb, str | None] = {"amend": amend, "strike": strike, "again": again}
    done = [(verb, ref) for verb, ref in asked.items() if ref is not None]
    given = {"start": start, "until": until, "on": on, "country": where}
    fields = {name: text for name, text in given.items() if text is not None}
    if len(named) > 1 or len(done) > 1 or (fields and not named and not done):
        raise _refused()
    if named:
        fields["about"] = named[0][1]
    with opened(store) as there:
        if done:
            verb, ref = done[0]
            line = change_past(there, car, ref, verb, fields, author=by)
        elif named:
            line = enter_past(there, car, named[0][0], fields, author=by)
        else:
            shown = past_shown(there, car)
            if as_json:
                output.show_json(shown)
                return
            for one in shown.lines:
                _show(one)
            return
    if as_json:
        output.show_json(line)
    else:
        _show(line)


def _show(line: PastLine) -> None:
    struck = ", struck" if line.state == "struck" else ""
    output.print_line(output.printable(f"{line.words}{struck}; {line.by}, {line.at[:10]}  {line.id}"))


def _refused() -> UserError:
    found, allowed = "what was given does not go together", "one of --keeper, --country, --date, or one entry changed"
    return UserError(Problem("command-line", "past", found, allowed, "Give it so; nothing was done."))
