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
    entry_line,
)
from shutline.cli.options import AsJson, Author, StoreFolder, opened

if TYPE_CHECKING:
    from pathlib import Path

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
    party = {"name": seller, "address": address, "vat_number": vat_number, "paper": paper, "vat": vat, "rate": rate}
    whose = {"self_billed": "" if paper else "yes", "against": against, "car": car}
    kind = "part-exchange-in" if against else "purchase"
    _enter(store, by, as_json=as_json, begin=True, kind=kind, what=what, amount=amount, day=day, **party, **whose)


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
    party = {"name": supplier, "vat_number": vat_number, "paper": paper, "vat": vat, "rate": rate}
    _enter(
        store, by, as_json=as_json, begin=False, kind="cost", stock=stock, what=what, amount=amount, day=day, **party
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
    _enter(store, by, as_json=as_json, begin=False, kind="deposit", stock=stock, amount=amount, day=day, name=payer)


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
    party = {"name": buyer, "address": address, "vat_number": vat_number, "paper": paper}
    how = {"outside": "yes" if outside else "", "what": went, "against": against}
    kind = "part-exchange-out" if against else "sale"
    _enter(store, by, as_json=as_json, begin=False, kind=kind, stock=stock, amount=amount, day=day, **party, **how)


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
    _enter(store, by, as_json=as_json, begin=False, kind="return", against=number, what=why, amount=amount, day=day)


@app.command(epilog='Example: shutline ledger reverse 4 --why "entered twice"')
def reverse(
    number: Number,
    *,
    why: Annotated[str, typer.Option("--why", help="What was wrong with it.", metavar="WORDS")],
    day: Annotated[
        str,
        typer.Option(
            "--day", help="From when on. [default: the day of an entry made today, else today]", metavar="DAY"
        ),
    ] = "",
    by: Author = None,
    store: StoreFolder = None,
    as_json: AsJson = False,
) -> None:
    """Take back an entry that was wrong: it stays in the ledger, and counts no longer from that day on."""
    _enter(store, by, as_json=as_json, begin=False, kind="reversal", against=number, what=why, day=day)


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
    from shutline.usecases.ledger import asked_about
    from shutline.usecases.ledger_typed import answer_typed

    with opened(store) as there:
        if question is None:
            asked = asked_about(there, stock)
        else:
            typed = {"question": question, "said": said or "", "note": note}
            asked = answer_typed(there, stock, typed, author=by)
    if as_json:
        output.show_json(asked)
        return
    _show_asked(asked)


def _show_asked(asked: Asked) -> None:
    output.print_line(output.printable(f"Stock number {asked.stock}, {asked.what}"))
    output.print_line(output.wrapped(output.printable(asked.sentence)))
    for one in asked.to_ask:
        output.print_line(f"  {one.id}: {one.question} ({one.source})")


def _enter(store: Path | None, by: str | None, *, as_json: bool, begin: bool, **typed: object) -> None:
    """Make an entry; only with what is bought may a store `begin`, for all others are of something entered before."""
    from shutline.usecases.ledger_typed import enter_typed

    with opened(store, begin=begin) as there:
        made = enter_typed(there, {name: str(value) for name, value in typed.items() if value}, author=by)
    _show_entry(made, as_json=as_json)


def _show_entry(made: Entered, *, as_json: bool) -> None:
    if as_json:
        output.show_json(made)
        return
    output.print_line(entry_line(made.entry))
    if made.told:
        output.print_line(output.wrapped(output.printable(made.told)))


app.registered_commands += ledger_views.app.registered_commands
