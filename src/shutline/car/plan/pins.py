"""Numbered pins on and beside the Plan; none lies on another, and none on a word or a shape that is not its own.

Pins of one place stand together in a small block. Where the shape has room they stand in it. Otherwise they stand in
the white of the sheet with one line to their place: on the nearest free block of a grid whose line crosses no other
line and runs under no other pin, or, when there is none, on the block that disturbs least.
"""

from __future__ import annotations

import heapq
import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache
from itertools import islice
from types import MappingProxyType

from shutline.car.findings import Position, Side
from shutline.car.plan.curves import Point, Ring, within
from shutline.car.plan.ink import LABEL_SIZE, text_width
from shutline.car.plan.records import Plan

RADIUS = 12.5
"""Of a pin, drawing units."""
PITCH = 27.0
"""Between two pins of a row."""
CLEAR = 2.5
"""Between a pin and anything drawn."""
_GRID = PITCH / 2
_EDGE = RADIUS + 4
_NUDGES = tuple(
    sorted(((6.0 * i, 6.0 * j) for i in range(-6, 7) for j in range(-5, 6)), key=lambda n: (n[0] ** 2 + n[1] ** 2, n))
)

_CELL = 6.0
_BLOCK = 6
"""The most pins that stand in one block."""
_TRIES = 80
_CLOSE = 170.0
"""A block that would stand farther from its place than this, drawing units, is set in halves.

Not where a place has so many pins that they fill the white around it anyhow.
"""


class PinForm(StrEnum):
    """What a pin says by its form alone."""

    GOOD = "good"
    """A ring."""
    BAD = "bad"
    """A filled disc."""
    UNSURE = "unsure"
    """A broken ring."""


@dataclass(frozen=True, slots=True)
class Pin:
    """A number to be set beside a place.

    `title` is what a pointer or a screen reader is told; `link` makes the pin a link to somewhere in the same page.
    """

    number: int
    part: str
    side: Side | None
    position: Position | None
    form: PinForm
    title: str = ""
    link: str = ""


@dataclass(frozen=True, slots=True)
class PinPlace:
    """Where a pin stands: its middle, and the place it is for."""

    pin: Pin
    at: Point
    key: str


@dataclass(frozen=True, slots=True)
class Leader:
    """A line from the edge of a pin to the place that its row of pins is for."""

    start: Point
    end: Point
    key: str


@dataclass(frozen=True, slots=True)
class PinLayout:
    """All pins and lines; `foot` is how far down the pins reach, at least the height of the Plan."""

    places: tuple[PinPlace, ...]
    leaders: tuple[Leader, ...]
    foot: float


@dataclass(frozen=True, slots=True)
class _Block:
    pins: tuple[Pin, ...]
    anchor: Point
    key: str
    may_split: bool


def place_pins(plan: Plan, pins: Sequence[Pin]) -> PinLayout:
    """Find a place for every pin.

    Parameters
    ----------
    plan : Plan
    pins : sequence of Pin
        One that is for both sides, or both ends, is set at each.

    Returns
    -------
    PinLayout
        The same for the same pins in the same order.
    """
    blocks = _blocks(plan, pins)
    board = _Board(plan, spare=2 + math.ceil(3 * sum(len(block.pins) for block in blocks) * PITCH / plan.width))
    anchors = {block.anchor for block in blocks}
    outside = [block for block in blocks if not board.set_inside(block, anchors - {block.anchor})]
    outside.sort(key=lambda block: (board.nearest(block.anchor), block.key, block.pins[0].number))
    for block in outside:
        board.set_outside(block)
    places = sorted(board.places, key=lambda place: (place.pin.number, place.key, place.at))
    leaders = sorted(board.leaders, key=lambda leader: (leader.key, leader.start))
    foot = max((place.at[1] + RADIUS + 8 for place in places), default=0.0)
    return PinLayout(tuple(places), tuple(leaders), max(plan.height, foot))


def _blocks(plan: Plan, pins: Sequence[Pin]) -> list[_Block]:
    groups: dict[str, tuple[Point, list[Pin]]] = {}
    for pin in pins:
        for anchor in plan.place(pin.part, pin.side, pin.position):
            groups.setdefault(anchor.key, (anchor.point, []))[1].append(pin)
    return [
        _Block(tuple(own[i : i + _BLOCK]), point, key, len(own) <= 2 * _BLOCK)
        for key, (point, own) in groups.items()
        for i in range(0, len(own), _BLOCK)
    ]


def _steps(count: int) -> Iterator[tuple[tuple[int, int], ...]]:
    """Give the ways to set a block: column and row of each pin, the broad ways first."""
    for rows in range(1, count + 1):
        across = math.ceil(count / rows)
        if math.ceil(count / across) == rows:
            yield tuple((i % across, i // across) for i in range(count))


class _Board:
    """The sheet while pins are being set on it."""

    def __init__(self, plan: Plan, *, spare: int) -> None:
        self.plan = plan
        self.places: list[PinPlace] = []
        self.leaders: list[Leader] = []
        # Rows of the grid below the sheet, as many as could ever be needed.
        down = math.ceil(plan.height / _GRID) + 1
        across = math.floor((plan.width - 2 * _EDGE) / _GRID)
        below = ((column, row) for row in range(down, down + 2 * spare) for column in range(across + 1))
        self._free = {**_free_slots(plan), **{slot: _slot_point(slot) for slot in below}}
        self._last = (across, down + 2 * spare)

    def nearest(self, anchor: Point) -> float:
        """Tell how far the nearest free slot of the grid is."""
        return math.sqrt(next(self._around(anchor))[0])

    def _around(self, anchor: Point) -> Iterator[tuple[float, tuple[int, int]]]:
        """Give the free slots, the nearest first, each with the square of its distance.

        They are sought in rings of the grid around the anchor, for most blocks stand near their place.
        """
        x, y = anchor
        column, row = round((x - _EDGE) / _GRID), round((y - _EDGE) / _GRID)
        farthest = max(column, row, self._last[0] - column, self._last[1] - row)
        found: list[tuple[float, tuple[int, int]]] = []
        for far in range(farthest + 1):
            for slot in _ring(column, row, far):
                point = self._free.get(slot)
                if point is not None:
                    heapq.heappush(found, ((point[0] - x) ** 2 + (point[1] - y) ** 2, slot))
            # What lies in the rings to come is farther away than this.
            passed = ((far + 0.5) * _GRID) ** 2
            while found and found[0][0] < passed:
                yield heapq.heappop(found)
        while found:
            yield heapq.heappop(found)

    def set_inside(self, block: _Block, others: AbstractSet[Point]) -> bool:
        """Set a block in its own shape, as near its anchor as there is room and off the anchors of others.

        Tells whether there was room.
        """
        shape = self.plan.find_shape(block.key)
        if shape is None:
            return False
        rings = (shape.outline, *shape.holes)
        xs, ys = zip(*shape.outline, strict=True)
        left, right, top, foot = min(xs) + RADIUS, max(xs) - RADIUS, min(ys) + RADIUS, max(ys) - RADIUS
        close = [at for at in others if left - RADIUS < at[0] < right + RADIUS and top - RADIUS < at[1] < foot + RADIUS]
        for steps in _steps(len(block.pins)):
            broad = max(c for c, _ in steps) * PITCH / 2
            tall = max(r for _, r in steps) * PITCH / 2
            for dx, dy in _NUDGES:
                middle = (block.anchor[0] + dx, block.anchor[1] + dy)
                if not (left + broad <= middle[0] <= right - broad and top + tall <= middle[1] <= foot - tall):
                    continue
                points = [
                    (round(middle[0] - broad + c * PITCH, 2), round(middle[1] - tall + r * PITCH, 2)) for c, r in steps
                ]
                if any(_apart(point, at) < RADIUS + 3 for point in points for at in close):
                    continue
                if all(self._is_clear(point) and _has_room(point, rings) for point in points):
                    self._set(block, points)
                    return True
        return False

    def set_outside(self, block: _Block) -> None:
        """Set a block in the white, with a line to its place."""
        best = self._best_outside(block)
        if len(block.pins) > 1 and (best is None or (block.may_split and best[0] > _CLOSE)):
            half = math.ceil(len(block.pins) / 2)
            self.set_outside(replace(block, pins=block.pins[:half]))
            self.set_outside(replace(block, pins=block.pins[half:]))
            return
        if best is None:
            raise RuntimeError(block.key)
        self.leaders.append(_leader(best[1], block))
        self._set(block, best[1])

    def _best_outside(self, block: _Block) -> tuple[float, list[Point]] | None:
        near = islice(self._around(block.anchor), 8 * _TRIES)
        # The slot is the corner of the block that is nearest to the place.
        shapes = [(steps, _corners(steps)) for steps in _steps(len(block.pins))]
        best: tuple[float, list[Point]] | None = None
        tried = 0
        for square, (column, row) in near:
            for steps, corners in shapes:
                for left, top in corners:
                    slots = [(column + 2 * (left + c), row + 2 * (top + r)) for c, r in steps]
                    if not all(slot in self._free for slot in slots):
                        continue
                    tried += 1
                    points = [self._free[slot] for slot in slots]
                    trouble = self._trouble(points, block)
                    cost = math.sqrt(square) + 400.0 * trouble
                    if best is None or cost < best[0]:
                        best = (cost, points)
                    if trouble == 0 or tried >= _TRIES:
                        return best
        return best

    def _set(self, block: _Block, points: Sequence[Point]) -> None:
        self.places.extend(PinPlace(pin, point, block.key) for pin, point in zip(block.pins, points, strict=True))
        for point in points:
            column, row = round((point[0] - _EDGE) / _GRID), round((point[1] - _EDGE) / _GRID)
            for slot in ((column + i, row + j) for i in range(-2, 3) for j in range(-2, 3)):
                if slot in self._free and _apart(_slot_point(slot), point) < PITCH - 0.01:
                    del self._free[slot]

    def _is_clear(self, point: Point) -> bool:
        return all(_apart(place.at, point) >= PITCH - 0.01 for place in self.places)

    def _trouble(self, points: Sequence[Point], block: _Block) -> int:
        own = _leader(points, block)
        count = sum(_passes(own.start, own.end, place.at) for place in self.places)
        for point in points:
            count += sum(_passes(leader.start, leader.end, point) for leader in self.leaders)
            # Its own line must not run under the other pins of its block.
            count += _apart(point, own.start) > RADIUS + 0.5 and _passes(own.start, own.end, point)
        return count + sum(
            _cross(own.start, own.end, leader.start, leader.end) for leader in self.leaders if leader.key != block.key
        )


def _corners(steps: Sequence[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    right, foot = max(c for c, _ in steps), max(r for _, r in steps)
    return tuple(dict.fromkeys(((0, 0), (-right, 0), (0, -foot), (-right, -foot))))


def _has_room(point: Point, rings: Sequence[Ring]) -> bool:
    """Tell whether a pin at a point lies wholly within a shape."""
    if not within(point, rings[0]) or any(within(point, hole) for hole in rings[1:]):
        return False
    reach = RADIUS + 1.5
    return not any(
        _near_edge(point, a, b, reach) for ring in rings for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)
    )


def _ring(column: int, row: int, far: int) -> Iterator[tuple[int, int]]:
    """Give the slots that lie so many columns or rows away, and no more."""
    if not far:
        yield column, row
        return
    for i in range(-far, far + 1):
        yield column + i, row - far
        yield column + i, row + far
    for j in range(1 - far, far):
        yield column - far, row + j
        yield column + far, row + j


def _slot_point(slot: tuple[int, int]) -> Point:
    column, row = slot
    return _EDGE + column * _GRID, _EDGE + row * _GRID


def _apart(a: Point, b: Point) -> float:
    return math.hypot(a[0] - b[0], a[1] - b[1])


def _leader(points: Sequence[Point], block: _Block) -> Leader:
    point = min(points, key=lambda p: (round(_apart(p, block.anchor), 3), p))
    share = RADIUS / max(_apart(point, block.anchor), RADIUS + 0.1)
    start = (
        round(point[0] + (block.anchor[0] - point[0]) * share, 2),
        round(point[1] + (block.anchor[1] - point[1]) * share, 2),
    )
    return Leader(start, block.anchor, block.key)


def _passes(a: Point, b: Point, centre: Point) -> bool:
    return _near_edge(centre, a, b, RADIUS + 1.5)


def _near_edge(centre: Point, a: Point, b: Point, reach: float) -> bool:
    """Tell whether a line from `a` to `b` comes nearer to a point than `reach`."""
    if (
        max(a[0], b[0]) < centre[0] - reach
        or min(a[0], b[0]) > centre[0] + reach
        or max(a[1], b[1]) < centre[1] - reach
        or min(a[1], b[1]) > centre[1] + reach
    ):
        return False
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    share = 0.0 if square == 0 else max(0.0, min(1.0, ((centre[0] - a[0]) * dx + (centre[1] - a[1]) * dy) / square))
    return math.hypot(a[0] + dx * share - centre[0], a[1] + dy * share - centre[1]) < reach


def _cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    if (
        max(a[0], b[0]) < min(c[0], d[0])
        or max(c[0], d[0]) < min(a[0], b[0])
        or max(a[1], b[1]) < min(c[1], d[1])
        or max(c[1], d[1]) < min(a[1], b[1])
    ):
        return False
    return _turn(a, b, c) * _turn(a, b, d) < 0 and _turn(c, d, a) * _turn(c, d, b) < 0


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


@lru_cache(maxsize=32)
def _free_slots(plan: Plan) -> Mapping[tuple[int, int], Point]:
    """Give the slots of the grid, with their points, where a pin touches nothing drawn and stays on the sheet."""
    taken = _taken_cells(plan)
    reach = math.ceil((RADIUS + CLEAR) / _CELL)
    free = {}
    for row in range(math.floor((plan.height - _EDGE) / _GRID) + 1):
        for column in range(math.floor((plan.width - 2 * _EDGE) / _GRID) + 1):
            x, y = _slot_point((column, row))
            cx, cy = int(x // _CELL), int(y // _CELL)
            near = ((cx + i, cy + j) for i in range(-reach, reach + 1) for j in range(-reach, reach + 1))
            if not any(cell in taken and _cell_apart(x, y, *cell) < RADIUS + CLEAR for cell in near):
                free[column, row] = (x, y)
    return MappingProxyType(free)


def _cell_apart(x: float, y: float, column: int, row: int) -> float:
    dx = max(column * _CELL - x, 0.0, x - (column + 1) * _CELL)
    dy = max(row * _CELL - y, 0.0, y - (row + 1) * _CELL)
    return math.hypot(dx, dy)


def _taken_cells(plan: Plan) -> frozenset[tuple[int, int]]:
    cells: set[tuple[int, int]] = set()
    for view in plan.views:
        for ring in view.outlines:
            _fill(ring, cells)
        wide = text_width(view.label, LABEL_SIZE) / 2 + 4
        x, y = view.label_at
        _fill(((x - wide, y - 15), (x + wide, y - 15), (x + wide, y + 6), (x - wide, y + 6)), cells)
    for tag in plan.tags:
        _fill(tag.outline, cells)
    for path in plan.footpath:
        (left, y), (right, _) = path[0], path[-1]
        _fill(((left, y - 5), (right, y - 5), (right, y + 5), (left, y + 5)), cells)
    return frozenset(cells)


def _fill(ring: Ring, cells: set[tuple[int, int]]) -> None:
    """Mark the cells that a ring covers or touches."""
    spans: dict[int, list[float]] = defaultdict(list)
    for (ax, ay), (bx, by) in zip(ring, (*ring[1:], ring[0]), strict=True):
        steps = max(1, math.ceil(max(abs(bx - ax), abs(by - ay)) / (_CELL / 2)))
        for i in range(steps + 1):
            x, y = ax + (bx - ax) * i / steps, ay + (by - ay) * i / steps
            spans[int(y // _CELL)].append(x)
    for row, xs in spans.items():
        cells.update((column, row) for column in range(int(min(xs) // _CELL), int(max(xs) // _CELL) + 1))
