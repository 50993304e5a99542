"""One car of stock as it is shown: its entries, what is owed, what was asked and answered, what may be entered next."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from shutline.car.errors import BadInputError, Problem, UserError
from shutline.ledger import (
    Answer,
    BookLine,
    Draft,
    Entry,
    Kind,
    Money,
    Party,
    Taxed,
    book_line,
    owed_on,
)
from shutline.ledger.checking import FieldProblem, unknown_stock
from shutline.ledger.entries import BOUGHT, SOLD
from shutline.ledger.rules import Question, Said
from shutline.usecases.kept_tests import own_marks
from shutline.usecases.ledger import Asked, asked_about, ledger_pages, reversal_day, today
from shutline.usecases.ledger_shown import InvoiceShown, last_stock_number, shown_invoice
from shutline.usecases.look import find_car

if TYPE_CHECKING:
    from shutline.ledger import Pages, Rules
    from shutline.store import Store

_RECENT = timedelta(days=120)
_MOST_SET_OFF = 40
_OFFERED = (Kind.COST, Kind.DEPOSIT, Kind.SALE, Kind.PART_OUT)
_ONE = Decimal("1.00")


@dataclass(frozen=True, slots=True)
class SetOff:
    """An entry that a part exchange is or may be set against: of which car, when, for how much, and the other side."""

    entry: int
    stock: int
    what: str
    day: date
    amount: Money
    party: Party


@dataclass(frozen=True, slots=True)
class CarEntry:
    """An entry about a car of stock, with what became of it.

    `reversed_by`, `came_back` and `settled_in` are the entries that took it back, that gave it back, and into which a
    deposit went; 0 for none. `may_come_back` and `may_be_reversed` say what may be entered about it now; `held_by` says
    what keeps it from being reversed, empty where nothing does or it is reversed already. `reversal_day` is the day of
    its reversal unless another is said. `set_off` are the entries of other cars that it is a part exchange with.
    """

    entry: Entry
    reversed_by: int
    came_back: int
    settled_in: int
    may_come_back: bool
    may_be_reversed: bool
    held_by: str
    reversal_day: date
    set_off: tuple[SetOff, ...]


@dataclass(frozen=True, slots=True)
class OwedShown:
    """What is owed on the sale that stands: `tax` is None where it is not known, and lies between the other two."""

    entry: int
    price: Money
    bought: Money
    margin: Money
    taxed: Taxed
    percent: Decimal
    tax: Money | None
    least: Money
    most: Money


@dataclass(frozen=True, slots=True)
class QuestionShown:
    """A question about a car, all answers to it, the last of which counts, and whether it is asked: others may hang."""

    question: Question
    asked: bool
    answers: tuple[Answer, ...]


@dataclass(frozen=True, slots=True)
class InvoiceOf:
    """The invoice of a sale or a purchase that stands: as it would be made, or why it cannot be."""

    entry: int
    side: str
    made: InvoiceShown | None
    problem: Problem | None


@dataclass(frozen=True, slots=True)
class StockCarShown:
    """A car of stock: its line of the stock book, all its entries, what is owed, its questions and invoices.

    `may` are the kinds of entry that may follow, beside those about an entry of its own; `car` is the name of its car
    file, empty where it has none.
    """

    stock: int
    what: str
    car: str
    line: BookLine
    entries: tuple[CarEntry, ...]
    owed: OwedShown | None
    deposits: Money
    asked: Asked
    questions: tuple[QuestionShown, ...]
    invoices: tuple[InvoiceOf, ...]
    may: tuple[Kind, ...]


@dataclass(frozen=True, slots=True)
class CarInLedger:
    """A car file in the ledger: the numbers under which it was bought, and the words that a purchase would have."""

    car: str
    title: str
    stock: tuple[StockCarShown, ...]
    words: str


@dataclass(frozen=True, slots=True)
class NextEntry:
    """What a form can have in it beforehand: the number of the next sales invoice, and what a car may be given for."""

    currency: str
    paper: str
    purchases: tuple[SetOff, ...]


def shown_car(store: Store, stock: int) -> StockCarShown:
    """Show one car of stock.

    Raises
    ------
    BadInputError
        There is no such car (slug ``ledger-stock-unknown``).
    """
    book, rules = ledger_pages(store, stock=stock)
    car = book.car(stock)
    if car is None:
        raise BadInputError(unknown_stock(stock, book.last_stock))
    sale = car.sale
    entries = tuple(_entry(book, one) for one in book.entries if one.stock == stock)
    asked = asked_about(store, stock)
    return StockCarShown(
        stock=stock,
        what=car.first.what,
        car=car.first.car,
        line=book_line(book, car, rules),
        entries=entries,
        owed=None if sale is None else _owed(book, rules, sale),
        deposits=Money(sum((one.amount.amount for one in book.open_deposits(car)), Decimal("0.00")), book.currency),
        asked=asked,
        questions=tuple(
            QuestionShown(
                one,
                not one.after or car.said(one.after) is Said.YES,
                tuple(said for said in book.answers if (said.stock, said.question) == (stock, one.id)),
            )
            for one in rules.questions
        ),
        invoices=tuple(
            _invoice(store, one.entry)
            for one in entries
            if (one.entry.kind in SOLD or (one.entry.kind in BOUGHT and one.entry.self_billed))
            and book.stands(one.entry.number)
        ),
        may=tuple(kind for kind in _OFFERED if _may(book, kind, stock)),
    )


def car_in_ledger(store: Store, name: str) -> CarInLedger:
    """Show what the ledger has of a car file, by its name or a beginning of it; raises NotFoundError without one."""
    car = find_car(store, name)
    numbers = dict.fromkeys(row["stock"] for row in store.ledger_of(car.name))
    marks = sorted(own_marks(car))
    words = ", ".join((car.title, *marks)) if len(marks) == 1 else car.title
    return CarInLedger(car.name, car.title, tuple(shown_car(store, one) for one in numbers), words)


def next_entry(store: Store) -> NextEntry:
    """Tell what may stand in a form beforehand, out of the newest numbers of stock and the entries of 120 days.

    A quarter may be entered when it is long over, so days alone do not tell what is newest.
    """
    day, last = today(), last_stock_number(store)
    book, _ = ledger_pages(store, stocks=(last - _MOST_SET_OFF + 1, last), start=day - _RECENT, end=day)
    sale = next((one for one in reversed(book.entries) if one.kind in SOLD), None)
    return NextEntry(
        book.currency,
        "" if sale is None else _after(sale.paper, book),
        tuple(_set_off(book, one) for one in reversed(book.entries) if one.kind in BOUGHT and book.stands(one.number))[
            :_MOST_SET_OFF
        ],
    )


def _after(paper: str, book: Pages) -> str:
    found = re.search(r"[0-9]+\Z", paper)
    if found is None:
        return ""
    text = f"{paper[: found.start()]}{int(found[0]) + 1:0{len(found[0])}d}"
    return text if book.sale_of_paper(text) is None else ""


def _entry(book: Pages, entry: Entry) -> CarEntry:
    number = entry.number
    by, settled = book.reversed_by(number), book.settled_by(number)
    returns = book.car_of(entry).returns.values()
    open_ = by is None and entry.kind is not Kind.REVERSAL
    reversal = _problems(book, Kind.REVERSAL, entry) if open_ else ()
    return CarEntry(
        entry=entry,
        reversed_by=0 if by is None else by.number,
        came_back=next((one.number for one in returns if one.against == number), 0),
        settled_in=0 if settled is None else settled.number,
        may_come_back=entry.kind in (*SOLD, Kind.DEPOSIT) and open_ and not _problems(book, Kind.RETURN, entry),
        may_be_reversed=open_ and not reversal,
        held_by="; ".join(one.found for one in reversal),
        reversal_day=reversal_day(entry),
        set_off=tuple(_set_off(book, one) for one in _exchanged(book, entry)),
    )


def _exchanged(book: Pages, entry: Entry) -> Iterator[Entry]:
    named = book.entry(entry.against) if entry.kind in (Kind.PART_IN, Kind.PART_OUT) else None
    if named is not None:
        yield named
    yield from book.against(entry.number)


def _set_off(book: Pages, entry: Entry) -> SetOff:
    return SetOff(entry.number, entry.stock, book.car_of(entry).first.what, entry.day, entry.amount, entry.party)


def _problems(book: Pages, kind: Kind, named: Entry) -> tuple[Problem, ...]:
    """Say what keeps an entry from coming back or from being reversed today, by the checks that each goes through."""
    draft = Draft(
        kind=kind, day=max(today(), named.day), amount=named.amount, stock=named.stock, against=named.number, what="-"
    )
    return book.problems_of(draft, today=draft.day)


def _may(book: Pages, kind: Kind, stock: int) -> bool:
    """Tell whether the state of a car lets it have such an entry; what else the entry holds is not asked."""
    draft = Draft(kind=kind, day=today(), amount=Money(_ONE, book.currency), stock=stock, party=Party("-"), what="-")
    found = book.problems_of(draft, today=draft.day)
    return not any(isinstance(one, FieldProblem) and one.field == "stock" for one in found)


def _owed(book: Pages, rules: Rules, sale: Entry) -> OwedShown:
    car = book.car_of(sale)
    owed = owed_on(car, sale, rules)

    def money(amount: Decimal) -> Money:
        return Money(amount, book.currency)

    return OwedShown(
        entry=sale.number,
        price=sale.amount,
        bought=car.first.amount,
        margin=money(owed.margin),
        taxed=owed.taxed,
        percent=rules.rate_on(sale.day).percent,
        tax=None if owed.tax is None else money(owed.tax),
        least=money(owed.least),
        most=money(owed.most),
    )


def _invoice(store: Store, entry: Entry) -> InvoiceOf:
    side = "sale" if entry.kind in SOLD else "purchase"
    try:
        return InvoiceOf(entry.number, side, shown_invoice(store, entry.number), None)
    except UserError as error:
        return InvoiceOf(entry.number, side, None, error.problem)
