"""The verbs of a car itself: what it is called and drawn as, that two cars are one, and a car that is set aside."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from shutline.cli import output
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, opened

if TYPE_CHECKING:
    from shutline.car.carfile import Change
    from shutline.usecases.particulars import Coming, Particulars

app = typer.Typer()
"""Its commands are those of the whole command line; see `commands`."""

Other = Annotated[str, typer.Argument(metavar="OTHER", help="Name of the other car, or the start of one.")]


@app.command(epilog="Example: shutline particulars blue-saloon --title 'Ostrel Pavane, blue' --body saloon --doors 4")
def particulars(
    *,
    car: CarName,
    title: Annotated[str | None, typer.Option("--title", help="How the car is shown from now on.")] = None,
    body: Annotated[str | None, typer.Option("--body", help="What it is drawn as, or '' while not known.")] = None,
    doors: Annotated[str | None, typer.Option("--doors", help="How many doors, or '' while not known.")] = None,
    drive: Annotated[str | None, typer.Option("--drive", help="Where the wheel is: rhd or lhd.")] = None,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Show what a car is called and drawn as, and who changed it; with options, change it."""
    from shutline.usecases.particulars import particulars as run_particulars
    from shutline.usecases.particulars import settle

    given = {"title": title, "body": body, "doors": doors, "drive": drive}
    fields = {name: value for name, value in given.items() if value is not None}
    with opened(store) as there:
        found = settle(there, car, fields, author=by) if fields else run_particulars(there, car)
    _show(found, as_json=as_json)


@app.command(epilog="Example: shutline join blue-saloon blue-saloon-2 --dry-run")
def join(
    *,
    car: CarName,
    other: Other,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Say what would come of it, and do nothing.")] = False,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Say that two cars are one: all that is kept of OTHER is shown under CAR. `separate` is the way back."""
    from shutline.usecases.particulars import coming
    from shutline.usecases.particulars import join as run_join

    with opened(store) as there:
        if dry_run:
            _show_coming(coming(there, car, other), as_json=as_json)
            return
        found = run_join(there, car, other, author=by)
    _show(found, as_json=as_json)


@app.command(epilog="Example: shutline separate blue-saloon blue-saloon-2")
def separate(
    *, car: CarName, other: Other, by: Author = None, store: StoreFolder = None, as_json: AsJson = False
) -> None:
    """Take OTHER out again from under CAR; what was decided meanwhile stays with what it was decided about."""
    from shutline.usecases.particulars import separate as run_separate

    with opened(store) as there:
        found = run_separate(there, car, other, author=by)
    _show(found, as_json=as_json)


@app.command("set-aside", epilog="Example: shutline set-aside blue-saloon")
def set_aside(*, car: CarName, by: Author = None, store: StoreFolder = None, as_json: AsJson = False) -> None:
    """Leave a car out of the list until it is asked for with `list --aside`; nothing of it is deleted."""
    from shutline.usecases.particulars import set_aside as run_set_aside

    with opened(store) as there:
        found = run_set_aside(there, car, author=by)
    _show(found, as_json=as_json)


@app.command("bring-back", epilog="Example: shutline bring-back blue-saloon")
def bring_back(*, car: CarName, by: Author = None, store: StoreFolder = None, as_json: AsJson = False) -> None:
    """Bring a car that was set aside back into the list."""
    from shutline.usecases.particulars import bring_back as run_bring_back

    with opened(store) as there:
        found = run_bring_back(there, car, author=by)
    _show(found, as_json=as_json)


def _show(found: Particulars, *, as_json: bool) -> None:
    if as_json:
        output.show_json(found)
        return
    car = found.car
    output.print_line(f"{car.name}: {output.printable(car.title)}{'; set aside' if car.set_aside else ''}")
    doors = "doors not known" if car.doors is None else f"{car.doors} doors"
    output.print_line(f"drawn as {car.body or 'a saloon, for the body is not known'}, {doors}, {car.drive}")
    for name, values in found.told.items():
        output.print_line(f"told of its {name}: {output.printable(', '.join(values))}")
    for one in found.joined:
        output.print_line(f"under it: {one.name}, {output.printable(one.title)}, {_when(one.at)}, {_who(one.author)}")
    for change in found.changes:
        output.print_line(f"{_when(change.at)}  {_who(change.author)}: {_done(change)}")


def _done(change: Change) -> str:
    both = (name for name in change.after if name in change.before)
    names = ", ".join(f"{name} {change.before[name]!r} to {change.after[name]!r}" for name in both)
    if change.action in {"joined", "separated"}:
        name = change.after.get("joined") or change.before.get("joined")
        return output.printable(f"{change.action}: {name}" if name else change.action)
    return output.printable(f"{change.action} ({names})" if change.action == "amended" else change.action)


def _show_coming(found: Coming, *, as_json: bool) -> None:
    if as_json:
        output.show_json(found)
        return
    other, after = found.other, found.after
    output.print_line(
        f"{other.recordings} recordings, {other.pictures} pictures, {found.notes} notes and "
        f"{other.findings_heard + other.findings_standing + other.findings_struck} findings of {other.name} "
        f"would be shown under {found.car.name}. Nothing was done."
    )
    for name in found.same:
        output.print_line(f"both have {output.printable(name)}: it would be shown once, and told once")
    output.print_line(
        f"together: {after.recordings} recordings, {after.pictures} pictures, {after.findings_heard} findings and "
        f"{after.facts_heard} facts to look at, {after.findings_standing} and {after.facts_standing} stand"
    )
    output.print_line(f"The way back: shutline separate {found.car.name} {other.name}")


def _when(at: str) -> str:
    return at[:16].replace("T", " ")


def _who(author: str) -> str:
    return output.printable(author)
