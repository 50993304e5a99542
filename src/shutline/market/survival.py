"""How long cars stand: those that are sold, and those that are still there and tell only that it takes longer.

Kaplan and Meier, JASA 53 (1958); the log-rank test after Mantel, Cancer Chemotherapy Reports 50 (1966); Weibull with
accelerated time after Kalbfleisch and Prentice, The Statistical Analysis of Failure Time Data, 2.3.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Stood:
    """From `days` on the share `left` is still there, between `low` and `high` (95 in a hundred, log-minus-log)."""

    days: float
    left: float
    low: float
    high: float
    at_risk: int


def kaplan_meier(days: Sequence[float], sold: Sequence[bool]) -> tuple[Stood, ...]:
    """Give the share that is still there, from day 0, at each day on which one was sold or was last seen.

    Parameters
    ----------
    days : sequence of float
        How long each stood, nought or more.
    sold : sequence of bool
        False where it is still there: then it stood at least so long.
    """
    _checked(days, sold)
    found = [Stood(0.0, 1.0, 1.0, 1.0, len(days))]
    left, scatter, risk = 1.0, 0.0, len(days)
    of_day: dict[float, list[bool]] = {}
    for one, is_sold in zip(days, sold, strict=True):
        of_day.setdefault(one, []).append(is_sold)
    for day, seen in sorted(of_day.items()):
        gone = sum(seen)
        left *= 1 - gone / risk
        if gone:
            scatter += gone / (risk * (risk - gone)) if risk > gone else math.inf
        low, high = _ends(left, scatter)
        point = Stood(float(day), left, low, high, risk)
        if day == 0:
            found[0] = point
        else:
            found.append(point)
        risk -= len(seen)
    return tuple(found)


def _ends(left: float, scatter: float) -> tuple[float, float]:
    """Greenwood's variance, taken on the scale log(-log S) so that the ends stay between 0 and 1."""
    if left in {0.0, 1.0}:
        return left, left
    reach = 1.959963984540054 * math.sqrt(scatter) / abs(math.log(left))
    return left ** math.exp(reach), left ** math.exp(-reach)


def median_of(curve: Sequence[Stood]) -> float | None:
    """Give the first day on which half or less are left; None where more were left all along."""
    return next((one.days for one in curve if one.left <= 0.5), None)


def log_rank(days: Sequence[float], sold: Sequence[bool], second: Sequence[bool]) -> tuple[float, float]:
    """Tell whether two groups stand equally long.

    Parameters
    ----------
    days, sold
        As for `kaplan_meier`.
    second : sequence of bool
        Which are of the second group.

    Returns
    -------
    (float, float)
        Chi squared of one degree of freedom, and the chance of one as large if they do.
    """
    from scipy import stats

    _checked(days, sold)
    rows = list(zip(days, sold, second, strict=True))
    more, variance = 0.0, 0.0
    for day in sorted({one for one, is_sold, _ in rows if is_sold}):
        risk = [group for one, _, group in rows if one >= day]
        gone = [group for one, is_sold, group in rows if one == day and is_sold]
        share = sum(risk) / len(risk)
        more += sum(gone) - len(gone) * share
        if len(risk) > 1:
            variance += len(gone) * share * (1 - share) * (len(risk) - len(gone)) / (len(risk) - 1)
    if variance == 0:
        raise ValueError("nothing was sold while both groups were there: they cannot be compared")
    squared = more**2 / variance
    return squared, float(stats.chi2.sf(squared, 1))


@dataclass(frozen=True, slots=True)
class Expected:
    """A normal prior: the middle and the standard deviation of each of constant, slopes and the log of the scatter."""

    middle: tuple[float, ...]
    doubt: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Weibull:
    """The logarithm of the days is `effects` · row + exp(`scatter`) · G, G of the smallest extreme value.

    `inside` is the covariance of the effects and the scatter together, the last one the scatter; `likelihood` the
    logarithm of that of the data, without the prior.
    """

    effects: Array
    scatter: float
    inside: Array
    likelihood: float

    def left(self, days: Array, row: Array) -> Array:
        """Give the share that is still there after `days` for one row."""
        import numpy as np

        return np.asarray(np.exp(-((days / math.exp(float(row @ self.effects))) ** math.exp(-self.scatter))))

    def drawn(self, count: int, seed: int) -> Array:
        """Draw effects and scatter, shape (count, columns + 1), from the normal about the best."""
        import numpy as np

        root = np.linalg.cholesky(self.inside)
        normal = np.random.default_rng(seed).standard_normal((count, len(root)))
        return np.asarray(np.append(self.effects, self.scatter) + normal @ root.T)


def weibull(rows: Array, days: Array, sold: Array, expected: Expected | None = None) -> Weibull:
    """Fit days to columns, the most likely or, with what was expected, the likeliest after that.

    Parameters
    ----------
    rows : array, shape (n, columns)
        With a column of ones.
    days : array, shape (n,)
        More than nought.
    sold : array of bool, shape (n,)
    expected : Expected, optional
        Of columns + 1 figures. Without it as many cars must be sold as there are figures.

    Raises
    ------
    ValueError
        Too few were sold, or days are nought or less.
    """
    import numpy as np
    from scipy import optimize

    if np.any(days <= 0):
        raise ValueError("days are more than nought here: take half a day for a car sold at once")
    size = rows.shape[1] + 1
    if expected is None and int(np.sum(sold)) < size:
        raise ValueError(f"{int(np.sum(sold))} sold: at least {size} are needed where nothing is expected beforehand")
    logs, gone = np.log(days), sold.astype(float)
    middle = np.array(expected.middle if expected else [0.0] * size)
    tight = np.array([one**-2 for one in expected.doubt] if expected else [0.0] * size)

    def parts(at: Array) -> tuple[float, Array, Array]:
        """Minus the logarithm of the posterior, its slope and its curvature."""
        wide = math.exp(-at[-1])
        z = (logs - rows @ at[:-1]) * wide
        grown = np.exp(np.minimum(z, 700.0))
        off = at - middle
        value = -float(np.sum(gone * (z - at[-1]) - grown)) + 0.5 * float(tight @ off**2)
        by_z = grown - gone
        slope = np.append(-wide * (by_z @ rows), -float(by_z @ z) + gone.sum()) + tight * off
        curve = np.empty((size, size))
        curve[:-1, :-1] = wide**2 * (rows * grown[:, None]).T @ rows
        curve[:-1, -1] = curve[-1, :-1] = wide * ((by_z + grown * z) @ rows)
        curve[-1, -1] = float(np.sum(by_z * z + grown * z**2))
        return value, slope, curve + np.diag(tight)

    start = np.zeros(size)
    start[:-1] = np.linalg.lstsq(rows, logs, rcond=None)[0] if expected is None else middle[:-1]
    start[-1] = middle[-1]
    found = optimize.minimize(
        lambda at: parts(at)[:2], start, jac=True, method="BFGS", options={"gtol": 1e-7, "maxiter": 500}
    )
    at = found.x
    for _ in range(20):
        _, slope, curve = parts(at)
        step = np.linalg.solve(curve, slope)
        at = at - step
        if np.max(np.abs(step)) < 1e-10:
            break
    off = at - middle
    value, _, curve = parts(at)
    likelihood = -(value - 0.5 * float(tight @ off**2)) - float(np.sum(gone * logs))
    return Weibull(at[:-1], float(at[-1]), np.asarray(np.linalg.inv(curve), dtype=float), likelihood)


def _checked(days: Sequence[float], sold: Sequence[bool]) -> None:
    if not len(days) or len(days) != len(sold) or any(not 0 <= one < math.inf for one in days):
        raise ValueError("days of nought or more, one for each car, and at least one car are needed")
