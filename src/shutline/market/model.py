"""The model of prices: robust, each effect held to nought by what was expected of it, with its doubt exact.

The logarithm of a price is a sum of effects and scatter. Effects are normal and the variance of the scatter is
inverse gamma beforehand, so what is known afterwards, and of one more car, is a Student t in closed form (Gelman and
others, Bayesian Data Analysis, third edition, 14.8); rows that are far off count less by Huber's weights.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

from shutline.market.columns import Table
from shutline.market.linear import Line, huber, scale_of
from shutline.market.settings import Fitting, Prior

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_SIZES = (0.25, 0.5, 1.0, 2.0, 4.0)
_GROUPS = ({"number", "missing"}, {"word"}, {"model", "kind"}, {"asked", "years"})
_FLAT = 1e-10
"""The constant is held by nothing: this only keeps a table without cars from being singular."""


@dataclass(frozen=True, slots=True)
class Model:
    """What is known of the effects; the constant is the first of `effects`.

    `inside` is the inverse of the weighted normal equations, `spread` the scatter of one car from the next with
    `freedom` degrees of freedom, `sizes` what the prior of numbers, words, levels, and what was asked and years, was
    taken times, for a scatter as expected.
    """

    effects: Array
    inside: Array
    spread: float
    freedom: float
    weights: Array
    residuals: Array
    rows: Array
    sizes: tuple[float, ...]

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


def with_constant(rows: Array) -> Array:
    """Put a column of ones before the others."""
    import numpy as np

    return np.column_stack([np.ones(len(rows)), rows])


def model_of(
    table: Table, values: Array, *, prior: Prior, fitting: Fitting, sizes: Sequence[float] | None = None
) -> Model:
    """Fit the model.

    Parameters
    ----------
    table : Table
    values : array, shape (rows,)
        Natural logarithms of prices; at least one.
    prior, fitting
        Of the settings.
    sizes : sequence of 4 floats, optional
        What to take the prior times; without it, where there are enough cars, that of numbers, words and levels is what
        makes the prices most likely, held to 1 within a factor of about 2, and that of what was asked and of years
        stays as it was expected whatever the scatter. It is 1 where there are few.
    """
    import numpy as np

    rows = with_constant(table.rows)
    base = np.array([_FLAT, *((prior.spread / column.prior) ** 2 for column in table.columns)])

    def scale(left: Array) -> float:
        share = prior.worth_cars * prior.spread**2 + len(left) * scale_of(left) ** 2
        return math.sqrt(share / (prior.worth_cars + len(left)))

    taken = tuple(sizes or (1.0, 1.0, 1.0, 1.0))
    penalty = base * _factors(table, taken)
    line = huber(rows, values, threshold=fitting.threshold, penalty=penalty, scale=scale)
    if sizes is None and len(values) >= fitting.fit_sizes_from:
        found = _spread(line, penalty, prior, fitting)
        taken = _likeliest(
            table, rows, values, weights=line.weights, base=base, prior=prior, narrow=prior.spread / found
        )
        penalty = base * _factors(table, taken)
        line = huber(rows, values, threshold=fitting.threshold, penalty=penalty, scale=scale, start=line.coefficients)
    inside = np.asarray(np.linalg.inv((rows * line.weights[:, None]).T @ rows + np.diag(penalty)), dtype=float)
    freedom = prior.worth_cars + len(values) - 1
    spread = _spread(line, penalty, prior, fitting)
    return Model(line.coefficients, inside, spread, freedom, line.weights, line.residuals, rows, taken)


def _spread(line: Line, penalty: Array, prior: Prior, fitting: Fitting) -> float:
    """Give the scatter of one car from the next, as far as the cars tell it and as it was expected."""
    import numpy as np

    # Weights take from the scatter of normal residuals: their expected square is the share within the threshold.
    short = math.erf(fitting.threshold / math.sqrt(2))
    off = float(np.sum(line.weights * line.residuals**2)) / short + float(penalty[1:] @ line.coefficients[1:] ** 2)
    return math.sqrt((prior.worth_cars * prior.spread**2 + off) / (prior.worth_cars + len(line.residuals) - 1))


def _factors(table: Table, sizes: Sequence[float]) -> Array:
    import numpy as np

    found = [1.0]
    for column in table.columns:
        size = next((one for group, one in zip(_GROUPS, sizes, strict=True) if column.kind in group), 1.0)
        found.append(1.0 / size**2)
    return np.array(found)


def _likeliest(
    table: Table, rows: Array, values: Array, *, weights: Array, base: Array, prior: Prior, narrow: float
) -> tuple[float, ...]:
    """Choose sizes by the marginal likelihood, group by group, twice; what is expected is 1, doubtful by a factor 2."""
    import numpy as np

    weighted = rows * weights[:, None]
    square, mixed, total = weighted.T @ rows, weighted.T @ values, float(values @ (weights * values))
    known: dict[tuple[float, ...], float] = {}

    def likely(sizes: tuple[float, ...]) -> float:
        if sizes not in known:
            penalty = base * _factors(table, sizes)
            matrix = square + np.diag(penalty)
            lower = np.linalg.cholesky(matrix)
            half = np.linalg.solve(lower, mixed)
            freedom = prior.worth_cars + len(values) - 1
            off = prior.worth_cars * prior.spread**2 + max(0.0, total - float(half @ half))
            known[sizes] = (
                0.5 * float(np.sum(np.log(penalty[1:])))
                - float(np.sum(np.log(np.diag(lower))))
                - freedom / 2 * math.log(off)
                - sum(math.log2(one) ** 2 / 2 for one in sizes[:3])
            )
        return known[sizes]

    best: tuple[float, ...] = (1.0, 1.0, 1.0, narrow)
    groups = [at for at, group in enumerate(_GROUPS[:3]) if any(one.kind in group for one in table.columns)]
    for _, at in product(range(2), groups):
        best = max(((*best[:at], size, *best[at + 1 :]) for size in _SIZES), key=likely)
    return best
