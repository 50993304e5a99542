"""The cheapest way to pair two sets one to one, where a pair may be forbidden and anything may stay alone.

Kuhn's method with potentials and shortest paths (Kuhn 1955, 'The Hungarian method for the assignment problem', in the
form of Jonker and Volgenant 1987), in whole numbers, so that the same costs always give the same pairs.
"""

from __future__ import annotations

from collections.abc import Mapping

Pair = tuple[int, int]


def cheapest_pairs(costs: Mapping[Pair, int], *, alone: int) -> tuple[Pair, ...]:
    """Choose pairs so that what they cost, and what is left alone costs, is least in all.

    Parameters
    ----------
    costs : mapping of (int, int) to int
        What it costs to pair a row with a column, >= 0; pairs that are not in it are forbidden.
    alone : int
        What each row or column without a partner costs, >= 0: a pair that costs more than two of them is never made.

    Returns
    -------
    tuple of (int, int)
        The pairs, by row. Where several choices cost the same, the same one is given every time.

    Raises
    ------
    ValueError
        A cost is below 0.

    Examples
    --------
    >>> cheapest_pairs({(0, 0): 1, (0, 1): 0, (1, 1): 1}, alone=10)
    ((0, 0), (1, 1))
    >>> cheapest_pairs({(0, 0): 25}, alone=10)
    ()
    """
    if alone < 0 or any(cost < 0 for cost in costs.values()):
        raise ValueError("costs are 0 or more")
    pairs: list[Pair] = []
    for rows, columns in _groups(costs):
        pairs.extend(_of_group(rows, columns, costs, alone))
    return tuple(sorted(pairs))


def _groups(costs: Mapping[Pair, int]) -> list[tuple[list[int], list[int]]]:
    """Split into groups that no pair joins: what is cheapest in each is cheapest in all."""
    group: dict[tuple[str, int], tuple[str, int]] = {}

    def root(one: tuple[str, int]) -> tuple[str, int]:
        while group.setdefault(one, one) != one:
            group[one] = group[group[one]]
            one = group[one]
        return one

    for row, column in sorted(costs):
        group[root(("column", column))] = root(("row", row))
    members: dict[tuple[str, int], tuple[list[int], list[int]]] = {}
    for one in sorted(group):
        members.setdefault(root(one), ([], []))[one[0] == "column"].append(one[1])
    return list(members.values())


def _of_group(rows: list[int], columns: list[int], costs: Mapping[Pair, int], alone: int) -> list[Pair]:
    """Solve one group as a square: each row has a place of its own where it stays alone, and so has each column."""
    high, wide = len(rows), len(columns)
    size = high + wide
    # More than any choice without a forbidden pair can cost.
    forbidden = (max(costs[one] for one in costs if one[0] in set(rows)) + alone + 1) * (size + 1)
    square = [[forbidden] * size for _ in range(size)]
    for i, row in enumerate(rows):
        for j, column in enumerate(columns):
            square[i][j] = costs.get((row, column), forbidden)
        square[i][wide + i] = alone
    for j in range(wide):
        square[high + j][j] = alone
        for k in range(high):
            square[high + j][wide + k] = 0
    chosen = _square(square)
    return [(rows[i], columns[j]) for i, j in enumerate(chosen[:high]) if j < wide and (rows[i], columns[j]) in costs]


def _square(cost: list[list[int]]) -> list[int]:
    """Give for each row of a square of costs its column in the cheapest assignment."""
    size = len(cost)
    far = sum(max(line) for line in cost) + 1
    of_row, of_column = [0] * (size + 1), [0] * (size + 1)
    # Counted from 1; row_at[j] is the row that has column j, column 0 is where a search begins.
    row_at = [0] * (size + 1)
    for row in range(1, size + 1):
        row_at[0] = row
        least, back, done = [far] * (size + 1), [0] * (size + 1), [False] * (size + 1)
        at = 0
        while True:
            done[at] = True
            line, here = cost[row_at[at] - 1], of_row[row_at[at]]
            step, nearest = far, 0
            for j in range(1, size + 1):
                if done[j]:
                    continue
                reduced = line[j - 1] - here - of_column[j]
                if reduced < least[j]:
                    least[j], back[j] = reduced, at
                if least[j] < step:
                    step, nearest = least[j], j
            for j in range(size + 1):
                if done[j]:
                    of_row[row_at[j]] += step
                    of_column[j] -= step
                else:
                    least[j] -= step
            at = nearest
            if row_at[at] == 0:
                break
        while at:
            row_at[at] = row_at[back[at]]
            at = back[at]
    chosen = [0] * size
    for j in range(1, size + 1):
        chosen[row_at[j] - 1] = j - 1
    return chosen
