"""Between which two prices a car lies, and what that promises.

Jackknife+: R. F. Barber, E. J. Candès, A. Ramdas, R. J. Tibshirani, Predictive inference with the jackknife+, Annals of
Statistics 49 (2021), theorem 1: at least 1 - 2a where 1 - a is asked for.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.market.model import Model

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

FEW = (
    "{cars} too few to test the model on: the interval is what {level} in a hundred would lie in if the "
    "scatter and the effects are as expected beforehand, as far as the cars have not told otherwise. No guarantee."
)
MANY = (
    "Made from how far off the model was for each of {cars} cars when that car was left out (jackknife+). Such "
    "intervals hold at least {least} in a hundred prices, and in tests {level}, as long as this car and its sale are "
    "one more of the same sort: not for another sort of car, another way of selling, or a market that has turned. "
    "What counts little as odd is chosen with all cars, which the proof does not cover."
)


@dataclass(frozen=True, slots=True)
class Interval:
    """Natural logarithms of prices, each of shape (n,), and the sentence that says what they promise."""

    low: Array
    high: Array
    tested: bool
    promise: str


def student(model: Model, rows: Array, *, level: float) -> Interval:
    """Give the interval that holds if the model is right; `rows` with the constant."""
    from scipy import stats

    reach = float(stats.t.ppf((1 + level) / 2, model.tails)) * model.width(rows)
    middle = model.middle(rows)
    count = len(model.rows)
    cars = "1 car is" if count == 1 else f"{count} cars are"
    promise = FEW.format(cars=cars, level=round(100 * level))
    return Interval(middle - reach, middle + reach, tested=False, promise=promise)


def jackknife_plus(model: Model, rows: Array, *, level: float) -> Interval:
    """Give the interval from residuals of cars left out, each over how sure the model was of that car.

    Leaving one out is done in closed form, with the weights and the prior of all. Between two cars the end is read off
    a line, so that few cars give no wider level than was asked for; what is promised is that of the nearer one.

    Parameters
    ----------
    model : Model
        Of at least 1 / (1 - level) cars.
    rows : array, shape (n, columns)
        With the constant.
    level : float

    Raises
    ------
    ValueError
        There are too few cars for the level.
    """
    import numpy as np

    count = len(model.rows)
    place = level * (count + 1)
    if place > count:
        raise ValueError(f"{count} cars for level {level}: more are needed")
    last = math.floor(place)
    between = place - last
    seen = model.leverage(model.rows)
    left = 1 - np.minimum(model.weights * seen, 1 - 1e-9)
    off = model.residuals / left
    score = np.abs(off) / np.sqrt(1 + seen / left)
    middle, reach = model.middle(rows), np.sqrt(1 + model.leverage(rows))
    mixed = rows @ model.inside @ model.rows.T
    without = middle[:, None] - mixed * (model.weights * off)[None, :]
    wide = score[None, :] * reach[:, None]
    lows, highs = np.sort(without - wide, axis=1)[:, ::-1], np.sort(without + wide, axis=1)
    low, high = (
        one[:, last - 1] + between * (one[:, min(last, count - 1)] - one[:, last - 1]) for one in (lows, highs)
    )
    promise = MANY.format(cars=count, level=round(100 * level), least=math.floor(100 * (2 * last / (count + 1) - 1)))
    return Interval(np.minimum(low, middle), np.maximum(high, middle), tested=True, promise=promise)
