"""Colours, weights and the writing of SVG numbers, paths and text."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from shutline.car.plan.curves import Point

GROUND = "#f6f0e4"
"""The table that the paper lies on."""
PAPER = "#fdfaf3"
PAPER_EDGE = "#d8cdb9"
INK = "#2b2823"
FINE_INK = "#7d7568"
ACCENT = "#34508e"
"""The one colour: the thread, and what leads somewhere."""

FONT = "'Source Sans 3', 'Source Sans Pro', sans-serif"
BOLD_LINE, LINE, FINE_LINE = 1.7, 0.85, 0.6
"""Outer lines, shut lines, and what is only drawn on: drawing units."""

TONES = {
    "plain": "#fffdf8",
    "glass": "#e3e7ec",
    "shade": "#ece5d7",
    "dark": "#57514a",
    "cloth": "#eee8db",
}

_TEXT_UNSAFE = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;"})


def number(value: float) -> str:
    """Write a number with at most two decimals."""
    return _hundredths(round(value * 100))


def _hundredths(value: int) -> str:
    if value % 100 == 0:
        return str(value // 100)
    sign = "-" if value < 0 else ""
    whole, part = divmod(abs(value), 100)
    return f"{sign}{whole or ''}.{part:02d}".rstrip("0")


def ring_path(rings: Iterable[Sequence[Point]]) -> str:
    """Write closed lines as path data: circles as arcs, the rest in short relative steps on tenths of a unit."""
    return "".join(_circle(ring) or f"{_steps(ring)}z" for ring in rings)


def line_path(lines: Iterable[Sequence[Point]]) -> str:
    """Write lines as path data; one that ends where it began is closed."""
    return "".join(ring_path((line[:-1],)) if line[0] == line[-1] else _steps(line) for line in lines)


def _circle(ring: Sequence[Point]) -> str | None:
    if len(ring) < 12:
        return None
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    x, y = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    radius = max(xs) - x
    if any(abs(math.hypot(px - x, py - y) - radius) > 0.03 for px, py in ring):
        return None
    r, across = _tenths(round(radius * 10)), _tenths(round(radius * 20))
    return f"M{_tenths(round((x - radius) * 10))} {_tenths(round(y * 10))}a{r} {r} 0 1 0 {across} 0a{r} {r} 0 1 0-{across} 0z"


def _tenths(value: int) -> str:
    return _hundredths(value * 10)


def _steps(points: Sequence[Point]) -> str:
    nodes = [(round(x * 10), round(y * 10)) for x, y in points]
    data = [f"M{_tenths(nodes[0][0])}", _tenths(nodes[0][1])]
    command = "l"
    for (ax, ay), (bx, by) in zip(nodes, nodes[1:], strict=False):
        if (ax, ay) != (bx, by):
            data.append(command + _tenths(bx - ax))
            data.append(_tenths(by - ay))
            command = ""
    return " ".join(data).replace(" -", "-")


def escaped(text: str) -> str:
    """Make any text fit for SVG: what XML cannot hold becomes a replacement character."""
    return "".join(c if _is_xml(c) else "\ufffd" for c in text).translate(_TEXT_UNSAFE)


def _is_xml(char: str) -> bool:
    code = ord(char)
    return char in "\t\n\r" or 0x20 <= code <= 0xD7FF or 0xE000 <= code <= 0xFFFD or 0x10000 <= code <= 0x10FFFF


def text_width(text: str, size: float) -> float:
    """Estimate how wide a text is set, drawing units: a little more than the face needs."""
    return size * sum(0.30 if c in " .,:;'il|j" else 0.62 if c.isupper() or c in "mw—" else 0.53 for c in text)
