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
FINE_INK = "#6a6257"
ACCENT = "#34508e"
"""The one colour: the thread, and what leads somewhere."""

FONT = "'Source Sans 3', 'Shutline Sans', sans-serif"
NAME_FONT = "'Source Serif 4', 'Shutline Serif', Georgia, serif"
"""For the names of the views, in italics."""
LABEL_SIZE = 17.0
"""Of the names of the views, drawing units."""
BOLD_LINE, LINE, FINE_LINE = 1.3, 0.85, 0.6
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
    half = f"a{r} {r} 0 1 0"
    return f"M{_tenths(round((x - radius) * 10))} {_tenths(round(y * 10))}{half} {across} 0{half}-{across} 0z"


def _tenths(value: int) -> str:
    return _hundredths(value * 10)


def _steps(points: Sequence[Point]) -> str:
    nodes = [(round(x * 10), round(y * 10)) for x, y in points]
    data = [f"M{_tenths(nodes[0][0])}", _spaced(_tenths(nodes[0][1]), "0")]
    last, before = "", ""
    i = 0
    while i < len(nodes) - 1:
        here = nodes[i]
        reach, control = _bow(points, i)
        command = "q" if reach > 1 else "l"
        steps = (control, nodes[i + reach]) if reach > 1 else (nodes[i + 1],)
        i += reach
        if steps[-1] == here:
            continue
        for step in steps:
            for value in (_tenths(step[0] - here[0]), _tenths(step[1] - here[1])):
                if command != last:
                    data.append(command + value)
                    last = command
                else:
                    data.append(_spaced(value, before))
                before = value
    return "".join(data)


def _spaced(value: str, before: str) -> str:
    """Put a space before a number only where it would run into the one before."""
    return value if value[0] == "-" or (value[0] == "." and "." in before) else f" {value}"


def _bow(points: Sequence[Point], start: int) -> tuple[int, tuple[int, int]]:
    """Find how many steps from a point one quadratic curve stands for, and its control point in tenths."""
    if start + 4 >= len(points) or not _bends(points[start], points[start + 1], points[start + 2]):
        return 1, (0, 0)
    for reach in (8, 6, 4):
        if start + reach >= len(points):
            continue
        run = points[start : start + reach + 1]
        (ax, ay), (mx, my), (bx, by) = run[0], run[reach // 2], run[-1]
        cx, cy = 2 * mx - (ax + bx) / 2, 2 * my - (ay + by) / 2
        if all(_curve_apart(run[j], (ax, ay), (cx, cy), (bx, by), j / reach) for j in range(1, reach)):
            return reach, (round(cx * 10), round(cy * 10))
    return 1, (0, 0)


def _bends(a: Point, b: Point, c: Point) -> bool:
    """Tell whether a line bends at `b` as a curve does: a little, but not by a corner."""
    ux, uy, vx, vy = b[0] - a[0], b[1] - a[1], c[0] - b[0], c[1] - b[1]
    along, across = ux * vx + uy * vy, abs(ux * vy - uy * vx)
    return along > 0 and 0.004 * along < across < 0.75 * along


def _curve_apart(point: Point, a: Point, control: Point, b: Point, share: float) -> bool:
    u = 1 - share
    x = u * u * a[0] + 2 * u * share * control[0] + share * share * b[0]
    y = u * u * a[1] + 2 * u * share * control[1] + share * share * b[1]
    # Along the curve a point may lie a little before or after; across it hardly at all.
    tx, ty = (
        u * (control[0] - a[0]) + share * (b[0] - control[0]),
        u * (control[1] - a[1]) + share * (b[1] - control[1]),
    )
    long = math.hypot(tx, ty)
    dx, dy = point[0] - x, point[1] - y
    if long < 0.01:
        return False
    return abs(dx * ty - dy * tx) / long < 0.1 and abs(dx * tx + dy * ty) / long < 0.9


def escaped(text: str) -> str:
    """Make any text fit for SVG: what XML cannot hold becomes a replacement character."""
    return "".join(c if _is_xml(c) else "\ufffd" for c in text).translate(_TEXT_UNSAFE)


def _is_xml(char: str) -> bool:
    code = ord(char)
    return char in "\t\n\r" or 0x20 <= code <= 0xD7FF or 0xE000 <= code <= 0xFFFD or 0x10000 <= code <= 0x10FFFF


def text_width(text: str, size: float) -> float:
    """Estimate how wide a text is set, drawing units: a little more than the face needs."""
    return size * sum(0.30 if c in " .,:;'il|j" else 0.62 if c.isupper() or c in "mw—" else 0.53 for c in text)
