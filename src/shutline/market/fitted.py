"""The model as it is fitted to the comparables that count, and what each car was to fetch by the others alone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from shutline.car.comparables import Comparable
from shutline.car.errors import Problem
from shutline.market.columns import Car, Table, table_of
from shutline.market.comparables import of_one_currency, without_doubles
from shutline.market.model import Model, model_of, with_constant
from shutline.market.moving import Index, Ratio, ratio_of, without_asked_of_sold
from shutline.market.settings import MarketSettings, market_settings

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

_NEAR_ONE = 1 - 1e-9


@dataclass(frozen=True, slots=True)
class Fitted:
    """The comparables that count, the columns, the model; what was added to each logarithm of a price.

    `corrections` turn what was asked into what is paid, `moves` bring it to today by the index.
    """

    used: tuple[Comparable, ...]
    table: Table
    model: Model
    corrections: Array
    moves: Array
    ratio: Ratio


def fitted_of(
    comparables: Iterable[Comparable],
    cars: Sequence[Car],
    *,
    today: date,
    currency: str,
    index: Index | None,
    settings: MarketSettings,
) -> tuple[Fitted | None, tuple[Problem, ...]]:
    """Fit the model, with rows for the cars asked about; None where not one price counts. As `fetch_of`."""
    import numpy as np

    same = of_one_currency(sorted(comparables, key=Comparable.key), currency)
    single = without_doubles(same.kept)
    problems = [*same.problems, *single.problems]
    used = without_asked_of_sold(single.kept)
    if not used:
        return None, (*problems, _nothing())
    prior, fitting = settings.prior, settings.fitting
    ratio = ratio_of(single.kept, prior)
    moves = np.zeros(len(used))
    if index is not None:
        moves = np.array([index.logarithm(today) - index.logarithm(one.when) for one in used])
        problems += _index_ends(index, [one.when for one in used], today)
    corrections = np.array([0.0 if one.sold else ratio.mean for one in used])
    table = _held(table_of(used, cars, today=today, prior=prior, fitting=fitting, estimate_years=index is None), ratio)
    values = np.log([float(one.price) for one in used]) + corrections + moves
    model = model_of(table, values, prior=prior, fitting=fitting)
    return Fitted(used, table, model, corrections, moves, ratio), tuple(problems)


def expected_prices(
    comparables: Iterable[Comparable],
    cars: Sequence[tuple[Car, str]],
    *,
    today: date,
    currency: str = "GBP",
    index: Index | None = None,
    settings: MarketSettings | None = None,
) -> tuple[float | None, ...]:
    """Give what each car was to fetch today by the prices of the others; None where there are no others.

    What was noted of the car itself is left out in closed form, with the weights and the columns of all.

    Parameters
    ----------
    comparables, today, currency, index, settings
        As `fetch_of` takes them.
    cars : sequence of (Car, str)
        Each with what its comparables call it (`Comparable.car`), empty for a car that is not among them.
    """
    import numpy as np

    known = settings or market_settings()
    fitted, _ = fitted_of(
        comparables, [car for car, _ in cars], today=today, currency=currency, index=index, settings=known
    )
    if fitted is None:
        return (None,) * len(cars)
    model, rows = fitted.model, with_constant(fitted.table.asked)
    own = {one.car.casefold(): at for at, one in enumerate(fitted.used) if one.car}
    off = model.residuals / (1 - np.minimum(model.weights * model.leverage(model.rows), _NEAR_ONE))
    found: list[float | None] = []
    for row, middle, (_, called) in zip(rows, model.middle(rows), cars, strict=True):
        at = own.get(called.casefold()) if called else None
        if at is None:
            found.append(float(np.exp(middle)))
        elif len(fitted.used) == 1:
            found.append(None)
        else:
            pull = float(row @ model.inside @ model.rows[at]) * model.weights[at] * off[at]
            found.append(float(np.exp(middle - pull)))
    return tuple(found)


def _held(table: Table, ratio: Ratio) -> Table:
    """Hold the column of what was asked by what is known of the ratio by now."""
    columns = tuple(replace(one, prior=ratio.doubt) if one.kind == "asked" else one for one in table.columns)
    return replace(table, columns=columns)


def _nothing() -> Problem:
    return Problem(
        slug="fetch-nothing",
        where="comparables",
        found="not one price to go by",
        allowed="nothing can be said of what the car will fetch",
        advice="Enter what like cars were sold or offered for; one is enough for a wide answer.",
    )


def _index_ends(index: Index, days: Sequence[date], today: date) -> list[Problem]:
    beyond = [day for day in (*days, today) if not index.covers(day)]
    if not beyond:
        return []
    return [
        Problem(
            slug="fetch-index-ends",
            where=f"price index, {index.source}",
            found=f"{len(beyond)} days from {min(beyond)} to {max(beyond)} lie outside it",
            allowed="there prices are taken to stand as at its nearest end",
            advice="Add later or earlier points, or leave the index out: then the years are estimated from the data.",
        )
    ]
