"""What a car would fetch in another condition, and whether the cars that were seen tell so."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.market.columns import CONDITION
from shutline.market.fitted import Fitted
from shutline.market.model import percent_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ConditionWorth:
    """What one condition is worth against that of the car asked about.

    `word` is in the firm's words, empty for cars of which none is noted; `cars` have it. `percent` of the price is more
    or less, `low` and `high` the interval of the level asked for. `from_cars` is the share of the doubt that was there
    beforehand and that the cars took away: 0 where all is as it was expected, 1 where all is known. `told` says that it
    is enough to go by; where it is not, another table has to say it.
    """

    word: str
    cars: int
    percent: float
    low: float
    high: float
    from_cars: float
    told: bool


def conditions_of(
    fitted: Fitted, row: Array, *, here: str, level: float, told_from: float
) -> tuple[ConditionWorth, ...]:
    """Give each condition that was seen, the dearest first, but for the one the car is in.

    Conditions are free words. Each is held to nought by itself, as no order of them is known: one that few cars have
    lies near the others, with a wide interval. Where all are numbers, as in a scale of five, they count as one.

    Parameters
    ----------
    fitted : Fitted
    row : array, shape (columns,)
        Of the car asked about, with the constant.
    here : str
        The condition that it is in, as noted; empty where it is not.
    level : float
        Of the intervals.
    told_from : float
        The share of the doubt that the cars have to take away.
    """
    import numpy as np
    from scipy import stats

    model = fitted.model
    of_condition = np.array([False, *(one.of == CONDITION for one in fitted.table.columns)])
    reach = float(stats.t.ppf((1 + level) / 2, model.freedom))
    words = [one.condition.strip().casefold() for one in fitted.used]
    counts = Counter(words)
    found = []
    for word in counts.keys() - {here.strip().casefold()}:
        apart = np.where(of_condition, model.rows[words.index(word)] - row, 0.0)
        before = float(apart**2 @ model.expected)
        # Of words that are told apart by no column, one is worth what the other is.
        share = 1 - float(apart @ model.inside @ apart) / before if before > 0 else 0.0
        middle, doubt = float(apart @ model.effects), reach * model.doubt(apart)
        ends = (percent_of(middle - doubt), percent_of(middle + doubt))
        found.append(ConditionWorth(word, counts[word], percent_of(middle), *ends, share, told=share >= told_from))
    return tuple(sorted(found, key=lambda one: (-one.percent, one.word)))
