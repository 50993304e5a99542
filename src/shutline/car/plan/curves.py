"""Lines of the drawing: soft-cornered outlines and round ones, flattened to points."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

Point = tuple[float, float]
Ring = tuple[Point, ...]

_FLATNESS = 0.2
_ROUND_FLATNESS = 0.07
"""The most that a flattened corner, and an ellipse, may stand off its curve: drawing units, 1 cm of the car each."""


def soft(corners: Sequence[tuple[float, float, float]]) -> Ring:
    """Make a closed outline whose corners are eased by a quadratic curve.

    Parameters
    ----------
    corners : sequence of (x, y, ease)
        Corner points in order; `ease` is how far before and after the corner the curve begins, at most half of either
        edge is used. 0 leaves the corner sharp.

    Returns
    -------
    tuple of points
        The outline, not repeating its first point.
    """
    count = len(corners)
    ring: list[Point] = []
    for i, (x, y, ease) in enumerate(corners):
        before = corners[i - 1]
        after = corners[(i + 1) % count]
        ring.extend(_corner((before[0], before[1]), (x, y), (after[0], after[1]), ease))
    return tuple(ring)


def trail(corners: Sequence[tuple[float, float, float]]) -> Ring:
    """Make an open line whose inner corners are eased, in the manner of `soft`."""
    ring: list[Point] = [(corners[0][0], corners[0][1])]
    for before, here, after in zip(corners, corners[1:], corners[2:], strict=False):
        ring.extend(_corner((before[0], before[1]), (here[0], here[1]), (after[0], after[1]), here[2]))
    ring.append((corners[-1][0], corners[-1][1]))
    return tuple(ring)


def _corner(before: Point, here: Point, after: Point, ease: float) -> list[Point]:
    reach_in = min(ease, math.dist(before, here) / 2)
    reach_out = min(ease, math.dist(here, after) / 2)
    if reach_in < 0.05 or reach_out < 0.05:
        return [here]
    start = _towards(here, before, reach_in)
    end = _towards(here, after, reach_out)
    return [start, *_quadratic(start, here, end), end]


def _towards(here: Point, there: Point, distance: float) -> Point:
    share = distance / math.dist(here, there)
    return here[0] + (there[0] - here[0]) * share, here[1] + (there[1] - here[1]) * share


def _quadratic(start: Point, control: Point, end: Point) -> list[Point]:
    bend = math.hypot(start[0] - 2 * control[0] + end[0], start[1] - 2 * control[1] + end[1])
    steps = max(2, math.ceil(math.sqrt(bend / (4 * _FLATNESS))))
    points = []
    for i in range(1, steps):
        t = i / steps
        a, b, c = (1 - t) ** 2, 2 * t * (1 - t), t * t
        points.append(
            (a * start[0] + b * control[0] + c * end[0], a * start[1] + b * control[1] + c * end[1]),
        )
    return points


def oval(centre: Point, across: float, up: float | None = None, *, steps: int | None = None) -> Ring:
    """Make an ellipse with half-axes `across` and `up` (a circle when `up` is None)."""
    up = across if up is None else up
    if steps is None:
        steps = 4 * max(4, math.ceil(math.pi / math.acos(1 - _ROUND_FLATNESS / max(across, up, 1.0)) / 4))
    turn = 2 * math.pi / steps
    return tuple((centre[0] + across * math.cos(i * turn), centre[1] + up * math.sin(i * turn)) for i in range(steps))


def box(left: float, low: float, right: float, high: float, ease: float = 0.0) -> Ring:
    """Make an upright rectangle with eased corners."""
    return soft(((left, low, ease), (right, low, ease), (right, high, ease), (left, high, ease)))


def mirrored(points: Iterable[Point], axis_x: float) -> Ring:
    """Turn a line over about the upright line ``x = axis_x``, and keep its sense of going round."""
    return tuple((2 * axis_x - x, y) for x, y in points)[::-1]


def moved(points: Iterable[Point], dx: float, dy: float) -> Ring:
    """Shift a line."""
    return tuple((x + dx, y + dy) for x, y in points)


def flipped(points: Iterable[Point], axis_y: float) -> Ring:
    """Turn a line over about the level line ``y = axis_y``, and keep its sense of going round."""
    return tuple((x, 2 * axis_y - y) for x, y in points)[::-1]


def area(ring: Sequence[Point]) -> float:
    """Give the signed area: positive when the ring runs from the x axis towards the y axis."""
    return sum(ax * by - bx * ay for (ax, ay), (bx, by) in _edges(ring)) / 2


def within(point: Point, ring: Sequence[Point]) -> bool:
    """Tell whether a point lies inside a ring; a point on the line itself may count either way."""
    x, y = point
    inside = False
    for (ax, ay), (bx, by) in _edges(ring):
        if (ay > y) != (by > y) and x < (bx - ax) * (y - ay) / (by - ay) + ax:
            inside = not inside
    return inside


def inner_point(outline: Sequence[Point], holes: Sequence[Sequence[Point]] = ()) -> Point:
    """Find a point well inside an outline and outside its holes.

    The middle of the broadest run on level lines through the outline, weighed against how tall the outline is there.
    """
    rings = (outline, *holes)
    lows = [y for _, y in outline]
    low, high = min(lows), max(lows)
    best = (-1.0, outline[0])
    for i in range(1, 12):
        # An odd offset keeps the level line off the vertices.
        y = low + (high - low) * (i - 0.013) / 12
        for left, right in _runs(rings, y, level=True):
            x = (left + right) / 2
            tall = next((min(b - y, y - a) for a, b in _runs(rings, x, level=False) if a < y < b), 0.0)
            room = min((right - left) / 2, tall) + 0.02 * (right - left)
            if room > best[0] + 1e-9:
                best = (room, (x, y))
    return best[1]


def _runs(rings: Sequence[Sequence[Point]], at: float, *, level: bool) -> list[tuple[float, float]]:
    crossings = []
    for ring in rings:
        for a, b in _edges(ring):
            (ax, ay), (bx, by) = (a, b) if level else ((a[1], a[0]), (b[1], b[0]))
            if (ay > at) != (by > at):
                crossings.append((bx - ax) * (at - ay) / (by - ay) + ax)
    crossings.sort()
    return list(zip(crossings[::2], crossings[1::2], strict=False))


def _edges(ring: Sequence[Point]) -> Iterable[tuple[Point, Point]]:
    return zip(ring, (*ring[1:], ring[0]), strict=True)
