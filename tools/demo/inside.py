"""What is seen with a door open: dashboard, seats, headlining."""

from __future__ import annotations

import numpy as np

from demo.dials import draw_dials
from demo.finish import chrome, times
from demo.lettering import letters
from demo.outline import Box, bounds, largest, metres, union
from demo.paint import Canvas, Colour, Point, box, colour, curve, ellipse
from demo.script import Script
from shutline.car.plan import Shape

LEATHER: Colour = colour("#7d3b26")
PIPING: Colour = colour("#a9623f")


def draw_dash(canvas: Canvas, shapes: list[Shape], script: Script) -> None:
    """Draw the dashboard as seen from the seats."""
    order = {"carpet": 0, "dash": 1, "wood_trim": 2}
    for shape in sorted(shapes, key=lambda s: order.get(s.part, 3)):
        ring = metres(shape.outline)
        b = bounds(ring)
        match shape.part:
            case "carpet":
                canvas.fill(ring, (0.10, 0.065, 0.05), foot=(0.06, 0.04, 0.03), grain=0.10, grain_m=0.005)
            case "dash":
                canvas.fill(
                    ring,
                    (0.085, 0.08, 0.078),
                    foot=(0.05, 0.047, 0.045),
                    round_m=0.018,
                    depth=0.9,
                    shine=0.14,
                    grain=0.05,
                    grain_m=0.003,
                )
            case "wood_trim":
                canvas.fill(
                    ring, colour("#7a4a26"), foot=colour("#5b3418"), round_m=0.006, depth=0.7, shine=0.3, gloss=0.25
                )
                rng = np.random.default_rng(31)
                for _ in range(26):
                    y = rng.uniform(b[1], b[3])
                    line = [
                        (b[0] + (b[2] - b[0]) * u, y + 0.006 * np.sin(u * 9 + y * 70)) for u in np.linspace(0, 1, 30)
                    ]
                    canvas.fill(
                        [(float(px), float(py)) for px, py in line]
                        + [(float(px), float(py + 0.0022)) for px, py in reversed(line)],
                        colour("#3d2210"),
                        alpha=0.38,
                        inside=ring,
                        soft_m=0.0006,
                    )
            case "pedals":
                canvas.fill(ring, (0.06, 0.06, 0.06), round_m=0.008, depth=0.9, shine=0.2)
            case "heater" | "stereo" | "switch":
                canvas.fill(ring, (0.15, 0.15, 0.155), foot=(0.09, 0.09, 0.095), round_m=0.006, depth=0.8, shine=0.15)
                canvas.stroke(ring, 0.002, (0.7, 0.72, 0.75), closed=True)
                my = (b[1] + b[3]) / 2
                for u in (0.14, 0.86):
                    canvas.fill(
                        ellipse(b[0] + (b[2] - b[0]) * u, my, (b[3] - b[1]) * 0.28),
                        (0.70, 0.72, 0.75),
                        foot=(0.3, 0.31, 0.33),
                        round_m=0.004,
                        depth=0.9,
                        shine=0.4,
                    )
                canvas.fill(
                    box(
                        b[0] + (b[2] - b[0]) * 0.28,
                        b[1] + (b[3] - b[1]) * 0.28,
                        b[0] + (b[2] - b[0]) * 0.72,
                        b[3] - (b[3] - b[1]) * 0.28,
                    ),
                    (0.80, 0.74, 0.52),
                    foot=(0.58, 0.52, 0.34),
                    round_m=0.002,
                    depth=0.5,
                )
            case "gear_lever":
                canvas.fill(ring, (0.10, 0.10, 0.10), foot=(0.30, 0.31, 0.32), round_m=0.012, depth=1.0, shine=0.5)
    gear = bounds(largest(shapes, "gear_lever"))
    _gear_knob(canvas, ((gear[0] + gear[2]) / 2, gear[1] + 0.035))
    draw_dials(canvas, union(shapes, "instruments"), script.car["odometer"])
    _steering_wheel(canvas, union(shapes, "steering_wheel"), union(shapes, "instruments")[3])


def _gear_knob(canvas: Canvas, at: Point) -> None:
    x, y = at
    gaiter = curve([(x - 0.02, y + 0.06), (x + 0.02, y + 0.06), (x + 0.085, y + 0.20), (x - 0.085, y + 0.20)])
    canvas.fill(gaiter, (0.05, 0.05, 0.05), round_m=0.02, depth=1.0, shine=0.15)
    canvas.tube([(x, y + 0.02), (x, y + 0.12)], 0.018, (0.72, 0.74, 0.77), shine=0.6)
    canvas.fill(ellipse(x, y, 0.046), (0.06, 0.06, 0.062), round_m=0.022, depth=1.2, shine=0.6, gloss=0.3)
    white: Colour = (0.86, 0.86, 0.84)
    for u in (-0.016, 0.0):
        canvas.stroke([(x + u + 0.008, y - 0.014), (x + u + 0.008, y + 0.014)], 0.0024, white)
    canvas.stroke([(x - 0.008, y), (x + 0.008, y)], 0.0024, white)
    for mark, u, v in (("1", -0.008, -0.022), ("3", 0.008, -0.022), ("2", -0.008, 0.022), ("4", 0.008, 0.022)):
        letters(canvas, mark, (x + u, y + v), 0.008, white)


def _steering_wheel(canvas: Canvas, b: Box, dials_foot: float) -> None:
    """Draw a thin-rimmed wheel below the dials, as it is seen from the seat: its top lies across the foot of them."""
    x, r = (b[0] + b[2]) / 2, (b[2] - b[0]) / 2
    y = dials_foot + r * 0.84 + 0.012
    rim = ellipse(x, y, r * 0.98, r * 0.84)
    canvas.fill([(px, py + 0.02) for px, py in ellipse(x, y, r * 0.4, r * 0.32)], (0, 0, 0), alpha=0.35, soft_m=0.03)
    for a in (0.10, np.pi - 0.10, np.pi / 2):
        end = (x + r * 0.96 * float(np.cos(a)), y + r * 0.82 * float(np.sin(a)))
        canvas.tube([(x, y), end], 0.026, (0.60, 0.62, 0.64), shine=0.6)
    canvas.tube([*rim, rim[0]], 0.022, (0.055, 0.055, 0.058), shine=0.45)
    canvas.fill(ellipse(x, y, r * 0.22, r * 0.19), (0.07, 0.07, 0.072), round_m=0.02, depth=1.1, shine=0.4)
    canvas.fill(
        ellipse(x, y, r * 0.09, r * 0.08),
        (0.70, 0.12, 0.12),
        foot=(0.4, 0.05, 0.05),
        round_m=0.006,
        depth=0.9,
        shine=0.5,
    )


def draw_cabin(canvas: Canvas, shapes: list[Shape], at: Box) -> None:
    """Draw seats, door cards and tunnel from above."""
    x0, y0, x1, y1 = at
    canvas.fill(box(x0 - 0.05, y0 - 0.05, x1 + 0.05, y1 + 0.05, corner=0.1), (0.03, 0.025, 0.023), soft_m=0.015)
    for shape in shapes:
        ring, holes = metres(shape.outline), [metres(h) for h in shape.holes]
        if shape.part == "carpet":
            canvas.fill(ring, (0.17, 0.10, 0.075), foot=(0.12, 0.07, 0.055), holes=holes, grain=0.10, grain_m=0.005)
        elif shape.part == "door_card":
            b = bounds(ring)
            canvas.fill(
                ring,
                times(LEATHER, 0.95),
                foot=times(LEATHER, 0.7),
                round_m=0.014,
                depth=0.8,
                grain=0.03,
                grain_m=0.004,
            )
            canvas.tube(
                [(b[0] + 0.42 * (b[2] - b[0]), (b[1] + b[3]) / 2), (b[2] - 0.08, (b[1] + b[3]) / 2)],
                0.032,
                times(LEATHER, 1.2),
                shine=0.2,
            )
            wx = b[0] + 0.28 * (b[2] - b[0])
            canvas.tube(
                [(wx, (b[1] + b[3]) / 2), (wx + 0.07, (b[1] + b[3]) / 2 + 0.02)], 0.014, (0.75, 0.77, 0.8), shine=0.6
            )
    for shape in shapes:
        if shape.part == "seat":
            _seat(canvas, metres(shape.outline), rear=shape.position == "rear")
    middle = (y0 + y1) / 2
    canvas.fill(
        box(x0 + 0.10, middle - 0.10, x0 + 1.02, middle + 0.10, corner=0.06),
        (0.11, 0.07, 0.055),
        round_m=0.05,
        depth=0.9,
        grain=0.08,
        grain_m=0.005,
    )
    canvas.tube([(x0 + 0.62, middle), (x0 + 0.84, middle)], 0.028, (0.10, 0.10, 0.10), shine=0.5)
    canvas.fill(ellipse(x0 + 0.30, middle, 0.032), (0.06, 0.06, 0.06), round_m=0.015, depth=1.1, shine=0.5)
    near = [s for s in shapes if s.part == "seat" and s.side == "near" and s.position == "front"]
    if near:
        b = bounds(metres(near[0].outline))
        _bills(canvas, ((b[0] + b[2]) / 2 - 0.06, (b[1] + b[3]) / 2))


def _bills(canvas: Canvas, at: Point) -> None:
    """Draw a card folder with papers standing out of it, and two keys on a ring."""
    x, y = at
    rng = np.random.default_rng(12)
    for i in range(5):
        dx, dy = float(rng.normal(0.012, 0.008)), float(rng.normal(-0.012, 0.006))
        sheet = box(x - 0.13 + dx, y - 0.105 + dy, x + 0.10 + dx, y + 0.065 + dy)
        canvas.fill([(px + 0.003, py + 0.004) for px, py in sheet], (0, 0, 0), alpha=0.35, soft_m=0.004)
        canvas.fill(sheet, (0.92 - 0.02 * i, 0.90 - 0.02 * i, 0.83 - 0.03 * i))
    folder = [(x - 0.15, y - 0.075), (x + 0.115, y - 0.09), (x + 0.125, y + 0.095), (x - 0.14, y + 0.105)]
    canvas.fill([(px + 0.006, py + 0.009) for px, py in folder], (0, 0, 0), alpha=0.5, soft_m=0.008)
    canvas.fill(folder, colour("#b98d55"), foot=colour("#9c7341"), round_m=0.004, depth=0.5, grain=0.03, grain_m=0.006)
    letters(canvas, "BILLS", (x - 0.02, y + 0.005), 0.026, (0.16, 0.12, 0.09), alpha=0.8)
    ring = ellipse(x + 0.155, y + 0.06, 0.016)
    canvas.stroke(
        [(px + 0.003, py + 0.005) for px, py in ring], 0.004, (0.02, 0.02, 0.02), closed=True, alpha=0.6, soft_m=0.002
    )
    canvas.stroke(ring, 0.0032, (0.80, 0.82, 0.85), closed=True)
    for turn, tone in ((0.5, (0.78, 0.70, 0.42)), (1.25, (0.76, 0.78, 0.80))):
        c, s = float(np.cos(turn)), float(np.sin(turn))
        bow = (x + 0.155 + 0.028 * c, y + 0.06 + 0.028 * s)
        tip = (x + 0.155 + 0.075 * c, y + 0.06 + 0.075 * s)
        canvas.stroke(
            [(bow[0] + 0.003, bow[1] + 0.005), (tip[0] + 0.003, tip[1] + 0.005)],
            0.009,
            (0, 0, 0),
            alpha=0.5,
            soft_m=0.003,
        )
        canvas.stroke([bow, tip], 0.008, tone)
        canvas.fill(ellipse(*bow, 0.013), tone, round_m=0.004, depth=0.9, shine=0.5)
        canvas.fill(ellipse(*bow, 0.004), (0.1, 0.06, 0.05))


def _seat(canvas: Canvas, ring: list[Point], *, rear: bool) -> None:
    x0, y0, x1, y1 = bounds(ring)
    canvas.fill([(x + 0.02, y + 0.035) for x, y in ring], (0, 0, 0), alpha=0.6, soft_m=0.03)
    canvas.fill(
        ring, LEATHER, foot=times(LEATHER, 0.86), round_m=0.05, depth=1.0, shine=0.10, grain=0.035, grain_m=0.004
    )
    side = 0.028 if rear else 0.075
    squab = box(x0 + 0.05, y0 + side, x1 - 0.15, y1 - side, corner=0.04)
    canvas.shade(squab, -0.28, soft_m=0.012)
    canvas.fill(
        squab, times(LEATHER, 1.06), foot=times(LEATHER, 0.95), round_m=0.022, depth=0.7, grain=0.03, grain_m=0.004
    )
    pleats = 5 if rear else 6
    for i in range(1, pleats):
        y = y0 + side + (y1 - y0 - 2 * side) * i / pleats
        line = [(x0 + 0.07, y), (x1 - 0.17, y)]
        canvas.stroke(line, 0.010, times(LEATHER, 0.45), alpha=0.7, soft_m=0.004)
        canvas.stroke([(a, b + 0.008) for a, b in line], 0.008, times(LEATHER, 1.7), alpha=0.35, soft_m=0.004)
    canvas.stroke(squab, 0.006, PIPING, closed=True, alpha=0.9)
    back = box(x1 - 0.135, y0 + 0.012, x1 - 0.006, y1 - 0.012, corner=0.045)
    canvas.shade([(x - 0.03, y) for x, y in back], -0.45, soft_m=0.03)
    canvas.fill(
        back,
        times(LEATHER, 1.18),
        foot=times(LEATHER, 0.92),
        round_m=0.035,
        depth=0.9,
        shine=0.12,
        grain=0.03,
        grain_m=0.004,
    )
    canvas.stroke(back, 0.005, PIPING, closed=True, alpha=0.8)


def draw_headlining(canvas: Canvas, at: Box) -> None:
    """Draw the headlining with its lamp."""
    x0, y0, x1, y1 = at
    canvas.fill(
        box(x0 - 0.08, y0 - 0.06, x1 + 0.05, y1 + 0.06, corner=0.12),
        (0.74, 0.71, 0.64),
        foot=(0.62, 0.59, 0.53),
        round_m=0.06,
        depth=0.35,
        grain=0.010,
        grain_m=0.004,
    )
    for u in (0.22, 0.46, 0.70, 0.92):
        x = x0 + (x1 - x0) * u
        canvas.stroke([(x, y0), (x, y1)], 0.012, (0.45, 0.42, 0.37), alpha=0.6, soft_m=0.006)
        canvas.stroke([(x + 0.012, y0), (x + 0.012, y1)], 0.010, (0.88, 0.86, 0.80), alpha=0.5, soft_m=0.005)
    lamp = ellipse((x0 + x1) / 2 - 0.03, (y0 + y1) / 2, 0.045, 0.075)
    canvas.fill([(x + 0.006, y + 0.012) for x, y in lamp], (0, 0, 0), alpha=0.35, soft_m=0.012)
    canvas.fill(lamp, chrome(bounds(lamp)[1], bounds(lamp)[3]), round_m=0.010, depth=0.7)
    canvas.fill(
        ellipse((x0 + x1) / 2 - 0.03, (y0 + y1) / 2, 0.034, 0.062),
        (0.93, 0.90, 0.78),
        foot=(0.80, 0.76, 0.62),
        round_m=0.012,
        depth=0.5,
    )
