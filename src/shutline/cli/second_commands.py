"""The verb that has the words read a second time."""

from __future__ import annotations

import sys
from dataclasses import replace
from typing import Annotated

import typer

from shutline.cli import output
from shutline.cli.options import AsJson, CarName, StoreFolder, opened
from shutline.cli.stopping import stoppable

app = typer.Typer()
"""Its commands are those of the whole command line; see `commands`."""


@app.command(epilog="Example: shutline second blue-saloon --address http://127.0.0.1:8080/v1 --model NAME")
def second(
    *,
    car: CarName,
    address: Annotated[
        str | None,
        typer.Option("--address", help="Where the service is asked. [default: as in the settings]", metavar="URL"),
    ] = None,
    model: Annotated[
        str | None, typer.Option("--model", help="Name of its model. [default: as in the settings]", metavar="NAME")
    ] = None,
    key_variable: Annotated[
        str | None,
        typer.Option(
            "--key-variable",
            help="Environment variable that holds the key. [default: as in the settings]",
            metavar="NAME",
        ),
    ] = None,
    plain_http: Annotated[
        bool, typer.Option("--plain-http", help="Allow http to another machine, where words can be read on the way.")
    ] = False,
    agree: Annotated[
        bool, typer.Option("--agree", help="The first time: the words may be sent there. [default: asked, or refused]")
    ] = False,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Say what would be sent and where, and send nothing.")
    ] = False,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Have the words read a second time by a service you name, and compare; findings are not changed by it."""
    from shutline.cli.words import second_lines
    from shutline.usecases.second import ask_second, what_is_sent
    from shutline.usecases.settings import second_reader_settings

    choice = second_reader_settings()
    if address is not None:
        # A key that was set for one address does not go to another.
        choice = replace(choice, address=address, key_variable=None, plain_http=False)
    choice = replace(
        choice,
        model=choice.model if model is None else model,
        key_variable=choice.key_variable if key_variable is None else key_variable,
        plain_http=plain_http or choice.plain_http,
    )
    with opened(store) as there, stoppable() as stop:
        sending = what_is_sent(there, car, choice=choice)
        if dry_run:
            if as_json:
                output.show_json(sending)
            else:
                output.print_line(output.wrapped(output.printable(sending.sentence())))
            return
        if not as_json:
            output.log_line(output.wrapped(output.printable(sending.sentence())))
        if sending.first and not agree and not as_json and sys.stdin.isatty():
            agree = typer.confirm("Send them?", err=True)
        with output.progress(quiet=as_json) as tell:
            asked = ask_second(there, car, choice=choice, agreed=agree, tell=tell, stop=stop)
    if as_json:
        output.show_json(asked)
        return
    for line in second_lines(asked):
        output.print_line(line)
    for problem in asked.problems:
        output.show_problem(problem)
