"""The verb of the masks: what is covered in what goes out, looked for, drawn, moved, confirmed and struck."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.car.errors import Problem, UserError
from shutline.car.masks import Box, BoxAt, MaskKind
from shutline.cli import output
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, opened
from shutline.cli.review_commands import _seconds
from shutline.cli.stopping import stoppable

if TYPE_CHECKING:
    from shutline.store import Store
    from shutline.store.masks import MaskAction
    from shutline.usecases.mask_looks import Looked
    from shutline.usecases.masks import CarMasks, MaskDecided

app = typer.Typer()
"""Its commands are those of the whole command line; see `commands`."""


@app.command(epilog="Example: shutline mask blue-saloon --look")
def mask(
    *,
    car: CarName,
    look: Annotated[
        bool, typer.Option("--look", help="Look through the pictures for marks, chassis numbers and faces.")
    ] = False,
    films: Annotated[bool, typer.Option("--films", help="Look through the films too, whole; slow.")] = False,
    add: Annotated[MaskKind | None, typer.Option("--add", help="Draw a mask of a kind; with --in, --box.")] = None,
    change: Annotated[
        str | None, typer.Option("--change", help="Move a mask, or call it another kind: its id, or the start of it.")
    ] = None,
    confirm: Annotated[
        list[str] | None, typer.Option("--confirm", help="Let a mask stand, by its id; may be repeated.")
    ] = None,
    strike: Annotated[
        list[str] | None, typer.Option("--strike", help="Reject a mask, by its id; may be repeated.")
    ] = None,
    restore: Annotated[
        list[str] | None, typer.Option("--restore", help="Take a rejection back, by its id; may be repeated.")
    ] = None,
    source: Annotated[str | None, typer.Option("--in", help="Id of the picture or recording to draw in.")] = None,
    box: Annotated[
        list[str] | None,
        typer.Option(
            "--box",
            help="Left, top, right, bottom in shares of the picture, as 0.4,0.6,0.55,0.7; repeated, with --at, for "
            "something that moves.",
        ),
    ] = None,
    at: Annotated[
        list[str] | None,
        typer.Option("--at", help="The moment of each --box, as 65.4 or 1:05.4. [default: a picture has none]"),
    ] = None,
    kind: Annotated[MaskKind | None, typer.Option("--kind", help="With --change: what it covers from now on.")] = None,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """List what is covered in what goes out, and change it; originals stay as they are."""
    from shutline.usecases.masks import car_masks

    decisions = [(one, "confirm") for one in confirm or ()] + [(one, "strike") for one in strike or ()]
    decisions += [(one, "restore") for one in restore or ()]
    wanted = [look or films, add is not None, change is not None, bool(decisions)]
    if sum(wanted) > 1:
        raise _refused("several things at once", "one of --look, --add, --change, or of --confirm, --strike, --restore")
    with opened(store) as there:
        if look or films:
            looked = _look(there, car, films=films, quiet=as_json)
            if as_json:
                output.show_json(looked)
                return
            _show_looked(looked)
        elif any(wanted):
            done = _decide(
                there, car, add=add, change=change, source=source, box=box, at=at, kind=kind, decisions=decisions, by=by
            )
            if as_json:
                output.show_json(done)
                return
        listed = car_masks(there, car)
    if as_json:
        output.show_json(listed)
    else:
        _show_masks(listed)


def _look(store: Store, car: str, *, films: bool, quiet: bool) -> Looked:
    from shutline.usecases.mask_looks import look_for_masks

    with stoppable() as stop, output.progress(quiet=quiet) as tell:
        return look_for_masks(store, car, films=films, tell=tell, stop=stop)


def _decide(
    store: Store,
    car: str,
    *,
    add: MaskKind | None,
    change: str | None,
    source: str | None,
    box: Sequence[str] | None,
    at: Sequence[str] | None,
    kind: MaskKind | None,
    decisions: Sequence[tuple[str, str]],
    by: str | None,
) -> tuple[MaskDecided, ...]:
    from shutline.usecases.masks import add_mask, decide_mask

    boxes = [_box(one) for one in box or ()]
    times = [_seconds(one) for one in at or ()]
    if add is not None:
        if source is None or not boxes or (times and len(times) != len(boxes)):
            raise _refused("no --in, no --box, or not one --at for each", "--in ID, --box, and --at for each in a film")
        way = [BoxAt(moment, one) for moment, one in zip(times or [0.0], boxes, strict=False)]
        return (add_mask(store, car, source, add, way, author=by),)
    if change is not None:
        if len(boxes) > 1 or not (boxes or kind):
            raise _refused(f"{len(boxes)} boxes and no kind" if not kind else "several boxes", "--box once, or --kind")
        moment = times[0] if times else None
        place = boxes[0] if boxes else None
        return (decide_mask(store, car, change, "amend", kind=kind, box=place, at_s=moment, author=by),)
    actions: list[tuple[str, MaskAction]] = [(one, action) for one, action in decisions]  # type: ignore[misc]
    return tuple(decide_mask(store, car, one, action, author=by) for one, action in actions)


def _box(text: str) -> Box:
    try:
        left, top, right, bottom = (float(edge) for edge in text.split(","))
        return Box(left, top, right, bottom)
    except ValueError as error:
        raise _refused(
            f"--box {text[:40]!r}", "left,top,right,bottom from 0 to 1, left < right and top < bottom"
        ) from error


def _show_looked(looked: Looked) -> None:
    found = ", ".join(f"{kind} {count}" for kind, count in looked.found.items())
    film = f" and {looked.film_s:.0f} s of film" if looked.film_s else ""
    output.print_line(f"Looked at {looked.pictures} pictures{film}; proposed: {found}.")
    for problem in looked.problems:
        output.show_problem(problem)


def _show_masks(listed: CarMasks) -> None:
    for kept in listed.masks:
        one = kept.mask
        when = f"{one.start_s:.1f} s" if len(one.way) == 1 else f"{one.start_s:.1f} to {one.end_s:.1f} s"
        sure = "" if one.sureness is None else f", sureness {one.sureness:.2f}"
        edges = ",".join(f"{edge:.3f}" for edge in one.way[0].box.edges)
        output.print_line(
            f"{kept.id[:8]}  {one.kind.value:8} {one.state.value:9} in {one.source[:8]} at {when}, box {edges}{sure}; "
            f"found by {output.printable(kept.found_by)}"
        )
    if not listed.masks:
        output.print_line("No masks. Look for them: --look")
    for line in listed.told:
        output.print_line(output.wrapped(line))


def _refused(found: str, allowed: str) -> UserError:
    return UserError(Problem("mask-asked", "shutline mask", found, allowed, "See shutline mask --help."))
