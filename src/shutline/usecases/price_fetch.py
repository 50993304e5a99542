"""What a car will fetch, worked out once for the same prices and the same car; and what each condition is worth."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING

from shutline.usecases.price_car import Seen, seen_of
from shutline.usecases.price_prep import FEW
from shutline.usecases.price_shown import ConditionShown

if TYPE_CHECKING:
    from datetime import date

    from shutline.market import Car, Comparable, Fetch, Fetched, Index, MarketSettings

_CONDITION, _NOT_NOTED = "condition", "not noted"


@dataclass(frozen=True)
class Seens:
    """Comparables with what they name; two with the same mark are the same."""

    mark: str
    comparables: tuple[Comparable, ...] = field(compare=False)

    def names(self) -> Mapping[str, Seen]:
        """Give what is noted of them."""
        return _names(self)


@dataclass(frozen=True)
class FetchAsked:
    """All that an estimate is made of; two with the same mark are the same."""

    mark: str
    seen: Seens = field(compare=False)
    car: Car = field(compare=False)
    day: date = field(compare=False)
    currency: str = field(compare=False)
    index: Index | None = field(compare=False)
    settings: MarketSettings = field(compare=False)


def seens_of(comparables: tuple[Comparable, ...]) -> Seens:
    """Mark comparables by all that is noted of them."""
    told = repr([(one.key(), one.line) for one in comparables])
    return Seens(hashlib.sha256(told.encode("utf-8", "replace")).hexdigest(), comparables)


def fetched_of(
    seen: Seens, car: Car, *, day: date, currency: str, index: Index | None, settings: MarketSettings
) -> Fetched:
    """Estimate what a car will fetch; the same question is answered from what was kept."""
    told = repr((seen.mark, sorted(car.attributes.items()), car.mileage, car.condition, car.where))
    mark = f"{told}\n{day}\n{currency}\n{index!r}\n{settings!r}"
    return _fetched(FetchAsked(mark, seen, car, day, currency, index, settings))


@lru_cache(maxsize=16)
def _fetched(asked: FetchAsked) -> Fetched:
    from shutline.market import fetch_of

    return fetch_of(
        asked.seen.comparables,
        [asked.car],
        today=asked.day,
        currency=asked.currency,
        index=asked.index,
        settings=asked.settings,
    )


@lru_cache(maxsize=4)
def _names(seen: Seens) -> Mapping[str, Seen]:
    return seen_of(seen.comparables)


def conditions_of(fetch: Fetch, seen: Mapping[str, Seen], here: str) -> tuple[ConditionShown, ...]:
    """Give what the car would fetch in each condition that was seen, the dearest first; none where all are in one.

    Effects multiply, so each is the estimate over what this car's condition is worth, times what the other is.
    """
    counts: dict[str, int] = {}
    for text, count in seen[_CONDITION].counts.items() if _CONDITION in seen else ():
        counts[text.casefold()] = counts.get(text.casefold(), 0) + count
    effects = {one.name.removeprefix(f"{_CONDITION} "): one for one in fetch.effects if one.name.startswith(_CONDITION)}
    mine = effects.get(here.casefold() or _NOT_NOTED)
    if mine is None:
        return ()
    found = []
    for word, effect in effects.items():
        if word in counts or word == here.casefold():
            others = fetch.middle / (1 + mine.percent / 100)
            low, middle, high = (round(others * (1 + one / 100)) for one in (effect.low, effect.percent, effect.high))
            cars = counts.get(word, 0)
            mine_too = word == here.casefold()
            found.append(ConditionShown(word, cars, low, middle, high, here=mine_too, held=cars < FEW))
    return tuple(sorted(found, key=lambda one: (-one.middle, one.word)))
