"""What to ask for a car and the most to pay, from what it will fetch and what the firm says of its money."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING

from shutline.usecases.price_shown import AskingShown, FigureShown, MostShown

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from shutline.market import Asking, Fetch, Most, Premium, Stock
    from shutline.market.most import Figure
    from shutline.market.settings import MarketSettings, Money
    from shutline.usecases.price_prep import PrepTaken
    from shutline.usecases.price_tax import TaxHere, TaxWay

    Array = NDArray[np.float64]

POUNDS, DAYS, A_DAY, PER_CENT = "pounds", "days", "pounds a day", "per cent"
_ENDS = (0.1, 0.5, 0.9)
_MINUS = "\N{MINUS SIGN}"
_CALLED = {
    "fetch": "what it will fetch",
    "prep": "what is spent to put it right",
    "days": "how many days it stands",
    "holding": "what a day of standing costs",
    "fees": "fees",
    "transport": "transport",
    "warranty": "what is set aside for warranty",
}


@dataclass(frozen=True)
class SumsAsked:
    """What the sums are made of: the estimate less `off`, and the firm's own cars and money."""

    fetch: Fetch
    off: float
    stock: tuple[Stock, ...]
    settings: MarketSettings
    given: Mapping[str, float]

    def prices(self, chances: Array) -> Array:
        """Give the prices that are not reached with these chances, less what is knocked off; a pound at least."""
        import numpy as np

        return np.asarray(np.maximum(self.fetch.prices(chances) - self.off, 1.0))

    @property
    def money(self) -> Money:
        """What the firm reckons with for each car."""
        return self.settings.money

    @property
    def mark(self) -> tuple[object, ...]:
        """Give what two of the same sums share."""
        fetch = self.fetch
        ends = (fetch.log_middle, fetch.log_low, fetch.log_high, fetch.freedom, fetch.level)
        return (*ends, self.off, self.stock, self.settings)


@dataclass(frozen=True)
class _AskingAsked:
    mark: tuple[object, ...]
    holding: float
    keeps: float
    sums: SumsAsked = field(compare=False)


def asking_shown(
    sums: SumsAsked, taxed: TaxHere, *, holding: float, kept: float | None, version: int | None, tried: float | None
) -> AskingShown:
    """Work out what to ask; `tried` is a price that is looked at in place of the kept one."""
    found = _asking(_AskingAsked(sums.mark, holding, taxed.ways[0].keeps, sums))
    at = tried or kept or float(found.best.price)
    near = min(found.curve, key=lambda one: (abs(one.price - at), one.price))
    return AskingShown(found, kept, version, at, near)


@lru_cache(maxsize=32)
def _asking(asked: _AskingAsked) -> Asking:
    from shutline.market import asking_of

    sums = asked.sums
    ratio = sums.fetch.ratio
    return asking_of(
        sums.prices,
        sums.stock,
        holding=asked.holding,
        last_day=sums.money.last_day,
        trade_share=sums.money.trade_share,
        keeps=asked.keeps,
        paid=math.exp(sums.settings.prior.ratio if ratio is None else ratio.mean),
        selling=sums.settings.selling,
        seed=sums.settings.told.seed,
    )


def holding_of(sums: SumsAsked, paid: float | None) -> tuple[float, str]:
    """Give what a day costs and where that is from: interest on what was paid, or on what it will fetch."""
    money = sums.money
    basis = float(sums.fetch.middle) if paid is None else paid
    words = "what it will fetch, for nobody has paid for it yet" if paid is None else "what was paid for it"
    day = money.holding_a_day(basis)
    return day, f"interest of {money.interest:g} % a year on {words}, and insurance, space and washing"


def figures_of(
    sums: SumsAsked, taken: PrepTaken, taxed: TaxHere, *, asking: AskingShown, holding: tuple[float, str]
) -> tuple[tuple[FigureShown, ...], dict[str, Figure]]:
    """Give the figures of the most to pay, to be shown and to be reckoned with."""
    from shutline.market import days_to_sell

    money = sums.money
    days = days_to_sell(
        sums.prices,
        sums.stock,
        price=asking.at,
        last_day=money.last_day,
        selling=sums.settings.selling,
        seed=sums.settings.told.seed,
    )
    untaxed = taxed.ways[0].keeps == 1
    sold = sum(one.sold for one in sums.stock)
    cars = f"{len(sums.stock)} car{'s' * (len(sums.stock) != 1)} of the firm, {sold} sold"
    there = cars if sums.stock else "what is expected, no car of the firm"
    jobs = f"{taken.here.jobs} job{'s' * (taken.here.jobs != 1)}"
    jobs += ", all that can be put right" if taken.here.in_the_way else " of the plan of preparation"
    settings = "the firm's settings"
    rows: tuple[tuple[str, str, str, Figure, str, float], ...] = (
        (
            *("prep", "To put it right", POUNDS, taken.with_tax if untaxed else taken.draws),
            *(f"{jobs}, {'with' if untaxed else 'without'} tax", 1000.0),
        ),
        ("days", "Days it stands", DAYS, days, f"asked for at {asking.at:,.0f}; from {there}", float(money.last_day)),
        ("holding", "A day of standing", A_DAY, holding[0], holding[1], 10.0),
        ("fees", "Fees", POUNDS, money.range_of("fees"), settings, 200.0),
        ("transport", "Transport", POUNDS, money.range_of("transport"), settings, 400.0),
        ("warranty", "Set aside for warranty", POUNDS, money.range_of("warranty"), settings, 500.0),
    )
    shown, outlay = [], {}
    for name, words, unit, taking, whence, least in rows:
        spread = _spread(taking)
        given = sums.given.get(name)
        outlay[name] = taking if given is None else given
        ends = spread if given is None else (given,) * 3
        told = whence if given is None else "given here"
        top = _round_up(max(least, 2 * spread[2], given or 0.0))
        shown.append(FigureShown(name, words, unit, *ends, told, given is not None, spread[1], top))
    return tuple(shown), outlay


def mosts_of(
    sums: SumsAsked, outlay: Mapping[str, Figure], taxed: TaxHere, *, allowed: float, premium: Premium | None
) -> tuple[MostShown, ...]:
    """Give the most to pay under each way of taxing it; `allowed` is a chance in (0, 1)."""
    return tuple(_most(sums, outlay, way, allowed, premium) for way in taxed.ways)


def _most(
    sums: SumsAsked, outlay: Mapping[str, Figure], way: TaxWay, allowed: float, premium: Premium | None
) -> MostShown:
    from shutline.market import Outlay, most_to_pay

    told = sums.settings.told
    found = most_to_pay(
        sums.prices,
        Outlay(**outlay),
        allowed=allowed,
        tax=way.tax,
        premium=premium,
        draws=told.draws,
        seed=told.seed,
    )
    movers = tuple(_mover(one.name, (one.low, one.high), (one.at_low, one.at_high)) for one in found.movers)
    return MostShown(way.name, way.words, found, _words(found), movers)


def _words(most: Most) -> str:
    chance = f"{100 * most.allowed:g} in a hundred"
    if most.bid is None:
        return f"Nothing: even as a gift a loss would be likelier than {chance}."
    whole = f", {money_words(most.bid + most.premium)} in all with the premium" if most.premium else ""
    return (
        f"{money_words(most.bid)}{whole}: then a loss is no likelier than {chance}. On average "
        f"{money_words(most.left)} is left, {money_words(most.left_low)} or less one time in ten, "
        f"{money_words(most.left_high)} or more another."
    )


def _mover(name: str, ends: Sequence[float], bids: Sequence[int | None]) -> str:
    told = [
        f"at {f'{end:,.0f} days' if name == 'days' else money_words(end)} it is "
        f"{'nothing' if bid is None else money_words(bid)}"
        for end, bid in zip(ends, bids, strict=True)
    ]
    words = _CALLED[name]
    return f"{words[:1].upper()}{words[1:]}: {'; '.join(told)}."


def left_words(amount: float) -> str:
    """Say what is left beside what the trade gives today.

    >>> left_words(164.2), left_words(-186)
    ('£164 more is left than the trade gives today', '£186 less is left than the trade gives today')
    """
    return f"{money_words(abs(amount))} {'less' if round(amount) < 0 else 'more'} is left than the trade gives today"


def money_words(amount: float) -> str:
    """Give an amount in whole pounds.

    >>> money_words(1234.5), money_words(-0.2)
    ('£1,234', '£0')
    """
    whole = round(amount)
    return f"{_MINUS if whole < 0 else ''}£{abs(whole):,}"


def _spread(taking: Figure) -> tuple[float, float, float]:
    import numpy as np

    from shutline.prep.draws import quantiles, shape_of
    from shutline.prep.model import Range

    if isinstance(taking, Range):
        if taking.high == taking.low:
            return (taking.low,) * 3
        shares = quantiles(*shape_of(taking), np.array(_ENDS))
        low, middle, high = (float(taking.low + (taking.high - taking.low) * one) for one in shares)
    else:
        low, middle, high = (float(one) for one in np.quantile(np.atleast_1d(np.asarray(taking)), _ENDS))
    return low, middle, high


def _round_up(amount: float) -> float:
    """Give the next figure of one or two digits that is not below."""
    step = 10.0 ** math.floor(math.log10(amount)) / 2
    return math.ceil(amount / step) * step
