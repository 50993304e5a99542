"""The stock book: a line for each car in the columns the revenue asks for, numbered in sequence without gaps."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from shutline.ledger.entries import SOLD, Kind
from shutline.ledger.money import NOUGHT, Money
from shutline.ledger.owed import Eligible, Taxed, owed_on, standing_of
from shutline.ledger.pages import Pages, StockCar
from shutline.ledger.rules import Rules

OURS = "made out by us"
"""What stands for the number of an invoice that the firm made out itself."""


class State(StrEnum):
    """Where a car of stock is."""

    IN_STOCK = "in stock"
    SOLD = "sold"
    REVERSED = "entered wrongly and reversed"


@dataclass(frozen=True, slots=True)
class BookLine:
    """A line of the stock book.

    `margin` is below nought for a loss. `base` is the margin without the tax in it, or the price without it outside
    the scheme. `vat` is None where the car is unsold, or where it is not known whether it is eligible; `taxed` says
    which. `keep_until` is the last day until which the record is to be kept at least, None while the car is unsold.
    """

    number: int
    state: State
    bought_on: date
    bought_paper: str
    bought_price: Money
    seller: str
    what: str
    sold_on: date | None
    sold_paper: str
    sold_price: Money | None
    went: str
    buyer: str
    margin: Money | None
    base: Money | None
    vat: Money | None
    taxed: Taxed | None
    eligible: Eligible
    keep_until: date | None
    notes: tuple[str, ...]

    def cell(self, field: str) -> str:
        """Give what stands in a column, as it is written in a file or on paper; empty where there is nothing."""
        if self.state is State.REVERSED and field not in ("number", "what"):
            return ""
        if field == "sold_price" and self.went:
            return self.went
        value = getattr(self, field)
        if field == "vat" and self.taxed is Taxed.NOT_KNOWN:
            return "not known"
        if isinstance(value, Money):
            return f"{value.amount:.2f}"
        return "" if value is None else value.isoformat() if isinstance(value, date) else str(value)


def stock_book(book: Pages, rules: Rules) -> tuple[BookLine, ...]:
    """Give a line for each car of some pages, or of the whole book, in the order of their numbers."""
    return tuple(book_line(book, car, rules) for car in book.cars)


def book_line(book: Pages, car: StockCar, rules: Rules) -> BookLine:
    """Give the line of one car."""
    first, sale = car.first, car.sale
    margin = base = vat = taxed = None
    if sale is not None:
        owed = owed_on(car, sale, rules)
        margin, taxed = Money(owed.margin, book.currency), owed.taxed
        if owed.tax is not None:
            vat = Money(owed.tax, book.currency)
            base = (max(margin, Money(NOUGHT, book.currency)) if taxed is Taxed.MARGIN else sale.amount) - vat
    state = State.REVERSED if car.bought is None else State.IN_STOCK if sale is None else State.SOLD
    return BookLine(
        number=car.stock,
        state=state,
        bought_on=first.day,
        bought_paper=OURS if first.self_billed else first.paper,
        bought_price=first.amount,
        seller=first.party.name,
        what=first.what,
        sold_on=None if sale is None else sale.day,
        sold_paper="" if sale is None else sale.paper,
        sold_price=None if sale is None else sale.amount,
        went="" if sale is None or sale.amount else sale.what,
        buyer="" if sale is None else sale.party.name,
        margin=margin,
        base=base,
        vat=vat,
        taxed=taxed,
        eligible=standing_of(car, rules),
        keep_until=None if sale is None else years_after(sale.day, rules.keep_years),
        notes=tuple(_notes(book, car, taxed)),
    )


def _notes(book: Pages, car: StockCar, taxed: Taxed | None) -> list[str]:
    found = []
    if car.first.kind is Kind.PART_IN:
        found.append(f"taken in part exchange, entry {car.first.against}")
    if car.bought is None:
        by = book.reversed_by(car.first.number)
        found.append("" if by is None else f"reversed by entry {by.number}, {by.day.isoformat()}: {by.what}")
    for back in car.returns.values():
        sale = book.entry(back.against)
        if sale is not None and sale.kind in SOLD:
            came_back = f"came back on {back.day.isoformat()}: {back.what}"
            found.append(f"sold on {sale.day.isoformat()}, invoice {sale.paper}; {came_back}")
    if taxed is Taxed.FULL and car.sale is not None:
        # A margin and what is due stand side by side in the book, and here the one does not come of the other.
        why = "by choice" if car.sale.outside else "as it is not eligible"
        found.append(f"sold outside the scheme {why}: VAT is on the full price")
    return found


def years_after(day: date, years: int) -> date:
    """Give the same day so many years later; of a 29 February the 1 March where there is none."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return date(day.year + years, 3, 1)
