"""The earliest end of steps: a good schedule by many orders, the best of small ones by search."""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import dataclass

from shutline.prep.packing import Set, TooLongError, Work

ORDERS = 60
"""How many orders are drawn at random."""
SEED = 1
NODES = 20_000
"""How far the search goes, in steps tried."""
SEARCHED = 14
"""The most steps that are searched whole."""


@dataclass(frozen=True, slots=True)
class Packed:
    """A schedule, when it ends, and what none ends before; the two are one where it is the earliest."""

    placed: Mapping[int, Set]
    span: int
    bound: int


def pack(work: Work, *, orders: int = ORDERS, nodes: int = NODES) -> Packed:
    """Find a schedule that ends early.

    Parameters
    ----------
    work : Work
    orders : int
        How many orders are drawn at random beside the longest tail first.
    nodes : int
        How far up to `SEARCHED` steps are searched; nought for not at all.

    Returns
    -------
    Packed
        The same each time.

    Raises
    ------
    TooLongError
        The steps do not fit before the horizon.
    """
    tails = work.tails
    bound = work.bound()
    best = leaned(work, work.generate(longest_first(work)))
    chance = random.Random(SEED)  # noqa: S311 - orders to try, no secret
    for _ in range(orders):
        if work.span(best) <= bound:
            break
        blur = max(tails, default=0) * chance.uniform(0.1, 0.6)
        order = sorted(range(len(tails)), key=lambda at: (-tails[at] + chance.uniform(0, blur), at))
        try:
            found = leaned(work, work.generate(order))
        except TooLongError:
            continue
        if work.span(found) < work.span(best):
            best = found
    if work.span(best) > bound and nodes and len(work.steps) <= SEARCHED:
        search = _Search(work, best, nodes)
        search.go({}, (-1, -1))
        best = search.best
        if search.left:
            bound = work.span(best)
    return Packed(best, work.span(best), min(bound, work.span(best)))


def ends_by(work: Work, latest: int) -> bool:
    """Tell whether the longest tail first, leaned, ends by a slot; False where some other order might."""
    if work.bound() > latest:
        return False
    try:
        placed = work.generate(longest_first(work))
    except TooLongError:
        return False
    return work.span(placed) <= latest or work.span(leaned(work, placed)) <= latest


def longest_first(work: Work) -> list[int]:
    """Give the steps in the order of their tails, the longest first."""
    return sorted(range(len(work.steps)), key=lambda at: (-work.tails[at], at))


def leaned(work: Work, placed: dict[int, Set]) -> dict[int, Set]:
    """Lean a schedule right and left again for as long as it ends earlier (Li and Willis 1992, from memory)."""
    while True:
        span = work.span(placed)
        try:
            right = work.mirrored(span).generate(sorted(placed, key=lambda at: (-placed[at].end, at)))
            left = work.generate(sorted(right, key=lambda at: (-right[at].end, at)))
        except TooLongError:
            return placed
        if work.span(left) >= span:
            return placed
        placed = left


class _Search:
    """Branch and bound over the orders in which starts do not fall; any earliest schedule has such an order."""

    def __init__(self, work: Work, best: dict[int, Set], nodes: int) -> None:
        self.work, self.best, self.left = work, best, nodes

    def go(self, placed: dict[int, Set], last: tuple[int, int]) -> None:
        """Try all ways to go on; `last` is the start and number of the step that was set last."""
        work = self.work
        if len(placed) == len(work.steps):
            if work.span(placed) < work.span(self.best):
                self.best = dict(placed)
            return
        choices = []
        for at, step in enumerate(work.steps):
            if at in placed or not all(before in placed for before in step.after):
                continue
            try:
                ways = work.ways(at, placed)
            except TooLongError:
                continue
            choices += [(way.start, -work.tails[at], at, way) for way in ways if (way.start, at) > last]
        for start, _, at, way in sorted(
            choices, key=lambda one: (one[0], one[1], one[2], one[3].end, one[3].person or 0)
        ):
            if not self.left:
                return
            self.left -= 1
            placed[at] = way
            if work.bound(placed) < work.span(self.best):
                self.go(placed, (start, at))
            del placed[at]
