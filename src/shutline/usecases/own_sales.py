"""The firm's own cars as the ledger knows them: what they were sold for, as comparables of the firm's own."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING

from shutline.car.comparables import Comparable
from shutline.usecases.price_car import Seen, as_called, called, car_as_called, in_title, seen_of
from shutline.usecases.told_facts import ToldFact, values_of

if TYPE_CHECKING:
    from shutline.car.findings import Fact
    from shutline.ledger import Entry
    from shutline.store import Store
    from shutline.store.cars_told import CarTold

MARK, TITLE, ODOMETER = "registration_mark", "title", "odometer"
_MODEL = "model"
SAME_SALE = timedelta(days=31)
"""A price noted of a car so near the day of its sale in the ledger is that sale (common practice, no source)."""
_LONGEST_MARK = 3
"""Words that a registration mark may be written as."""
_LIKE_A_MARK = re.compile(r"(?=.*[0-9])(?=.*[A-Z])[0-9A-Z]{4,8}")
_SOURCE = "own sale"


@dataclass(frozen=True, slots=True)
class OwnCar:
    """A car of stock: when it came, the sale that stands, and the day it went otherwise; `car` names its car file.

    `back` says that it was sold before and came back.
    """

    stock: int
    what: str
    car: str
    came: date
    sale: Entry | None
    went: date | None
    back: bool


@dataclass(frozen=True, slots=True)
class OwnSale:
    """A sale of the ledger as a comparable, the car file it is of, and whether it was noted by hand as well."""

    number: int
    comparable: Comparable
    noted_too: bool


@dataclass(frozen=True)
class _Ledger:
    """The ledger at one state: it only grows, so the number of its last entry tells it."""

    folder: str
    entries: int
    last: int
    store: Store = field(compare=False)


def own_cars(store: Store) -> tuple[OwnCar, ...]:
    """Give the cars of stock that were ever bought, by their numbers; read once for each state of the ledger."""
    from shutline.store.ledger import Wanted

    # No car of stock has the number 0: only the counts of the whole ledger come back.
    whole = store.ledger_pages(Wanted())
    if not whole.count:
        return ()
    return _cars(_Ledger(str(store.folder), whole.count, whole.last_entry, store))


@lru_cache(maxsize=4)
def _cars(ledger: _Ledger) -> tuple[OwnCar, ...]:
    from shutline.ledger import Kind
    from shutline.usecases.ledger import ledger_book

    book, _ = ledger_book(ledger.store)
    found = []
    for one in book.cars:
        if one.bought is None:
            continue
        sale = one.sale
        market = sale is not None and sale.kind is Kind.SALE and sale.amount.amount > 0
        back = any(_of_sale(book.entry(each.against)) for each in one.returns.values())
        went = None if sale is None or market else sale.day
        found.append(
            OwnCar(one.stock, one.first.what, one.first.car, one.first.day, sale if market else None, went, back)
        )
    return tuple(found)


def _of_sale(entry: Entry | None) -> bool:
    from shutline.ledger.entries import SOLD

    return entry is not None and entry.kind in SOLD


def own_sales(store: Store, noted: Sequence[Comparable]) -> tuple[OwnSale, ...]:
    """Give the sales of the ledger as comparables, with the days that the cars stood.

    What tells of the car is called as the noted ones call it, and taken from what people said of its price and from
    the facts of its car file.

    Parameters
    ----------
    store : Store
        Where both are kept.
    noted : sequence of Comparable
        Those that were noted and hold.
    """
    sold = [one for one in own_cars(store) if one.sale is not None]
    if not sold:
        return ()
    seen = seen_of(noted)
    told = told_of(store, sold)
    marks = marks_of(noted)
    found = []
    for one in sold:
        sale = one.sale
        if sale is None:
            raise TypeError("a car that is sold has a sale")
        mark = mark_of(one, told.get(one.car), marks)
        given = attributes_known(told.get(one.car), seen, day=sale.day)
        like = car_as_called(given, where=f"stock number {one.stock}")
        comparable = Comparable(
            when=sale.day,
            price=sale.amount.amount,
            currency=sale.amount.currency,
            car=mark or f"stock {one.stock}",
            mileage=like.mileage,
            condition=like.condition,
            where=like.where,
            attributes=like.attributes,
            days=(sale.day - one.came).days,
            source=_SOURCE,
            line=f"ledger, entry {sale.number}",
        )
        same = marks.get(plain_mark(mark), ()) if mark else ()
        found.append(OwnSale(sale.number, comparable, any(_same_sale(comparable, other) for other in same)))
    return tuple(found)


def told_of(store: Store, cars: Iterable[OwnCar]) -> Mapping[str, CarTold]:
    """Give what the store knows of the car files of cars of stock, by their names."""
    names = {one.car for one in cars if one.car}
    facts = {meant.fact for meant in called().values()} - {TITLE}
    return store.cars_told(names, sorted({*facts, MARK})) if names else {}


def attributes_known(told: CarTold | None, seen: Mapping[str, Seen], *, day: date) -> dict[str, str]:
    """Give what is known of a car as the comparables call it, empty entries left out; nothing without a car file."""
    if told is None:
        return {}
    found = {name: _known(told, name, there, day) for name, there in (seen or _unseen()).items()}
    return {name: text for name, text in (found | dict(told.said or {})).items() if text}


def _unseen() -> dict[str, Seen]:
    """Give what is asked of a car where no comparable names anything: each fact by the first of its names."""
    first: dict[tuple[str, str], str] = {}
    for name, meant in called().items():
        if meant.form not in {"year", TITLE} or meant.fact == "year":
            first.setdefault((meant.fact, meant.form), name)
    return dict.fromkeys([_MODEL, *first.values()], Seen({}, number=False))


def _known(told: CarTold, name: str, seen: Seen, day: date) -> str:
    meant = called().get(name.casefold())
    if meant is None:
        return ""
    if meant.form == TITLE:
        # A model that nobody noted yet is one all the same: that of the title.
        return in_title(told.title, seen.counts) or (told.title if name.casefold() == _MODEL else "")
    facts = [_told(one) for one in told.facts if one.name == meant.fact]
    if meant.fact == ODOMETER:
        facts = sorted(facts, key=lambda one: (one.stands, int(one.value) if isinstance(one.value, int) else 0))[-1:]
    values = values_of(facts)
    if len(values) != 1:
        return ""
    return as_called(next(one for one in facts if one.value == values[0]), meant.form, seen, day)


def _told(fact: Fact) -> ToldFact:
    from shutline.car.findings import State
    from shutline.car.keepers import keepers_before

    value = fact.value if isinstance(fact.value, int) and not isinstance(fact.value, bool) else str(fact.value)
    before = fact.name == "keepers" and keepers_before(fact)
    return ToldFact(
        fact.name, value, fact.unit, "", None, rough=False, stands=fact.state is State.STANDS, before=before
    )


def marks_of(noted: Iterable[Comparable]) -> dict[str, tuple[Comparable, ...]]:
    """Give what was noted of each car that has a name, by its name in capitals without anything between."""
    found: dict[str, list[Comparable]] = {}
    for one in noted:
        if mark := plain_mark(one.car):
            found.setdefault(mark, []).append(one)
    return {mark: tuple(cars) for mark, cars in found.items()}


def plain_mark(text: str) -> str:
    """Give a mark in capitals without spaces or dots."""
    return "".join(letter for letter in text.upper() if letter.isalnum())


def mark_of(car: OwnCar, told: CarTold | None, marks: Mapping[str, Sequence[Comparable]]) -> str:
    """Give the mark of a car of stock: that of its car file, or one noted that stands in its words; or empty."""
    facts = [] if told is None else [_told(one) for one in told.facts if one.name == MARK]
    values = values_of(facts)
    known = str(values[0]) if len(values) == 1 else ""
    if plain_mark(known) in marks:
        return marks[plain_mark(known)][0].car
    words = re.findall(r"\w+", car.what)
    for length in range(_LONGEST_MARK, 0, -1):
        for at in range(len(words) - length + 1):
            written = plain_mark("".join(words[at : at + length]))
            if written in marks and _LIKE_A_MARK.fullmatch(written):
                return marks[written][0].car
    return known


def _same_sale(own: Comparable, noted: Comparable) -> bool:
    near = abs(own.when - noted.when) <= SAME_SALE
    return noted.sold and noted.currency == own.currency and (near or noted.price == own.price)
