"""The most to pay for a car, backwards from what it will fetch, so that a loss is no likelier than the firm allows."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.market.settings import market_settings
from shutline.prep.draws import quantiles, shape_of
from shutline.prep.model import NOUGHT, Range

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

    Tax = Callable[[Array, float], Array]
    """From prices fetched and the price paid, in pounds, to the tax owed on each."""

    Figure = Range | Sequence[float] | Array | float
    """What a sum may be given as: one figure, a range (a modified beta with lambda 4), or draws."""

MOST = 100_000_000
SWING = (0.1, 0.9)
MOVERS = 3
_SMALLEST = 1e-12


def margin_tax(above: int, below: int) -> Tax:
    """Give the rule of a margin scheme: the share above/below of the margin, nothing of a loss.

    >>> import numpy as np
    >>> [float(one) for one in margin_tax(1, 6)(np.array([2000.0, 900.0]), 1500).round(2)]
    [83.33, 0.0]
    """

    def owed(fetched: Array, paid: float) -> Array:
        import numpy as np

        return np.maximum(fetched - paid, 0.0) * above / below

    return owed


def no_tax(fetched: Array, paid: float) -> Array:  # noqa: ARG001
    """Owe nothing: the rule of a firm that is not registered."""
    return fetched * 0.0


@dataclass(frozen=True, slots=True)
class Tier:
    """From a hammer price of `above` on: `percent` of what lies above it, and `fixed` pounds once it is passed."""

    above: float
    percent: float
    fixed: float = 0.0


@dataclass(frozen=True, slots=True)
class Premium:
    """What an auction takes of its buyer on top of the bid, up to `cap`; `vat_percent` goes on that.

    `counts` says whether the premium is part of the price paid that the margin is counted from, as on an invoice under
    the auctioneers' scheme: ask the auction. Where it does not count, no tax is taken to come back on it.
    """

    tiers: tuple[Tier, ...] = ()
    vat_percent: float = 0.0
    cap: float = math.inf
    counts: bool = False

    def __post_init__(self) -> None:
        starts = [one.above for one in self.tiers]
        if starts != sorted(set(starts)):
            raise ValueError("tiers of a premium have rising starts, each once")
        figures = [self.vat_percent, self.cap, *(part for one in self.tiers for part in (one.above, one.fixed))]
        if any(math.isnan(one) or one < 0 for one in figures):
            raise ValueError("a premium takes nothing below nought")
        if any(not 0 <= one.percent <= 100 for one in self.tiers):
            raise ValueError("a tier takes from 0 to 100 per cent")

    def on(self, bid: float) -> float:
        """Give the premium on a bid in pounds, with the tax on it; it never falls when the bid rises.

        >>> Premium((Tier(0, 10), Tier(1000, 5, 20)), vat_percent=20).on(3000)
        264.0
        """
        found = 0.0
        for number, one in enumerate(self.tiers):
            if bid <= one.above:
                break
            end = self.tiers[number + 1].above if number + 1 < len(self.tiers) else bid
            found += one.fixed + (min(bid, end) - one.above) * one.percent / 100
        return min(found, self.cap) * (1 + self.vat_percent / 100)


@dataclass(frozen=True, slots=True)
class Outlay:
    """What a car costs beside its price, in pounds: figures, ranges or draws.

    `holding` is for one day, `days` how many it stands; `warranty` is what is set aside for what goes wrong afterwards.
    """

    prep: Figure = NOUGHT
    days: Figure = NOUGHT
    holding: Figure = NOUGHT
    fees: Figure = NOUGHT
    transport: Figure = NOUGHT
    warranty: Figure = NOUGHT


NAMES = ("prep", "days", "holding", "fees", "transport", "warranty")
FETCH = "fetch"


@dataclass(frozen=True, slots=True)
class Mover:
    """The most to pay if one figure were at its tenth (`at_low`) or ninetieth (`at_high`) part in a hundred."""

    name: str
    low: float
    high: float
    at_low: int | None
    at_high: int | None

    def swing(self) -> int:
        """Give how far apart they are; where one of both is no bid at all it counts as nought."""
        return abs((self.at_high or 0) - (self.at_low or 0))


@dataclass(frozen=True, slots=True)
class Most:
    """The most to bid, in whole pounds; None where even nought is likelier to lose than allowed.

    `loss` is the chance of a loss at that bid and `error` its standard error from the draws, `loss_above` that of a
    pound more. `left` is what is left on average, `left_low` and `left_high` in the worst and best tenth. `movers`
    are the three figures that move the bid most, each moved by itself while all others are drawn.
    """

    bid: int | None
    premium: float
    allowed: float
    loss: float
    error: float
    loss_above: float
    left: float
    left_low: float
    left_high: float
    movers: tuple[Mover, ...]


def most_to_pay(
    fetch: Callable[[Array], Array],
    outlay: Outlay,
    *,
    allowed: float,
    tax: Tax = no_tax,
    premium: Premium | None = None,
    draws: int | None = None,
    seed: int | None = None,
) -> Most:
    """Find the highest bid at which a loss is no likelier than allowed.

    The draws are the same at every bid, so the chance of a loss never falls when the bid rises, and halving finds the
    pound exactly. Figures are drawn independently of one another, ordered so that each is spread evenly.

    Parameters
    ----------
    fetch : callable
        From chances in (0, 1) to prices: `Fetch.prices`.
    outlay : Outlay
    allowed : float
        Chance of a loss, in (0, 1).
    tax : callable
        The rule of the ledger: `margin_tax` with the share of its rate; it may not take back more than a pound for
        each pound that is paid.
    premium : Premium, optional
    draws, seed : int, optional
        By default those of the settings.

    Raises
    ------
    ValueError
        A chance, a figure or a number of draws cannot be.
    """
    import numpy as np

    if not 0 < allowed < 1:
        raise ValueError(f"chance of a loss {allowed}: between 0 and 1 is needed")
    count = market_settings().told.draws if draws is None else draws
    start = market_settings().told.seed if seed is None else seed
    if not 100 <= count <= 1_000_000:
        raise ValueError(f"{count} draws: from 100 to a million")
    ranks = _ranks(count, start)
    drawn = {FETCH: np.asarray(fetch(ranks[FETCH]))}
    for name in NAMES:
        drawn[name] = _drawn(name, getattr(outlay, name), ranks[name])
    fee = premium or Premium()

    def left(bid: int, given: dict[str, Array]) -> Array:
        extra = fee.on(bid)
        paid = bid + extra if fee.counts else float(bid)
        spent = (
            given["prep"] + given["days"] * given["holding"] + given["fees"] + given["transport"] + given["warranty"]
        )
        return np.asarray(given[FETCH] - tax(given[FETCH], paid) - spent - bid - extra)

    def best(given: dict[str, Array]) -> int | None:
        return _highest(lambda bid: float(np.mean(left(bid, given) < 0)) <= allowed)

    bid = best(drawn)
    result = left(bid or 0, drawn)
    loss = float(np.mean(result < 0))
    above = loss if bid is None else float(np.mean(left(bid + 1, drawn) < 0))
    movers = []
    for name, values in drawn.items():
        low, high = (float(one) for one in np.quantile(values, SWING))
        if high > low:
            ends = [best({**drawn, name: np.full(count, at)}) for at in (low, high)]
            movers.append(Mover(name, low, high, *ends))
    movers.sort(key=lambda one: (-one.swing(), one.name))
    return Most(
        bid=bid,
        premium=fee.on(bid or 0),
        allowed=allowed,
        loss=loss,
        error=math.sqrt(loss * (1 - loss) / count),
        loss_above=above,
        left=float(result.mean()),
        left_low=float(np.quantile(result, SWING[0])),
        left_high=float(np.quantile(result, SWING[1])),
        movers=tuple(movers[:MOVERS]),
    )


def _highest(allowed: Callable[[int], bool]) -> int | None:
    """Find the last whole number from nought that is allowed, where none is after one that is not."""
    if not allowed(0):
        return None
    low, high = 0, 1
    while allowed(high):
        low, high = high, high * 2
        if high > MOST:
            raise ValueError(f"more than {MOST:,} could be paid: look at the figures")
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if allowed(middle) else (low, middle)
    return low


def _ranks(count: int, seed: int) -> dict[str, Array]:
    """Give each figure chances that are spread evenly, each in an order of its own."""
    import numpy as np

    found = {}
    for number, name in enumerate((FETCH, *NAMES)):
        source = np.random.default_rng([seed, number])
        found[name] = (source.permutation(count) + source.random(count)) / count
        found[name] = np.clip(found[name], _SMALLEST, 1 - _SMALLEST)
    return found


def _drawn(name: str, given: Figure, ranks: Array) -> Array:
    """Turn a figure into draws, nothing below nought."""
    import numpy as np

    if isinstance(given, Range):
        if not 0 <= given.low <= given.likely <= given.high < math.inf:
            raise ValueError(f"{name} {given}: low, likely and high rise from nought")
        if given.high == given.low:
            return np.full(len(ranks), given.low)
        share = quantiles(*shape_of(given), ranks)
        return np.asarray(given.low + (given.high - given.low) * share)
    values = np.atleast_1d(np.asarray(given, dtype=float))
    if values.ndim != 1 or len(values) == 0 or not np.all(np.isfinite(values)) or np.any(values < 0):
        raise ValueError(f"{name}: draws are numbers of nought or more")
    return np.asarray(np.sort(values)[np.minimum((ranks * len(values)).astype(int), len(values) - 1)])
