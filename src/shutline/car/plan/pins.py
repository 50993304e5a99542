"""Numbered pins beside the Plan, each with a line to its place; none lies on another, on a shape or on a word.

Pins stand on a grid in the white of the sheet. Pins of one place stand in a row and share one line. A row takes the
nearest free run of the grid whose line crosses no other line and runs under no other pin; when there is none it takes
the run that disturbs least.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from shutline.car.findings import Position, Side
from shutline.car.plan.curves import Point, Ring
from shutline.car.plan.ink import text_width
from shutline.car.plan.records import Plan

RADIUS = 12.5
"""Of a pin, drawing units."""
PITCH = 27.0
"""Between two pins of a row."""
CLEAR = 2.5
"""Between a pin and anything drawn."""
LABEL_SIZE = 17.0
"""Of the names of the views."""

_CELL = 6.0
_ROW_LENGTH = 4
_TRIES = 260


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
class _Row:
    pins: tuple[Pin, ...]
    anchor: Point
    key: str


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
    rows = _rows(plan, pins)
    free = dict.fromkeys(_free_slots(plan), True)
    across = math.floor((plan.width - 2 * RADIUS) / PITCH)
    spare = math.ceil(plan.height / PITCH)
    # Rows of the grid below the sheet, as many as could ever be needed.
    for row in range(spare, spare + 2 + math.ceil(2 * len(pins) / max(across - _ROW_LENGTH, 1))):
        free.update(((row, column), True) for column in range(across))
    order = sorted(range(len(rows)), key=lambda i: (_nearest(rows[i], free), i))
    places: list[PinPlace] = []
    leaders: list[Leader] = []
    for i in order:
        _set_row(rows[i], free, places, leaders)
    foot = max((place.at[1] + RADIUS + 8 for place in places), default=0.0)
    places.sort(key=lambda place: (place.pin.number, place.key))
    leaders.sort(key=lambda leader: (leader.key, leader.start))
    return PinLayout(tuple(places), tuple(leaders), max(plan.height, foot))


def _rows(plan: Plan, pins: Sequence[Pin]) -> list[_Row]:
    groups: dict[str, tuple[Point, list[Pin]]] = {}
    for pin in pins:
        for anchor in plan.place(pin.part, pin.side, pin.position):
            groups.setdefault(anchor.key, (anchor.point, []))[1].append(pin)
    return [
        _Row(tuple(own[i : i + _ROW_LENGTH]), point, key)
        for key, (point, own) in groups.items()
        for i in range(0, len(own), _ROW_LENGTH)
    ]


def _slot_point(slot: tuple[int, int]) -> Point:
    row, column = slot
    return RADIUS + 4 + column * PITCH, RADIUS + 4 + row * PITCH


def _nearest(row: _Row, free: dict[tuple[int, int], bool]) -> float:
    return min(_apart(_slot_point(slot), row.anchor) for slot in free)


def _apart(a: Point, b: Point) -> float:
    return round(math.hypot(a[0] - b[0], a[1] - b[1]), 3)


def _set_row(row: _Row, free: dict[tuple[int, int], bool], places: list[PinPlace], leaders: list[Leader]) -> None:
    count = len(row.pins)
    runs = []
    for slot in free:
        line, column = slot
        run = [(line, column + i) for i in range(count)]
        if all(step in free for step in run):
            points = [_slot_point(step) for step in run]
            runs.append((min(_apart(point, row.anchor) for point in points), run, points))
    runs.sort(key=lambda item: (item[0], item[1]))
    best: tuple[float, list[tuple[int, int]], list[Point]] | None = None
    for distance, run, points in runs[:_TRIES]:
        trouble = _trouble(points, row, places, leaders)
        cost = distance + 400.0 * trouble
        if best is None or cost < best[0]:
            best = (cost, run, points)
        if trouble == 0:
            break
    if best is None:
        raise AssertionError(row)
    _, run, points = best
    for step in run:
        del free[step]
    leaders.append(_leader(points, row))
    places.extend(PinPlace(pin, point, row.key) for pin, point in zip(row.pins, points, strict=True))


def _leader(points: Sequence[Point], row: _Row) -> Leader:
    point = min(points, key=lambda p: (_apart(p, row.anchor), p))
    length = max(_apart(point, row.anchor), RADIUS + 0.1)
    share = RADIUS / length
    start = (
        round(point[0] + (row.anchor[0] - point[0]) * share, 2),
        round(point[1] + (row.anchor[1] - point[1]) * share, 2),
    )
    return Leader(start, row.anchor, row.key)


def _trouble(points: Sequence[Point], row: _Row, places: Sequence[PinPlace], leaders: Sequence[Leader]) -> int:
    own = _leader(points, row)
    count = sum(_passes(own.start, own.end, place.at) for place in places if place.key != row.key)
    for point in points:
        count += sum(_passes(leader.start, leader.end, point) for leader in leaders)
    count += sum(_cross(own.start, own.end, leader.start, leader.end) for leader in leaders if leader.key != row.key)
    # Its own line must not run under the other pins of its row.
    count += sum(_passes(own.start, own.end, point) for point in points if _apart(point, own.start) > RADIUS + 0.5)
    return count


def _passes(a: Point, b: Point, centre: Point) -> bool:
    reach = RADIUS + 1.5
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
def _free_slots(plan: Plan) -> tuple[tuple[int, int], ...]:
    """List the places of the grid where a pin touches nothing that is drawn."""
    taken = _taken_cells(plan)
    reach = math.ceil((RADIUS + CLEAR) / _CELL)
    free = []
    for row in range(math.ceil(plan.height / PITCH)):
        for column in range(math.floor((plan.width - 2 * RADIUS) / PITCH)):
            x, y = _slot_point((row, column))
            cx, cy = int(x // _CELL), int(y // _CELL)
            near = (
                (cx + i, cy + j)
                for i in range(-reach, reach + 1)
                for j in range(-reach, reach + 1)
                if _cell_apart(x, y, cx + i, cy + j) < RADIUS + CLEAR
            )
            if not any(cell in taken for cell in near):
                free.append((row, column))
    return tuple(free)


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
