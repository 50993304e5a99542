"""The command that listens to an engine's start."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.car.errors import Problem, UserError
from shutline.cli import output
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, opened

if TYPE_CHECKING:
    from shutline.usecases.engine import EnginePage
    from shutline.usecases.engine_view import EngineView

app = typer.Typer()
"""Its command is one of the whole command line; see `commands`."""


@app.command(epilog="Example: shutline engine blue-saloon --cylinders 4 --from 3:05 --to 3:40")
def engine(
    *,
    car: CarName,
    recording: Annotated[str | None, typer.Option("--recording", help="Which recording, by its id.")] = None,
    start: Annotated[
        str | None, typer.Option("--from", metavar="MOMENT", help="From when, as 185, 3:05 or 1:02:05.")
    ] = None,
    end: Annotated[str | None, typer.Option("--to", metavar="MOMENT", help="To when.")] = None,
    cylinders: Annotated[int | None, typer.Option("--cylinders", help="How many. [default: as said]")] = None,
    strokes: Annotated[int | None, typer.Option("--strokes", help="4 or 2. [default: as said, else 4]")] = None,
    coolant: Annotated[float | None, typer.Option("--coolant", help="Its temperature before the start, °C.")] = None,
    outside: Annotated[float | None, typer.Option("--outside", help="The temperature outside, °C.")] = None,
    standing: Annotated[float | None, typer.Option("--standing", help="Hours since it last ran.")] = None,
    show: Annotated[bool, typer.Option("--kept", help="Show what is kept, and listen to nothing.")] = False,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Listen to an engine's start in a recording: starter, firing, idle speed, beats. It describes, never diagnoses."""
    from shutline.car.engine import ColdReadings
    from shutline.usecases.engine import engine_page, listen
    from shutline.usecases.progress import Stop

    read = ColdReadings(coolant, outside, standing)
    readings = None if read == ColdReadings() else read
    span = None
    if start is not None or end is not None:
        span = (_moment(start or "0", "--from"), math.inf if end is None else _moment(end, "--to"))
    with opened(store) as there:
        if show:
            page = engine_page(there, car)
        else:
            with output.progress(quiet=as_json) as tell:
                page = listen(
                    there,
                    car,
                    recording=recording,
                    span=span,
                    cylinders=cylinders,
                    strokes=strokes,
                    readings=readings,
                    by=by,
                    tell=tell,
                    stop=Stop(),
                )
    if as_json:
        output.show_json(page)
        return
    _show(page)


def _moment(text: str, option: str) -> float:
    """Read a moment: ``185``, ``3:05`` or ``1:02:05``."""
    total = 0.0
    for piece in text.split(":"):
        try:
            value = float(piece)
        except ValueError:
            value = -1.0
        if not (math.isfinite(value) and value >= 0):
            raise UserError(
                Problem(
                    slug="command-line",
                    where=option,
                    found=repr(text[:40]),
                    allowed="seconds, or minutes and seconds: 185, 3:05, 1:02:05",
                    advice="Give a moment so; nothing was done.",
                )
            )
        total = total * 60 + value
    return total


def _show(page: EnginePage) -> None:
    if not page.views:
        output.print_line("Nothing was listened to yet.")
    for view in page.views:
        for line in _lines(view):
            output.print_line(line)
    output.print_line(output.wrapped(page.describes))
    output.print_line(output.wrapped(page.caution))


def _lines(view: EngineView) -> list[str]:
    note = view.note
    lines = [
        f"{view.name}: {note.cylinders} cylinders, {note.strokes}-stroke ({view.cylinders_from})",
        f"  {view.hearing}",
        f"  {view.cold_words}",
    ]
    for one in view.told:
        lines += [f"  {one.label}: {one.words}", output.wrapped(f"{one.meaning} ({one.source})", indent="      ")]
    for missing in view.untold:
        told = f"not told: {', '.join(missing.labels)}: {missing.sentence}. {missing.advice}"
        lines.append(output.wrapped(told, indent="  "))
    for sound in view.moments:
        at = output.clock(sound.start_s)
        lines.append(f"  listen at {at}: {sound.kind}, {sound.over_db:.0f} dB over what is around it")
    return [output.printable(line) for line in lines]
