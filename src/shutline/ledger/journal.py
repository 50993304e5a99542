"""The ledger as double entry, in the plain-text syntax of Beancount, for the accountant.

Every transaction comes to nought. What was paid and received in money is in the bank's own book and not here: a
purchase is owed to its seller, a sale is owed by its buyer, until the accountant sets the bank's lines against them.
Money taken as a deposit is the one exception, because nothing else tells of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from shutline.ledger.book import Book
from shutline.ledger.entries import BOUGHT, SOLD, Entry, Kind
from shutline.ledger.money import NOUGHT
from shutline.ledger.owed import owed_on
from shutline.ledger.rules import Rules

BANK = "Assets:Bank"
BUYERS = "Assets:Owed-By-Buyers"
RECLAIM = "Assets:VAT-To-Reclaim"
STOCK = "Assets:Stock"
SELLERS = "Liabilities:Owed-To-Sellers"
SUPPLIERS = "Liabilities:Owed-To-Suppliers"
DEPOSITS = "Liabilities:Deposits"
VAT = "Liabilities:VAT-Owed"
SALES = "Income:Cars-Sold"
KEPT = "Income:Kept-Of-Returns"
BOUGHT_COST = "Expenses:Cars-Sold"
WORK = "Expenses:Preparation"
ACCOUNTS = (BANK, BUYERS, RECLAIM, SELLERS, SUPPLIERS, DEPOSITS, VAT, SALES, KEPT, BOUGHT_COST, WORK)


@dataclass(frozen=True, slots=True)
class Posting:
    """An amount on an account; above nought is a debit."""

    account: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Transaction:
    """One entry as postings that come to nought; `open` where it is not known what tax is owed on it."""

    number: int
    day: date
    payee: str
    text: str
    open: bool
    postings: tuple[Posting, ...]


def transactions_of(book: Book, rules: Rules) -> tuple[Transaction, ...]:
    """Give a transaction for each entry, in their order."""
    made: list[Transaction] = []
    for entry in book.entries:
        made.append(_transaction(book, rules, entry, made))
    return tuple(made)


def journal_text(book: Book, rules: Rules) -> str:
    """Write the journal as Beancount reads it.

    A transaction of which it is not known what tax is owed has the flag ``!``, which the syntax has for what is
    incomplete: no tax is in it.
    """
    every = transactions_of(book, rules)
    start = min((one.day for one in every), default=date(1970, 1, 1)).isoformat()
    lines = [
        f"; {rules.scheme}. {rules.caution}",
        "; Payments are not here: they are in the bank's own book.",
        f'option "title" "Shutline ledger"\noption "operating_currency" "{book.currency}"',
        *(f"{start} open {account} {book.currency}" for account in ACCOUNTS),
        *(f"{start} open {_stock(number)} {book.currency}" for number in range(1, book.last_stock + 1)),
    ]
    for one in every:
        flag = "!" if one.open else "*"
        lines.append(f"\n{one.day.isoformat()} {flag} {_quoted(one.payee)} {_quoted(one.text)}\n  entry: {one.number}")
        lines += [f"  {posting.account}  {posting.amount:.2f} {book.currency}" for posting in one.postings]
    return "\n".join(lines) + "\n"


def _transaction(book: Book, rules: Rules, entry: Entry, before: list[Transaction]) -> Transaction:
    named = before[entry.against - 1] if entry.kind in (Kind.REVERSAL, Kind.RETURN) else None
    still_open = False
    if entry.kind is Kind.REVERSAL and named is not None:
        postings = [Posting(one.account, -one.amount) for one in named.postings]
        still_open = named.open
    elif entry.kind is Kind.RETURN and named is not None:
        postings = _returned(book, entry, named)
        still_open = named.open
    elif entry.kind in SOLD:
        postings, still_open = _sold(book, rules, entry)
    else:
        postings = _plain(entry)
    kept = tuple(one for one in postings if one.amount)
    text = f"{entry.kind}, stock number {entry.stock}" + (f": {entry.what}" if entry.what else "")
    return Transaction(entry.number, entry.day, entry.party.name, text, still_open, kept)


def _plain(entry: Entry) -> list[Posting]:
    amount, net = entry.amount.amount, entry.net()
    if entry.kind is Kind.DEPOSIT:
        return [Posting(BANK, amount), Posting(DEPOSITS, -amount)]
    tax = Posting(RECLAIM, amount - net)
    if entry.kind in BOUGHT:
        owed = BUYERS if entry.kind is Kind.PART_IN else SELLERS
        return [Posting(_stock(entry.stock), net), tax, Posting(owed, -amount)]
    return [Posting(WORK, net), tax, Posting(SUPPLIERS, -amount)]


def _sold(book: Book, rules: Rules, sale: Entry) -> tuple[list[Posting], bool]:
    car = book.car_of(sale)
    owed = owed_on(car, sale, rules)
    tax = owed.tax or NOUGHT
    price, paid = sale.amount.amount, sum((one.amount.amount for one in book.settled_in(sale.number)), NOUGHT)
    by = SELLERS if sale.kind is Kind.PART_OUT else BUYERS
    postings = [
        Posting(by, price - paid),
        Posting(DEPOSITS, paid),
        Posting(SALES, tax - price),
        Posting(VAT, -tax),
        Posting(BOUGHT_COST, car.first.net()),
        Posting(_stock(sale.stock), -car.first.net()),
    ]
    return postings, owed.tax is None


def _returned(book: Book, back: Entry, named: Transaction) -> list[Posting]:
    sale = book.entry(back.against)
    if sale is None:
        raise ValueError(f"entry {back.number} names none")
    given, kept = back.amount.amount, sale.amount.amount - back.amount.amount
    if sale.kind is Kind.DEPOSIT:
        return [Posting(DEPOSITS, sale.amount.amount), Posting(BANK, -given), Posting(KEPT, -kept)]
    # What was owed and paid on it comes back as owed to the buyer; the rest is the sale the other way round.
    there = (BUYERS, SELLERS, DEPOSITS)
    postings = [Posting(one.account, -one.amount) for one in named.postings if one.account not in there]
    return [*postings, Posting(BUYERS, -given), Posting(KEPT, -kept)]


def _stock(number: int) -> str:
    return f"{STOCK}:{number:05d}"


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
