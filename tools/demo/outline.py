"""Rings of the Plan in metres, and the boxes round them."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from demo.paint import Point, eased
from shutline.car.plan import Shape

Box = tuple[float, float, float, float]
"""Left, top, right and bottom, metres on the sheet."""
Ring = list[Point]


@cache
def metres(ring: tuple[tuple[float, float], ...]) -> Ring:
    """Turn a ring of the Plan (centimetres) into metres, its gentle bends rounded for a camera that comes close."""
    return eased([(x / 100, y / 100) for x, y in ring])


def bounds(ring: Ring) -> Box:
    """Give the box round a ring."""
    xs, ys = zip(*ring, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def area(box: Box) -> float:
    """Give the area of a box."""
    return (box[2] - box[0]) * (box[3] - box[1])


def largest(shapes: Sequence[Shape], part: str) -> Ring:
    """Give the ring of the part's largest shape."""
    return max((metres(s.outline) for s in shapes if s.part == part), key=lambda ring: area(bounds(ring)))


def union(shapes: Sequence[Shape], part: str | None = None) -> Box:
    """Give the box round all the shapes, or round all those of one part."""
    boxes = [bounds(metres(s.outline)) for s in shapes if part is None or s.part == part]
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)
