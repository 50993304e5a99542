"""The verb of learning: what hours that were taken say of the house's own ranges."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.cli import output
from shutline.cli.options import AsJson, Author, StoreFolder, opened

if TYPE_CHECKING:
    from shutline.usecases.prep_learning import LearningShown, MoveShown

app = typer.Typer()
"""Its command is one of the whole command line; see `commands`."""


@app.command(epilog="Example: shutline learn --accept weld_patch")
def learn(
    *,
    accept: Annotated[
        list[str] | None,
        typer.Option(
            "--accept", help="A job, or job/trade, whose hours are written as they would move; again for more."
        ),
    ] = None,
    accept_all: Annotated[bool, typer.Option("--accept-all", help="Write all of them as they would move.")] = False,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Show how the hours of jobs would move by those that were taken on all cars; nothing moves until accepted."""
    from shutline.usecases.prep_learning import accept_moves, learning

    with opened(store) as there:
        if accept or accept_all:
            done = accept_moves(there, () if accept_all else accept or (), author=by)
            if as_json:
                output.show_json(done)
                return
            output.print_line(f"Written into {done.file}; what stood there before is kept beside it.")
            for move in done.moves:
                output.print_line(_said(move))
            return
        found = learning(there)
    if as_json:
        output.show_json(found)
        return
    for line in _lines(found):
        output.print_line(line)


def _lines(found: LearningShown) -> Iterator[str]:
    if not found.lines:
        yield "No hours that were taken are known: tick work off with them, shutline prep CAR --done TASK --hours H."
    for move in found.moves:
        yield _said(move)
    if found.settled:
        yield f"{found.settled} more stand where the hours want them."
    if found.left:
        yield "Not counted"
        for one in found.left:
            yield output.wrapped(output.printable(one), indent="  ")
    if found.accepted:
        yield "Accepted before"
        for before in found.accepted:
            was, now = _spans(before.before, before.after)
            said = f"{before.id}: {was} hours became {now}. {before.author}, {before.on}"
            said += "" if before.holds else "; the table says otherwise now"
            yield output.wrapped(output.printable(said), indent="  ")
    if found.moves:
        yield output.wrapped("Nothing has moved. Accept with --accept JOB or --accept-all.")


def _said(move: MoveShown) -> str:
    was, now = _spans(move.before, move.after)
    done = f"{move.count} task{'s' if move.count > 1 else ''}, in the middle {move.taken_hours:.2f} hours"
    if move.taken_hours > 1.005 * move.middle_hours:
        done += f" ({move.middle_hours:.2f} without what is usually found on opening)"
    return output.wrapped(
        output.printable(
            f"{move.id}  {move.words}, {move.trade_name}: {was} hours become {now}. Done: {done}, weighing "
            f"{move.weight:.0%}; the table counts as {move.table_count:.1f}."
        )
    )


def _spans(*spans: tuple[float, float, float]) -> Iterator[str]:
    return (", ".join(f"{one:.2f}" for one in some) for some in spans)
