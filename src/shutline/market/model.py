"""The model of prices: robust, each effect held to nought by what was expected of it, with its doubt exact.

The logarithm of a price is a sum of effects and scatter. Effects are normal and the variance of the scatter is
inverse gamma beforehand, so what is known afterwards, and of one more car, is a Student t in closed form (Gelman and
others, Bayesian Data Analysis, third edition, 14.8); rows that are far off count less by Huber's weights.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.market.columns import Table
from shutline.market.linear import Line, huber, scale_of
from shutline.market.settings import Fitting, Prior

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_FLAT = 1e-10
"""The constant is held by nothing: this only keeps a table without cars from being singular."""


@dataclass(frozen=True, slots=True)
class Model:
    """What is known of the effects; the constant is the first of `effects`.

    `inside` is the inverse of the weighted normal equations, `spread` the scatter of one car from the next with
    `freedom` degrees of freedom; that of one more price has `tails` of them. `expected` are the variances of the
    effects before any car was seen, in those of one car.
    """

    effects: Array
    inside: Array
    spread: float
    freedom: float
    tails: float
    expected: Array
    weights: Array
    residuals: Array
    rows: Array

    def middle(self, rows: Array) -> Array:
        """Give the expected logarithm of the price; `rows` with the constant, shape (n, columns)."""
        return rows @ self.effects

    def width(self, rows: Array) -> Array:
        """Give the scale of the Student t of one more price, shape (n,)."""
        import numpy as np

        return self.spread * np.sqrt(1 + self.leverage(rows))

    def leverage(self, rows: Array) -> Array:
        """Give how far off a row lies from those that were seen, in variances of one car."""
        import numpy as np

        return np.asarray(np.einsum("ij,ij->i", rows @ self.inside, rows))

    def doubt(self, row: Array) -> float:
        """Give the standard deviation (scale of the t) of one sum of effects."""
        return float(self.spread * math.sqrt(max(0.0, float(row @ self.inside @ row))))


def percent_of(logarithm: float) -> float:
    """Give an effect on the logarithm of the price in per cent of the price."""
    return 100 * math.expm1(logarithm)


def with_constant(rows: Array) -> Array:
    """Put a column of ones before the others."""
    import numpy as np

    return np.column_stack([np.ones(len(rows)), rows])


def model_of(table: Table, values: Array, *, prior: Prior, fitting: Fitting) -> Model:
    """Fit the model.

    Few cars are fitted with effects and scatter bound together: where the scatter turns out half of what was expected,
    so do the effects. Where there are enough cars, effects are expected as the prior says whatever the scatter is.

    Parameters
    ----------
    table : Table
    values : array, shape (rows,)
        Natural logarithms of prices; at least one.
    prior, fitting
        Of the settings.
    """
    import numpy as np

    rows = with_constant(table.rows)
    penalty = np.array([_FLAT, *((prior.spread / column.prior) ** 2 for column in table.columns)])

    def scale(left: Array) -> float:
        share = prior.worth_cars * prior.spread**2 + len(left) * scale_of(left) ** 2
        return math.sqrt(share / (prior.worth_cars + len(left)))

    line = huber(rows, values, threshold=fitting.threshold, penalty=penalty, scale=scale)
    if len(values) >= fitting.own_scatter_from:
        penalty[1:] *= (_spread(line, penalty, prior, fitting) / prior.spread) ** 2
        line = huber(rows, values, threshold=fitting.threshold, penalty=penalty, scale=scale, start=line.coefficients)
    inside = np.asarray(np.linalg.inv((rows * line.weights[:, None]).T @ rows + np.diag(penalty)), dtype=float)
    freedom = prior.worth_cars + len(values) - 1
    spread = _spread(line, penalty, prior, fitting)
    return Model(
        effects=line.coefficients,
        inside=inside,
        spread=spread,
        freedom=freedom,
        tails=min(freedom, prior.tails),
        expected=1 / penalty,
        weights=line.weights,
        residuals=line.residuals,
        rows=rows,
    )


def _spread(line: Line, penalty: Array, prior: Prior, fitting: Fitting) -> float:
    """Give the scatter of one car from the next, as far as the cars tell it and as it was expected."""
    import numpy as np

    # Weights take from the scatter of normal residuals: their expected square is the share within the threshold.
    short = math.erf(fitting.threshold / math.sqrt(2))
    off = float(np.sum(line.weights * line.residuals**2)) / short + float(penalty[1:] @ line.coefficients[1:] ** 2)
    return math.sqrt((prior.worth_cars * prior.spread**2 + off) / (prior.worth_cars + len(line.residuals) - 1))
