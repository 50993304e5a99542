"""What is taken of a market where the firm's own figures say little, and how sums are made."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from shutline.gauge.settings_file import sections


@dataclass(frozen=True, slots=True)
class Prior:
    """What is expected before any car was seen; all but `worth_cars` are of natural logarithms of prices."""

    spread: float
    worth_cars: float
    number: float
    word: float
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
class MarketSettings:
    """The sections of ``data/settings.toml``."""

    prior: Prior
    fitting: Fitting
    told: Told
    selling: Selling


@cache
def market_settings() -> MarketSettings:
    """Read the settings once."""
    kinds = {"prior": Prior, "fitting": Fitting, "told": Told, "selling": Selling}
    return MarketSettings(**sections("shutline.market", "settings.toml", kinds))
