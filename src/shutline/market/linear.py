"""Lines through points: least squares, Huber's robust fit, and which columns say what others say already.

Huber's estimator by iterated weights, with the median of absolute residuals as their scale: P. J. Huber, Robust
Statistics, 1981, chapter 7.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

MAD_OF_NORMAL = 0.6744897501960817
"""The median of the absolute value of a standard normal number."""
TOLERANCE = 1e-10
"""A column that is explained by others but for this share of its length is taken as the same."""
CONSTANT = "the whole"
"""What the column of ones is called."""
_STEPS, _SETTLED = 60, 1e-9


@dataclass(frozen=True, slots=True)
class Line:
    """Coefficients in the order of the columns, residuals, the weight of each row in (0, 1], and their scale."""

    coefficients: Array
    residuals: Array
    weights: Array
    scale: float


@dataclass(frozen=True, slots=True)
class Explained:
    """How much of the scatter least squares explains: R², R² for the number of columns, standard error."""

    r2: float
    adjusted: float
    error: float


@dataclass(frozen=True, slots=True)
class Dependence:
    """`column` is the sum of `of`, each times its factor: what each is worth by itself cannot be told."""

    column: str
    of: tuple[tuple[str, float], ...]

    def sentence(self) -> str:
        """Say in words from what it follows, without the factors; the constant is told by `of` alone."""
        others = [name for name, _ in self.of if name != CONSTANT]
        if not others:
            return f"{self.column} is the same of every car"
        listed = " and ".join([*filter(None, [", ".join(others[:-1])]), others[-1]])
        return f"{self.column} follows from {listed}"


def least_squares(columns: Array, values: Array) -> Line:
    """Fit by least squares; of coefficients that are not unique the shortest are given.

    Parameters
    ----------
    columns : array, shape (rows, columns)
    values : array, shape (rows,)
    """
    import numpy as np

    found = np.asarray(np.linalg.lstsq(columns, values, rcond=None)[0], dtype=float)
    left = values - columns @ found
    return Line(found, left, np.ones_like(left), float(np.sqrt(np.mean(left**2))))


def explained(line: Line, values: Array, *, rank: int) -> Explained:
    """Give what a fit by least squares with a constant explains; `rank` counts the constant."""
    import numpy as np

    rows = len(values)
    if rows <= rank:
        raise ValueError(f"{rows} rows for {rank} columns: more rows are needed")
    rest = float(np.sum(line.residuals**2))
    whole = float(np.sum((values - values.mean()) ** 2))
    r2 = 1 - rest / whole
    return Explained(r2, 1 - (1 - r2) * (rows - 1) / (rows - rank), math.sqrt(rest / (rows - rank)))


def scale_of(residuals: Array) -> float:
    """Give the median of the absolute residuals, made to be the standard deviation where they are normal."""
    import numpy as np

    return float(np.median(np.abs(residuals))) / MAD_OF_NORMAL


def huber(
    columns: Array,
    values: Array,
    *,
    threshold: float,
    penalty: Array | None = None,
    scale: Callable[[Array], float] = scale_of,
    start: Array | None = None,
) -> Line:
    """Fit so that rows far off count less.

    Parameters
    ----------
    columns : array, shape (rows, columns)
    values : array, shape (rows,)
    threshold : float
        In scales; a residual further off counts as if it were there.
    penalty : array, shape (columns,), optional
        Added to the diagonal of the normal equations: what each coefficient is held to nought by.
    scale : callable
        Gives the scale of residuals.
    start : array, shape (columns,), optional
        Coefficients to begin at.
    """
    import numpy as np

    if not threshold > 0:
        raise ValueError(f"threshold {threshold}: more than nought is needed")

    def fit(weights: Array) -> Array:
        if penalty is None:
            root = np.sqrt(weights)
            return np.asarray(np.linalg.lstsq(columns * root[:, None], values * root, rcond=None)[0])
        weighted = columns * weights[:, None]
        return solved(weighted.T @ columns + np.diag(penalty), weighted.T @ values)

    weights = np.ones(len(values))
    found = fit(weights) if start is None else start
    width = 0.0
    for _ in range(_STEPS):
        left = values - columns @ found
        width = scale(left)
        if width <= 0:
            break
        weights = threshold / np.maximum(np.abs(left) / width, threshold)
        before, found = found, fit(weights)
        if np.max(np.abs(columns @ (found - before)), initial=0.0) <= _SETTLED * width:
            break
    return Line(found, values - columns @ found, weights, width)


def solved(matrix: Array, right: Array) -> Array:
    """Solve equations whose matrix is symmetric and not negative; by least squares where it is singular."""
    import numpy as np
    from scipy import linalg

    try:
        return np.asarray(linalg.cho_solve(linalg.cho_factor(matrix), right))
    except linalg.LinAlgError:
        return np.asarray(np.linalg.lstsq(matrix, right, rcond=None)[0])


def dependences(columns: Array, names: Sequence[str], *, tolerance: float = TOLERANCE) -> tuple[Dependence, ...]:
    """Find columns that are sums of those before them.

    Their rank by a QR decomposition with pivoting (Golub and Van Loan, Matrix Computations, 5.4.2), then each direction
    that it shows to be empty is reduced so that it names the last column it can.

    Parameters
    ----------
    columns : array, shape (rows, columns)
        With a column of ones if there is a constant. Columns that should be named before others come last.
    names : sequence of str
        Of the columns.

    Examples
    --------
    >>> import numpy as np
    >>> coupe = np.array([1.0, 0, 0, 1, 0])
    >>> found = dependences(np.column_stack([np.ones(5), coupe, 4 - 2 * coupe]), [CONSTANT, "coupe", "doors"])
    >>> [one.sentence() for one in found], found[0].of
    (['doors follows from coupe'], (('the whole', 4.0), ('coupe', -2.0)))
    """
    import numpy as np
    from scipy import linalg

    lengths = np.linalg.norm(columns, axis=0)
    unit = columns / np.where(lengths > 0, lengths, 1.0)
    if columns.shape[1] == 0:
        return ()
    upper, order = linalg.qr(unit, mode="r", pivoting=True)[:2]
    diagonal = np.abs(np.diag(upper))
    rank = int(np.sum(diagonal > tolerance * max(columns.shape)))
    empty = columns.shape[1] - rank
    if empty == 0:
        return ()
    nothing = np.zeros((empty, columns.shape[1]))
    nothing[:, order[:rank]] = -linalg.solve_triangular(upper[:rank, :rank], upper[:rank, rank:]).T
    nothing[:, order[rank:]] = np.eye(empty)
    told = []
    for row, column in _reduced(nothing, columns.shape[1]):
        factors = -row / row[column] / np.where(lengths > 0, lengths, 1.0) * (lengths[column] or 1.0)
        of = [
            (names[at], float(f"{factors[at]:.6g}"))
            for at in range(columns.shape[1])
            if at != column and abs(row[at]) > 1e-7 * np.max(np.abs(row))
        ]
        told.append(Dependence(names[column], tuple(of)))
    return tuple(sorted(told, key=lambda one: list(names).index(one.column)))


def _reduced(rows: Array, width: int) -> list[tuple[Array, int]]:
    """Bring rows to echelon form from the last column on: each has a column that no other has."""
    import numpy as np

    left, done = rows.copy(), 0
    ends = []
    for column in range(width - 1, -1, -1):
        if done == len(left):
            break
        best = done + int(np.argmax(np.abs(left[done:, column])))
        if abs(left[best, column]) <= 1e-8:
            continue
        left[[done, best]] = left[[best, done]]
        left[done] /= left[done, column]
        for other in range(len(left)):
            if other != done:
                left[other] -= left[other, column] * left[done]
        ends.append(column)
        done += 1
    return [(left[at], column) for at, column in enumerate(ends)]
