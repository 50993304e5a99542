"""The stock book and the entries as CSV, for a spreadsheet or the accountant."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

from shutline.ledger.book import Book
from shutline.ledger.rules import Rules
from shutline.ledger.stock import stock_book

_ENTRY = (
    *(
        "number",
        "kind",
        "day",
        "stock",
        "amount",
        "vat",
        "rate",
        "currency",
        "party",
        "address",
        "paper",
        "what",
        "against",
    ),
    *("outside", "reversed_by", "author", "at"),
)


def stock_book_csv(book: Book, rules: Rules) -> str:
    """Write the stock book in the columns of the country, and a last one with what else there is to say."""
    columns = rules.columns
    rows = ([*(line.cell(one.field) for one in columns), "; ".join(line.notes)] for line in stock_book(book, rules))
    return _written([*(one.heading for one in columns), "Notes"], rows)


def entries_csv(book: Book) -> str:
    """Write all entries in their order, those that were reversed too."""
    rows = []
    for one in book.entries:
        by = book.reversed_by(one.number)
        rows.append(
            [
                *(str(one.number), one.kind.value, one.day.isoformat(), str(one.stock), f"{one.amount.amount:.2f}"),
                "" if one.vat is None else f"{one.vat.amount:.2f}",
                "" if one.rate is None else f"{one.rate:f}",
                *(one.amount.currency, one.party.name, one.party.address, one.paper, one.what),
                str(one.against) if one.against else "",
                "yes" if one.outside else "",
                "" if by is None else str(by.number),
                *(one.author, one.at),
            ]
        )
    return _written(list(_ENTRY), rows)


def _written(head: list[str], rows: Iterable[list[str]]) -> str:
    written = io.StringIO()
    writer = csv.writer(written, lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows([_safe(cell) for cell in row] for row in rows)
    return written.getvalue()


def _safe(cell: str) -> str:
    """Keep a spreadsheet from taking words for a formula; amounts below nought stay as they are."""
    number = cell.removeprefix("-").replace(".", "", 1).isdecimal()
    return f"'{cell}" if cell[:1] in tuple("=+-@\t\r") and not number else cell
