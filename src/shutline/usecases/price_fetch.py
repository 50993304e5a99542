"""What a car will fetch, worked out once for the same prices and the same car; and what each condition is worth."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING

from shutline.usecases.price_car import Seen, seen_of
from shutline.usecases.price_shown import ConditionShown

if TYPE_CHECKING:
    from datetime import date

    from shutline.market import Car, Comparable, Fetch, Fetched, Index, MarketSettings
    from shutline.market.firm import Firm

_CONDITION = "condition"


@dataclass(frozen=True)
class MarketHere:
    """Prices, and what the firm says of its market, on a day; two with the same mark are the same."""

    mark: str
    comparables: tuple[Comparable, ...] = field(compare=False)
    day: date = field(compare=False)
    currency: str = field(compare=False)
    index: Index | None = field(compare=False)
    settings: MarketSettings = field(compare=False)

    def names(self) -> Mapping[str, Seen]:
        """Give what is noted of the comparables."""
        return _names(self)

    def fetched(self, car: Car) -> Fetched:
        """Estimate what a car will fetch."""
        return _fetched(_Question(self, repr(_told(car)), ((car, ""),)))

    def expected(self, cars: Sequence[tuple[Car, str]]) -> tuple[float | None, ...]:
        """Give what cars were to fetch by the prices of the others, each with what its comparables call it."""
        return _expected(_Question(self, repr([(_told(car), name) for car, name in cars]), tuple(cars)))


@dataclass(frozen=True)
class _Question:
    market: MarketHere
    told: str
    cars: tuple[tuple[Car, str], ...] = field(compare=False)


def market_here(comparables: Sequence[Comparable], *, day: date, currency: str, firm: Firm) -> MarketHere:
    """Mark comparables by all that is noted of them, with the day and what the firm says."""
    noted = [(one.key(), one.line) for one in comparables]
    told = repr((noted, day, currency, firm.index, firm.settings))
    mark = hashlib.sha256(told.encode("utf-8", "replace")).hexdigest()
    return MarketHere(mark, tuple(comparables), day, currency, firm.index, firm.settings)


def _told(car: Car) -> tuple[object, ...]:
    return (sorted(car.attributes.items()), car.mileage, car.condition, car.where)


@lru_cache(maxsize=4)
def _names(here: MarketHere) -> Mapping[str, Seen]:
    return seen_of(here.comparables)


@lru_cache(maxsize=16)
def _fetched(asked: _Question) -> Fetched:
    from shutline.market import fetch_of

    here = asked.market
    return fetch_of(
        here.comparables,
        [car for car, _ in asked.cars],
        today=here.day,
        currency=here.currency,
        index=here.index,
        settings=here.settings,
    )


@lru_cache(maxsize=4)
def _expected(asked: _Question) -> tuple[float | None, ...]:
    from shutline.market import expected_prices

    here = asked.market
    return expected_prices(
        here.comparables,
        asked.cars,
        today=here.day,
        currency=here.currency,
        index=here.index,
        settings=here.settings,
    )


def conditions_of(fetch: Fetch, seen: Mapping[str, Seen], here: str) -> tuple[ConditionShown, ...]:
    """Give what the car would fetch in each condition that was seen, the dearest first; none where all are in one.

    Of the others the interval is that of what they are worth against the condition of this car.
    """
    if not fetch.conditions:
        return ()
    found = [
        ConditionShown(
            word=one.word,
            cars=one.cars,
            low=round(fetch.middle * (1 + one.low / 100)),
            middle=round(fetch.middle * (1 + one.percent / 100)),
            high=round(fetch.middle * (1 + one.high / 100)),
            here=False,
            held=not one.told,
        )
        for one in fetch.conditions
    ]
    if here:
        counts = seen[_CONDITION].counts if _CONDITION in seen else {}
        cars = sum(count for text, count in counts.items() if text.casefold() == here.casefold())
        middle = fetch.middle
        found.append(ConditionShown(here.casefold(), cars, middle, middle, middle, here=True, held=not cars))
    return tuple(sorted(found, key=lambda one: (-one.middle, one.word)))
