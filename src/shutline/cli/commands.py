"""The verbs of the command line."""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from shutline.car.errors import Problem, ShutlineError, StoppedError, UserError
from shutline.car.findings import Drive
from shutline.cli import (
    car_commands,
    claim_commands,
    description_commands,
    engine_commands,
    figure_commands,
    going_out_commands,
    mask_commands,
    note_commands,
    odds_commands,
    output,
    picture_commands,
    reading_commands,
    review_commands,
    survey_commands,
    tyre_commands,
)
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, note_car, opened

if TYPE_CHECKING:
    from shutline.usecases.progress import Stop

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


@app.command(epilog="Example: shutline demo --out walk-demo")
def demo(
    *,
    out: Annotated[Path, typer.Option("--out", help="Folder for the output.", metavar="DIR")] = Path("out/demo"),
    as_json: AsJson = False,
) -> None:
    """Read the demo recording that comes with the program: film in, car file and report out."""
    from shutline.usecases.demo import demo as run_demo

    with _stoppable() as stop, output.progress(quiet=as_json) as tell:
        made = run_demo(out, tell=tell, stop=stop)
    if as_json:
        output.show_json(made)
        return
    _show_added(made.added)
    _show_report(made.report)


@app.command(epilog="Example: shutline add walk.mp4 plate.jpg --car blue-saloon")
def add(
    *,
    files: Annotated[list[Path], typer.Argument(metavar="FILE...", help="Films, sounds, timed transcripts, pictures.")],
    car: Annotated[
        str | None,
        typer.Option("--car", help="Car to add to; made if new. [default: named after the file]", callback=note_car),
    ] = None,
    title: Annotated[str | None, typer.Option("--title", help="How the car is shown. [default: its name]")] = None,
    drive: Annotated[
        Drive | None, typer.Option("--drive", help="Where the wheel is. [default: as said, else rhd]")
    ] = None,
    transcript: Annotated[
        Path | None,
        typer.Option("--transcript", help="Take the words from this file, not from the sound.", metavar="FILE"),
    ] = None,
    from_sound: Annotated[
        bool, typer.Option("--from-sound", help="Hear the sound, although its words came from a file before.")
    ] = False,
    link: Annotated[
        bool, typer.Option("--link", help="Leave the originals where they are; keep the way to them.")
    ] = False,
    speech_model: Annotated[
        Path | None,
        typer.Option(
            "--speech-model", help="Folder of a more accurate speech model (extra accurate-speech).", metavar="DIR"
        ),
    ] = None,
    figures: Annotated[
        bool | None,
        typer.Option(
            "--figures/--no-figures", help="Read figures off films and pictures, or leave it out. [default: as set]"
        ),
    ] = None,
    engine: Annotated[
        bool | None,
        typer.Option(
            "--engine/--no-engine", help="Listen for the engine being started, or leave it out. [default: as set]"
        ),
    ] = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Bring recordings and pictures in, and read what was said. Given again, it goes on where it was stopped."""
    from shutline.usecases.add import add as run_add

    with opened(store) as there, _stoppable() as stop, output.progress(quiet=as_json) as tell:
        added = run_add(
            there,
            files,
            car=car,
            title=title,
            drive=drive,
            transcript=transcript,
            from_sound=from_sound,
            link=link,
            speech_model=speech_model,
            figures=figures,
            engine=engine,
            tell=tell,
            stop=stop,
        )
    if as_json:
        output.show_json(added)
    else:
        _show_added(added)
    if any(item.error for item in added.items):
        raise typer.Exit(2)


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


@app.command("unfinished", epilog="Example: shutline unfinished --go-on")
def unfinished_recordings(
    *,
    go_on: Annotated[bool, typer.Option("--go-on", help="Read them to their end.")] = False,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """List recordings that were brought in and not read to their end, because a run was stopped."""
    from shutline.usecases.add import Added
    from shutline.usecases.unfinished import go_on as run_go_on
    from shutline.usecases.unfinished import unfinished

    with opened(store) as there, _stoppable() as stop, output.progress(quiet=as_json) as tell:
        left = unfinished(there)
        if go_on:
            added = Added(tuple(run_go_on(there, one.recording, tell=tell, stop=stop) for one in left.recordings))
    if as_json:
        output.show_json(added if go_on else left)
    elif go_on:
        _show_added(added)
    else:
        for one in left.recordings:
            output.print_line(f"{one.car:28} {output.printable(one.name)}; done: {', '.join(one.done) or 'nothing'}")
        if not left.recordings:
            output.print_line("All recordings are read to their end.")


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

    with opened(store) as there:
        run_serve(there, author=by or author(), port=port, network=network, tell=tell)


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

    with opened(store) as there, _stoppable() as stop, output.progress(quiet=as_json) as tell:
        made = make_report(there, car, out=out, only=only, tell=tell, stop=stop)
    if as_json:
        output.show_json(made)
    else:
        _show_report(made)


app.registered_commands += review_commands.app.registered_commands
app.registered_commands += note_commands.app.registered_commands
app.registered_commands += engine_commands.app.registered_commands
app.registered_commands += figure_commands.app.registered_commands
app.registered_commands += reading_commands.app.registered_commands
app.registered_commands += car_commands.app.registered_commands
app.registered_commands += mask_commands.app.registered_commands
app.registered_commands += picture_commands.app.registered_commands
app.registered_commands += odds_commands.app.registered_commands
app.registered_commands += claim_commands.app.registered_commands
app.registered_commands += survey_commands.app.registered_commands
app.registered_commands += tyre_commands.app.registered_commands
app.registered_commands += description_commands.app.registered_commands
app.registered_commands += going_out_commands.app.registered_commands


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
    with opened(store) as there, _stoppable() as stop:
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


@app.command(epilog="Example: shutline read walk.vtt --json")
def read(
    *,
    transcript: Annotated[Path, typer.Argument(metavar="TRANSCRIPT", help="WebVTT, SubRip, JSON or text with times.")],
    drive: Annotated[
        Drive | None, typer.Option("--drive", help="Where the wheel is. [default: as said, else rhd]")
    ] = None,
    why: Annotated[bool, typer.Option("--why", help="Tell of each finding why it was drawn.")] = False,
    as_json: AsJson = False,
) -> None:
    """Read the words of a transcript to findings and facts, and keep nothing."""
    from shutline.cli.words import reading_lines
    from shutline.usecases.read import read_transcript

    reading = read_transcript(transcript, drive=drive)
    if as_json:
        output.show_json(reading)
        return
    for line in reading_lines(reading, why=why):
        output.print_line(line)
    for problem in reading.problems:
        output.show_problem(problem)


@app.command(epilog="Example: shutline words")
def words(*, as_json: AsJson = False) -> None:
    """Check the words of your own that remarks are read with, and say where they lie."""
    from shutline.cli.words import own_words_lines
    from shutline.usecases.own_words import own_words

    own = own_words()
    if as_json:
        output.show_json({"folder": str(own.folder), "edition": own.edition, "rows": own.rows})
        return
    for line in own_words_lines(own):
        output.print_line(line)


@app.command(epilog="Example: shutline settings --json")
def settings(*, as_json: AsJson = False) -> None:
    """Show all that you may set: the house, words of your own, what is taken from the film, the second reader."""
    from shutline.cli.words import settings_lines
    from shutline.usecases.user_settings import user_settings

    shown = user_settings()
    if as_json:
        output.show_json(shown)
        return
    for line in settings_lines(shown):
        output.print_line(line)


def run(arguments: list[str] | None = None) -> int:
    """Run one command and turn whatever ends it into an exit code; errors are caught here and nowhere else."""
    words = (sys.argv[1:] if arguments is None else arguments) or ["--help"]
    as_json = "--json" in words
    note_car(None)
    try:
        code = app(args=words, prog_name="shutline", standalone_mode=False)
    except typer.TyperException as error:
        return _refuse(_usage_error(error), as_json=as_json)
    except ShutlineError as error:
        return _refuse(error, as_json=as_json)
    except (KeyboardInterrupt, typer.Abort):
        code = _INTERRUPTED
    if code == _INTERRUPTED:
        return _refuse(StoppedError("shutline"), as_json=as_json)
    return code if isinstance(code, int) else 0


def _refuse(error: ShutlineError, *, as_json: bool) -> int:
    if as_json:
        output.show_json(output.error_record(error))
    else:
        output.log_line(f"shutline: {output.printable(error.problem.sentence())}")
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


@contextmanager
def _stoppable() -> Iterator[Stop]:
    """Turn the first Ctrl-C into a request to stop at the next good moment; the second one stops at once."""
    from shutline.usecases.progress import Stop

    stop = Stop()

    def ask(number: int, frame: object) -> None:
        del number, frame
        if stop.asked():
            raise KeyboardInterrupt
        output.log_line("stopping after this piece; Ctrl-C again stops at once")
        stop.ask()

    try:
        former = signal.signal(signal.SIGINT, ask)
    except ValueError:  # not the main thread: whoever runs us there handles signals
        yield stop
        return
    try:
        yield stop
    finally:
        signal.signal(signal.SIGINT, former)


def _show_added(added: Any) -> None:
    from shutline.cli.words import added_lines

    for line in added_lines(added):
        output.print_line(line)
    for item in added.items:
        for problem in (*item.problems, *([item.error] if item.error else [])):
            output.show_problem(problem)


def _show_report(made: Any) -> None:
    from shutline.cli.words import report_lines

    for line in report_lines(made):
        output.print_line(line)
    for problem in made.problems:
        output.show_problem(problem)
