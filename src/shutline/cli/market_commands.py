"""The verbs of the market: what a car will fetch, from the prices that are kept or a table, and what the firm says."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.car.errors import BadInputError, Problem
from shutline.cli import output
from shutline.cli.comparable_commands import pair
from shutline.cli.fetch_words import fetch_lines
from shutline.cli.options import AsJson, Author, StoreFolder, opened

if TYPE_CHECKING:
    from shutline.car.comparables import Comparable
    from shutline.market import Car, Premium
    from shutline.usecases.market_settings import MarketSettingsShown

app = typer.Typer()
"""Its commands are some of the whole command line; see `commands`."""

_EXAMPLE = "model=Ninety, mileage=61000, condition=tidy"


@app.command(epilog=f'Example: shutline will-fetch prices.csv --car "{_EXAMPLE}"')
def will_fetch(
    file: Annotated[
        Path | None,
        typer.Argument(metavar="[FILE]", help="Prices that were noted, as a table (CSV). [default: those kept]"),
    ] = None,
    *,
    car: Annotated[str, typer.Option("--car", help=f"The car, as the columns call it: {_EXAMPLE}.")],
    column: Annotated[
        list[str] | None,
        typer.Option(
            "--column", help="Which column is what, as price=Paid; may be given again.", metavar="FIELD=HEADING"
        ),
    ] = None,
    day_form: Annotated[
        str | None, typer.Option("--day-form", help="How days are written in it; %d/%m/%Y for 3/5/2026.")
    ] = None,
    day: Annotated[str, typer.Option("--day", help="The day that prices are moved to. [default: today]")] = "",
    currency: Annotated[str, typer.Option("--currency", help="Prices in this one count.")] = "GBP",
    level: Annotated[
        float | None,
        typer.Option("--level", help="How often the interval holds. [default: as set]", min=0.5, max=0.99),
    ] = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Work out what a car will fetch from prices that were noted, with the way to it from the nearest cars."""
    from shutline.market import fetch_of
    from shutline.usecases.comparables import kept_comparables
    from shutline.usecases.market_settings import firm_market

    comparables: tuple[Comparable, ...]
    problems: tuple[Problem, ...]
    if file is not None:
        comparables, problems = _read(file, column or (), day_form, currency)
    elif column or day_form:
        raise _refused("--column, --day-form", "no table", "a table of which they tell")
    else:
        with opened(store) as there:
            comparables, problems = kept_comparables(there), ()
    firm = firm_market()
    found = fetch_of(
        comparables,
        [_car_of(car)],
        today=_day(day),
        currency=currency,
        index=firm.index,
        level=level,
        settings=firm.settings,
    )
    problems = (*problems, *found.problems)
    fetch = found.cars[0]
    if as_json:
        output.show_json({"fetch": fetch, "problems": problems})
        return
    for problem in problems:
        output.show_problem(problem)
    if fetch is not None:
        for line in (*fetch_lines(fetch), output.wrapped(fetch.note)):
            output.print_line(line)


def _read(
    file: Path, column: Sequence[str], day_form: str | None, currency: str
) -> tuple[tuple[Comparable, ...], tuple[Problem, ...]]:
    from shutline.market import columns_by_name, heading_of, read_comparables
    from shutline.usecases.comparables_intake import text_of

    text = text_of(file)
    others = {} if day_form is None else {"day_form": day_form}
    fields = dict(pair(one, "--column") for one in column)
    columns = columns_by_name(heading_of(text), fields, currency=currency, **others)
    read = read_comparables(text, columns, name=file.name)
    return read.comparables, read.problems


@app.command(name="market-settings", epilog="Example: shutline market-settings --set money.interest=8.5")
def market_settings(
    *,
    set_: Annotated[
        list[str] | None,
        typer.Option("--set", help="Say an entry: money.fees=50,100,200; may be given again.", metavar="ENTRY=VALUE"),
    ] = None,
    unset: Annotated[
        list[str] | None, typer.Option("--unset", help="Let what is shipped hold of an entry.", metavar="ENTRY")
    ] = None,
    premium: Annotated[
        str, typer.Option("--premium", help="Say what an auction takes of its buyer, with --tier.", metavar="NAME")
    ] = "",
    tier: Annotated[
        list[str] | None,
        typer.Option(
            "--tier",
            help="From this hammer price on: per cent of what is above, and pounds; 1000:5:20. May be given again.",
            metavar="ABOVE:PERCENT[:POUNDS]",
        ),
    ] = None,
    vat: Annotated[str, typer.Option("--vat", help="Tax on the premium, per cent.", metavar="PERCENT")] = "",
    cap: Annotated[str, typer.Option("--cap", help="The most that it takes.", metavar="POUNDS")] = "",
    counts: Annotated[
        bool, typer.Option("--counts", help="The premium is part of the price that the margin is counted from.")
    ] = False,
    drop_premium: Annotated[
        list[str] | None, typer.Option("--drop-premium", help="Take an auction away.", metavar="NAME")
    ] = None,
    index: Annotated[
        Path | None,
        typer.Option("--index", help="An index of prices: a table (CSV) of day, level, source.", metavar="FILE"),
    ] = None,
    drop_index: Annotated[bool, typer.Option("--drop-index", help="Take the index away.")] = False,
    by: Author = None,
    as_json: AsJson = False,
) -> None:
    """Show what sums of the market are made with, yours over what is shipped, and change it."""
    from shutline.usecases.market_settings import change_market_settings, index_of, market_settings_shown, premium_of
    from shutline.usecases.settings import author

    if bool(premium) != bool(tier):
        raise _refused("--premium", "an auction without --tier, or the other way round", "both together")
    said: dict[str, str | None] = dict(pair(one, "--set") for one in set_ or ())
    said |= dict.fromkeys(unset or ())
    premiums: dict[str, Premium | None] = dict.fromkeys(drop_premium or ())
    if premium:
        premiums[premium] = premium_of(tier or (), vat=vat, cap=cap, counts=counts)
    rows = () if drop_index else None if index is None else index_of(index)
    if said or premiums or rows is not None:
        shown = change_market_settings(said, premiums=premiums, index=rows, author=by or author())
    else:
        shown = market_settings_shown()
    if as_json:
        output.show_json(shown)
        return
    for line in _settings_lines(shown):
        output.print_line(output.printable(line))
    for problem in shown.problems:
        output.show_problem(problem)


def _settings_lines(shown: MarketSettingsShown) -> Iterator[str]:
    for one in shown.entries:
        own = "" if one.own is None else f"  yours: {_value(one.own)}"
        yield f"{one.id} = {_value(one.shipped)}{own}  {one.words}"
    for premium in shown.premiums:
        tiers = "; ".join(
            f"above £{tier.above:,g} {tier.percent:g} %" + (f" and £{tier.fixed:,g}" if tier.fixed else "")
            for tier in premium.tiers
        )
        cap = "" if premium.cap is None else f", £{premium.cap:,g} at the most"
        part = "part of the price" if premium.counts else "not part of the price"
        yield f"premium of {premium.name}: {tiers}{cap}, {premium.vat_percent:g} % tax on it, {part}"
    if shown.index:
        first, last = shown.index[0], shown.index[-1]
        rows = f"{len(shown.index)} row{'s' * (len(shown.index) > 1)}"
        yield f"index: {rows}, {first.day} at {first.level:g} to {last.day} at {last.level:g}"
    else:
        yield "index: none; how prices moved is estimated from the data"
    yield f"Yours lie in {shown.file}"


def _value(value: float | tuple[float, ...]) -> str:
    return ", ".join(f"{one:g}" for one in value) if isinstance(value, tuple) else f"{value:.10g}"


def _refused(where: str, found: str, allowed: str) -> BadInputError:
    return BadInputError(
        Problem(slug="fetch-asked", where=where, found=found, allowed=allowed, advice="Give the command again so.")
    )


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text) if text else datetime.now(UTC).date()
    except ValueError:
        raise _refused("--day", repr(text[:40]), "a day such as 2026-11-26") from None


def _car_of(text: str) -> Car:
    from shutline.usecases.price_car import car_as_called

    pairs = (pair(one, "--car") for one in text.split(",") if one.strip())
    return car_as_called({name.casefold(): value for name, value in pairs}, where="--car")
