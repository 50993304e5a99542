"""The verb of the market: what a car will fetch, from a table of prices."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.car.errors import BadInputError, NotFoundError, Problem
from shutline.cli import output
from shutline.cli.options import AsJson

if TYPE_CHECKING:
    from shutline.market import Bridge, Car, Fetch

app = typer.Typer()
"""Its command is one of the whole command line; see `commands`."""

_EXAMPLE = "model=Ninety, mileage=61000, condition=tidy"


@app.command(epilog=f'Example: shutline will-fetch prices.csv --car "{_EXAMPLE}"')
def will_fetch(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Prices that were noted, as a table (CSV).")],
    *,
    car: Annotated[str, typer.Option("--car", help=f"The car, as the columns call it: {_EXAMPLE}.")],
    column: Annotated[
        list[str] | None,
        typer.Option(
            "--column", help="Which column is what, as price=Paid; may be given again.", metavar="FIELD=HEADING"
        ),
    ] = None,
    day_form: Annotated[
        str, typer.Option("--day-form", help="How days are written in it; %d/%m/%Y for 3/5/2026.")
    ] = "%Y-%m-%d",
    day: Annotated[str, typer.Option("--day", help="The day that prices are moved to. [default: today]")] = "",
    currency: Annotated[str, typer.Option("--currency", help="Prices in this one count.")] = "GBP",
    level: Annotated[float, typer.Option("--level", help="How often the interval holds.", min=0.5, max=0.99)] = 0.9,
    as_json: AsJson = False,
) -> None:
    """Work out what a car will fetch from prices that were noted, with the way to it from the nearest cars."""
    from shutline.market import columns_by_name, fetch_of, heading_of, read_comparables

    text = _text_of(file)
    fields = dict(_pair(one, "--column") for one in column or ())
    columns = columns_by_name(heading_of(text), fields, day_form=day_form, currency=currency)
    read = read_comparables(text, columns, name=file.name)
    found = fetch_of(read.comparables, [_car_of(car)], today=_day(day), currency=currency, level=level)
    problems = (*read.problems, *found.problems)
    fetch = found.cars[0]
    if as_json:
        output.show_json({"fetch": fetch, "problems": problems})
        return
    for problem in problems:
        output.show_problem(problem)
    for line in () if fetch is None else _lines(fetch):
        output.print_line(line)


def _text_of(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        found = "it is not UTF-8" if isinstance(error, UnicodeDecodeError) else f"it cannot be read ({error.strerror})"
        raise NotFoundError(
            Problem(
                slug="no-such-file" if isinstance(error, FileNotFoundError) else "not-readable",
                where=str(file),
                found=found,
                allowed="a table of prices (CSV, UTF-8)",
                advice="Give the path to one.",
            )
        ) from error


def _refused(where: str, found: str, allowed: str) -> BadInputError:
    return BadInputError(
        Problem(slug="fetch-asked", where=where, found=found, allowed=allowed, advice="Give the command again so.")
    )


def _pair(text: str, option: str) -> tuple[str, str]:
    name, sign, value = (part.strip() for part in text.partition("="))
    if not (name and sign and value):
        raise _refused(option, repr(text[:40]), "a name, = and what it is")
    return name, value


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text) if text else datetime.now(UTC).date()
    except ValueError:
        raise _refused("--day", repr(text[:40]), "a day such as 2026-11-26") from None


def _car_of(text: str) -> Car:
    from shutline.market import Car, Mileage, Unit

    given = dict(_pair(one, "--car") for one in text.split(",") if one.strip())
    told = given.pop("mileage", "")
    mileage = None
    if told:
        figure, _, unit = told.partition(" ")
        if not (figure.isdecimal() and figure.isascii() and len(figure) < 9) or unit.strip() not in {"", "miles", "km"}:
            raise _refused("--car", f"mileage {told[:40]!r}", "a whole number, as mileage=61000 or mileage=98000 km")
        mileage = Mileage(float(figure), Unit.KM if unit.strip() == "km" else Unit.MILES)
    return Car(given, mileage, given.pop("condition", ""), given.pop("where", ""))


def _lines(fetch: Fetch) -> Iterator[str]:
    unit = "£" if fetch.currency == "GBP" else f"{fetch.currency} "
    yield f"{unit}{fetch.middle:,}, between {unit}{fetch.low:,} and {unit}{fetch.high:,}; from {fetch.cars} prices"
    yield output.wrapped(fetch.promise, indent="  ")
    for one in fetch.outside:
        yield f"  beyond what was seen: {output.printable(one)}"
    for same in fetch.same:
        yield f"  what each is worth cannot be told: {output.printable(same.sentence())}"
    for first, second, close in fetch.together:
        pair = output.printable(f"{first}, {second}")
        yield f"  these move together ({close:g}), what each is worth is doubtful: {pair}"
    if fetch.ratio is not None:
        middle, low, high = fetch.ratio.percent()
        yield f"  paid of what is asked: {middle:.0f} % ({low:.0f} to {high:.0f}), {fetch.ratio.cars} cars seen as both"
    for year in fetch.years:
        ends = f"{year.low:.0f} to {year.high:.0f}"
        ago = f"{year.years} year{'s' * (year.years > 1)} ago"
        yield f"  prices {ago}, in % of today's: {year.percent:.0f} ({ends})"
    for bridge in fetch.bridges:
        yield from _bridge(bridge)
    yield output.wrapped(fetch.note)


def _bridge(bridge: Bridge) -> Iterator[str]:
    yield f"from {output.printable(bridge.car)}"
    yield f"  {bridge.start:>9,}"
    for step in bridge.steps:
        yield f"  {step.pounds:>+9,}  ± {step.doubt:,}  {output.printable(step.what)}"
    yield f"  {bridge.end:>9,}"
