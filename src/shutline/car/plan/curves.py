"""Lines of the drawing: soft-cornered outlines and round ones, flattened to points."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

Point = tuple[float, float]
Ring = tuple[Point, ...]

_FLATNESS = 0.25
_ROUND_FLATNESS = 0.09
"""The most that a flattened corner, and an ellipse, may stand off its curve: drawing units, 1 cm of the car each."""


_LEVELS = 7


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

    Of the broadest runs on a few level lines through the outline, the middle of the one with most room around it.
    """
    edges = [edge for ring in (outline, *holes) for edge in _edges(ring)]
    lows = [y for _, y in outline]
    low, high = min(lows), max(lows)
    runs: list[tuple[float, float, float]] = []
    for i in range(1, _LEVELS + 1):
        # An odd offset keeps the level line off the vertices.
        y = low + (high - low) * (i - 0.013) / (_LEVELS + 1)
        crossings = sorted(
            [(bx - ax) * (y - ay) / (by - ay) + ax for (ax, ay), (bx, by) in edges if (ay > y) != (by > y)]
        )
        runs.extend((b - a, (a + b) / 2, y) for a, b in zip(crossings[::2], crossings[1::2], strict=False))
    runs.sort(key=lambda run: (-round(run[0], 6), run[2], run[1]))
    best = (-1.0, outline[0])
    for broad, x, y in runs[:4]:
        crossings = [(by - ay) * (x - ax) / (bx - ax) + ay for (ax, ay), (bx, by) in edges if (ax > x) != (bx > x)]
        tall = min((abs(crossing - y) for crossing in crossings), default=0.0)
        room = min(broad / 2, tall) + 0.02 * broad
        if room > best[0] + 1e-9:
            best = (room, (x, y))
    return best[1]


def _edges(ring: Sequence[Point]) -> Iterable[tuple[Point, Point]]:
    return zip(ring, (*ring[1:], ring[0]), strict=True)
