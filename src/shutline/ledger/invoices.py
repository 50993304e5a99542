"""Invoices of both sides: what has to stand on them, what may not, and nothing of what the other side need not know."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from shutline.car.errors import BadInputError, Problem
from shutline.ledger.entries import BOUGHT, SOLD, Entry, Kind, Party
from shutline.ledger.money import Money
from shutline.ledger.owed import Taxed, owed_on
from shutline.ledger.pages import Pages
from shutline.ledger.rules import Rules, plain_words

if TYPE_CHECKING:
    from collections.abc import Iterator


@dataclass(frozen=True, slots=True)
class InvoiceLine:
    """A line with its amount, and of a deposit its day."""

    text: str
    amount: Money
    day: date | None = None


@dataclass(frozen=True, slots=True)
class Invoice:
    """An invoice as it is set or printed.

    `side` is ``sale`` or ``purchase``. `lines` come to `total`; `settled` is what was set against it, and `to_pay` the
    rest. `tax` is None in the margin scheme, where none is shown. `statements` are the words the law asks for.
    """

    side: str
    title: str
    number: str
    day: date
    seller: Party
    buyer: Party
    stock: int
    lines: tuple[InvoiceLine, ...]
    tax: InvoiceLine | None
    total: Money
    settled: tuple[InvoiceLine, ...]
    to_pay: Money
    statements: tuple[str, ...]

    def text(self) -> str:
        """Give it as plain text."""
        rows = [
            self.title,
            f"Number: {self.number}",
            f"Date: {self.day.isoformat()}",
            f"Seller: {_party(self.seller)}",
            f"Buyer: {_party(self.buyer)}",
            f"Stock number: {self.stock}",
            *(f"{one.text}: {one.amount.told()}" for one in self.lines),
            *(f"{one.text}: {one.amount.told()}" for one in (self.tax,) if one is not None),
            f"Total: {self.total.told()}",
            *(f"{one.text}{f' of {one.day}' if one.day else ''}: {one.amount.told()}" for one in self.settled),
            *((f"To pay: {self.to_pay.told()}",) if self.settled else ()),
            *self.statements,
        ]
        return "\n".join(rows) + "\n"


def sales_invoice(book: Pages, sale: Entry, rules: Rules, *, firm: Party) -> Invoice:
    """Make the invoice of a sale.

    In the margin scheme it says so and shows no tax. Outside it the tax is shown. What the firm paid for the car is
    not on it.

    Raises
    ------
    BadInputError
        It is no sale that stands, it is not known whether the car is eligible, or a name or an address is missing
        (slug ``ledger-invoice``).
    """
    if sale.kind not in SOLD or not book.stands(sale.number):
        raise _refused(sale, f"a {sale.kind}, or one that counts no longer", "a sale that stands", "Name another.")
    owed = owed_on(book.car_of(sale), sale, rules)
    if owed.tax is None:
        raise _refused(
            sale,
            "it is not known whether the car is eligible for the scheme",
            "an invoice in the scheme, or one with VAT",
            "Answer the questions about the car first.",
        )
    _complete(sale, (firm, "the firm"), (sale.party, "the buyer"))
    price = sale.amount
    what = book.car_of(sale).first.what
    tax = None
    line = InvoiceLine(what, price)
    if owed.taxed is Taxed.FULL:
        tax = Money(owed.tax, book.currency)
        line = InvoiceLine(what, price - tax)
        percent = f"{rules.rate_on(sale.day).percent:f}"
    settled = tuple(_settled(book, sale))
    paid = sum((one.amount.amount for one in settled), start=price.amount * 0)
    return Invoice(
        side="sale",
        title="Invoice",
        number=sale.paper,
        day=sale.day,
        seller=firm,
        buyer=sale.party,
        stock=sale.stock,
        lines=(line,),
        tax=None if tax is None else InvoiceLine(f"VAT at {percent} %", tax),
        total=price,
        settled=settled,
        to_pay=Money(price.amount + paid, book.currency),
        statements=(rules.statement,) if owed.taxed is Taxed.MARGIN else (),
    )


def purchase_invoice(book: Pages, bought: Entry, rules: Rules, *, firm: Party) -> Invoice:
    """Make the invoice of a purchase that the firm makes out itself, for a private seller to sign.

    Raises
    ------
    BadInputError
        It is no purchase that stands and that the firm makes out, or a name or an address is missing (slug
        ``ledger-invoice``).
    """
    if bought.kind not in BOUGHT or not bought.self_billed or not book.stands(bought.number):
        raise _refused(
            bought,
            f"a {bought.kind}, one with the seller's own invoice, or one that counts no longer",
            "a purchase that stands and whose invoice the firm makes out",
            "The seller's own invoice is the paper to keep.",
        )
    _complete(bought, (bought.party, "the seller"), (firm, "the firm"))
    settled: tuple[InvoiceLine, ...] = ()
    if bought.kind is Kind.PART_IN:
        settled = (InvoiceLine("Set against the price of the car sold", -bought.amount),)
    return Invoice(
        side="purchase",
        title="Purchase invoice, made out by the buyer",
        number=f"P{bought.stock:05d}",
        day=bought.day,
        seller=bought.party,
        buyer=firm,
        stock=bought.stock,
        lines=(InvoiceLine(bought.what, bought.amount),),
        tax=None,
        total=bought.amount,
        settled=settled,
        to_pay=Money(bought.amount.amount * (0 if settled else 1), book.currency),
        statements=(rules.statement, "Signed by the seller:"),
    )


def check_invoice(text: str, rules: Rules, *, side: str) -> tuple[Problem, ...]:
    """Hold the words of an invoice of the scheme against what has to stand there and what may not.

    For an invoice that was changed by hand, or one that a trader sent: whether it shows tax decides about the scheme.

    Parameters
    ----------
    text : str
        All words of it.
    rules : Rules
        Of the country.
    side : str
        ``sale`` or ``purchase``.
    """
    plain = plain_words(text)
    found = []
    for row in rules.words:
        if row.side not in (side, "both"):
            continue
        there = row.pattern.search(plain)
        if row.required and there is None:
            found.append(
                Problem(
                    slug="ledger-invoice-words",
                    where=f"{side} invoice",
                    found="the words of the scheme are missing",
                    allowed=f"one of: {'; '.join(row.phrases)} ({row.source})",
                    advice="Put them on it.",
                )
            )
        elif not row.required and there is not None:
            found.append(
                Problem(
                    slug="ledger-invoice-words",
                    where=f"{side} invoice",
                    found=f"it says {there[0]!r}",
                    allowed=f"no tax is shown in the scheme ({row.source})",
                    advice="Take it off your own invoice; a car bought with it is not eligible: enter the VAT.",
                )
            )
    return tuple(found)


def _settled(book: Pages, sale: Entry) -> Iterator[InvoiceLine]:
    for deposit in book.settled_in(sale.number):
        yield InvoiceLine("Deposit", -deposit.amount, deposit.day)
    for taken in book.against(sale.number):
        yield InvoiceLine(f"Part exchange, {taken.what}", -taken.amount)


def _complete(entry: Entry, *sides: tuple[Party, str]) -> None:
    for party, who in sides:
        for text, what in ((party.name, "name"), (party.address, "address")):
            if not text.strip():
                raise _refused(
                    entry,
                    f"no {what} of {who}",
                    "names and addresses of both sides stand on it",
                    "Set the house, and make the invoice again."
                    if who == "the firm"
                    else "An entry is not altered: reverse it, and enter it again with that.",
                )


def _party(party: Party) -> str:
    number = f"VAT registration number {party.vat_number}" if party.vat_number else ""
    return ", ".join(part for part in (party.name, party.address, number) if part)


def _refused(entry: Entry, found: str, allowed: str, advice: str) -> BadInputError:
    return BadInputError(
        Problem(
            slug="ledger-invoice",
            where=f"invoice of entry {entry.number}",
            found=found,
            allowed=allowed,
            advice=advice,
        )
    )
