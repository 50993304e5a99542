"""Pieces of a picture that are looked at by themselves: rectangles, joined where they overlap."""

from __future__ import annotations

from collections.abc import Iterable

Rect = tuple[int, int, int, int]
"""Left, top, right, bottom, pixels."""


def joined(rects: Iterable[Rect]) -> list[Rect]:
    """Join rectangles that overlap, until none does.

    Examples
    --------
    >>> joined([(0, 0, 4, 4), (9, 9, 12, 12), (3, 3, 6, 5)])
    [(0, 0, 6, 5), (9, 9, 12, 12)]
    """
    done: list[Rect] = []
    left = list(rects)
    while left:
        one = left.pop()
        over = next((other for other in done if _overlap(one, other)), None)
        if over is None:
            done.append(one)
            continue
        done.remove(over)
        left.append((min(one[0], over[0]), min(one[1], over[1]), max(one[2], over[2]), max(one[3], over[3])))
    return sorted(done)


def pieces_or_whole(rects: Iterable[Rect], wide: int, high: int, *, most: float) -> list[Rect]:
    """Give rectangles joined; the whole picture where they are more than a share of it."""
    pieces = joined(rects)
    area = sum((right - left) * (low - top) for left, top, right, low in pieces)
    return [(0, 0, wide, high)] if area > most * wide * high else pieces


def _overlap(one: Rect, other: Rect) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
