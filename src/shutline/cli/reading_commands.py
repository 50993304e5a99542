"""The verb of readings: enter one, read a table of them, hear those that were called out, and decide."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.car.errors import Problem, UserError
from shutline.car.findings import Found
from shutline.cli import output
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, opened

if TYPE_CHECKING:
    from shutline.car.readings import KeptReading
    from shutline.usecases.gauges import CarGauges
    from shutline.usecases.readings import CarReadings, ReadingDecided, ReadingsCame, ReadingVerb

app = typer.Typer()
"""Its command is one of the whole command line; see `commands`."""


@app.command(epilog="Example: shutline readings blue-saloon --enter paint_film --value 122 --part door --side near")
def readings(
    *,
    car: CarName,
    enter: Annotated[
        str | None, typer.Option("--enter", help="Enter a reading of this quantity, with --value.", metavar="QUANTITY")
    ] = None,
    table: Annotated[
        Path | None, typer.Option("--table", help="Take the readings of this CSV file.", metavar="FILE")
    ] = None,
    hear: Annotated[bool, typer.Option("--hear", help="Look for figures called out in the recordings.")] = False,
    stand: Annotated[str | None, typer.Option("--stand", help="Let a heard reading stand.", metavar="ID")] = None,
    strike: Annotated[str | None, typer.Option("--strike", help="Strike a reading.", metavar="ID")] = None,
    amend: Annotated[
        str | None, typer.Option("--amend", help="Give a reading other words or figures.", metavar="ID")
    ] = None,
    again: Annotated[
        str | None, typer.Option("--again", help="Let a reading that was decided about wait again.", metavar="ID")
    ] = None,
    value: Annotated[str | None, typer.Option("--value", help="The figure, as the instrument shows it.")] = None,
    unit: Annotated[str, typer.Option("--unit", help="Its unit. [default: the first of the quantity]")] = "",
    uncertainty: Annotated[
        str, typer.Option("--uncertainty", help="One standard deviation. [default: the instrument's]")
    ] = "",
    part: Annotated[str, typer.Option("--part", help="The part it was read at, by its id.")] = "",
    side: Annotated[str, typer.Option("--side", help="near or off.")] = "",
    position: Annotated[str, typer.Option("--position", help="front or rear.")] = "",
    spot: Annotated[str, typer.Option("--spot", help="Where within the part: bottom, top front, a cylinder.")] = "",
    series: Annotated[str, typer.Option("--series", help="A name for readings taken together.")] = "",
    detail: Annotated[
        list[str] | None, typer.Option("--detail", help="What else bears on it: state=wet.", metavar="NAME=VALUE")
    ] = None,
    instrument: Annotated[str, typer.Option("--instrument", help="The instrument, as it is called.")] = "",
    when: Annotated[str, typer.Option("--when", help="When it was read: 2026-04-21 or 2026-04-21T10:30.")] = "",
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """List the readings of a car's instruments, take in more, and decide about those that were heard."""
    from shutline.gauge.readings import Keyed
    from shutline.usecases.readings import car_readings, decide_reading, enter_reading, enter_table, hear_readings

    verbs: dict[ReadingVerb, str | None] = {"stand": stand, "strike": strike, "amend": amend, "again": again}
    chosen = [(verb, id_) for verb, id_ in verbs.items() if id_ is not None]
    if len(chosen) + hear + (enter is not None) + (table is not None) > 1:
        raise _several()
    keyed = Keyed(
        enter or "",
        value or "",
        unit=unit,
        uncertainty=uncertainty,
        part=part,
        side=side,
        position=position,
        spot=spot,
        series=series,
        details=_details(detail or []),
        instrument=instrument,
        measured_at=when,
    )
    with opened(store) as there:
        if table is not None or hear:
            came = (
                hear_readings(there, car) if table is None else enter_table(there, car, table, usual=keyed, author=by)
            )
            _show_came(came, as_json=as_json)
        elif chosen:
            verb, id_ = chosen[0]
            given = keyed if verb == "amend" else None
            _show_decided(decide_reading(there, car, id_, verb, keyed=given, author=by), as_json=as_json)
        elif enter is not None:
            _show_decided(enter_reading(there, car, keyed, author=by), as_json=as_json)
        else:
            _show_all(car_readings(there, car), as_json=as_json)


@app.command(epilog="Example: shutline gauges blue-saloon")
def gauges(
    *,
    car: CarName,
    enter: Annotated[
        str | None, typer.Option("--enter", help="Enter a finding that was measured, by its key.", metavar="KEY")
    ] = None,
    found: Annotated[
        str, typer.Option("--found", help="With --enter: yes where you made sure, else unsure.")
    ] = "unsure",
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Tell what the readings of a car come to: figures with their doubt, limits with their source, who decides."""
    from shutline.usecases.gauges import car_gauges, enter_measured

    with opened(store) as there:
        if enter is not None:
            kept = enter_measured(there, car, enter, found=_found(found), author=by)
            if as_json:
                output.show_json(kept)
            else:
                output.print_line(f"Entered, {kept.finding.found.value}  {kept.id}")
            return
        told = car_gauges(there, car)
    if as_json:
        output.show_json(told)
        return
    _show_gauges(told)


def _show_gauges(told: CarGauges) -> None:
    for section in told.sections:
        output.print_line(section.title)
        for line in section.lines:
            output.print_line(f"  {output.printable(line.sentence)}")
            for note in line.notes:
                output.print_line(f"      {output.printable(note)}")
        if section.use:
            output.print_line(f"  {output.printable(section.use)}")
        for caution in section.cautions:
            output.print_line(f"  Care: {output.printable(caution)}")
        for problem in section.problems:
            output.show_problem(problem)
    for against in told.against:
        output.print_line(f"At odds with a finding {against.finding}: {output.printable(against.sentence)}")
    for one in told.proposals:
        state = "entered" if one.entered else f"shutline gauges {told.car} --enter {one.key}"
        output.print_line(f"{one.place}: {one.label}? {output.printable(one.why)} ({state})")
    if not told.sections:
        output.print_line(f"Nothing was measured yet: shutline readings {told.car} --enter QUANTITY --value FIGURE")


def _found(text: str) -> Found:
    if text in {one.value for one in Found}:
        return Found(text)
    raise UserError(Problem("command-line", "--found", repr(text), "yes, no or unsure", "Give one of them."))


def _show_all(found: CarReadings, *, as_json: bool) -> None:
    if as_json:
        output.show_json(found)
        return
    for one in found.readings:
        _show(one)
    if not found.readings:
        output.print_line(f"No readings yet: shutline readings {found.car} --enter QUANTITY --value FIGURE")


def _show_came(came: ReadingsCame, *, as_json: bool) -> None:
    if as_json:
        output.show_json(came)
        return
    for one in came.new:
        _show(one)
    output.print_line(f"{len(came.new)} new, {came.known} known before.")
    for problem in came.problems:
        output.show_problem(problem)


def _show_decided(decided: ReadingDecided, *, as_json: bool) -> None:
    if as_json:
        output.show_json(decided)
    else:
        _show(decided.reading)


def _show(kept: KeptReading) -> None:
    from shutline.usecases.readings import place_words, value_words

    reading = kept.reading
    when = output.clock(reading.start_s) if reading.start_s is not None else (reading.measured_at or kept.kept_at)[:10]
    words = f"{value_words(reading)}, {place_words(reading)}"
    output.print_line(f"{when:>10}  {output.printable(words)}; {kept.state.value}  {kept.id}")


def _details(given: list[str]) -> dict[str, float | str]:
    details: dict[str, float | str] = {}
    for one in given:
        name, mark, value = one.partition("=")
        if not mark or not name.strip() or not value.strip():
            raise UserError(
                Problem("command-line", "--detail", repr(one), "NAME=VALUE, as in state=wet", "Give it so.")
            )
        details[name.strip()] = value.strip()
    return details


def _several() -> UserError:
    return UserError(
        Problem(
            slug="command-line",
            where="readings",
            found="several things to do at once",
            allowed="one of --enter, --table, --hear, --stand, --strike, --amend, --again",
            advice="Give them one after another; nothing was done.",
        )
    )
