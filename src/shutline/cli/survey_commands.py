"""The verbs of the survey: the route, what is still to show, what is left out on purpose, and the guides."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.car.findings import Drive
from shutline.cli import output
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, opened
from shutline.survey.route import Raised

if TYPE_CHECKING:
    from shutline.usecases.survey import Planned, Shown

app = typer.Typer()
"""Its commands are those of the whole command line; see `commands`."""

_OPEN_SHOWN = 12
"""So many open checks are shown in words; JSON has all."""

Guides = Annotated[
    list[str] | None,
    typer.Option("--guide", help="Guide to go by; may be repeated for what drives it. [default: as kept, or as fits]"),
]
Up = Annotated[
    Raised, typer.Option("--raised", help="When the car is up: last, first (it is on a lift already), or no.")
]
Minutes = Annotated[
    float | None, typer.Option("--minutes", help="Leave the cheapest checks out until it fits into so many minutes.")
]
Key = Annotated[
    str, typer.Argument(metavar="CHECK", help="Key of a check, as `to-show` prints it: sill-near, or sill.")
]


@app.command(epilog="Example: shutline route --body roadster --raised no --pdf route.pdf")
def route(
    *,
    car: Annotated[
        str | None, typer.Argument(metavar="[CAR]", help="Name of a car; left out, one not kept yet.")
    ] = None,
    guide: Guides = None,
    body: Annotated[str | None, typer.Option("--body", help="Its body. [default: as in the car file]")] = None,
    doors: Annotated[int | None, typer.Option("--doors", help="Its side doors. [default: as in the car file]")] = None,
    drive: Annotated[Drive | None, typer.Option("--drive", help="Where the wheel is. [default: rhd]")] = None,
    everything: Annotated[
        bool, typer.Option("--everything", help="Ask for what has a footing or was left out, too.")
    ] = False,
    raised: Up = Raised.LAST,
    minutes: Minutes = None,
    pdf: Annotated[
        Path | None, typer.Option("--pdf", help="Write it to this file, on one page.", metavar="FILE")
    ] = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Plan the walk round a car: what to show and say at each place, in the shortest order, and what to bring."""
    from shutline.usecases.route_sheet import write_route_sheet
    from shutline.usecases.survey import plan_route

    chosen = {
        "guides": tuple(guide or ()),
        "body": body,
        "doors": doors,
        "drive": drive,
        "everything": everything,
        "raised": raised,
        "minutes": minutes,
    }
    if car is None:
        planned = plan_route(**chosen)  # type: ignore[arg-type]
    else:
        with opened(store) as there:
            planned = plan_route(there, car, **chosen)  # type: ignore[arg-type]
    missing = None if pdf is None else output.first_missing(pdf.parent)
    written = None if pdf is None else write_route_sheet(planned, pdf)
    if as_json:
        output.show_json(planned)
        return
    for line in _route_lines(planned):
        output.print_line(line)
    if written is not None:
        for line in output.new_folder(missing):
            output.print_line(line)
        output.print_line(f"Written: {output.printable(written.path)}  ({output.size(written.byte_size)})")


@app.command(epilog="Example: shutline to-show blue-saloon")
def to_show(
    *,
    car: CarName,
    guide: Guides = None,
    raised: Up = Raised.LAST,
    minutes: Minutes = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Hold a car file against its guide: what is still to show, the costliest silence first, and a second route."""
    from shutline.usecases.survey import still_to_show

    with opened(store) as there:
        found = still_to_show(there, car, guides=tuple(guide or ()), raised=raised, minutes=minutes)
    if as_json:
        output.show_json(found)
        return
    for line in _guide_lines(found.second):
        output.print_line(line)
    for cover in dict.fromkeys(one.cover for one in found.checks):
        same = [one for one in found.checks if one.cover is cover]
        output.print_line(f"{cover.value.capitalize()}: {len(same)}")
        if cover.value == "has a footing":
            output.print_line(f"  {found.counts.own} by what was told of the very place")
            output.print_line(f"  {found.counts.of_several} only by what was told of several in one (all four tyres)")
            continue
        if cover.value == "mentioned in passing":
            output.print_line(f"  {found.counts.named} by name, {found.counts.within} only as part of something wider")
        for one in same[:_OPEN_SHOWN]:
            output.print_line(output.wrapped(_line(one), indent="  "))
        if len(same) > _OPEN_SHOWN:
            output.print_line(f"  and {len(same) - _OPEN_SHOWN} more (--json names all)")
    for waiting in found.questions:
        would = f": {', '.join(waiting.checks)}" if waiting.checks else ""
        output.print_line(output.wrapped(output.printable(f"Asked by a stranger: {waiting.question.words}{would}")))
    output.print_line("Not mentioned is not to say good. The second route:")
    for line in _route_lines(found.second, guide=False):
        output.print_line(line)


@app.command(epilog="Example: shutline leave-out blue-saloon gearbox --reason 'it is not allowed on the road'")
def leave_out(
    *,
    car: CarName,
    check: Key,
    reason: Annotated[str, typer.Option("--reason", help="Why; it stands in the report.")],
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Leave a check out on purpose; the report says so, with the reason. `ask-again` takes it back."""
    from shutline.usecases.survey import leave_out as run_leave_out

    with opened(store) as there:
        found = run_leave_out(there, car, check, reason=reason, author=by)
    _show_one(found, as_json=as_json)


@app.command(epilog="Example: shutline ask-again blue-saloon gearbox")
def ask_again(
    *, car: CarName, check: Key, by: Author = None, store: StoreFolder = None, as_json: AsJson = False
) -> None:
    """Ask again for a check that was left out on purpose."""
    from shutline.usecases.survey import ask_again as run_ask_again

    with opened(store) as there:
        found = run_ask_again(there, car, check, author=by)
    _show_one(found, as_json=as_json)


@app.command(epilog="Example: shutline guide blue-saloon rear_engined air_cooled")
def guide(
    *,
    car: CarName,
    names: Annotated[
        list[str] | None,
        typer.Argument(metavar="[NAME...]", help="Guides to keep for it; none leaves it to the program."),
    ] = None,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Keep which guide a car gets: one construction, and what drives it."""
    from shutline.usecases.survey import keep_guide

    with opened(store) as there:
        planned = keep_guide(there, car, tuple(names or ()), author=by)
    if as_json:
        output.show_json(planned)
        return
    for line in _guide_lines(planned):
        output.print_line(line)


@app.command(epilog="Example: shutline guides rear_engined air_cooled")
def guides(
    *,
    names: Annotated[
        list[str] | None, typer.Argument(metavar="[NAME...]", help="Show the checks of these, laid together.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """List the guides, yours too, or show the checks of one."""
    from shutline.usecases.guides import list_guides, show_guide

    if names:
        shown = show_guide(tuple(names))
        if as_json:
            output.show_json(shown)
            return
        output.print_line(f"{shown.label}: {len(shown.checks)} checks, out of {', '.join(shown.laid)}")
        for check in shown.checks:
            output.print_line(output.wrapped(f"{check.id}: {output.printable(check.look_for)}", indent="  "))
        return
    found = list_guides()
    if as_json:
        output.show_json(found)
        return
    for one in found.guides:
        whose = ", yours" if one.own else ""
        output.print_line(f"{one.id:24} {output.printable(one.label)} ({one.checks} checks{whose})")
    output.print_line(f"Yours lie in {output.printable(found.folder)} (docs/survey.md).")


def _guide_lines(planned: Planned) -> Iterator[str]:
    whose = "chosen" if planned.chosen else "; ".join(f"{one.guide}: {one.words}" for one in planned.reasons)
    yield output.wrapped(f"Guide: {output.printable(planned.label)} ({output.printable(whose or 'nothing is known')})")
    if planned.others and not planned.chosen:
        yield output.wrapped(f"Others for such a body: {', '.join(planned.others)} (--guide, or `shutline guide`)")


def _route_lines(planned: Planned, *, guide: bool = True) -> Iterator[str]:
    from shutline.publish.looks import asked_once, look_name

    if guide:
        yield from _guide_lines(planned)
    way = planned.route
    low, high = (round(seconds / 60) for seconds in way.spoken_s)
    counts = f"{len(way.looks)} looks for {len(way.steps)} checks at {len(way.stops)} stops"
    yield f"{counts}, about {way.metres:.0f} m, {low} to {high} min of talk"
    if planned.answered or planned.omitted:
        yield f"Not asked again: {planned.answered} with a footing, {planned.omitted} left out on purpose"
    if way.bring:
        yield output.wrapped(f"Bring: {', '.join(tool.label for tool in way.bring)}")
    for stop in way.stops:
        yield stop.station.label.capitalize()
        for look in stop.looks:
            checks = [asked.check for asked in asked_once(look)]
            said = " (say)" if any(check.best.value == "said" for check in checks) else ""
            what = "; ".join(output.printable(check.look_for) for check in checks)
            yield output.wrapped(f"{look[0].look:3} {look_name(look)}{said}: {what}", indent="  ")
    for caution in way.cautions:
        yield output.wrapped(f"With care: {caution.text}")
    if way.left_out:
        yield f"{len(way.left_out)} checks are not on this route: the car stays down, or there is no time."


def _line(one: Shown) -> str:
    from shutline.publish.naming import place_name

    place = place_name(one.part, one.side, one.position)
    if one.reason:
        return f"{one.key}  {place}: left out by {output.printable(one.author)}: {output.printable(one.reason)}"
    little = f" ({one.breadth})" if one.passing else ""
    safety = ", a matter of safety" if one.safety else ""
    return f"{one.key}  {place}{little}: {output.printable(one.why)} [{' to '.join(one.when_bad)}{safety}]"


def _show_one(found: Shown, *, as_json: bool) -> None:
    if as_json:
        output.show_json(found)
        return
    output.print_line(f"{found.cover.value.capitalize()}: {_line(found)}")
