"""The verbs of measuring on pictures: print the marker card, and measure what was picked."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.car.errors import Problem, UserError
from shutline.cli import output
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, opened

if TYPE_CHECKING:
    from shutline.usecases.measuring import Lab, Measured, MeasuringView, Place

app = typer.Typer()
"""Its commands are of the whole command line; see `commands`."""


@app.command("marker-card", epilog="Example: shutline marker-card --out card.pdf")
def marker_card(
    *,
    out: Annotated[Path, typer.Option("--out", help="The PDF to write.", metavar="FILE")] = Path("marker-card.pdf"),
    card: Annotated[
        str, typer.Option("--card", help="sheet, 180 by 130 mm; small, 120 by 80 mm; or blisters.")
    ] = "sheet",
    as_json: AsJson = False,
) -> None:
    """Write the card that sizes are read off by, or the drawn scale of blisters, as a PDF to be printed at 100 %."""
    from shutline.usecases.marker_card import write_marker_card

    made = write_marker_card(out, card=card)
    if as_json:
        output.show_json(made)
        return
    output.print_line(f"Wrote {output.printable(made.file)}")
    output.print_line(output.wrapped(made.how))


@app.command(epilog="Example: shutline measure blue-saloon --picture 4f --length 1204,880 --length 1810,902")
def measure(
    *,
    car: CarName,
    picture: Annotated[str, typer.Option("--picture", help="A picture of the car, by its id.", metavar="ID")] = "",
    length: Annotated[
        list[str] | None,
        typer.Option("--length", help="A point of a length, pixels across and down; two or more.", metavar="X,Y"),
    ] = None,
    area: Annotated[
        list[str] | None, typer.Option("--area", help="A corner of an area; three or more.", metavar="X,Y")
    ] = None,
    rust: Annotated[
        list[str] | None, typer.Option("--rust", help="A corner of a piece to tell rust in.", metavar="X,Y")
    ] = None,
    colour: Annotated[
        list[str] | None,
        typer.Option("--colour", help="A corner of a piece on one side of a shut line.", metavar="X,Y"),
    ] = None,
    beside: Annotated[
        list[str] | None, typer.Option("--beside", help="With --colour: of one on the other side.", metavar="X,Y")
    ] = None,
    grey: Annotated[
        list[str] | None, typer.Option("--grey", help="With --colour: of a grey card.", metavar="X,Y")
    ] = None,
    grey_lab: Annotated[
        str | None,
        typer.Option("--grey-lab", help="With --grey: what the card is. [default: 18 % grey]", metavar="L,A,B"),
    ] = None,
    chart: Annotated[
        list[str] | None,
        typer.Option("--chart", help="With --colour: middle of a corner field of your own chart; four.", metavar="X,Y"),
    ] = None,
    blisters: Annotated[
        str | None, typer.Option("--blisters", help="Blisters by the drawn scale; 0,0: none.", metavar="DENSITY,SIZE")
    ] = None,
    lab: Annotated[
        str | None, typer.Option("--lab", help="A colour that a spectrophotometer gave.", metavar="L,A,B")
    ] = None,
    lab_beside: Annotated[
        str | None,
        typer.Option("--lab-beside", help="With --lab: that of the other side of the line.", metavar="L,A,B"),
    ] = None,
    lab_uncertainty: Annotated[
        float | None, typer.Option("--lab-uncertainty", help="Standard uncertainty of each figure of both.")
    ] = None,
    ruler: Annotated[float | None, typer.Option("--ruler", help="What the card's printed ruler measures, mm.")] = None,
    pick: Annotated[
        float | None, typer.Option("--pick", help="Standard uncertainty of a place, pixels. [default: 2]")
    ] = None,
    part: Annotated[str, typer.Option("--part", help="Keep it as a reading of this part.")] = "",
    side: Annotated[str, typer.Option("--side", help="near or off.")] = "",
    position: Annotated[str, typer.Option("--position", help="front or rear.")] = "",
    spot: Annotated[str, typer.Option("--spot", help="Where within the part: bottom, top front.")] = "",
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Measure on a picture of a car: a length, an area, rust, colour across a shut line; or keep what you rated."""
    from shutline.usecases.measuring import Measure, MeasuredPlace, Picked, measure_on_car, measuring_view

    given = {
        Measure.LENGTH: length,
        Measure.AREA: area,
        Measure.RUST: rust,
        Measure.COLOUR: colour,
        Measure.BLISTERS: [] if blisters is None else [blisters],
        Measure.COLOURS: [each for each in (lab, lab_beside) if each is not None],
    }
    asked = [(what, told) for what, told in given.items() if told]
    with opened(store) as there:
        view = measuring_view(there, car)
        if not asked and not picture:
            if as_json:
                output.show_json(view)
            else:
                _show_view(view)
            return
        if len(asked) != 1:
            allowed = "one of --length, --area, --rust, --colour, --blisters and --lab"
            raise _given(f"{len(asked)} kinds of measuring", allowed)
        what, told = asked[0]
        of = next((one for one in view.pictures if picture and one.id.startswith(picture.lower())), None)
        size = (of.width, of.height) if of else (1, 1)
        rating = None if blisters is None else _rating(blisters)
        picked = Picked(
            what,
            _places(told, size) if what not in (Measure.BLISTERS, Measure.COLOURS) else (),
            _places(beside or [], size),
            _places(grey or [], size),
            ruler_mm=ruler,
            pick_px=pick,
            grey_lab=_lab(grey_lab),
            chart=_places(chart or [], size),
            density=None if rating is None else rating[0],
            size=None if rating is None else rating[1],
            lab=_lab(lab),
            lab_beside=_lab(lab_beside),
            lab_uncertainty=lab_uncertainty,
        )
        keep = MeasuredPlace(part, side, position, spot)
        measured = measure_on_car(there, car, picture, picked, keep=keep, author=by)
    if as_json:
        output.show_json(measured)
    else:
        _show(measured)


def _places(texts: list[str], size: tuple[int, int]) -> tuple[Place, ...]:
    """Read places given in pixels, the middle of the first at 0, 0, as shares of the picture."""
    found = []
    for text in texts:
        numbers = text.split(",")
        try:
            across, down = (float(each) for each in numbers)
        except ValueError:
            raise _given(f"a place {text[:40]!r}", "pixels across and down, as 1204,880") from None
        found.append(((across + 0.5) / size[0], (down + 0.5) / size[1]))
    return tuple(found)


def _lab(text: str | None) -> Lab | None:
    if text is None:
        return None
    light, red, yellow = _numbers(text, 3, "45.2,12.1,-3.3, L* and a* and b*")
    return light, red, yellow


def _rating(text: str) -> tuple[int, int]:
    allowed = "3,4, density and size by the drawn scale, or 0,0 for none"
    density, size = _numbers(text, 2, allowed)
    if not (density.is_integer() and size.is_integer()):
        raise _given(f"{text[:40]!r}", allowed)
    return int(density), int(size)


def _numbers(text: str, count: int, allowed: str) -> tuple[float, ...]:
    try:
        found = tuple(float(each) for each in text.split(","))
    except ValueError:
        found = ()
    if len(found) != count or not all(map(math.isfinite, found)):
        raise _given(f"{text[:40]!r}", allowed)
    return found


def _given(found: str, allowed: str) -> UserError:
    return UserError(Problem("command-line", "shutline measure", found, allowed, "Give it so; nothing was done."))


def _show_view(view: MeasuringView) -> None:
    if not view.pictures:
        output.print_line("The car has no picture to measure on.")
    for problem in view.problems:
        output.show_problem(problem)
    for one in view.pictures:
        output.print_line(f"{one.id}  {output.printable(one.name)}, {one.width} by {one.height} pixels")


def _show(measured: Measured) -> None:
    output.print_line(output.wrapped(measured.sentence))
    for name, value in measured.more.items():
        output.print_line(output.wrapped(f"{name}: {value}", indent="  "))
    for caution in measured.cautions:
        output.print_line(output.wrapped(caution, indent="  "))
    output.print_line(output.wrapped(f"{measured.good_for} {measured.who_decides}"))
    for kept in measured.kept:
        output.print_line(f"Kept as a reading  {kept.id}")
