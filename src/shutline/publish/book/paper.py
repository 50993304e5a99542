"""An invoice and the stock book, set as PDFs; all words go to the typesetter as data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, time
from typing import TYPE_CHECKING, Any

from shutline.car.errors import Problem
from shutline.publish.plain import one_line
from shutline.publish.report.paper import settable
from shutline.publish.report.times import day
from shutline.publish.typeset import typeset

if TYPE_CHECKING:
    from datetime import date

    from shutline.ledger import BookLine, Invoice, InvoiceLine, Party, Rules

_SUMS = frozenset({"bought_price", "sold_price", "margin", "base", "vat"})
_ADVICE = "See whether the disk is full; if it is not, report this with the message."


def invoice_pdf(invoice: Invoice) -> bytes:
    """Set an invoice on A4; the same invoice gives the same bytes, whenever it is set.

    Returns
    -------
    bytes
        PDF 1.7, PDF/UA-1.

    Raises
    ------
    BrokenWorldError
        The typesetter fails, or there is no room for its working files (slug ``ledger-not-set``).
    """
    words = {
        "title": invoice.title,
        "heads": [
            ["Number", invoice.number],
            ["Date", day(invoice.day.isoformat())],
            ["Stock number", str(invoice.stock)],
        ],
        "sides": [["Seller", *_lines(invoice.seller)], ["Buyer", *_lines(invoice.buyer)]],
        "lines": [[one.text, one.amount.told()] for one in (*invoice.lines, *_one(invoice.tax))],
        "total": ["Total", invoice.total.told()],
        "settled": [[_dated(one), one.amount.told()] for one in invoice.settled],
        "to_pay": ["To pay", invoice.to_pay.told()] if invoice.settled else [],
        "statements": list(invoice.statements),
    }
    return _set("book/invoice.typ", words, invoice.day)


def stock_book_pdf(lines: Sequence[BookLine], rules: Rules, *, firm: str, made_on: date) -> bytes:
    """Set the stock book on A4 across, in the columns of the country, the headings on every page.

    Parameters
    ----------
    lines : sequence of BookLine
        In the order of their numbers.
    rules : Rules
        Of the country.
    firm : str
        Whose book it is; may be empty.
    made_on : date
        Stands on it; the same book and day give the same bytes.

    Returns
    -------
    bytes
        PDF 1.7, PDF/UA-1.

    Raises
    ------
    BrokenWorldError
        The typesetter fails, or there is no room for its working files (slug ``ledger-not-set``).
    """
    words = {
        "title": "Stock book",
        "head": " · ".join(part for part in (firm, rules.scheme, day(made_on.isoformat())) if part),
        "purchase": sum(one.side == "purchase" for one in rules.columns),
        "headings": [one.heading for one in rules.columns],
        "sums": [at for at, one in enumerate(rules.columns) if one.field in _SUMS],
        "rows": [[line.cell(one.field) for one in rules.columns] for line in lines],
        "notes": [f"{line.number}: {'; '.join(line.notes)}" for line in lines if line.notes],
        "foot": rules.caution,
    }
    return _set("book/stock.typ", words, made_on)


def _set(page: str, words: dict[str, Any], on: date) -> bytes:
    (pdf,) = typeset(
        page,
        lambda _: {"m": _settable(words)},
        made_at=datetime.combine(on, time(), tzinfo=UTC),
        trouble=Problem(
            slug="ledger-not-set",
            where="ledger",
            found="the PDF could not be made",
            allowed="it can still be had as text or as CSV",
            advice=_ADVICE,
        ),
    )
    return pdf


def _dated(line: InvoiceLine) -> str:
    return line.text if line.day is None else f"{line.text} of {day(line.day.isoformat())}"


def _lines(party: Party) -> Iterator[str]:
    yield party.name
    # An address is kept on one line; its commas part it.
    yield from (part.strip() for part in party.address.split(",") if part.strip())
    if party.vat_number:
        yield f"VAT registration number {party.vat_number}"


def _one(line: Any) -> tuple[Any, ...]:
    return () if line is None else (line,)


def _settable(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _settable(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_settable(item) for item in value]
    return settable(one_line(value)) if isinstance(value, str) else value
