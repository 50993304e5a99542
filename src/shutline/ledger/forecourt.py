"""What stands on the forecourt: days in stock, money tied up, and what each car made, for the car and for the day."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from shutline.ledger.book import Book
from shutline.ledger.entries import SOLD
from shutline.ledger.money import NOUGHT, Money, nearest_penny, total
from shutline.ledger.owed import owed_on
from shutline.ledger.pages import StockCar
from shutline.ledger.rules import Rules


@dataclass(frozen=True, slots=True)
class Standing:
    """A car in stock on a day.

    `tied_up` is what was paid for it and spent on it, without tax that comes back; `deposits` were paid on it and are
    open; `holding` is what its `days` have cost, those left out on which a buyer had it who gave it back.
    """

    stock: int
    car: str
    what: str
    days: int
    price: Money
    costs: Money
    tied_up: Money
    deposits: Money
    holding: Money


@dataclass(frozen=True, slots=True)
class Made:
    """What a car that was sold made after everything.

    `profit` is the price less the purchase, the costs, the tax and the holding, with what was kept back of sales that
    came back; None where the tax is not known: it lies between `least` and `most` then. `a_day` is it for each day from
    purchase to sale, one day at the least, to the nearest penny.
    """

    stock: int
    car: str
    what: str
    days: int
    price: Money
    bought: Money
    costs: Money
    vat: Money | None
    holding: Money
    kept_back: Money
    profit: Money | None
    a_day: Money | None
    least: Money
    most: Money


@dataclass(frozen=True, slots=True)
class Forecourt:
    """All cars in stock on a day, the longest first; all that are sold, the latest first; and their sums.

    `profit` is that of the cars of which it is known, `unknown` how many it is not.
    """

    day: date
    standing: tuple[Standing, ...]
    made: tuple[Made, ...]
    tied_up: Money
    profit: Money
    unknown: int


def forecourt_of(book: Book, rules: Rules, *, day: date, holding_a_day: Money | None = None) -> Forecourt:
    """Tell what stands on the forecourt on a day, and what was made until then.

    Parameters
    ----------
    book : Book
        The ledger as it stands now; what is dated after the day is left out.
    rules : Rules
        Of the country.
    day : date
        The day it is asked for.
    holding_a_day : Money, optional
        What a car costs the firm each day it stands: money, insurance, room; nothing when left out.
    """
    holding = NOUGHT if holding_a_day is None else holding_a_day.amount
    standing, made = [], []
    for car in book.cars:
        if car.bought is None or car.bought.day > day:
            continue
        if car.sale is not None and car.sale.day <= day:
            made.append((car.sale.day, car.stock, _made(book, car, rules, holding, day)))
        elif not any(sold <= day < back for sold, back in _away(book, car)):
            standing.append(_standing(book, car, day, holding))
    standing.sort(key=lambda one: (-one.days, one.stock))
    made.sort(key=lambda one: (one[0], one[1]), reverse=True)
    sold = tuple(one for _, _, one in made)
    known = [one.profit.amount for one in sold if one.profit is not None]
    return Forecourt(
        day=day,
        standing=tuple(standing),
        made=sold,
        tied_up=total([one.tied_up.amount for one in standing], book.currency),
        profit=total(known, book.currency),
        unknown=len(sold) - len(known),
    )


def _standing(book: Book, car: StockCar, day: date, holding: Decimal) -> Standing:
    days = _stood(book, car, day)
    costs = total([one.net() for one in car.costs.values() if one.day <= day], book.currency)
    return Standing(
        stock=car.stock,
        car=car.first.car,
        what=car.first.what,
        days=days,
        price=car.first.amount,
        costs=costs,
        tied_up=Money(car.first.net(), book.currency) + costs,
        deposits=total([one.amount.amount for one in book.open_deposits(car) if one.day <= day], book.currency),
        holding=Money(nearest_penny(holding * days), book.currency),
    )


def _made(book: Book, car: StockCar, rules: Rules, holding: Decimal, day: date) -> Made:
    sale = car.sale
    if sale is None:
        raise ValueError(f"stock number {car.stock} is not sold")
    owed = owed_on(car, sale, rules)
    days = _stood(book, car, sale.day)
    costs = total([one.net() for one in car.costs.values() if one.day <= day], book.currency)
    held = Money(nearest_penny(holding * days), book.currency)
    kept = _kept_back(book, car, day)
    before = sale.amount - Money(car.first.net(), book.currency) - costs - held + kept
    least, most = before - Money(owed.most, book.currency), before - Money(owed.least, book.currency)
    profit = most if owed.tax is not None else None
    return Made(
        stock=car.stock,
        car=car.first.car,
        what=car.first.what,
        days=days,
        price=sale.amount,
        bought=car.first.amount,
        costs=costs,
        vat=None if owed.tax is None else Money(owed.tax, book.currency),
        holding=held,
        kept_back=kept,
        profit=profit,
        a_day=None if profit is None else Money(nearest_penny(profit.amount, times=(1, max(1, days))), book.currency),
        least=least,
        most=most,
    )


def _away(book: Book, car: StockCar) -> Iterator[tuple[date, date]]:
    """Give the days on which a car was sold and came back, of each sale that was undone so."""
    for back in car.returns.values():
        named = book.entry(back.against)
        if named is not None and named.kind in SOLD:
            yield named.day, back.day


def _stood(book: Book, car: StockCar, until: date) -> int:
    """Count the days that a car stood here, those left out on which a buyer had it."""
    away = sum((min(back, until) - sold).days for sold, back in _away(book, car) if sold <= until)
    return (until - car.first.day).days - away


def _kept_back(book: Book, car: StockCar, day: date) -> Money:
    kept = []
    for back in car.returns.values():
        named = book.entry(back.against)
        if named is not None and back.day <= day:
            kept.append(named.amount.amount - back.amount.amount)
    return total(kept, book.currency)
