"""The records of the price of one car, as the command line, the page and the report show it; sums are in pounds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.errors import Problem
from shutline.usecases.prep import FoundShown
from shutline.usecases.price_car import AttributeShown

if TYPE_CHECKING:
    from datetime import date

    from shutline.car.price_said import PriceSaid
    from shutline.market import Ask, Asking, Fetch, Most


@dataclass(frozen=True)
class PriceAsked:
    """What is asked for in place of what was kept or what the firm's settings say; None is that.

    `day` is the day that prices are moved to. `allowed` is the chance of a loss, in per cent. `days` are how long it
    stands, `holding` what each of them costs; `prep`, `fees`, `transport` and `warranty` what is spent, `knocked_off`
    what a buyer knocks off for what stays, all in pounds. `premium` names an auction, empty for none. `tax` is
    ``margin``, ``full`` or ``none`` in place of what the ledger says. `asking` is a price that is tried. `kept` tells
    whether figures that were kept with the car count where none is given.
    """

    day: date | None = None
    allowed: float | None = None
    days: float | None = None
    holding: float | None = None
    prep: float | None = None
    fees: float | None = None
    transport: float | None = None
    warranty: float | None = None
    knocked_off: float | None = None
    premium: str | None = None
    tax: str | None = None
    asking: float | None = None
    kept: bool = True


@dataclass(frozen=True, slots=True)
class FigureShown:
    """One figure of the most to pay: what is taken, in what, and where from.

    `low`, `middle` and `high` are its tenth, half and ninetieth part in a hundred, all the same for one that is sure.
    `whence` says where it is from; `given` is True where a person gave it, `reckoned` what is taken otherwise. `top`
    is as far as it may sensibly be moved.
    """

    name: str
    words: str
    unit: str
    low: float
    middle: float
    high: float
    whence: str
    given: bool
    reckoned: float
    top: float


@dataclass(frozen=True, slots=True)
class ConditionShown:
    """What the car would fetch in a condition, in the firm's words, `cars` of which were seen so; `here` is this one.

    `low` and `high` are the interval of that against the condition of this car. `held` tells that the prices do not
    tell it: it is mostly what was expected beforehand.
    """

    word: str
    cars: int
    low: int
    middle: int
    high: int
    here: bool
    held: bool


@dataclass(frozen=True, slots=True)
class FindingWorth:
    """What a buyer knocks off for a finding, and who says so.

    `estimated` tells that the comparables say it; else it is a row of the table of preparation, and where that has
    none either, `low`, `likely` and `high` are None. `cured` tells that preparation puts it right.
    """

    found: FoundShown
    low: int | None
    likely: int | None
    high: int | None
    estimated: bool
    footing: str
    cured: bool


@dataclass(frozen=True, slots=True)
class PrepHere:
    """What preparation costs, without tax: mean, and 5, 50 and 95 in a hundred.

    `jobs` are how many are done, `weighed_at` the price at which it was weighed what pays, and `weighed_words` whose
    price that is. `in_the_way` says why what must be done cannot be; then all that can be put right is counted.
    """

    jobs: int
    mean: int
    p05: int
    p50: int
    p95: int
    weighed_at: int | None
    weighed_words: str
    in_the_way: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AskingShown:
    """What to ask: the curve with the best price, what is kept, and what the price that is looked at comes to.

    `kept` is what was decided with preparation, in pounds, and `version` that of the decision. `at` is the price that
    is looked at: one that is tried, else the kept one, else the best; `near` the price of the curve nearest to it.
    """

    asking: Asking
    kept: float | None
    version: int | None
    at: float
    near: Ask


@dataclass(frozen=True, slots=True)
class MostShown:
    """The most to pay under one way of taxing it, in words too; `movers` are sentences, the largest first."""

    tax: str
    tax_words: str
    most: Most
    words: str
    movers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PriceShown:
    """All of it.

    `fetch` is None where there is not one price to go by; then there is nothing to ask and nothing to pay either.
    `comparables` counts what is kept, `set_aside` those of them that did not count. `way_off` is what is taken off the
    estimate for what stays, `last_day` the one on which a car that is still there goes to the trade. `tax` is the way
    of taxing it that was chosen, empty for what the ledger says, which is `taxed`; `mosts` has two where that is not
    known. `paid` is what was paid for it, None where it is not in the ledger. `left_out` says what no sum has. `said`
    is what people said, None where nobody did.
    """

    car: str
    title: str
    day: date
    currency: str
    attributes: tuple[AttributeShown, ...]
    comparables: int
    set_aside: int
    fetch: Fetch | None
    conditions: tuple[ConditionShown, ...]
    findings: tuple[FindingWorth, ...]
    prep: PrepHere
    way_off: float
    asking: AskingShown | None
    last_day: int
    figures: tuple[FigureShown, ...]
    premium: str
    premiums: tuple[str, ...]
    tax: str
    taxed: str
    tax_words: str
    mosts: tuple[MostShown, ...]
    paid: float | None
    left_out: tuple[str, ...]
    said: PriceSaid | None
    problems: tuple[Problem, ...]
    note: str
