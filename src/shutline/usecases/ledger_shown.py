"""What the ledger shows: stock book, entries, quarters, forecourt, invoices, journal; and what goes out as files."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.ledger import (
    check_invoice,
    entries_csv,
    forecourt_of,
    journal_text,
    purchase_invoice,
    quarter_of,
    sales_invoice,
    stock_book,
    stock_book_csv,
    totals_of,
)
from shutline.ledger.entries import BOUGHT
from shutline.ledger.totals import no_period
from shutline.usecases.ledger import entry_of, ledger_book, ledger_pages, today
from shutline.usecases.ledger_settings import firm, holding_a_day, ledger_rules, ledger_settings

if TYPE_CHECKING:
    from shutline.car.errors import Problem
    from shutline.ledger import BookLine, Entry, Forecourt, Invoice, Pages, Totals
    from shutline.store import Store


@dataclass(frozen=True, slots=True)
class StockShown:
    """The stock book: its scheme, its headings, a line for each car with its cells; for how long; and the caution."""

    scheme: str
    headings: tuple[str, ...]
    lines: tuple[BookLine, ...]
    cells: tuple[tuple[str, ...], ...]
    keeping: str
    caution: str


@dataclass(frozen=True, slots=True)
class EntryShown:
    """An entry, and by which number it was reversed; 0 while it was not."""

    entry: Entry
    reversed_by: int


@dataclass(frozen=True, slots=True)
class InvoiceShown:
    """An invoice, its text, and what its words are short of."""

    invoice: Invoice
    text: str
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True)
class LedgerFile:
    """A text that the ledger gives for others, and where it was written; empty where it was not."""

    what: str
    text: str
    path: str = ""


def shown_stock(store: Store, *, numbers: tuple[int, int] | None = None) -> StockShown:
    """Give the stock book, a line for each car that was ever bought; the first and the last of `numbers` alone."""
    book: Pages
    book, rules = ledger_book(store) if numbers is None else ledger_pages(store, stocks=numbers)
    lines = stock_book(book, rules)
    cells = tuple(tuple(line.cell(one.field) for one in rules.columns) for line in lines)
    headings = tuple(one.heading for one in rules.columns)
    keeping = f"Records are kept {rules.keep_years} years ({rules.keep_source})."
    return StockShown(rules.scheme, headings, lines, cells, keeping, rules.caution)


def last_stock_number(store: Store) -> int:
    """Give the number of the last line of the stock book; 0 where there is none."""
    return ledger_pages(store)[0].last_stock


def shown_entries(store: Store, *, stock: int = 0) -> tuple[EntryShown, ...]:
    """Give the entries in their order; those of one stock number where one is named."""
    book: Pages = (ledger_pages(store, stock=stock) if stock else ledger_book(store))[0]
    found = []
    for entry in book.entries:
        by = book.reversed_by(entry.number)
        if stock in (0, entry.stock):
            found.append(EntryShown(entry, 0 if by is None else by.number))
    return tuple(found)


def shown_totals(
    store: Store, *, day: date | None = None, start: date | None = None, end: date | None = None
) -> Totals:
    """Give the sums of the quarter in which a day lies, or of the days from `start` to `end`.

    Without any of them it is the quarter of today; with `start` alone, from there to today.

    Raises
    ------
    BadInputError
        The period has no first day, or ends before it (slug ``ledger-period``).
    """
    if (start is None and end is not None) or (start is not None and day is not None):
        raise no_period("an end without a start, or a day beside it", "a day, or a start and an end", "Say either.")
    if start is None:
        start, end = quarter_of(day or today(), ledger_rules(), stagger=ledger_settings().stagger)
    end = end or today()
    book, rules = ledger_pages(store, start=start, end=end)
    return totals_of(book, rules, start=start, end=end)


def shown_forecourt(store: Store, *, day: date | None = None) -> Forecourt:
    """Give what stands in stock on a day, today when left out, and what was made until then."""
    book, rules = ledger_book(store)
    holding = holding_a_day(ledger_settings(), rules.currency)
    return forecourt_of(book, rules, day=day or today(), holding_a_day=holding)


def shown_invoice(store: Store, number: int) -> InvoiceShown:
    """Give the invoice of a sale, or that of a purchase which the firm makes out itself.

    Raises
    ------
    BadInputError
        It cannot be made (slug ``ledger-invoice``), for one because the house has no name or address.
    """
    book, rules = ledger_pages(store, entry=number)
    entry = entry_of(book, number)
    make = purchase_invoice if entry.kind in BOUGHT else sales_invoice
    invoice = make(book, entry, rules, firm=firm())
    text = invoice.text()
    problems = () if invoice.tax is not None else check_invoice(text, rules, side=invoice.side)
    return InvoiceShown(invoice, text, problems)


def ledger_file(store: Store, what: str, *, path: Path | None = None) -> LedgerFile:
    """Give the stock book (``stock``) or all entries (``entries``) as CSV, or the ``journal``, and write it.

    Parameters
    ----------
    store : Store
        Where the ledger is kept.
    what : str
        Which of the three.
    path : Path, optional
        Where it is written, whole or not at all; nowhere when left out.

    Raises
    ------
    BrokenWorldError
        The file cannot be written (slug ``output-not-written``).
    """
    from shutline.usecases.report import write_whole

    text = _text(store, what)
    return LedgerFile(what, text, "" if path is None else write_whole(path, _data(what, text), what).path)


def ledger_data(store: Store, what: str) -> bytes:
    """Give the bytes that `ledger_file` writes."""
    return _data(what, _text(store, what))


def invoice_paper(store: Store, number: int) -> bytes:
    """Give an invoice as a PDF; raises as `shown_invoice` does."""
    from shutline.publish.book import invoice_pdf

    return invoice_pdf(shown_invoice(store, number).invoice)


def stock_book_paper(store: Store, *, made_on: date | None = None) -> bytes:
    """Give the stock book as a PDF; `made_on` stands on it, today when left out."""
    from shutline.publish.book import stock_book_pdf

    book, rules = ledger_book(store)
    return stock_book_pdf(stock_book(book, rules), rules, firm=firm().name, made_on=made_on or today())


def write_invoice(store: Store, number: int, path: Path) -> LedgerFile:
    """Write an invoice as a PDF, whole or not at all; raises as `shown_invoice` and `ledger_file` do."""
    from shutline.usecases.report import write_whole

    text = shown_invoice(store, number).text
    return LedgerFile("invoice", text, write_whole(path, invoice_paper(store, number), "invoice").path)


def write_stock_book(store: Store, path: Path, *, made_on: date | None = None) -> LedgerFile:
    """Write the stock book as a PDF, whole or not at all; `made_on` stands on it, today when left out."""
    from shutline.usecases.report import write_whole

    pdf = stock_book_paper(store, made_on=made_on)
    return LedgerFile("stock", _text(store, "stock"), write_whole(path, pdf, "stock").path)


def _text(store: Store, what: str) -> str:
    book, rules = ledger_book(store)
    if what == "entries":
        return entries_csv(book)
    return journal_text(book, rules) if what == "journal" else stock_book_csv(book, rules)


def _data(what: str, text: str) -> bytes:
    # A spreadsheet takes a CSV for UTF-8 only by its first bytes.
    return text.encode("utf-8" if what == "journal" else "utf-8-sig")
