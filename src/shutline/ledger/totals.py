"""What goes on the return of a quarter: tax on margins, sales and purchases, and what is taken back from before."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from shutline.car.errors import BadInputError, Problem
from shutline.ledger.entries import BOUGHT, SOLD, Entry, Kind
from shutline.ledger.money import NOUGHT, Money
from shutline.ledger.owed import Taxed, owed_on
from shutline.ledger.pages import Pages
from shutline.ledger.rules import Rules


@dataclass(frozen=True, slots=True)
class Sums:
    """Sums of entries of a period.

    `on_margins` and `on_prices` are the tax of sales in the scheme and outside it; `reclaimed` is the tax on invoices
    of purchases and costs. `sales` are full prices less their tax, `cars` full purchase prices less the tax that their
    invoices show, `costs` likewise.
    """

    on_margins: Money
    on_prices: Money
    reclaimed: Money
    sales: Money
    cars: Money
    costs: Money

    @property
    def vat(self) -> Money:
        """Give the tax of all sales."""
        return self.on_margins + self.on_prices

    @property
    def purchases(self) -> Money:
        """Give cars and costs together."""
        return self.cars + self.costs


@dataclass(frozen=True, slots=True)
class OpenSale:
    """A sale of which it is not known what is owed: `least` in the scheme, `most` outside it. It is in no sum."""

    stock: int
    entry: int
    price: Money
    least: Money
    most: Money


@dataclass(frozen=True, slots=True)
class Counted:
    """An entry that is in the sums, with what of it goes into them: below nought where it is taken back of before.

    `day` is that of the entry. `vat` and `net` are in boxes 1 and 6 where it is a sale, else in boxes 4 and 7.
    """

    entry: int
    stock: int
    day: date
    kind: Kind
    sale: bool
    paper: str
    party: str
    vat: Money
    net: Money
    taken_back: bool


@dataclass(frozen=True, slots=True)
class Box:
    """A sum as the return calls it; what was taken back of earlier periods is out of it."""

    name: str
    what: str
    amount: Money


@dataclass(frozen=True, slots=True)
class Totals:
    """The sums of a period from `start` to `end`, both included.

    `undone` are those of entries of earlier periods that this one takes back, by a return or a reversal. `kept_back`
    is what was not given back of sales and deposits that came back. `open` sales are in no sum of their tax and price.
    `lines` are the entries that the boxes are the sums of, by their days.
    """

    start: date
    end: date
    counted: Sums
    undone: Sums
    kept_back: Money
    open: tuple[OpenSale, ...]
    boxes: tuple[Box, ...]
    lines: tuple[Counted, ...]
    notes: tuple[str, ...]


def quarter_of(day: date, rules: Rules, *, stagger: int = 1) -> tuple[date, date]:
    """Give the first and last day of the quarter in which a day lies.

    Parameters
    ----------
    day : date
        Any day.
    rules : Rules
        Of the country.
    stagger : int
        Which quarters the firm was given; 1 are those of the calendar.

    Raises
    ------
    BadInputError
        The country has no such stagger (slug ``ledger-period``).
    """
    if stagger not in rules.staggers:
        raise no_period(f"stagger {stagger}", ", ".join(map(str, rules.staggers)), "Look at the registration.")
    behind = (day.month - rules.staggers[stagger] - 1) % 3
    start_month = day.year * 12 + day.month - 1 - behind
    first, after = (date(months // 12, months % 12 + 1, 1) for months in (start_month, start_month + 3))
    return first, after - timedelta(days=1)


def totals_of(book: Pages, rules: Rules, *, start: date, end: date) -> Totals:
    """Add up a period.

    An entry counts in the period of its day. One that came back or was reversed in the same period counts in none; one
    of an earlier period is taken back in the period of its return or reversal.

    Raises
    ------
    BadInputError
        The period ends before it starts (slug ``ledger-period``).
    """
    if end < start:
        raise no_period(f"{start.isoformat()} to {end.isoformat()}", "a day and a later one", "Mend the days.")
    net: dict[int, int] = defaultdict(int)
    moved: dict[int, Entry] = {}
    for day, sign, entry in book.moves:
        if start <= day <= end:
            net[entry.number] += sign
            moved[entry.number] = entry
    counted, undone = _Adder(book, rules), _Adder(book, rules, back=True)
    for number, count in net.items():
        if count:
            (counted if count > 0 else undone).take(moved[number])
    kept = NOUGHT
    for entry in book.returned_in(start, end):
        sale = book.entry(entry.against)
        if sale is not None:
            kept += sale.amount.amount - entry.amount.amount
    plus, minus = counted.sums(), undone.sums()
    open_sales = (*counted.open, *undone.open)
    kept_back = Money(kept, book.currency)
    names = rules.boxes
    boxes = (
        Box(names["vat"], "VAT on margins, and on full prices outside the scheme", plus.vat - minus.vat),
        Box(names["reclaimed"], "VAT on invoices of purchases and costs", plus.reclaimed - minus.reclaimed),
        Box(names["sales"], "full selling prices less the VAT on them", plus.sales - minus.sales),
        Box(names["purchases"], "full purchase prices, and costs without VAT", plus.purchases - minus.purchases),
    )
    lines = tuple(sorted((*counted.lines, *undone.lines), key=lambda one: (one.day, one.entry)))
    notes = tuple(_notes(book, rules, minus, kept_back, open_sales))
    return Totals(start, end, plus, minus, kept_back, open_sales, boxes, lines, notes)


class _Adder:
    """Adds entries up, in plain decimals: a quarter has thousands."""

    def __init__(self, book: Pages, rules: Rules, *, back: bool = False) -> None:
        self._book, self._rules, self._back = book, rules, back
        self._none = Money(NOUGHT, book.currency)
        self._margins = self._prices = self._reclaimed = self._sales = self._cars = self._costs = NOUGHT
        self.open: list[OpenSale] = []
        self.lines: list[Counted] = []

    def take(self, entry: Entry) -> None:
        if entry.kind in SOLD:
            self._sale(entry)
            return
        if entry.kind is Kind.DEPOSIT:
            return
        vat, net = self._none, entry.amount
        if entry.vat is not None:
            vat, net = entry.vat, entry.amount - entry.vat
            self._reclaimed += vat.amount
        if entry.kind in BOUGHT:
            self._cars += net.amount
        else:
            self._costs += net.amount
        self._line(entry, vat, net)

    def _sale(self, sale: Entry) -> None:
        owed = owed_on(self._book.car_of(sale), sale, self._rules)
        if owed.tax is None:
            least, most = (self._money(one) for one in (owed.least, owed.most))
            self.open.append(OpenSale(sale.stock, sale.number, sale.amount, least, most))
            return
        if owed.taxed is Taxed.MARGIN:
            self._margins += owed.tax
        else:
            self._prices += owed.tax
        net = sale.amount.amount - owed.tax
        self._sales += net
        self._line(sale, self._money(owed.tax), self._money(net))

    def _line(self, entry: Entry, vat: Money, net: Money) -> None:
        self.lines.append(
            Counted(
                entry=entry.number,
                stock=entry.stock,
                day=entry.day,
                kind=entry.kind,
                sale=entry.kind in SOLD,
                paper=entry.paper,
                party=entry.party.name,
                vat=-vat if self._back else vat,
                net=-net if self._back else net,
                taken_back=self._back,
            )
        )

    def sums(self) -> Sums:
        kept = (self._margins, self._prices, self._reclaimed, self._sales, self._cars, self._costs)
        return Sums(*map(self._money, kept))

    def _money(self, amount: Decimal) -> Money:
        return Money(amount, self._book.currency)


def _notes(book: Pages, rules: Rules, undone: Sums, kept: Money, open_sales: tuple[OpenSale, ...]) -> list[str]:
    found = [rules.caution, f"What the sums are called: {rules.box_source}. Quarters: {rules.stagger_source}."]
    found.append("Only what was entered here is in them; what the firm buys besides, and deposits, are not.")
    if open_sales:
        numbers = ", ".join(str(one.stock) for one in open_sales)
        found.append(
            f"Of stock number {numbers} it is not known whether it was eligible: what is owed on it is in no sum. "
            "Answer the questions first."
        )
    if undone != _Adder(book, rules).sums():
        found.append(
            "Something declared in an earlier period was taken back in this one: ask your adviser whether it goes on "
            "this return or is put right there."
        )
    if kept:
        found.append(f"{kept.told()} was not given back of what came back; what is owed on it, ask your adviser.")
    return found


def no_period(found: str, allowed: str, advice: str) -> BadInputError:
    """Say that a period cannot be."""
    return BadInputError(
        Problem(slug="ledger-period", where="period of the ledger", found=found, allowed=allowed, advice=advice)
    )
