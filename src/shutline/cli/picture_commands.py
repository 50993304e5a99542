"""The verbs of pictures and films that go out: pictures by part, contact sheets, clips, copies of films."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.car.errors import Problem, UserError
from shutline.cli import output
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, opened
from shutline.cli.review_commands import _seconds
from shutline.cli.stopping import stoppable

if TYPE_CHECKING:
    from shutline.publish.bare import Tells
    from shutline.store import Store
    from shutline.usecases.joined_pictures import CarPictures, JoinedPicture
    from shutline.usecases.published_films import FilmWritten

app = typer.Typer()
"""Its commands are those of the whole command line; see `commands`."""

Out = Annotated[Path | None, typer.Option("--out", help="File to write. [default: in out/CAR]", metavar="FILE")]
TellOf = Annotated[
    list[str] | None,
    typer.Option("--tell", help="place, device or time: let it go out with that; may be repeated. [default: none]"),
]
RecordingId = Annotated[
    str | None, typer.Option("--recording", help="Id of the recording. [default: the only one, or its own]")
]


@app.command(epilog="Example: shutline pictures blue-saloon --picture 3f2a --of 'nearside sill'")
def pictures(
    *,
    car: CarName,
    picture: Annotated[
        str | None, typer.Option("--picture", help="A picture taken by hand, by its id or the start of it.")
    ] = None,
    of: Annotated[
        str | None, typer.Option("--of", help="The place that it is of, as 'nearside sill'; '' for none.")
    ] = None,
    shows: Annotated[
        str | None, typer.Option("--shows", help="Id of a finding that stands on it from now on, as seen.")
    ] = None,
    no_longer: Annotated[
        str | None, typer.Option("--no-longer-shows", help="Id of a finding that no longer stands on it.")
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", help="Write it there as it may go out, covered and telling nothing.", metavar="FILE"),
    ] = None,
    tell: TellOf = None,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """List the pictures of a car by part, say which part one taken by hand is of, or write one to go out."""
    from shutline.usecases.joined_pictures import car_pictures, place_picture, show_with_picture
    from shutline.usecases.picture_out import write_picture

    if picture is None and (of, shows, no_longer, out) != (None, None, None, None):
        raise UserError(_no_picture())
    with opened(store) as there:
        if picture is None:
            _show_pictures(car_pictures(there, car), as_json=as_json)
            return
        if of is not None:
            place_picture(there, car, picture, of or None, author=by)
        if shows is not None:
            show_with_picture(there, car, picture, shows, author=by)
        if no_longer is not None:
            show_with_picture(there, car, picture, no_longer, shows=False, author=by)
        written = None if out is None else write_picture(there, car, picture, out=out, tells=_tells(tell))
        now = _one(there, car, picture)
    if as_json:
        output.show_json(now if written is None else written)
        return
    for line in _picture_lines(now):
        output.print_line(line)
    if written is not None:
        output.print_line(f"{written.path} ({output.size(written.byte_size)})")


@app.command(epilog="Example: shutline sheet blue-saloon 'nearside sill' --out sill.pdf")
def sheet(
    *,
    car: CarName,
    place: Annotated[str, typer.Argument(metavar="PLACE", help="Where on the car, as 'nearside front wing'.")],
    out: Out = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Write the contact sheet of a part: each time the film is there, and pictures of it. PNG, JPEG or PDF."""
    from shutline.usecases.contact_sheet import write_contact_sheet

    with opened(store) as there, stoppable() as stop, output.progress(quiet=as_json) as tell:
        made = write_contact_sheet(there, car, place, out=out, tell=tell, stop=stop)
    if as_json:
        output.show_json(made)
        return
    moments = ", ".join(output.clock(tile.at_s) for tile in made.tiles if tile.at_s is not None)
    output.print_line(f"{made.path} ({output.size(made.byte_size)}): {made.name}, {len(made.tiles)} pictures")
    if moments:
        output.print_line(f"Moments: {moments}")
    for problem in made.problems:
        output.show_problem(problem)


@app.command(epilog="Example: shutline clip blue-saloon 569acb --exact")
def clip(
    *,
    car: CarName,
    finding: Annotated[
        str | None, typer.Argument(metavar="[ID]", help="A finding, by its id or the start of it.")
    ] = None,
    start: Annotated[
        str | None, typer.Option("--from", help="In place of the finding's own: 65.4, 1:05.4 or 1:02:05.")
    ] = None,
    end: Annotated[str | None, typer.Option("--to", help="Where it ends, in the same way.")] = None,
    exact: Annotated[
        bool, typer.Option("--exact", help="Begin and end within a frame; the picture is coded anew.")
    ] = False,
    recording: RecordingId = None,
    tell: TellOf = None,
    out: Out = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Write a clip of a finding, or from one moment to another: as it is from the key frame before, or exactly."""
    from shutline.usecases.published_films import write_clip

    with opened(store) as there, stoppable() as stop, output.progress(quiet=as_json) as progress:
        made = write_clip(
            there,
            car,
            finding,
            start_s=None if start is None else _seconds(start),
            end_s=None if end is None else _seconds(end),
            recording=recording,
            exact=exact,
            tells=_tells(tell),
            out=out,
            tell=progress,
            stop=stop,
        )
    _show_film(made, as_json=as_json)


@app.command(epilog="Example: shutline film blue-saloon --out walk-with-chapters.mp4")
def film(
    *,
    car: CarName,
    recording: RecordingId = None,
    no_captions: Annotated[
        bool, typer.Option("--no-captions", help="Leave the words out: all that was said stands in them.")
    ] = False,
    tell: TellOf = None,
    out: Out = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Write a copy of a film with chapters and captions in it; the original stays as it is."""
    from shutline.usecases.published_films import write_film

    with opened(store) as there, stoppable() as stop, output.progress(quiet=as_json) as progress:
        made = write_film(
            there,
            car,
            recording=recording,
            captions=not no_captions,
            tells=_tells(tell),
            out=out,
            tell=progress,
            stop=stop,
        )
    _show_film(made, as_json=as_json)
    if made.captions and not as_json:
        output.print_line("Its captions hold every word that was said, private ones too.")


def _tells(asked: list[str] | None) -> Tells | None:
    from shutline.publish.bare import Tells

    if not asked:
        return None
    for what in asked:
        if what not in Tells.__dataclass_fields__:
            raise UserError(
                Problem(
                    slug="command-line",
                    where="--tell",
                    found=repr(what[:40]),
                    allowed="place, device or time",
                    advice="Leave it out to let nothing of that go out.",
                )
            )
    return Tells(**dict.fromkeys(asked, True))


def _one(store: Store, car: str, picture: str) -> JoinedPicture:
    from shutline.usecases.joined_pictures import car_pictures, picture_of
    from shutline.usecases.look import find_car

    wanted = picture_of(find_car(store, car), picture).id
    return next(one for one in car_pictures(store, car).all_pictures() if one.id == wanted)


def _show_pictures(view: CarPictures, *, as_json: bool) -> None:
    if as_json:
        output.show_json(view)
        return
    for part in view.parts:
        stills = len({still.sha256 for found in part.findings for still in found.stills})
        times = ", ".join(output.clock(time.start_s) for time in part.times)
        count = "1 still" if stills == 1 else f"{stills} stills"
        output.print_line(f"{part.name}: {count}{f'; spoken of at {times}' if times else ''}  {part.place}")
        for picture in part.pictures:
            for line in _picture_lines(picture):
                output.print_line(line)
    if view.loose:
        output.print_line("Not placed:")
    for picture in view.loose:
        for line in _picture_lines(picture):
            output.print_line(line)
    if not view.parts and not view.loose:
        output.print_line("No pictures yet.")


def _picture_lines(picture: JoinedPicture) -> list[str]:
    where = "of no part in particular" if picture.place is None else f"of the {(picture.name or '').lower()}"
    said = f", said by {picture.by}" if picture.by else ""
    lines = [f"  {output.printable(picture.called)}: {where}{output.printable(said)}  {picture.id}"]
    lines += [output.wrapped(output.printable(f"perhaps {o.name.lower()}: {o.reason}  {o.place}"), indent="      ")
              for o in picture.offers]  # fmt: skip
    return lines


def _show_film(made: FilmWritten, *, as_json: bool) -> None:
    if as_json:
        output.show_json(made)
        return
    words = f"from {output.clock(made.start_s)} to {output.clock(made.end_s)}"
    if made.early_s > 0.05:
        words += f", {made.early_s:.1f} s earlier than asked for"
    if made.covered:
        words += "; covered, so the picture is coded anew"
    if made.chapters or made.captions:
        words += f"; {made.chapters} chapters, {made.captions} captions"
    output.print_line(f"{made.path} ({output.size(made.byte_size)}): {words}")
    for problem in made.problems:
        output.show_problem(problem)


def _no_picture() -> Problem:
    return Problem(
        slug="command-line",
        where="--picture",
        found="no picture is named",
        allowed="--of, --shows, --no-longer-shows and --out are of one picture",
        advice="Name it by its id; `shutline pictures CAR` lists them.",
    )
