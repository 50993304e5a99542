"""The verb of rings: where on a still or a picture a finding is."""

from __future__ import annotations

from typing import Annotated

import typer

from shutline.car.errors import Problem, UserError
from shutline.cli import output
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, opened

app = typer.Typer()
"""Its command is one of the whole command line; see `commands`."""


@app.command(epilog="Example: shutline ring blue-saloon 569acb --at 0.4,0.55 --radius 0.08")
def ring(
    *,
    car: CarName,
    finding: Annotated[str, typer.Argument(metavar="ID", help="Id of a finding, or the start of it.")],
    still: Annotated[
        str | None,
        typer.Option(
            "--still",
            help="The still, or the picture it stands on: its SHA-256 or its id, or the start of one. [default: the "
            "only one]",
        ),
    ] = None,
    at: Annotated[
        str | None,
        typer.Option("--at", help="Its middle from the left and from the top in shares of the picture, as 0.4,0.55."),
    ] = None,
    radius: Annotated[
        float, typer.Option("--radius", help="In shares of the picture's width, from 0.01 to 0.5.")
    ] = 0.1,
    take_back: Annotated[bool, typer.Option("--take-back", help="Take the ring away again.")] = False,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Ring where on a still or a picture a finding is, for the job cards; the picture stays as it is."""
    from shutline.usecases.rings import ring as run_ring
    from shutline.usecases.rings import take_ring_back

    if take_back == (at is not None):
        raise _refused("both or neither of --at and --take-back")
    with opened(store) as there:
        if at is None:
            done = take_ring_back(there, car, finding, picture=still, author=by)
        else:
            x, y = _middle(at)
            done = run_ring(there, car, finding, x=x, y=y, radius=radius, picture=still, author=by)
    if as_json:
        output.show_json(done)
        return
    kept = done.ring
    where = f"{kept.circle.x:.3f},{kept.circle.y:.3f}, radius {kept.circle.radius:.3f}, on {kept.picture[:12]}"
    output.print_line(f"{kept.finding[:12]}: {'ringed at ' if kept.holds else 'no more ring at '}{where}")


def _middle(text: str) -> tuple[float, float]:
    try:
        x, y = (float(one) for one in text.split(","))
    except ValueError:
        raise _refused(f"--at {text[:40]!r}") from None
    return x, y


def _refused(found: str) -> UserError:
    allowed = "--at X,Y in shares of the picture, or --take-back"
    return UserError(Problem("ring-refused", "shutline ring", found, allowed, "See shutline ring --help."))
