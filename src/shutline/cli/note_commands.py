"""The verbs of notes made at the car: what there is, and one more."""

from __future__ import annotations

import secrets
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.car.errors import Problem, UserError
from shutline.car.findings import Severity
from shutline.car.notes import NoteKind
from shutline.cli import output
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, opened

if TYPE_CHECKING:
    from shutline.store import Store
    from shutline.usecases.note_keeping import NoteKept, Says

app = typer.Typer()
"""Its commands are those of the whole command line; see `commands`."""


@app.command(epilog="Example: shutline notes blue-saloon")
def notes(*, car: CarName, store: StoreFolder = None, as_json: AsJson = False) -> None:
    """List the notes made at a car, newest first; as JSON with all its places and what is known of each."""
    from shutline.usecases.at_the_car import at_the_car

    with opened(store) as there:
        found = at_the_car(there, car)
    if as_json:
        output.show_json(found)
        return
    names = {place.key: place.name for place in found.places}
    if not found.notes:
        output.print_line('No notes yet. Make one: shutline note CAR "nearside sill" --words "soft at the back"')
    for one in found.notes:
        told = one.note.words or one.heard or one.note.kind
        output.print_line(f"{names[one.place]}: {told} ({one.note.at[:16]}, {one.note.author})")


@app.command(epilog="Example: shutline note blue-saloon 'nearside sill' sill.jpg --shows rust --severity slight")
def note(
    *,
    car: CarName,
    place: Annotated[str, typer.Argument(metavar="PLACE", help="Where on the car, as 'nearside front wing'.")],
    file: Annotated[Path | None, typer.Argument(metavar="[FILE]", help="A picture, or a spoken note.")] = None,
    words: Annotated[str | None, typer.Option("--words", help="A typed note, in place of a file.")] = None,
    shows: Annotated[str | None, typer.Option("--shows", help="A condition by its id: enters it as a finding.")] = None,
    severity: Annotated[Severity | None, typer.Option("--severity", help="How bad it is, with --shows.")] = None,
    figures: Annotated[
        bool | None,
        typer.Option("--figures/--no-figures", help="Read figures off a picture, or leave it out. [default: as set]"),
    ] = None,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Keep a picture, a spoken or a typed note at a place of a car; spoken words are read as said of that place."""
    from shutline.usecases.note_keeping import Says, hear_notes, read_picture

    if (file is None) == (words is None):
        raise UserError(
            Problem(
                slug="note-words",
                where="note",
                found="both a file and words" if words is not None else "neither a file nor words",
                allowed="one of them",
                advice="Name a file, or write the words with --words.",
            )
        )
    says = None if shows is None else Says(shows, severity=severity)
    with opened(store) as there:
        kept = _keep(there, car, place, file=file, words=words, says=says, by=by)
        if kept.note.kind is NoteKind.SPOKEN:
            hear_notes(there)
        elif kept.note.kind is NoteKind.PICTURE:
            # What goes wrong with it is kept with the car.
            came = read_picture(there, kept.car, kept.note.source, figures=figures)
            kept = replace(kept, problems=(*kept.problems, *came.problems))
    if as_json:
        output.show_json(kept)
        return
    output.print_line(f"Kept at {place} of {kept.car}.")
    for problem in kept.problems:
        output.print_line(problem.sentence())


def _keep(
    store: Store, car: str, place: str, *, file: Path | None, words: str | None, says: Says | None, by: str | None
) -> NoteKept:
    from shutline.car.recordings import Kind
    from shutline.usecases.add import look_into
    from shutline.usecases.note_keeping import keep_file, keep_words, say_what_it_shows

    token = secrets.token_hex(16)
    if file is None:
        return keep_words(store, car, words or "", place=place, token=token, says=says, by=by)
    kind = NoteKind.PICTURE if look_into(file, name=file.name).kind is Kind.PICTURE else NoteKind.SPOKEN
    kept = keep_file(store, car, file, kind=kind, place=place, token=token, name=file.name, by=by)
    if says is None:
        return kept
    return say_what_it_shows(store, kept.car, token, says, token=secrets.token_hex(16), by=by)
