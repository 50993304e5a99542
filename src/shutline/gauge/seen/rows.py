"""Put the pieces of a line together again: what stands in one row, what stands near it, and what stands below."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shutline.gauge.seen.lettering import Line, Quad, Sign

# Two pieces are of one row when they overlap by this share of their height, and the gap is at most so many heights.
_OVERLAP = 0.5
_GAP_HEIGHTS = 1.6
# What stands within so many heights of a row may be its unit or its label.
_NEAR_HEIGHTS = 4.0


@dataclass(frozen=True, slots=True)
class Row:
    """A row of writing: the line it makes, what stands near it, and what stands right above it."""

    line: Line
    near: str = ""
    above: str = ""

    @property
    def text(self) -> str:
        """The row in capitals, one letter for each sign, so that places in it are those of the signs."""
        return "".join(_capital(sign.text) for sign in self.line.signs)


def rows(lines: Sequence[Line]) -> tuple[Row, ...]:
    """Join the pieces of each row, and give them from the top."""
    left = sorted(lines, key=lambda line: _box(line.quad)[0])
    joined: list[Line] = []
    while left:
        line = left.pop(0)
        while (at := next((n for n, other in enumerate(left) if _follows(line, other)), None)) is not None:
            line = _join(line, left.pop(at))
        joined.append(line)
    joined.sort(key=lambda line: _box(line.quad)[1])
    return tuple(Row(line, _near(line, joined), _above(line, joined)) for line in joined)


def stacked(found: Sequence[Row]) -> tuple[Row, ...]:
    """Join rows that stand close below each other, as on a square plate: each with the next below it."""
    pairs = []
    for row in found:
        for other in found:
            if other is not row and _stands_below(row.line, other.line):
                signs = (*row.line.signs, Sign(" ", 1.0), *other.line.signs)
                pairs.append(Row(Line(signs, _around(row.line.quad, other.line.quad))))
    return tuple(pairs)


def _capital(text: str) -> str:
    upper = text.upper()
    return upper if len(upper) == 1 else text[:1] or " "


def _box(quad: Quad) -> tuple[float, float, float, float]:
    xs, ys = [x for x, _ in quad], [y for _, y in quad]
    return min(xs), min(ys), max(xs), max(ys)


def _follows(line: Line, other: Line) -> bool:
    """Tell whether a piece stands to the right of a line, on its own slope."""
    end_top, end_low = np.array(line.quad[1]), np.array(line.quad[2])
    top, low = np.array(other.quad[0]), np.array(other.quad[3])
    high = max(line.height, 1.0)
    if not 0.5 < other.height / high < 2.0:
        return False
    along = (np.array(line.quad[1]) - np.array(line.quad[0])) + (np.array(line.quad[2]) - np.array(line.quad[3]))
    along = along / (float(np.linalg.norm(along)) or 1.0)
    down = np.array([-along[1], along[0]])
    gap = float((((top + low) - (end_top + end_low)) / 2) @ along)
    off = float((((top + low) - (end_top + end_low)) / 2) @ down)
    return -0.3 * high < gap < _GAP_HEIGHTS * high and abs(off) < (1 - _OVERLAP) * high


def _join(first: Line, second: Line) -> Line:
    left, right = first.quad, second.quad
    return Line((*first.signs, Sign(" ", 1.0), *second.signs), (left[0], right[1], right[2], left[3]))


def _stands_below(upper: Line, lower: Line) -> bool:
    a, b = _box(upper.quad), _box(lower.quad)
    high = max(upper.height, 1.0)
    over = min(a[2], b[2]) - max(a[0], b[0])
    gap = b[1] - a[3]
    return 0.6 < lower.height / high < 1.7 and over > 0.4 * min(a[2] - a[0], b[2] - b[0]) and -high / 2 < gap < high


def _around(upper: Quad, lower: Quad) -> Quad:
    boxes = (_box(upper), _box(lower))
    left, top = min(box[0] for box in boxes), min(box[1] for box in boxes)
    right, low = max(box[2] for box in boxes), max(box[3] for box in boxes)
    return (left, top), (right, top), (right, low), (left, low)


def _near(line: Line, others: Sequence[Line]) -> str:
    reach = _NEAR_HEIGHTS * max(line.height, 1.0)
    a = _box(line.quad)
    near = []
    for other in others:
        b = _box(other.quad)
        away = max(b[0] - a[2], a[0] - b[2], 0.0), max(b[1] - a[3], a[1] - b[3], 0.0)
        if other is not line and max(away) < reach:
            near.append(other.text)
    return " ".join(near).upper()


def _above(line: Line, others: Sequence[Line]) -> str:
    a = _box(line.quad)
    over = [
        (a[1] - _box(other.quad)[3], other.text)
        for other in others
        if other is not line
        and min(a[2], _box(other.quad)[2]) - max(a[0], _box(other.quad)[0]) > 0
        and -line.height < a[1] - _box(other.quad)[3] < 2.5 * max(line.height, 1.0)
    ]
    return min(over)[1].upper() if over else ""
