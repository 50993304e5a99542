"""What keeps a draft from being entered: where, what was found, what is allowed, what to do."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from shutline.car.errors import Problem
from shutline.ledger.entries import BOUGHT, SOLD, Draft, Entry, Kind, tax_at
from shutline.ledger.money import PENNY, total

if TYPE_CHECKING:
    from decimal import Decimal

    from shutline.ledger.money import Money
    from shutline.ledger.pages import Pages, StockCar

EARLIEST = date(1973, 4, 1)
"""The first day of value added tax in the United Kingdom; no entry is of a day before."""

_DEPENDS = "reverse that first: what hangs on an entry goes before it"


@dataclass(frozen=True, slots=True)
class FieldProblem(Problem):
    """A problem with the `field` of a draft or of its party that it is about; empty where it is about all of it."""

    field: str = ""


class Checks:
    """The checks of one draft against what stands, on a day."""

    def __init__(self, book: Pages, draft: Draft, today: date) -> None:
        self._book, self._draft, self._today = book, draft, today
        self._where = f"{draft.kind} of {draft.day.isoformat()}"
        if draft.stock:
            self._where += f", stock number {draft.stock}"

    def problems(self) -> tuple[Problem, ...]:
        """Give everything that is wrong with it; what hangs on something wrong is not looked at."""
        first = tuple(self._always())
        if first:
            return first
        of: dict[Kind, Callable[[], Iterator[Problem]]] = {
            Kind.PURCHASE: self._bought,
            Kind.PART_IN: self._bought,
            Kind.COST: self._cost,
            Kind.DEPOSIT: self._deposit,
            Kind.SALE: self._sold,
            Kind.PART_OUT: self._sold,
            Kind.RETURN: self._return,
            Kind.REVERSAL: self._reversal,
        }
        return tuple(of[self._draft.kind]())

    def _wrong(self, found: str, allowed: str, advice: str, *, of: str = "") -> FieldProblem:
        return FieldProblem("ledger-entry", self._where, found, allowed, advice, of)

    # Of every entry --------------------------------------------------------------------------------------------------

    def _always(self) -> Iterator[Problem]:
        draft, book = self._draft, self._book
        if draft.amount.currency != book.currency or (draft.vat is not None and draft.vat.currency != book.currency):
            yield self._wrong(
                f"an amount in {draft.amount.currency}",
                f"the ledger is in {book.currency}",
                "Enter it in that.",
                of="amount",
            )
            return
        if draft.amount.amount < 0:
            yield self._wrong(
                f"{draft.amount.told()}",
                "nought or more: what goes the other way is another kind",
                "Mend the amount.",
                of="amount",
            )
        if not EARLIEST <= draft.day <= self._today:
            yield self._wrong(
                f"day {draft.day.isoformat()}",
                f"from {EARLIEST.isoformat()} to the day it is entered, {self._today.isoformat()}",
                "Mend the day; what has not happened yet is not entered.",
                of="day",
            )
        for name, text in (("what", draft.what), ("paper", draft.paper), *_words_of(draft)):
            if not text.isprintable():
                yield self._wrong(
                    f"{name} with characters that cannot be printed", "one line of text", "Mend it.", of=_FIELDS[name]
                )
        if draft.kind in BOUGHT:
            if draft.stock not in (0, book.last_stock + 1):
                yield self._wrong(
                    f"stock number {draft.stock}",
                    f"the next one, {book.last_stock + 1}: numbers have no gaps",
                    "Leave the number out; it is given.",
                    of="stock",
                )
        elif book.car(draft.stock) is None:
            yield unknown_stock(draft.stock, book.last_stock)
        yield from self._stray()

    def _stray(self) -> Iterator[Problem]:
        """Refuse what does not belong to such an entry: it would be kept and never counted."""
        draft = self._draft
        may = (
            ("vat", "VAT of the other side", draft.vat is None or draft.kind in (*BOUGHT, Kind.COST)),
            ("rate", "a rate without VAT", draft.rate is None or draft.vat is not None),
            ("self_billed", "'made out by us'", not draft.self_billed or draft.kind in BOUGHT),
            ("outside", "'outside the scheme'", not draft.outside or draft.kind in SOLD),
            ("car", "a car file", not draft.car or draft.kind in BOUGHT),
            ("against", "the number of another entry", not draft.against or draft.kind not in _ALONE),
        )
        for field, what, allowed in may:
            if not allowed:
                yield self._wrong(
                    f"{what} with a {draft.kind}", "only where it means something", "Leave it out.", of=field
                )

    def _needs(self, *names: str) -> Iterator[Problem]:
        draft = self._draft
        values = {
            "who": (draft.party.name, "nobody is named on the other side", "a name, of a person or a firm"),
            "paper": (draft.paper, "no number of the invoice", "the number that stands on it, such as S12"),
            "what": (draft.what, "no words for what it is", "a few words on one line"),
        }
        for name in names:
            value, found, allowed = values[name]
            if not value.strip():
                yield self._wrong(found, allowed, "Say it, and enter it again.", of=_FIELDS[name])

    def _vat(self) -> Iterator[Problem]:
        draft = self._draft
        if draft.vat is not None and not 0 < draft.vat.amount <= draft.amount.amount:
            yield self._wrong(
                f"VAT of {draft.vat.told()} in {draft.amount.told()}",
                "more than nought and at most the whole amount, which contains it",
                "Enter the amount with VAT in it; leave the VAT out where the invoice shows none.",
                of="vat",
            )
        elif draft.vat is not None and draft.rate is not None:
            yield from self._rate(draft.vat, draft.rate)

    def _rate(self, vat: Money, rate: Decimal) -> Iterator[Problem]:
        if not rate.is_finite() or not 0 < rate <= 100:
            yield self._wrong(f"a rate of {rate} %", "more than nought and at most 100 %", "Mend the rate.", of="rate")
            return
        wanted = tax_at(self._draft.amount, rate)
        # Invoices are rounded line by line, or as a whole.
        if abs((vat - wanted).amount) > PENNY:
            yield self._wrong(
                f"VAT of {vat.told()} at {rate} % in {self._draft.amount.told()}",
                f"{wanted.told()}, a penny more or less",
                "Mend one of them; leave the rate out where the invoice has several.",
                of="vat",
            )

    # Of each kind ----------------------------------------------------------------------------------------------------

    def _bought(self) -> Iterator[Problem]:
        draft = self._draft
        yield from self._needs("who", "what")
        yield from self._vat()
        if bool(draft.paper.strip()) == draft.self_billed:
            yield self._wrong(
                "an invoice number and 'made out by us'" if draft.self_billed else "no invoice",
                "the number of the seller's invoice, or 'made out by us' where you made it out yourself",
                "Say one of them; our own invoice has the stock number.",
                of="paper",
            )
        if draft.self_billed and draft.vat is not None:
            yield self._wrong(
                "VAT on an invoice made out by us", "none in the margin scheme", "Leave the VAT out.", of="vat"
            )
        if draft.kind is Kind.PART_IN:
            yield from self._set_off(SOLD, "the sale that it was taken in for")

    def _cost(self) -> Iterator[Problem]:
        draft = self._draft
        yield from self._needs("who", "what")
        yield from self._vat()
        yield from self._standing_purchase()
        if not draft.amount:
            yield self._wrong("a cost of nought", "more than nought", "Leave it out.", of="amount")

    def _deposit(self) -> Iterator[Problem]:
        yield from self._needs("who")
        yield from self._unsold()
        if not self._draft.amount:
            yield self._wrong("a deposit of nought", "more than nought", "Leave it out.", of="amount")

    def _sold(self) -> Iterator[Problem]:
        draft, book = self._draft, self._book
        yield from self._needs("who", "paper")
        yield from self._unsold()
        if not draft.amount and not draft.what.strip():
            yield self._wrong(
                "a price of nought", "how the car went is said then", "Say it: scrapped, stolen, given.", of="what"
            )
        deposits = book.open_deposits(self._car())
        paid = total((one.amount.amount for one in deposits), book.currency)
        if paid > draft.amount:
            yield self._wrong(
                f"deposits of {paid.told()} on a price of {draft.amount.told()}",
                "deposits of at most the price",
                "Mend the price, or enter the deposits that were given back.",
                of="amount",
            )
        yield from self._not_before((one.day for one in deposits), "the deposit on it was taken")
        if book.sale_of_paper(draft.paper) is not None:
            yield self._wrong(
                f"sales invoice number {draft.paper!r} a second time",
                "each once, those of reversed sales too",
                "Use the next number.",
                of="paper",
            )
        if draft.kind is Kind.PART_OUT:
            yield from self._set_off(BOUGHT, "the purchase that it was given for")

    def _return(self) -> Iterator[Problem]:
        yield from self._needs("what")
        named = yield from self._named()
        if named is None:
            return
        draft, book = self._draft, self._book
        if named.kind not in (*SOLD, Kind.DEPOSIT):
            yield self._wrong(
                f"entry {named.number}, a {named.kind}",
                "a sale or a deposit: nothing else comes back",
                "Name that.",
                of="against",
            )
        elif not book.stands(named.number) or book.settled_by(named.number) is not None:
            yield self._wrong(
                f"entry {named.number}, which counts no longer or went into a sale",
                "a sale that stands, or a deposit that is open",
                "Look at what stands of the car.",
                of="against",
            )
        elif draft.amount.amount > named.amount.amount:
            yield self._wrong(
                f"{draft.amount.told()} given back of {named.amount.told()}",
                "at most what was paid",
                "Mend the amount.",
                of="amount",
            )

    def _reversal(self) -> Iterator[Problem]:
        yield from self._needs("what")
        named = yield from self._named()
        if named is None:
            return
        draft, book = self._draft, self._book
        if named.kind is Kind.REVERSAL:
            yield self._wrong(
                f"entry {named.number}, a reversal", "a reversal is not reversed", "Enter what it took back once more."
            )
            return
        by = book.reversed_by(named.number)
        if by is not None:
            yield self._wrong(f"entry {named.number} is reversed by entry {by.number}", "each once", "Nothing to do.")
            return
        if draft.amount != named.amount:
            yield self._wrong(
                f"{draft.amount.told()}", f"all of entry {named.number}, {named.amount.told()}", "Give that amount."
            )
        yield from self._hanging(named)

    def _hanging(self, named: Entry) -> Iterator[Problem]:
        """Name what hangs on an entry that is to be reversed."""
        book, car = self._book, self._car()
        hanging = list(book.against(named.number))
        if named.kind in BOUGHT:
            sold = () if car.sale is None else (car.sale,)
            hanging += (*car.costs.values(), *car.deposits.values(), *car.returns.values(), *sold)
        elif named.kind is Kind.RETURN:
            back = book.entry(named.against)
            if back is not None and back.kind in SOLD:
                # The sale would stand again, beside the next one or with a deposit paid since.
                hanging += (*book.open_deposits(car), *(() if car.sale is None else (car.sale,)))
        else:
            hanging += [one for one in car.returns.values() if one.against == named.number]
            settled = book.settled_by(named.number)
            if settled is not None:
                hanging.append(settled)
        for one in hanging:
            yield self._wrong(f"entry {one.number}, a {one.kind}, hangs on entry {named.number}", _DEPENDS, "Do so.")

    # What several need -----------------------------------------------------------------------------------------------

    def _car(self) -> StockCar:
        car = self._book.car(self._draft.stock)
        if car is None:
            raise ValueError("a car is asked for before it was checked that there is one")
        return car

    def _standing_purchase(self) -> Iterator[Problem]:
        if self._car().bought is None:
            yield self._wrong(
                "the purchase of the car is reversed", "a car that stands in stock", "Name another.", of="stock"
            )

    def _unsold(self) -> Iterator[Problem]:
        car = self._car()
        yield from self._standing_purchase()
        if car.sale is not None:
            yield self._wrong(
                f"the car is sold by entry {car.sale.number}",
                "a car that is in stock",
                "Enter the return first, or reverse the sale if it was wrong.",
                of="stock",
            )
        if car.bought is not None:
            yield from self._not_before((car.bought.day,), "it was bought")
        yield from self._not_before(self._came_back(car), "it came back")

    def _came_back(self, car: StockCar) -> Iterator[date]:
        for one in car.returns.values():
            named = self._book.entry(one.against)
            if named is not None and named.kind in SOLD:
                yield one.day

    def _not_before(self, days: Iterable[date], what: str) -> Iterator[Problem]:
        latest = max(days, default=EARLIEST)
        if self._draft.day < latest:
            yield self._wrong(
                f"a day before {what}, {latest.isoformat()}", "that day or a later one", "Mend the day.", of="day"
            )

    def _named(self) -> Generator[Problem, None, Entry | None]:
        """Give the entry that the draft names, where it can be one of it: by ``yield from``."""
        draft = self._draft
        named = self._book.entry(draft.against)
        if named is None:
            yield self._wrong(
                f"entry {draft.against}" if draft.against else "no entry named",
                f"the number of an entry, 1 to {self._book.last_entry}",
                "Name the entry that it is about.",
                of="against",
            )
            return None
        if named.stock != draft.stock:
            yield self._wrong(
                f"entry {named.number} is of stock number {named.stock}",
                "an entry of the same car",
                "Mend one of them.",
            )
            return None
        if draft.day < named.day:
            yield self._wrong(
                f"a day before that of entry {named.number}, {named.day.isoformat()}",
                "that day or a later one",
                "Mend the day.",
                of="day",
            )
        return named

    def _set_off(self, kinds: frozenset[Kind], what: str) -> Iterator[Problem]:
        draft, book = self._draft, self._book
        named = book.entry(draft.against)
        if named is None or named.kind not in kinds or not book.stands(named.number) or named.stock == draft.stock:
            yield self._wrong(
                f"entry {draft.against}" if draft.against else "no entry named",
                f"{what}: an entry that stands, of another car",
                "Enter that first, and name it.",
                of="against",
            )
        elif draft.day < named.day:
            yield self._wrong(
                f"a day before that of entry {named.number}, {named.day.isoformat()}",
                "that day or a later one",
                "Mend the day.",
                of="day",
            )


def _words_of(draft: Draft) -> tuple[tuple[str, str], ...]:
    party = draft.party
    return ("name", party.name), ("address", party.address), ("VAT number", party.vat_number)


_FIELDS = {
    **{one: one for one in ("what", "paper", "name", "address")},
    "who": "name",
    "VAT number": "vat_number",
}
_ALONE = frozenset({Kind.PURCHASE, Kind.COST, Kind.DEPOSIT, Kind.SALE})


def unknown_stock(stock: int, count: int) -> Problem:
    """Say that there is no car of a stock number."""
    return Problem(
        slug="ledger-stock-unknown",
        where=f"stock number {stock}",
        found="no car of stock has that number",
        allowed=f"1 to {count}" if count else "none has been bought yet",
        advice="List them: shutline ledger stock.",
    )
