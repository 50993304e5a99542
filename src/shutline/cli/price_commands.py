"""The verb of a car's price: what it will fetch, what to ask for it, the most to pay."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any

import typer

from shutline.car.errors import BadInputError, Problem
from shutline.cli import output
from shutline.cli.fetch_words import fetch_lines
from shutline.cli.options import AsJson, Author, CarName, StoreFolder, opened

if TYPE_CHECKING:
    from shutline.store import Store
    from shutline.usecases.price_shown import AskingShown, FigureShown, PriceAsked, PriceShown

app = typer.Typer()
"""Its command is one of the whole command line; see `commands`."""


@app.command(epilog="Example: shutline price blue-saloon --allowed 5 --premium 'Dock Street'")
def price(
    *,
    car: CarName,
    day: Annotated[str | None, typer.Option("--day", help="The day that prices are moved to. [default: today]")] = None,
    asking: Annotated[float | None, typer.Option("--asking", help="A price to look at, pounds.")] = None,
    allowed: Annotated[float | None, typer.Option("--allowed", help="The chance of a loss, per cent.")] = None,
    days: Annotated[float | None, typer.Option("--days", help="How many days it stands.")] = None,
    holding: Annotated[float | None, typer.Option("--holding", help="What a day of standing costs, pounds.")] = None,
    prep: Annotated[float | None, typer.Option("--prep", help="What is spent to put it right, pounds.")] = None,
    fees: Annotated[float | None, typer.Option("--fees", help="Fees, pounds.")] = None,
    transport: Annotated[float | None, typer.Option("--transport", help="Transport, pounds.")] = None,
    warranty: Annotated[
        float | None, typer.Option("--warranty", help="What is set aside for warranty, pounds.")
    ] = None,
    knocked_off: Annotated[
        float | None, typer.Option("--knocked-off", help="What a buyer knocks off for what stays, pounds.")
    ] = None,
    premium: Annotated[
        str | None, typer.Option("--premium", help="The auction, as the settings of the market call it; '' for none.")
    ] = None,
    tax: Annotated[
        str | None,
        typer.Option("--tax", help="margin, full or none, in place of what the ledger says; '' for that."),
    ] = None,
    afresh: Annotated[bool, typer.Option("--afresh", help="Leave the figures aside that were kept.")] = False,
    say: Annotated[
        list[str] | None,
        typer.Option("--say", help="Keep what the car is, as age=44; may be given again.", metavar="NAME=ENTRY"),
    ] = None,
    unsay: Annotated[
        list[str] | None, typer.Option("--unsay", help="Take it from the car file again.", metavar="NAME")
    ] = None,
    keep: Annotated[
        bool, typer.Option("--keep", help="Keep the figures and the asking price that are given, with your name.")
    ] = False,
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Work out what a car will fetch, what to ask for it, and the most to pay, with the doubt of each."""
    from shutline.usecases.price import price as run_price
    from shutline.usecases.price_shown import PriceAsked

    asked = PriceAsked(
        day=_day(day),
        allowed=allowed,
        days=days,
        holding=holding,
        prep=prep,
        fees=fees,
        transport=transport,
        warranty=warranty,
        knocked_off=knocked_off,
        premium=premium,
        tax=tax,
        asking=asking,
        kept=not afresh,
    )
    said: dict[str, str | None] = {**dict(_pair(one) for one in say or ()), **dict.fromkeys(unsay or ())}
    with opened(store) as there:
        _keep(there, car, said, asked if keep else None, author=by)
        found = run_price(there, car, asked)
    if as_json:
        output.show_json(found)
        return
    for problem in found.problems:
        output.show_problem(problem)
    for line in _lines(found):
        output.print_line(line)


def _keep(store: Store, car: str, said: dict[str, str | None], asked: PriceAsked | None, *, author: str | None) -> None:
    from shutline.car.prep_decisions import PrepKind
    from shutline.usecases.prep_deciding import decide_prep
    from shutline.usecases.price import KEPT, keep_price

    figures: dict[str, Any] = {}
    if asked is not None:
        figures = {name: value for name in KEPT if (value := getattr(asked, name)) is not None}
        if asked.asking is not None:
            decide_prep(store, car, PrepKind.ASKING, pence=round(100 * asked.asking), author=author)
    if said or figures:
        keep_price(store, car, attributes=said, figures=figures, author=author)


def _lines(found: PriceShown) -> Iterator[str]:
    for one in found.attributes:
        whence = "kept" if one.kept else one.why
        told = f"{one.name}: {one.value or 'not noted'}{f'  ({whence})' if whence else ''}"
        yield output.wrapped(output.printable(told))
    if found.fetch is None or found.asking is None:
        return
    yield "What it will fetch"
    yield from fetch_lines(found.fetch)
    yield from _worth(found)
    yield from _asking(found.asking, found.last_day)
    yield "The most to pay"
    for most in found.mosts:
        yield output.wrapped(f"{most.words} With {most.tax_words}", indent="  ")
        for words in most.movers:
            yield output.wrapped(words, indent="    ")
    yield output.wrapped(output.printable(found.tax_words), indent="  ")
    for figure in found.figures:
        yield output.wrapped(output.printable(_figure(figure)), indent="  ")
    yield "Left out"
    for words in found.left_out:
        yield output.wrapped(output.printable(words), indent="  ")
    yield output.wrapped(found.note)


def _worth(found: PriceShown) -> Iterator[str]:
    if found.conditions:
        yield "In each condition that was noted"
    for one in found.conditions:
        few = ", mostly as expected" if one.held else ""
        here = "  (this car)" if one.here else ""
        ends = "" if one.here else f" (£{one.low:,} to £{one.high:,})"
        told = f"{one.word or 'not noted'}: £{one.middle:,}{ends}, {one.cars} prices{few}{here}"
        yield output.wrapped(output.printable(told), indent="  ")
    if found.findings:
        yield "Knocked off for each fault"
    for fault in found.findings:
        worth = "not known"
        if fault.likely is not None:
            worth = f"£{fault.likely:,} (£{fault.low:,} to £{fault.high:,}) by {fault.footing}"
        state = "put right" if fault.cured else "stays"
        told = f"{fault.found.place}: {fault.found.words}: {worth}; {state}"
        yield output.wrapped(output.printable(told), indent="  ")


def _asking(shown: AskingShown, last_day: int) -> Iterator[str]:
    from shutline.usecases.price_sums import left_words

    asking, near = shown.asking, shown.near
    yield "What to ask"
    kept = "none is kept yet" if shown.kept is None else f"kept: £{shown.kept:,.0f}"
    more = " or more" if near.half[0] > last_day else ""
    yield output.wrapped(
        f"at £{shown.at:,.0f} half are sold after {min(near.half[0], last_day):,.0f}{more} days, "
        f"{near.sold[0]:.0%} by day {last_day}; {left_words(near.left[0])}; {kept}",
        indent="  ",
    )
    yield output.wrapped(
        f"£{asking.best.price:,} leaves most; from £{asking.flat_low:,} to £{asking.flat_high:,} it makes little "
        "difference",
        indent="  ",
    )
    if asking.cut is not None:
        cut = asking.cut
        yield f"  to ask £{cut.first:,}, and £{cut.then:,} after {cut.day} days, leaves £{cut.gain:,} more"
    yield output.wrapped(asking.note, indent="  ")


def _figure(one: FigureShown) -> str:
    middle = f"{one.middle:,.2f}" if one.middle < 20 and one.middle % 1 else f"{one.middle:,.0f}"
    ends = f" ({one.low:,.0f} to {one.high:,.0f})" if one.low != one.high else ""
    return f"{one.words}: {middle} {one.unit}{ends}, {one.whence}"


def _pair(text: str) -> tuple[str, str]:
    name, sign, entry = (part.strip() for part in text.partition("="))
    if not (name and sign):
        raise _refused("--say", repr(text[:40]), "a name, = and what it is, which may be nothing")
    return name, entry


def _day(text: str | None) -> date | None:
    try:
        return None if text is None else date.fromisoformat(text)
    except ValueError:
        raise _refused("--day", repr(text)[:40], "a day such as 2026-11-26") from None


def _refused(where: str, found: str, allowed: str) -> BadInputError:
    return BadInputError(Problem("price-refused", where, found, allowed, "Give the command again so."))
