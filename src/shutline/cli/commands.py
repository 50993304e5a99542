"""The verbs of the command line."""

from __future__ import annotations

import re
import sys
from functools import cache
from typing import Annotated, Any

import typer
from typer.main import get_command

from shutline.car.errors import Problem, ShutlineError, StoppedError, UserError
from shutline.cli import (
    car_commands,
    card_commands,
    claim_commands,
    comparable_commands,
    description_commands,
    engine_commands,
    figure_commands,
    going_out_commands,
    history_commands,
    intake_commands,
    learn_commands,
    ledger_commands,
    look_commands,
    market_commands,
    mask_commands,
    measure_commands,
    note_commands,
    odds_commands,
    output,
    paper_commands,
    past_commands,
    picture_commands,
    prep_commands,
    price_commands,
    reading_commands,
    review_commands,
    ring_commands,
    second_commands,
    settings_commands,
    survey_commands,
    tyre_commands,
)
from shutline.cli.options import AsJson, Author, StoreFolder, note_car, opened

app = typer.Typer(
    name="shutline",
    help="From one filmed walk round an old car to a car file and a report with a footing for every sentence.",
    epilog="Try it: shutline demo",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

_INTERRUPTED = 130
"""What the library under the command line gives for a Ctrl-C that nobody caught."""

_GOING_ON = frozenset({"add", "demo", "unfinished", "buyers-page", "share"})
"""Commands that go on where they were when they are given again."""


app.registered_commands += intake_commands.app.registered_commands
app.registered_commands += look_commands.app.registered_commands


@app.command(epilog="Example: shutline serve --port 8766")
def serve(
    *,
    port: Annotated[int, typer.Option("--port", help="Where it listens; 0 for any that is free.")] = 8766,
    network: Annotated[
        bool,
        typer.Option(
            "--network",
            help="Let in the local network too: whoever is on it and knows the pass phrase sees and changes all cars, "
            "and what is sent can be read on the way.",
        ),
    ] = False,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Open the workbench: a local web page to review what was heard, with the film beside you."""
    from shutline.usecases.settings import author
    from shutline.web.serving import Serving
    from shutline.web.serving import serve as run_serve

    def tell(serving: Serving) -> None:
        if as_json:
            output.show_json(serving)
            return
        output.print_line(f"The workbench is open at {serving.link}")
        if serving.network:
            output.print_line(f"On the local network: {serving.network}  pass phrase: {serving.phrase}")
        output.print_line("Ctrl-C ends it.")

    # The workbench can be where a first car comes in; but not in a folder that was named and holds no store.
    with opened(store, begin=store is None) as there:
        run_serve(there, author=by or author(), port=port, network=network, tell=tell)


app.registered_commands += review_commands.app.registered_commands
app.registered_commands += note_commands.app.registered_commands
app.registered_commands += engine_commands.app.registered_commands
app.registered_commands += figure_commands.app.registered_commands
app.registered_commands += reading_commands.app.registered_commands
app.registered_commands += car_commands.app.registered_commands
app.registered_commands += mask_commands.app.registered_commands
app.registered_commands += ring_commands.app.registered_commands
app.registered_commands += measure_commands.app.registered_commands
app.registered_commands += picture_commands.app.registered_commands
app.registered_commands += odds_commands.app.registered_commands
app.registered_commands += claim_commands.app.registered_commands
app.registered_commands += survey_commands.app.registered_commands
app.registered_commands += history_commands.app.registered_commands
app.registered_commands += paper_commands.app.registered_commands
app.registered_commands += prep_commands.app.registered_commands
app.registered_commands += learn_commands.app.registered_commands
app.registered_commands += price_commands.app.registered_commands
app.registered_commands += card_commands.app.registered_commands
app.registered_commands += market_commands.app.registered_commands
app.registered_commands += past_commands.app.registered_commands
app.registered_commands += tyre_commands.app.registered_commands
app.add_typer(ledger_commands.app)
app.add_typer(comparable_commands.app)
app.registered_commands += description_commands.app.registered_commands
app.registered_commands += going_out_commands.app.registered_commands
app.registered_commands += second_commands.app.registered_commands
app.registered_commands += settings_commands.app.registered_commands


def run(arguments: list[str] | None = None) -> int:
    """Run one command and turn whatever ends it into an exit code; errors are caught here and nowhere else."""
    words = (sys.argv[1:] if arguments is None else arguments) or ["--help"]
    as_json = "--json" in words
    note_car(None)
    try:
        code = _built()(args=words, prog_name="shutline", standalone_mode=False)
    except typer.TyperException as error:
        return _refuse(_usage_error(error), as_json=as_json)
    except ShutlineError as error:
        return _refuse(error, as_json=as_json)
    except (KeyboardInterrupt, typer.Abort):
        code = _INTERRUPTED
    if code == _INTERRUPTED:
        return _refuse(StoppedError(words[0], goes_on=words[0] in _GOING_ON), as_json=as_json)
    return code if isinstance(code, int) else 0


@cache
def _built() -> Any:
    """Give the commands made ready, once: that takes a sixth of a second."""
    return get_command(app)


def _refuse(error: ShutlineError, *, as_json: bool) -> int:
    if as_json:
        output.show_json(output.error_record(error))
    else:
        # Where it speaks of the command line itself, its name stands there already.
        told = re.sub(r"^shutline(?:: | )", "", output.printable(error.problem.sentence()))
        output.log_line(f"shutline: {told}")
    return error.exit_code


def _usage_error(error: typer.TyperException) -> UserError:
    context = getattr(error, "ctx", None)
    message = error.format_message() if hasattr(error, "format_message") else str(error)
    return UserError(
        Problem(
            slug="command-line",
            where=context.command_path if context else "shutline",
            found=" ".join(message.split()).rstrip("."),
            allowed="nothing was done",
            advice=f"See {context.command_path if context else 'shutline'} --help.",
        )
    )
