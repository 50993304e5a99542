"""The verbs that bring recordings in and read them."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from shutline.car.findings import Drive
from shutline.cli import output
from shutline.cli.look_commands import show_report
from shutline.cli.options import AsJson, StoreFolder, note_car, opened
from shutline.cli.stopping import stoppable

app = typer.Typer()
"""Its commands are those of the whole command line; see `commands`."""


@app.command(epilog="Example: shutline demo --out walk-demo")
def demo(
    *,
    out: Annotated[Path, typer.Option("--out", help="Folder for the output.", metavar="DIR")] = Path("out/demo"),
    as_json: AsJson = False,
) -> None:
    """Read the demo recording that comes with the program: film in, car file and report out."""
    from shutline.usecases.demo import demo as run_demo

    with stoppable() as stop, output.progress(quiet=as_json) as tell:
        made = run_demo(out, tell=tell, stop=stop)
    if as_json:
        output.show_json(made)
        return
    _show_added(made.added)
    show_report(made.report)


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

    with opened(store, begin=True) as there, stoppable() as stop, output.progress(quiet=as_json) as tell:
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

    with opened(store) as there, stoppable() as stop, output.progress(quiet=as_json) as tell:
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


def _show_added(added: Any) -> None:
    from shutline.cli.words import added_lines

    for line in added_lines(added):
        output.print_line(line)
    for item in added.items:
        for problem in (*item.problems, *([item.error] if item.error else [])):
            output.show_problem(problem)
