"""What is taken of a market where the firm's own figures say little, and how sums are made."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from shutline.gauge.settings_file import sections
from shutline.prep.model import Range

_DAYS_IN_A_YEAR = 365.25


@dataclass(frozen=True, slots=True)
class Prior:
    """What is expected before any car was seen; all but `worth_cars` and `tails` are of logarithms of prices."""

    spread: float
    worth_cars: float
    tails: float
    number: float
    word: float
    condition: float
    model: float
    kind: float
    year: float
    ratio: float
    ratio_doubt: float
    ratio_spread: float


@dataclass(frozen=True, slots=True)
class Fitting:
    """How the model is fitted, and from how many cars on."""

    threshold: float
    most_words: int
    own_scatter_from: int
    conformal_from: int
    together: float
    told_from: float


@dataclass(frozen=True, slots=True)
class Told:
    """What is told: the level of intervals, how many of the nearest cars; and the draws behind the most to pay."""

    level: float
    nearest: int
    seed: int
    draws: int


@dataclass(frozen=True, slots=True)
class Selling:
    """What is expected of the time to sell; natural logarithms of days."""

    days: float
    days_doubt: float
    steepness: float
    steepness_doubt: float
    scatter: float
    scatter_doubt: float


@dataclass(frozen=True, slots=True)
class Money:
    """What the firm reckons with for each car.

    `allowed` is a chance of a loss; `interest` is per cent a year of the money in a car, `insurance`, `space` and
    `washing` are pounds a year; `fees`, `transport` and `warranty` are pounds, the least, the likely and the most. On
    `last_day` a car that is still there goes to the trade for `trade_share` of what it would fetch.
    """

    allowed: float
    interest: float
    insurance: float
    space: float
    washing: float
    fees: tuple[float, float, float]
    transport: tuple[float, float, float]
    warranty: tuple[float, float, float]
    trade_share: float
    last_day: int

    def holding_a_day(self, paid: float) -> float:
        """Give what a car costs each day that it stands, in pounds, with so much money in it."""
        return holding_a_day(paid, self.interest, self.insurance, self.space, self.washing)

    def range_of(self, name: str) -> Range:
        """Give ``fees``, ``transport`` or ``warranty`` as a range."""
        return Range(*{"fees": self.fees, "transport": self.transport, "warranty": self.warranty}[name])


def holding_a_day(money: float, percent_a_year: float, *others_a_year: float) -> float:
    """Give what a car costs each day that it stands: interest on the money in it, and insurance, space, washing.

    >>> round(holding_a_day(8000, 9, 400, 900), 2)
    5.53
    """
    return (money * percent_a_year / 100 + math.fsum(others_a_year)) / _DAYS_IN_A_YEAR


@dataclass(frozen=True, slots=True)
class MarketSettings:
    """The sections of ``data/settings.toml``."""

    prior: Prior
    fitting: Fitting
    told: Told
    selling: Selling
    money: Money


SECTIONS: Mapping[str, type[Any]] = {
    "prior": Prior,
    "fitting": Fitting,
    "told": Told,
    "selling": Selling,
    "money": Money,
}


@cache
def market_settings() -> MarketSettings:
    """Read the settings once."""
    return MarketSettings(**sections("shutline.market", "settings.toml", SECTIONS))
