"""How long the firm's own cars stood at what was asked for them: what the time to sell is learnt from."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

from shutline.car.comparables import Comparable
from shutline.usecases.comparables import kept_comparables
from shutline.usecases.own_sales import attributes_known, mark_of, marks_of, own_cars, plain_mark, told_of
from shutline.usecases.price_car import car_as_called, seen_of

if TYPE_CHECKING:
    from shutline.market import Car, Index, MarketSettings, Stock
    from shutline.store import Store
    from shutline.store.cars_told import CarTold
    from shutline.usecases.own_sales import OwnCar


Expect = Callable[[Sequence[tuple["Car", str]]], tuple[float | None, ...]]


@dataclass(frozen=True, slots=True)
class OwnStock:
    """The firm's cars whose asking price is known; `left_out` says in words which are not among them, and why."""

    stock: tuple[Stock, ...]
    left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Asked:
    car: OwnCar
    called: Car
    name: str
    day: date
    price: float


def own_stock(
    store: Store,
    comparables: Sequence[Comparable] | None = None,
    *,
    today: date | None = None,
    currency: str = "GBP",
    index: Index | None = None,
    settings: MarketSettings | None = None,
    expect: Expect | None = None,
) -> OwnStock:
    """Give the days that the firm's cars stood, sold or still there, and what was asked over what was expected.

    What was asked is the first asking price that was noted of a car since it came, or else what was decided with its
    preparation. What was expected is what it was to fetch by the prices of the others, today; an asking price of
    before is moved by the index, and stays as it is without one.

    Parameters
    ----------
    store : Store
        Where all is kept.
    comparables : sequence of Comparable, optional
        Those kept, where they were read already.
    today : date, optional
        Until when cars that are there have stood.
    currency : str
    index, settings
        Of the firm; as shipped when left out.
    expect : callable, optional
        What each car was to fetch, as `expected_prices` gives it, from each with what its comparables call it: for who
        keeps the answer.
    """
    from shutline.market import Stock, expected_prices

    cars = own_cars(store)
    if not cars:
        return OwnStock((), ())
    noted = kept_comparables(store) if comparables is None else comparables
    day = today or datetime.now(UTC).date()
    told = told_of(store, cars)
    asked, left = _asked_of(cars, noted, told, day, currency)
    if not asked:
        return OwnStock((), left)
    pairs = [(one.called, one.name) for one in asked]
    if expect is None:
        expected = expected_prices(noted, pairs, today=day, currency=currency, index=index, settings=settings)
    else:
        expected = expect(pairs)
    found = []
    for one, price in zip(asked, expected, strict=True):
        if price is None:
            continue
        moved = 0.0 if index is None else index.logarithm(day) - index.logarithm(one.day)
        end = one.car.went or (day if one.car.sale is None else one.car.sale.day)
        share = one.price * math.exp(moved) / price
        found.append(Stock(max(0, (end - one.car.came).days), one.car.sale is not None, share))
    return OwnStock(tuple(found), left)


def _asked_of(
    cars: Sequence[OwnCar],
    noted: Sequence[Comparable],
    told: Mapping[str, CarTold],
    today: date,
    currency: str,
) -> tuple[list[_Asked], tuple[str, ...]]:
    seen, marks = seen_of(noted), marks_of(noted)
    found, back, unknown = [], 0, 0
    for one in cars:
        if one.came > today:
            continue
        if one.back:
            back += 1
            continue
        known = told.get(one.car)
        mark = mark_of(one, known, marks)
        end = one.went or (today if one.sale is None else one.sale.day)
        prices = [
            each
            for each in (marks.get(plain_mark(mark), ()) if mark else ())
            if not each.sold and each.currency == currency and one.came <= each.when <= end
        ]
        first = min(prices, key=lambda each: each.when, default=None)
        decided = None if known is None else known.asking_pence
        if first is not None:
            day, price = first.when, float(first.price)
        elif decided is not None:
            day, price = one.came, decided / 100
        else:
            unknown += 1
            continue
        name = mark or f"stock {one.stock}"
        given = attributes_known(known, seen, day=day)
        if first is not None:
            given = {**given, **_noted_of(first)}
        found.append(_Asked(one, car_as_called(given, where=f"stock number {one.stock}"), name, day, price))
    left = []
    if unknown:
        left.append(f"{_cars(unknown)} of the firm: nobody noted what was asked")
    if back:
        left.append(f"{_cars(back)} of the firm that came back after a sale: how long they stood is not one figure")
    return found, tuple(left)


def _noted_of(one: Comparable) -> dict[str, str]:
    """Give what was noted of a car with its asking price, which counts before what its file knows."""
    given = dict(one.attributes)
    if one.mileage is not None:
        given["mileage"] = f"{round(one.mileage.value)} {one.mileage.unit}"
    return given | {name: text for name, text in (("condition", one.condition), ("where", one.where)) if text}


def _cars(count: int) -> str:
    return f"{count} car{'s' * (count != 1)}"
