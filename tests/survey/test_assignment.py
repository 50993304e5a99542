"""Pairs are the cheapest there are: held against scipy's solver, and against trying all of them."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment  # type: ignore[import-untyped]

from shutline.survey.assignment import Pair, cheapest_pairs

ALONE = 10


def total(pairs: tuple[Pair, ...], costs: dict[Pair, int], rows: int, columns: int) -> int:
    return sum(costs[pair] for pair in pairs) + ALONE * (rows + columns - 2 * len(pairs))


@st.composite
def tables(draw: st.DrawFn, most: int) -> tuple[int, int, dict[Pair, int]]:
    rows, columns = draw(st.integers(1, most)), draw(st.integers(1, most))
    places = [(row, column) for row in range(rows) for column in range(columns)]
    some = draw(st.sets(st.sampled_from(places)))
    return rows, columns, {place: draw(st.integers(0, 30)) for place in sorted(some)}


def by_scipy(costs: dict[Pair, int], rows: int, columns: int) -> int:
    """The same problem as one square, without splitting it into groups."""
    size = rows + columns
    never = 10_000
    square = np.full((size, size), never)
    for (row, column), cost in costs.items():
        square[row, column] = cost
    square[np.arange(rows), columns + np.arange(rows)] = ALONE
    square[rows + np.arange(columns), np.arange(columns)] = ALONE
    square[rows:, columns:] = 0
    first, second = linear_sum_assignment(square)
    return int(square[first, second].sum())


@settings(max_examples=150, deadline=None)
@given(tables(12))
def test_no_choice_is_cheaper_by_scipy(table: tuple[int, int, dict[Pair, int]]) -> None:
    rows, columns, costs = table
    pairs = cheapest_pairs(costs, alone=ALONE)
    assert len({row for row, _ in pairs}) == len({column for _, column in pairs}) == len(pairs)
    assert total(pairs, costs, rows, columns) == by_scipy(costs, rows, columns)


@settings(max_examples=60, deadline=None)
@given(tables(3))
def test_no_choice_is_cheaper_when_all_are_tried(table: tuple[int, int, dict[Pair, int]]) -> None:
    rows, columns, costs = table
    best = min(
        sum(min(costs.get((row, column), 99), 2 * ALONE) for row, column in enumerate(order[:rows]) if column < columns)
        + ALONE * (rows + columns - 2 * sum(column < columns for column in order[:rows]))
        for order in permutations(range(rows + columns))
    )
    assert total(cheapest_pairs(costs, alone=ALONE), costs, rows, columns) == best


def test_what_nobody_can_be_paired_with_stays_alone() -> None:
    assert cheapest_pairs({}, alone=ALONE) == ()
    assert cheapest_pairs({(0, 0): 2 * ALONE + 1}, alone=ALONE) == ()
    assert cheapest_pairs({(5, 7): 0}, alone=ALONE) == ((5, 7),)


def test_a_cost_below_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="0 or more"):
        cheapest_pairs({(0, 0): -1}, alone=ALONE)
