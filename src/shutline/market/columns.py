"""From what is noted of cars to columns of numbers, each with what it may be worth before any price is seen."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from shutline.car.comparables import Comparable, Mileage
from shutline.market.linear import CONSTANT
from shutline.market.settings import Fitting, Prior

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

LEVELS = ("model", "kind")
"""Attributes whose words are the levels that cars are pooled in."""
ASKED, YEARS = "asked, not sold", "since then"
"""What columns are of that are of no attribute."""
MILEAGE, CONDITION, WHERE = "mileage", "condition", "where"
_DAYS_IN_A_YEAR = 365.25
_YEARS_BACK = 40


@dataclass(frozen=True, slots=True)
class Car:
    """The car that is asked about, as a comparable has it, without a price."""

    attributes: Mapping[str, str] = field(default_factory=dict)
    mileage: Mileage | None = None
    condition: str = ""
    where: str = ""


@dataclass(frozen=True, slots=True)
class Column:
    """A column: `of` is the attribute it tells of, `prior` how far its coefficient may lie from nought.

    `kind` is ``number``, ``word``, ``missing``, ``model``, ``kind``, ``asked`` or ``years``. A number was taken less
    `middle` and divided by `width`.
    """

    name: str
    of: str
    kind: str
    prior: float
    middle: float = 0.0
    width: float = 1.0


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of the comparables and rows of the cars asked about, in the same columns; the constant is not among them."""

    columns: tuple[Column, ...]
    rows: Array
    asked: Array


def noted(one: Comparable | Car) -> dict[str, str]:
    """Give all that may bear on a price as words, by name."""
    found = {name: text for name, text in one.attributes.items() if text}
    if one.mileage is not None:
        found[MILEAGE] = repr(one.mileage.miles())
    return found | {name: text for name, text in ((CONDITION, one.condition), (WHERE, one.where)) if text}


def number_of(text: str) -> float | None:
    """Read a number; None for words."""
    import math

    try:
        value = float(text.replace(",", ""))
    except ValueError:
        return None
    return value if math.isfinite(value) and abs(value) < 1e12 else None


def table_of(
    cars: Sequence[Comparable],
    asked: Sequence[Car],
    *,
    today: date,
    prior: Prior,
    fitting: Fitting,
    estimate_years: bool,
) -> Table:
    """Make the columns.

    Parameters
    ----------
    cars : sequence of Comparable
    asked : sequence of Car
        Middles and widths of numbers are of all of them together, so that none counts otherwise than the others.
    today : date
        What prices are moved to.
    prior, fitting
        Of the settings.
    estimate_years : bool
        Make a column for each year before today; False where an index was given.
    """
    import numpy as np

    told = [*map(noted, cars), *map(noted, asked)]
    made: list[tuple[Column, Array]] = []
    for name in sorted({name for one in told for name in one}):
        entries = [one.get(name, "") for one in told]
        if name in LEVELS:
            made += _words(name, entries, name, prior.model if name == "model" else prior.kind, fitting.most_words)
        elif all(number_of(one) is not None for one in entries if one):
            made += _number(name, entries, prior)
        else:
            expected = prior.condition if name == CONDITION else prior.word
            made += _words(name, entries, "word", expected, fitting.most_words)
    if not all(one.sold for one in cars):
        values = np.array([0.0 if one.sold else 1.0 for one in cars] + [0.0] * len(asked))
        made.append((Column(ASKED, ASKED, "asked", prior.ratio_doubt), values))
    if estimate_years:
        made += _years([one.when for one in cars], len(asked), today, prior.year)
    rows = np.column_stack([values for _, values in made]) if made else np.zeros((len(told), 0))
    return Table(tuple(column for column, _ in made), rows[: len(cars)], rows[len(cars) :])


def _number(name: str, entries: Sequence[str], prior: Prior) -> list[tuple[Column, Array]]:
    import numpy as np

    read = [number_of(one) for one in entries]
    there = np.array([value for value in read if value is not None])
    # Summed in an order of their own, so that the order of rows does not touch the last digit.
    there.sort()
    middle, width = float(there.mean()), float(there.std())
    if width <= 1e-12 * max(1.0, abs(middle)):
        made = []
    else:
        values = np.array([0.0 if value is None else (value - middle) / width for value in read])
        made = [(Column(name, name, "number", prior.number, middle, width), values)]
    if len(there) < len(read):
        missing = np.array([1.0 if value is None else 0.0 for value in read])
        made.append((Column(f"{name} not noted", name, "missing", prior.number), missing))
    return made


def _words(name: str, entries: Sequence[str], kind: str, prior: float, most: int) -> list[tuple[Column, Array]]:
    import numpy as np

    folded = [one.strip().casefold() for one in entries]
    counts = Counter(folded)
    often = sorted(counts, key=lambda word: (-counts[word], word))[:most]
    if len(counts) == 1:
        return []
    at = {word: number for number, word in enumerate(sorted(often))}
    columns = [*sorted(often), *(["another"] if len(counts) > len(often) else [])]
    values = np.zeros((len(folded), len(columns)))
    for row, word in enumerate(folded):
        values[row, at.get(word, len(columns) - 1)] = 1.0
    return [
        (Column(f"{name} {word or 'not noted'}", name, kind, prior), values[:, number])
        for number, word in enumerate(columns)
    ]


def _years(days: Sequence[date], more: int, today: date, prior: float) -> list[tuple[Column, Array]]:
    import numpy as np

    ages = np.array([(today - one).days / _DAYS_IN_A_YEAR for one in days] + [0.0] * more)
    made = []
    for back in range(min(_YEARS_BACK, int(np.ceil(ages.max(initial=0.0))))):
        part = np.clip(ages - back, 0.0, 1.0)
        name = f"{back} to {back + 1} years ago"
        made.append((Column(name, YEARS, "years", prior), part))
    # A day that is still to come counts as today.
    return made


def dummies(columns: Table) -> tuple[Array, tuple[str, ...]]:
    """Give the columns as a table of regressions has them: a constant, of each attribute of words one left out.

    Words that only the cars asked about have are of no comparable, so they are no column here. Numbers come last, so
    that of a number and words that say the same the number is named.
    """
    import numpy as np

    first: set[str] = set()
    words, numbers = [], []
    for at, column in enumerate(columns.columns):
        if column.kind in {"word", *LEVELS}:
            if not np.any(columns.rows[:, at]):
                continue
            if column.of in first:
                words.append(at)
            first.add(column.of)
        elif column.kind == "number":
            numbers.append(at)
    taken = [*words, *numbers]
    rows = np.column_stack([np.ones(len(columns.rows)), *(columns.rows[:, at] for at in taken)])
    for number, at in enumerate(numbers, start=1 + len(words)):
        rows[:, number] = rows[:, number] * columns.columns[at].width + columns.columns[at].middle
    return rows, (CONSTANT, *(columns.columns[at].name for at in taken))
