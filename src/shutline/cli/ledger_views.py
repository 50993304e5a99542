"""The verbs of the ledger that show something: book, entries, quarters, forecourt, papers, imports, the clock."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from shutline.cli import output
from shutline.cli.ledger_options import Day, Number, Out, Pdf, day_of, entry_line, refused, today
from shutline.cli.options import AsJson, Author, StoreFolder, opened

if TYPE_CHECKING:
    from shutline.ledger import Forecourt
    from shutline.ledger.clock import Right
    from shutline.usecases.ledger_car import StockCarShown
    from shutline.usecases.ledger_shown import LedgerFile

app = typer.Typer()
"""Its commands are verbs of the ledger; see `ledger_commands`."""


@app.command(epilog="Example: shutline ledger stock --out stock-book.csv")
def stock(*, out: Out = None, pdf: Pdf = None, store: StoreFolder = None, as_json: AsJson = False) -> None:
    """Show the stock book: a line for each car in the columns of the scheme; with --out, written as CSV."""
    from shutline.usecases.ledger_shown import shown_stock, write_stock_book

    if out is not None and pdf is not None:
        raise refused("--out beside --pdf", "one of the two")
    if pdf is not None:
        with opened(store) as there:
            _show_file(write_stock_book(there, pdf), as_json=as_json)
        return
    if out is not None:
        _write(store, "stock", out, as_json=as_json)
        return
    with opened(store) as there:
        shown = shown_stock(there)
    if as_json:
        output.show_json(shown)
        return
    for line, cells in zip(shown.lines, shown.cells, strict=True):
        named = zip(shown.headings, cells, strict=True)
        told = "; ".join(f"{heading}: {cell}" for heading, cell in named if cell)
        kept = "" if line.keep_until is None else f" Keep until {line.keep_until.isoformat()} at least."
        notes = f" ({'; '.join(line.notes)})" if line.notes else ""
        output.print_line(output.wrapped(output.printable(f"{told}; {line.state}, {line.eligible}.{kept}{notes}")))
    for text in (shown.keeping, shown.caution):
        output.print_line(output.wrapped(text))


@app.command(epilog="Example: shutline ledger show 1")
def show(
    number: Annotated[int, typer.Argument(metavar="[STOCK]", help="Stock number, as `ledger stock` lists it.")] = 0,
    *,
    car: Annotated[str, typer.Option("--car", help="In place of it: name of a car file, or the start of one.")] = "",
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Show one car of stock: its entries, what is owed, its questions, and what may be entered; or those of a car."""
    from shutline.usecases.ledger_car import car_in_ledger, shown_car

    if bool(number) == bool(car):
        raise refused("a stock number and --car, or neither", "one of the two")
    with opened(store) as there:
        of_car = car_in_ledger(there, car) if car else None
        cars = (shown_car(there, number),) if of_car is None else of_car.stock
    if as_json:
        output.show_json(of_car or cars[0])
        return
    for one in cars:
        _show_car(one)
    if not cars:
        output.print_line("The ledger has no line of it.")


def _show_car(found: StockCarShown) -> None:
    output.print_line(output.printable(f"Stock number {found.stock}, {found.what}: {found.line.state}"))
    for one in found.entries:
        output.print_line(f"  {entry_line(one.entry, one.reversed_by)}")
    owed = found.owed
    if owed is not None:
        told = f"{owed.least.told()} to {owed.most.told()}" if owed.tax is None else owed.tax.told()
        output.print_line(f"  margin {owed.margin.told()}; VAT owed {told}, from {owed.taxed}")
    output.print_line(output.wrapped(output.printable(found.asked.sentence), indent="  "))
    may = ", ".join(found.may) or "nothing but returns and reversals"
    output.print_line(f"  may be entered: {may}")


@app.command(epilog="Example: shutline ledger entries --stock 1")
def entries(
    *,
    number: Annotated[int, typer.Option("--stock", help="Only those of this stock number.", metavar="STOCK")] = 0,
    out: Out = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """List all entries in their order, those that were reversed too; with --out, written as CSV."""
    from shutline.usecases.ledger_shown import shown_entries

    if out is not None:
        _write(store, "entries", out, as_json=as_json)
        return
    with opened(store) as there:
        shown = shown_entries(there, stock=number)
    if as_json:
        output.show_json({"entries": shown})
        return
    for one in shown:
        output.print_line(entry_line(one.entry, one.reversed_by))


@app.command(epilog="Example: shutline ledger quarter --day 2026-05-01")
def quarter(
    *,
    day: Annotated[str, typer.Option("--day", help="A day of the quarter. [default: today]", metavar="DAY")] = "",
    start: Annotated[str, typer.Option("--start", help="In place of a quarter: from this day.", metavar="DAY")] = "",
    end: Annotated[str, typer.Option("--end", help="With --start: to this day. [default: today]", metavar="DAY")] = "",
    each: Annotated[bool, typer.Option("--each", help="Show each entry that is in the sums, too.")] = False,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Add up a quarter: what is owed on margins, sales, purchases, as the boxes of the return ask for it."""
    from shutline.usecases.ledger_shown import shown_totals

    if (start and day) or (end and not start):
        raise refused("--day beside --start, or --end without it", "--day alone, or --start with or without --end")
    with opened(store) as there:
        told = shown_totals(there, day=day_of(day), start=day_of(start, "--start"), end=day_of(end, "--end"))
    if as_json:
        output.show_json(told)
        return
    output.print_line(f"{told.start.isoformat()} to {told.end.isoformat()}")
    for box in told.boxes:
        output.print_line(f"  {box.name}: {box.amount.told()}  {box.what}")
    for line in told.lines if each else ():
        vat, net = (told.boxes[at].name for at in ((0, 2) if line.sale else (1, 3)))
        who = output.printable(", ".join(part for part in (line.party, line.paper) if part))
        words = f"  {line.entry}  {line.day.isoformat()}  stock {line.stock}  {line.kind}  {who}"
        back = "  (taken back)" if line.taken_back else ""
        output.print_line(f"{words}: {vat} {line.vat.told()}, {net} {line.net.told()}{back}")
    for one in told.open:
        least, most = one.least.told(), one.most.told()
        output.print_line(f"  not known: stock number {one.stock}, sold for {one.price.told()}: {least} to {most}")
    for note in told.notes:
        output.print_line(output.wrapped(output.printable(note), indent="  "))


@app.command(epilog="Example: shutline ledger forecourt")
def forecourt(*, day: Day = "", store: StoreFolder = None, as_json: AsJson = False) -> None:
    """Tell what stands in stock, for how long and with how much money in it, and what each sold car made."""
    from shutline.usecases.ledger_shown import shown_forecourt

    with opened(store) as there:
        told = shown_forecourt(there, day=day_of(day))
    if as_json:
        output.show_json(told)
        return
    _show_forecourt(told)


def _show_forecourt(told: Forecourt) -> None:
    output.print_line(f"In stock on {told.day.isoformat()}: {len(told.standing)}, {told.tied_up.told()} tied up")
    for car in told.standing:
        text = f"  {car.stock}  {car.what}: {car.days} days, {car.tied_up.told()} tied up"
        output.print_line(output.printable(f"{text}, holding {car.holding.told()}, deposits {car.deposits.told()}"))
    unknown = f", and {told.unknown} of which the tax is not known" if told.unknown else ""
    output.print_line(f"Sold until then: {len(told.made)}, {told.profit.told()} made{unknown}")
    for sold in told.made:
        made = f"{sold.least.told()} to {sold.most.told()}"
        if sold.profit is not None and sold.a_day is not None:
            made = f"{sold.profit.told()}, {sold.a_day.told()} a day"
        output.print_line(output.printable(f"  {sold.stock}  {sold.what}: {sold.days} days, {made}"))


@app.command(epilog="Example: shutline ledger invoice 4")
def invoice(number: Number, *, pdf: Pdf = None, store: StoreFolder = None, as_json: AsJson = False) -> None:
    """Give the invoice of a sale, or of a purchase whose invoice the firm makes out itself, as text or PDF."""
    from shutline.usecases.ledger_shown import shown_invoice, write_invoice

    if pdf is not None:
        with opened(store) as there:
            _show_file(write_invoice(there, number, pdf), as_json=as_json)
        return
    with opened(store) as there:
        shown = shown_invoice(there, number)
    if as_json:
        output.show_json(shown)
        return
    output.print_line(output.printable(shown.text.rstrip("\n")))
    for problem in shown.problems:
        output.show_problem(problem)


@app.command(epilog="Example: shutline ledger journal --out ledger.beancount")
def journal(*, out: Out = None, store: StoreFolder = None, as_json: AsJson = False) -> None:
    """Give all of it as double entry in the plain-text syntax of Beancount, for the accountant."""
    _write(store, "journal", out, as_json=as_json)


@app.command(name="import", epilog="Example: shutline ledger import 20000 --arrived 2026-06-01 --made 1968-12-31")
def import_(
    value: Annotated[str, typer.Argument(metavar="VALUE", help="Value for customs, in pounds.")],
    *,
    arrived: Annotated[str, typer.Option("--arrived", help="When customs accepted the entry.", metavar="DAY")],
    costs: Annotated[str, typer.Option("--costs", help="Costs up to the first place it goes to, in pounds.")] = "0",
    made: Annotated[str, typer.Option("--made", help="The last day it may have been made.", metavar="DAY")] = "",
    taken_out: Annotated[
        str, typer.Option("--taken-out", help="When it was taken out of the country before.", metavar="DAY")
    ] = "",
    said: Annotated[
        list[str] | None,
        typer.Option("--said", help="Answer to a condition: original=yes; may be repeated.", metavar="ID=ANSWER"),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Tell what bringing a car into the United Kingdom asks for: by when, under which conditions, what it comes to."""
    from shutline.usecases.ledger_typed import import_typed

    typed = {"value": value, "costs": costs, "arrived": arrived, "made": made, "taken_out": taken_out}
    answers = {id_: word for id_, _, word in (one.partition("=") for one in said or [])}
    told = import_typed(typed | answers)
    if as_json:
        output.show_json(told)
        return
    output.print_line(output.wrapped(told.tell))
    for way in told.ways:
        state = f", conditions {way.met}" if way.conditions else ""
        output.print_line(f"{way.name}{state}: duty {way.duty.told()}, VAT {way.vat.told()}")
        output.print_line(output.wrapped(f"{way.sentence} ({way.source})", indent="  "))
        for one in way.conditions:
            output.print_line(output.wrapped(f"{one.id}, {one.met}: {one.question} ({one.source})", indent="    "))
    for text in (told.scheme, told.caution):
        output.print_line(output.wrapped(text))


@app.command(epilog="Example: shutline ledger clock 2026-06-01 --distance yes --told yes")
def clock(
    delivered: Annotated[str, typer.Argument(metavar="DELIVERED", help="The day the buyer got the car.")],
    *,
    owned: Annotated[
        str, typer.Option("--owned", help="When it became the buyer's. [default: that day]", metavar="DAY")
    ] = "",
    ready: Annotated[
        str, typer.Option("--ready", help="When what the firm still had to do was done.", metavar="DAY")
    ] = "",
    agreed: Annotated[str, typer.Option("--agreed", help="When the contract was made.", metavar="DAY")] = "",
    distance: Annotated[
        str, typer.Option("--distance", help="Made at a distance: yes, no or not-known.")
    ] = "not-known",
    told: Annotated[
        str, typer.Option("--told", help="Told of the right to cancel: yes, no or not-known, or the later day.")
    ] = "not-known",
    repair: Annotated[
        list[str] | None,
        typer.Option(
            "--repair", help="A repair: day asked:day back, or day asked alone; may be repeated.", metavar="DAYS"
        ),
    ] = None,
    returned: Annotated[
        str, typer.Option("--returned", help="When the car came back after cancelling.", metavar="DAY")
    ] = "",
    agreed_refund: Annotated[
        str, typer.Option("--agreed-refund", help="When the firm agreed to a refund.", metavar="DAY")
    ] = "",
    day: Day = "",
    as_json: AsJson = False,
) -> None:
    """Work out until when a consumer may cancel or reject, from the days of the sale; no legal advice."""
    from shutline.usecases.ledger_typed import clock_typed

    typed = {"delivered": delivered, "owned": owned, "ready": ready, "agreed": agreed, "distance": distance}
    typed |= {"told_on" if told[:1].isdigit() else "told": told, "returned": returned, "agreed_refund": agreed_refund}
    for number, one in enumerate(repair or [], start=1):
        typed[f"asked_{number}"], _, typed[f"back_{number}"] = one.partition(":")
    found = clock_typed(typed)
    if as_json:
        output.show_json(found)
        return
    asked_on = day_of(day) or today()
    for right in found.rights:
        output.print_line(f"{right.name}: {_days(right)}; on {asked_on.isoformat()} {right.state(asked_on)}")
        output.print_line(output.wrapped(f"{right.sentence} ({right.source})", indent="  "))
    output.print_line(output.wrapped(found.caution))


def _days(right: Right) -> str:
    start = "" if right.first is None else f"from {right.first.isoformat()} "
    if right.last is None or right.latest is None:
        return f"{start}to a day that cannot be told yet"
    later = f", or {right.latest.isoformat()} at the latest" if right.latest != right.last else ""
    return f"{start}to {right.last.isoformat()}{later}"


@app.command(epilog="Example: shutline ledger settings --stagger 2 --holding 4.50")
def settings(
    *,
    country: Annotated[str | None, typer.Option("--country", help="Whose rules hold: gb, or de.")] = None,
    from_memory: Annotated[
        bool | None, typer.Option("--from-memory/--not-from-memory", help="Take rules that are from memory.")
    ] = None,
    stagger: Annotated[int | None, typer.Option("--stagger", help="Which quarters the firm was given: 1 to 3.")] = None,
    holding: Annotated[
        str | None, typer.Option("--holding", help="What a car costs each day it stands.", metavar="AMOUNT")
    ] = None,
    vat_number: Annotated[str | None, typer.Option("--vat-number", help="The firm's VAT registration number.")] = None,
    by: Author = None,
    as_json: AsJson = False,
) -> None:
    """Show what is set for the ledger, and change it."""
    from dataclasses import replace

    from shutline.usecases.ledger_settings import keep_ledger_settings, ledger_settings, ledger_settings_shown
    from shutline.usecases.settings import author

    given = {
        "country": country,
        "take_from_memory": from_memory,
        "stagger": stagger,
        "holding_a_day": holding,
        "vat_number": vat_number,
    }
    changed = {name: value for name, value in given.items() if value is not None}
    if changed:
        chosen = replace(ledger_settings(), **changed)  # type: ignore[arg-type]
        shown = keep_ledger_settings(chosen, author=by or author())
    else:
        shown = ledger_settings_shown()
    if as_json:
        output.show_json(shown)
        return
    chosen = shown.chosen
    output.print_line(
        f"Country: {chosen.country}; stagger: {chosen.stagger}; VAT number: {chosen.vat_number or 'none'}"
    )
    output.print_line(f"A day of holding: {chosen.holding_a_day or 'nothing'}")
    output.print_line(output.printable(f"Rows of your own: {', '.join(shown.tables) or 'none'}, in {shown.folder}"))
    output.print_line(output.wrapped(shown.caution))
    for problem in shown.problems:
        output.show_problem(problem)


def _write(store: Path | None, what: str, out: Path | None, *, as_json: bool) -> None:
    from shutline.usecases.ledger_shown import ledger_file

    with opened(store) as there:
        _show_file(ledger_file(there, what, path=out), as_json=as_json)


def _show_file(made: LedgerFile, *, as_json: bool) -> None:
    if as_json:
        output.show_json(made)
    elif made.path:
        output.print_line(f"Written: {output.printable(made.path)}")
    else:
        output.print_line(output.printable(made.text.rstrip("\n")))
