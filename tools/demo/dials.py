"""The instruments: a speedometer with its five drums, and a second dial of small ones."""

from __future__ import annotations

import numpy as np

from demo.lettering import letters
from demo.paint import Canvas, Colour, Point, box, colour, ellipse

IVORY: Colour = colour("#e9e2cc")


def odometer_box(instruments: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    """Give the window of the odometer inside the box of the instruments, metres."""
    (x, y), r = speedometer(instruments)
    return x - r * 0.33, y + r * 0.38, x + r * 0.33, y + r * 0.585


def speedometer(instruments: tuple[float, float, float, float]) -> tuple[Point, float]:
    """Give the middle and radius of the speedometer."""
    x0, y0, x1, y1 = instruments
    return (x0 + (x1 - x0) * 0.29, (y0 + y1) / 2 - 0.012), min(0.098, (y1 - y0) * 0.42)


def draw_dials(canvas: Canvas, at: tuple[float, float, float, float], miles: str) -> None:
    """Draw both dials in their hooded panel; `miles` are the five figures on the drums."""
    x0, y0, x1, y1 = at
    panel = box(x0 - 0.012, y0 - 0.022, x1 + 0.012, y1 + 0.006, corner=0.06)
    canvas.fill([(x, y + 0.010) for x, y in panel], (0, 0, 0), alpha=0.6, soft_m=0.015)
    canvas.fill(panel, (0.075, 0.072, 0.07), foot=(0.045, 0.043, 0.042), round_m=0.016, depth=1.0, shine=0.2)
    middle, r = speedometer(at)
    _face(canvas, middle, r)
    for mph in range(0, 101, 5):
        a = np.radians(225 - 270 * mph / 100)
        c, s = float(np.cos(a)), float(np.sin(a))
        long = 0.13 if mph % 10 == 0 else 0.07
        canvas.stroke(
            [
                (middle[0] + c * r * 0.90, middle[1] - s * r * 0.90),
                (middle[0] + c * r * (0.90 - long), middle[1] - s * r * (0.90 - long)),
            ],
            r * (0.022 if mph % 10 == 0 else 0.012),
            IVORY,
        )
        if mph in (20, 40, 60, 80):
            letters(canvas, str(mph), (middle[0] + c * r * 0.62, middle[1] - s * r * 0.62), r * 0.15, IVORY)
    letters(canvas, "MPH", (middle[0], middle[1] - r * 0.30), r * 0.09, IVORY, alpha=0.85)
    _drums(canvas, odometer_box(at), miles)
    _needle(canvas, middle, r, 225.0)
    _glass(canvas, middle, r)
    other = (x1 - (middle[0] - x0), middle[1])
    _face(canvas, other, r)
    for name, ox, oy in (("FUEL", -0.42, -0.28), ("TEMP", 0.42, -0.28), ("OIL", -0.42, 0.42), ("AMP", 0.42, 0.42)):
        hub = (other[0] + ox * r, other[1] + oy * r)
        for i in range(5):
            a = np.radians(150 - 120 * i / 4)
            c, s = float(np.cos(a)), float(np.sin(a))
            canvas.stroke(
                [(hub[0] + c * r * 0.30, hub[1] - s * r * 0.30), (hub[0] + c * r * 0.24, hub[1] - s * r * 0.24)],
                r * 0.02,
                IVORY,
            )
        letters(canvas, name, (hub[0], hub[1] + r * 0.07), r * 0.075, IVORY)
        a = np.radians(118 if name == "FUEL" else 152)
        canvas.stroke(
            [hub, (hub[0] + r * 0.27 * float(np.cos(a)), hub[1] - r * 0.27 * float(np.sin(a)))],
            r * 0.022,
            (0.85, 0.30, 0.14),
        )
    _glass(canvas, other, r)


def _face(canvas: Canvas, at: Point, r: float) -> None:
    canvas.fill(
        ellipse(*at, r * 1.08), (0.80, 0.82, 0.85), foot=(0.36, 0.37, 0.39), round_m=0.004, depth=0.9, shine=0.4
    )
    canvas.fill(ellipse(*at, r), (0.020, 0.021, 0.024), foot=(0.035, 0.036, 0.038), round_m=0.010, depth=-0.6)


def _needle(canvas: Canvas, at: Point, r: float, angle_deg: float) -> None:
    a = np.radians(angle_deg)
    c, s = float(np.cos(a)), float(np.sin(a))
    tip = (at[0] + c * r * 0.78, at[1] - s * r * 0.78)
    canvas.stroke([at, tip], r * 0.030, (0.88, 0.32, 0.14))
    canvas.fill(ellipse(*at, r * 0.09), (0.12, 0.12, 0.125), round_m=r * 0.03, depth=1.0, shine=0.4)


def _glass(canvas: Canvas, at: Point, r: float) -> None:
    x, y = at
    streak = [
        (x - r * 0.75, y - r * 0.55),
        (x - r * 0.45, y - r * 0.80),
        (x - r * 0.10, y - r * 0.62),
        (x - r * 0.55, y - r * 0.25),
    ]
    canvas.fill(streak, (1, 1, 1), alpha=0.06, soft_m=r * 0.06, inside=ellipse(x, y, r))


def _drums(canvas: Canvas, at: tuple[float, float, float, float], miles: str) -> None:
    """Five drums behind a window, each white on black, curved by its shading."""
    x0, y0, x1, y1 = at
    edge = (y1 - y0) * 0.10
    canvas.fill(
        box(x0 - edge, y0 - edge, x1 + edge, y1 + edge, corner=edge * 0.6),
        (0.30, 0.30, 0.31),
        round_m=edge * 0.4,
        depth=-0.9,
    )
    pitch = (x1 - x0) / len(miles)
    for i, figure in enumerate(miles):
        left = x0 + i * pitch
        drum = box(left + pitch * 0.035, y0, left + pitch * 0.965, y1)
        canvas.fill(drum, (0.045, 0.045, 0.048))
        letters(canvas, figure, (left + pitch / 2, (y0 + y1) / 2), (y1 - y0) * 0.70, (0.95, 0.94, 0.90))
        canvas.fill(
            box(left, y0, left + pitch, y0 + (y1 - y0) * 0.14),
            (0, 0, 0),
            alpha=0.6,
            soft_m=(y1 - y0) * 0.05,
            inside=drum,
        )
        canvas.fill(
            box(left, y1 - (y1 - y0) * 0.14, left + pitch, y1),
            (0, 0, 0),
            alpha=0.6,
            soft_m=(y1 - y0) * 0.05,
            inside=drum,
        )
