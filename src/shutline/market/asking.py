"""What to ask: the price that is expected to leave most, the time it takes, and when to ask less."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.market.settings import Selling, market_settings
from shutline.market.survival import Expected, Stood, Weibull, kaplan_meier, weibull

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

ASKS = tuple(round(0.7 + 0.02 * step, 2) for step in range(41))
"""Asking prices that are tried, as shares of what the car will fetch."""
CUTS = (1.0, 0.98, 0.95, 0.92, 0.88, 0.84, 0.8)
CUT_DAYS = (30, 45, 60, 90, 120)
_STEPS, _DRAWS = 48, 200
_ENDS = (0.1, 0.9)
NOTE = (
    "Learnt from {cars} of the firm, {sold} sold; the rest is what was expected beforehand. Nobody asked "
    "at random: where good cars were asked more for, dear prices seem to sell quicker than they do."
)


@dataclass(frozen=True, slots=True)
class Stock:
    """A car of the firm: `days` it stood, whether it is `sold`, and `asked` over what it was taken to fetch."""

    days: float
    sold: bool
    asked: float

    def __post_init__(self) -> None:
        if not (0 <= self.days < math.inf and 0 < self.asked < math.inf):
            raise ValueError(f"{self.days} days at {self.asked}: nought days or more, and a share of more than nought")


@dataclass(frozen=True, slots=True)
class Ask:
    """One asking price.

    `half` are the days after which half of such cars are sold, `sold` the share until the last day, `left` what is left
    on average of the price after holding, against giving it to the trade today; each with its tenth and ninetieth part
    in a hundred over what is not known.
    """

    price: int
    half: tuple[float, float, float]
    sold: tuple[float, float, float]
    left: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Cut:
    """Ask `first`, and after `day` days `then`: `gain` pounds more on average than the best single price."""

    first: int
    day: int
    then: int
    gain: int


@dataclass(frozen=True, slots=True)
class Asking:
    """The curve of asking prices, and the best of them.

    From `flat_low` to `flat_high` no price is worse than the best by more than a hundredth of the car. `at_end` says
    that the best is the last that was tried. `cut` is None where a lower price later gains nothing. `stood` is the
    firm's own curve of Kaplan and Meier, empty without cars.
    """

    curve: tuple[Ask, ...]
    best: Ask
    flat_low: int
    flat_high: int
    at_end: bool
    cut: Cut | None
    stood: tuple[Stood, ...]
    note: str


def time_to_sell(stock: Sequence[Stock], selling: Selling | None = None) -> Weibull:
    """Fit the days to the logarithm of what was asked over what was expected, from what was expected beforehand."""
    import numpy as np

    known = selling or market_settings().selling
    # The constant is of the scale; the middle is said of the day on which half are sold.
    scale = known.days - math.exp(known.scatter) * math.log(math.log(2))
    expected = Expected(
        (scale, known.steepness, known.scatter), (known.days_doubt, known.steepness_doubt, known.scatter_doubt)
    )
    # In an order of their own, so that the order of rows does not touch the last digit.
    cars = sorted(stock, key=lambda one: (one.days, one.sold, one.asked))
    rows = np.array([[1.0, math.log(one.asked)] for one in cars]).reshape(len(cars), 2)
    days = np.array([max(one.days, 0.5) for one in cars])
    return weibull(rows, days, np.array([one.sold for one in cars], dtype=bool), expected)


def asking_of(
    fetch: Callable[[Array], Array],
    stock: Sequence[Stock],
    *,
    holding: float,
    last_day: int = 180,
    trade_share: float = 0.8,
    keeps: float = 1.0,
    paid: float = 1.0,
    selling: Selling | None = None,
    seed: int | None = None,
) -> Asking:
    """Work out what to ask.

    Parameters
    ----------
    fetch : callable
        From chances in (0, 1) to prices: `Fetch.prices`.
    stock : sequence of Stock
        The firm's own cars, those that are still there too; none is allowed.
    holding : float
        Pounds for each day it stands (`holding_a_day`).
    last_day : int
        On which a car that is still there goes to the trade, 10 or more.
    trade_share : float
        What the trade gives, as a share of what the car would fetch, 0 to 1.
    keeps : float
        What is kept of each pound of the price: 5/6 where a sixth of the margin is owed.
    paid : float
        What is paid of what is asked: the firm's own ratio.
    selling : Selling, optional
    seed : int, optional
    """
    import numpy as np

    if holding < 0 or last_day < 10 or not 0 <= trade_share <= 1 or not 0 < keeps <= 1 or not 0 < paid <= 2:
        raise ValueError("holding of nought or more, 10 days or more, shares from 0 to 1, paid up to 2")
    start = market_settings().told.seed if seed is None else seed
    chances = (np.random.default_rng(start).permutation(_DRAWS) + 0.5) / _DRAWS
    worth, middle = np.asarray(fetch(chances)), float(np.asarray(fetch(np.array([0.5])))[0])
    known = time_to_sell(stock, selling).drawn(_DRAWS, start)
    work = _Work(worth, known, holding, float(last_day), trade_share, keeps, paid)
    prices = np.round(middle * np.array(ASKS))
    shown = [work.ask(float(one)) for one in prices]
    left = [float(work.left(float(one)).mean()) for one in prices]
    at = int(np.argmax(left))
    flat = [int(price) for price, one in zip(prices, left, strict=True) if one >= left[at] - 0.01 * middle]
    return Asking(
        curve=tuple(shown),
        best=shown[at],
        flat_low=min(flat),
        flat_high=max(flat),
        at_end=at in {0, len(prices) - 1},
        cut=_best_cut(work, prices[::2], left[at]),
        stood=kaplan_meier([one.days for one in stock], [one.sold for one in stock]) if stock else (),
        note=NOTE.format(cars=f"{len(stock)} car{'s' * (len(stock) != 1)}", sold=sum(one.sold for one in stock)),
    )


def days_to_sell(
    fetch: Callable[[Array], Array],
    stock: Sequence[Stock],
    *,
    price: float,
    last_day: int,
    selling: Selling | None = None,
    draws: int = 2_000,
    seed: int | None = None,
) -> Array:
    """Draw how long a car stands that is asked for at a price, shape (draws,); on the last day it goes.

    Parameters
    ----------
    fetch, stock, last_day, selling, seed
        As `asking_of` has them.
    price : float
        Pounds, more than nought.
    draws : int
    """
    import numpy as np

    if not price > 0:
        raise ValueError(f"price {price}: more than nought is needed")
    start = market_settings().told.seed if seed is None else seed
    source = np.random.default_rng(start)
    ranks, even = ((source.permutation(draws) + 0.5) / draws for _ in range(2))
    known = time_to_sell(stock, selling).drawn(draws, start)
    scale = _Work(np.asarray(fetch(ranks)), known, 0.0, float(last_day), 0.0, 1.0, 1.0).scale(price)
    return np.asarray(np.minimum(scale * (-np.log(even)) ** np.exp(known[:, -1]), last_day))


@dataclass(frozen=True, slots=True)
class _Work:
    """All that what is left is made of; `worth` and `known` are draws of the car and of the time to sell."""

    worth: Array
    known: Array
    holding: float
    last_day: float
    trade_share: float
    keeps: float
    paid: float

    def scale(self, price: float) -> Array:
        """Give the scale of the days at a price, shape (draws,)."""
        import numpy as np

        logs = self.known[:, 0] + self.known[:, 1] * np.log(price / self.worth)
        return np.asarray(np.exp(np.clip(logs, -20.0, 40.0)))

    def there(self, days: Array, first: float, day: float, then: float) -> Array:
        """Give the share still there, shape (draws, days); after `day` time runs at the pace of the lower price."""
        import numpy as np

        before, after = np.minimum(days, day), np.maximum(days - day, 0.0)
        run = before / self.scale(first)[:, None] + after / self.scale(then)[:, None]
        return np.asarray(np.exp(-(run ** np.exp(-self.known[:, -1])[:, None])))

    def left(self, first: float, day: float | None = None, then: float | None = None) -> Array:
        """Give what is left on average for each draw of what is not known, shape (draws,)."""
        import numpy as np

        turn = self.last_day if day is None else day
        days = np.union1d(np.linspace(0.0, self.last_day, _STEPS), [turn])
        there = self.there(days, first, turn, then or first)
        at_turn, at_end = there[:, int(np.searchsorted(days, turn))], there[:, -1]
        stood = np.trapezoid(there, days, axis=1)
        got = self.paid * (first * (1 - at_turn) + (then or first) * (at_turn - at_end))
        trade = self.trade_share * self.worth
        return np.asarray(self.keeps * (got + trade * at_end - trade) - self.holding * stood)

    def ask(self, price: float) -> Ask:
        import numpy as np

        half = self.scale(price) * math.log(2) ** np.exp(self.known[:, -1])
        sold = 1 - self.there(np.array([self.last_day]), price, self.last_day, price)[:, 0]
        return Ask(round(price), _ends(half, middle=float(np.median(half))), _ends(sold), _ends(self.left(price)))


def _ends(values: Array, *, middle: float | None = None) -> tuple[float, float, float]:
    import numpy as np

    low, high = (float(one) for one in np.quantile(values, _ENDS))
    return float(values.mean()) if middle is None else middle, low, high


def _best_cut(work: _Work, prices: Array, single: float) -> Cut | None:
    """Try each price, day and lower price; what gains less than a pound is no gain."""
    best: tuple[float, Cut] | None = None
    for first in prices:
        for day in (one for one in CUT_DAYS if one < work.last_day):
            for share in CUTS[1:]:
                then = round(float(first) * share)
                gain = float(work.left(float(first), float(day), float(then)).mean()) - single
                if gain >= 1 and (best is None or gain > best[0]):
                    best = gain, Cut(round(float(first)), day, then, round(gain))
    return None if best is None else best[1]
