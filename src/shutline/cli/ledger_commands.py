"""The verbs of the ledger that enter something: what was bought, spent, sold, given back, and what was answered."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from shutline.cli import ledger_views, output
from shutline.cli.ledger_options import (
    Address,
    Against,
    Amount,
    Day,
    Number,
    Paper,
    Rate,
    Stock,
    Vat,
    VatNumber,
    day_of,
    entry_line,
    money_of,
    rate_of,
    said_of,
    today,
)
from shutline.cli.options import AsJson, Author, StoreFolder, opened

if TYPE_CHECKING:
    from pathlib import Path

    from shutline.ledger import Draft, Kind
    from shutline.usecases.ledger import Asked, Entered

app = typer.Typer(
    name="ledger",
    help="What was bought, spent, sold and owed: the stock book, the margin scheme, quarters, the journal.",
    epilog="Example: shutline ledger stock",
    no_args_is_help=True,
)


@app.command(epilog='Example: shutline ledger buy "Corvane Ninety, FGY 412H" 8500 --from "Tobias Wend"')
def buy(
    what: Annotated[str, typer.Argument(metavar="WHAT", help="The car, with its registration mark.")],
    amount: Amount,
    *,
    seller: Annotated[str, typer.Option("--from", help="Who sold it.", metavar="NAME")],
    address: Address = "",
    vat_number: VatNumber = "",
    paper: Paper = "",
    vat: Vat = "",
    rate: Rate = "",
    against: Against = 0,
    car: Annotated[str, typer.Option("--car", help="Name of its car file, or the start of one.")] = "",
    day: Day = "",
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Enter a car that was bought, or with --against one taken in for a sale; it gets the next stock number.

    Without --paper the firm makes out the invoice itself, as for a private seller.
    """
    from shutline.ledger import Kind

    draft = _draft(Kind.PART_IN if against else Kind.PURCHASE, amount, day, vat=vat, rate=rate)
    party = {"name": seller, "address": address, "vat_number": vat_number}
    _enter(
        draft,
        party,
        store=store,
        by=by,
        as_json=as_json,
        paper=paper,
        self_billed=not paper,
        what=what,
        against=against,
        car=car,
    )


@app.command(epilog='Example: shutline ledger spend 1 240 --for "two sills welded" --to "Tansley Welding" --vat 40')
def spend(
    stock: Stock,
    amount: Amount,
    *,
    what: Annotated[str, typer.Option("--for", help="What it was spent for.", metavar="WORDS")],
    supplier: Annotated[str, typer.Option("--to", help="Who did it or sold it.", metavar="NAME")],
    vat_number: VatNumber = "",
    paper: Paper = "",
    vat: Vat = "",
    rate: Rate = "",
    day: Day = "",
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Enter a cost of a car of stock: it stays out of the margin, and its VAT is reclaimed by itself."""
    from shutline.ledger import Kind

    party = {"name": supplier, "vat_number": vat_number}
    _enter(
        _draft(Kind.COST, amount, day, vat=vat, rate=rate),
        party,
        store=store,
        by=by,
        as_json=as_json,
        stock=stock,
        what=what,
        paper=paper,
    )


@app.command(epilog='Example: shutline ledger deposit 1 200 --from "Augusta Harbottle"')
def deposit(
    stock: Stock,
    amount: Amount,
    *,
    payer: Annotated[str, typer.Option("--from", help="Who paid it.", metavar="NAME")],
    day: Day = "",
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Enter a deposit on a car of stock; it goes into the next sale of it."""
    from shutline.ledger import Kind

    _enter(_draft(Kind.DEPOSIT, amount, day), {"name": payer}, store=store, by=by, as_json=as_json, stock=stock)


@app.command(epilog='Example: shutline ledger sell 1 12000 --to "Augusta Harbottle" --paper S1')
def sell(
    stock: Stock,
    amount: Amount,
    *,
    buyer: Annotated[str, typer.Option("--to", help="Who bought it.", metavar="NAME")],
    paper: Paper = "",
    address: Address = "",
    vat_number: VatNumber = "",
    outside: Annotated[
        bool, typer.Option("--outside", help="Sell it outside the scheme, with VAT on all of it.")
    ] = False,
    went: Annotated[str, typer.Option("--went", help="Of a car that went for nothing: scrapped, stolen.")] = "",
    against: Against = 0,
    day: Day = "",
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Enter the sale of a car of stock, or with --against one given for a purchase, and say what is owed on it."""
    from shutline.ledger import Kind

    draft = _draft(Kind.PART_OUT if against else Kind.SALE, amount, day)
    party = {"name": buyer, "address": address, "vat_number": vat_number}
    _enter(
        draft,
        party,
        store=store,
        by=by,
        as_json=as_json,
        stock=stock,
        paper=paper,
        outside=outside,
        what=went,
        against=against,
    )


@app.command(name="give-back", epilog='Example: shutline ledger give-back 4 --why "rejected: gearbox"')
def give_back(
    number: Number,
    *,
    why: Annotated[str, typer.Option("--why", help="Why it came back.", metavar="WORDS")],
    amount: Annotated[str, typer.Option("--amount", help="What was given back. [default: all of it]")] = "",
    day: Day = "",
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Enter that a sold car came back for its money, or that a deposit was given back."""
    from shutline.usecases import ledger

    with opened(store) as there:
        given = money_of(amount, "--amount") if amount else None
        made = ledger.give_back(there, number, why=why, day=day_of(day) or today(), amount=given, author=by)
    _show_entry(made, as_json=as_json)


@app.command(epilog='Example: shutline ledger reverse 4 --why "entered twice"')
def reverse(
    number: Number,
    *,
    why: Annotated[str, typer.Option("--why", help="What was wrong with it.", metavar="WORDS")],
    day: Day = "",
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Take back an entry that was wrong: it stays in the ledger, and counts no longer from that day on."""
    from shutline.usecases import ledger

    with opened(store) as there:
        made = ledger.reverse_entry(there, number, why=why, day=day_of(day) or today(), author=by)
    _show_entry(made, as_json=as_json)


@app.command(epilog="Example: shutline ledger answer 1 imported no")
def answer(
    stock: Stock,
    question: Annotated[str | None, typer.Argument(metavar="[QUESTION]", help="The question, by its id.")] = None,
    said: Annotated[str | None, typer.Argument(metavar="[ANSWER]", help="yes, no or not-known.")] = None,
    *,
    note: Annotated[str, typer.Option("--note", help="What the answer stands on.", metavar="WORDS")] = "",
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Answer a question about a car: whether it may be sold in the scheme; without one, list what is to be asked."""
    from shutline.usecases.ledger import answer_about, asked_about

    with opened(store) as there:
        if question is None:
            asked = asked_about(there, stock)
        else:
            asked = answer_about(there, stock, question, said_of(said or "", "answer"), note=note, author=by)
    if as_json:
        output.show_json(asked)
        return
    _show_asked(asked)


def _show_asked(asked: Asked) -> None:
    output.print_line(output.printable(f"Stock number {asked.stock}, {asked.what}"))
    output.print_line(output.wrapped(output.printable(asked.sentence)))
    for one in asked.to_ask:
        output.print_line(f"  {one.id}: {one.question} ({one.source})")


def _draft(kind: Kind, amount: str, day: str, *, vat: str = "", rate: str = "") -> Draft:
    from shutline.ledger import Draft, tax_at

    whole, percent = money_of(amount, "AMOUNT"), rate_of(rate)
    shown = money_of(vat, "--vat") if vat else None if percent is None else tax_at(whole, percent)
    return Draft(kind=kind, day=day_of(day) or today(), amount=whole, vat=shown, rate=percent)


def _enter(
    draft: Draft, party: dict[str, str], *, store: Path | None, by: str | None, as_json: bool, **more: object
) -> None:
    from dataclasses import replace

    from shutline.ledger import Party
    from shutline.usecases.ledger import enter_in_ledger

    with opened(store) as there:
        made = enter_in_ledger(there, replace(draft, party=Party(**party), **more), author=by)  # type: ignore[arg-type]
    _show_entry(made, as_json=as_json)


def _show_entry(made: Entered, *, as_json: bool) -> None:
    if as_json:
        output.show_json(made)
        return
    output.print_line(entry_line(made.entry))
    if made.told:
        output.print_line(output.wrapped(output.printable(made.told)))


app.registered_commands += ledger_views.app.registered_commands
