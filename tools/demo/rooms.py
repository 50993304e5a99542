"""What is seen with a lid open: the engine bay and the boot; and what frames every inset."""

from __future__ import annotations

import numpy as np

from demo.finish import BLUE, times
from demo.inside import draw_cabin, draw_dash, draw_headlining
from demo.lettering import letters
from demo.outline import Box, bounds, largest, metres
from demo.paint import Canvas, box, colour, curve, ellipse
from demo.script import Script
from shutline.car.plan import Plan, Shape, View


def draw_room(canvas: Canvas, plan: Plan, view: View, at: Box, script: Script) -> None:
    """Draw one inset as a room."""
    shapes = [s for s in plan.shapes if s.view == view.key]
    match view.key:
        case "engine_bay":
            _engine_bay(canvas, shapes, plan, at)
        case "boot_space":
            _boot(canvas, shapes, at)
        case "dash":
            draw_dash(canvas, shapes, script)
        case "cabin":
            draw_cabin(canvas, shapes, at)
        case "headlining":
            draw_headlining(canvas, at)


def draw_surround(canvas: Canvas, key: str, at: Box) -> None:
    """Draw what frames an inset: the painted edge of the opening, or the dark of the car."""
    x0, y0, x1, y1 = at
    if key in ("engine_bay", "boot_space"):
        canvas.fill(
            box(x0 - 0.6, y0 - 0.40, x1 + 0.42, y1 + 0.32, corner=0.2),
            times(BLUE, 0.95),
            foot=times(BLUE, 0.55),
            soft_m=0.05,
            gloss=0.3,
        )
    elif key == "cabin":
        canvas.fill(
            box(x0 - 0.115, y0 - 0.32, x1 + 0.115, y1 + 0.34, corner=0.03),
            times(BLUE, 0.8),
            foot=times(BLUE, 0.45),
            soft_m=0.004,
            gloss=0.3,
        )
    elif key == "headlining":
        canvas.fill(box(x0 - 0.115, y0 - 0.3, x1 + 0.5, y1 + 0.4, corner=0.03), (0.06, 0.055, 0.05), soft_m=0.004)
    elif key == "dash":
        canvas.fill(
            box(x0 - 0.24, y0 - 0.34, x1 + 0.115, y0 + 0.16), (0.72, 0.78, 0.80), foot=(0.62, 0.60, 0.54), soft_m=0.004
        )
        canvas.fill(
            box(x0 - 0.24, y0 - 0.12, x1 + 0.115, y0 + 0.10), times(BLUE, 1.9), foot=times(BLUE, 0.9), soft_m=0.006
        )
        canvas.fill(
            box(x0 - 0.24, y0 + 0.07, x1 + 0.115, y1 + 0.32, corner=0.03),
            (0.055, 0.045, 0.04),
            foot=(0.03, 0.025, 0.022),
            soft_m=0.006,
            grain=0.08,
            grain_m=0.008,
        )


def _engine_bay(canvas: Canvas, shapes: list[Shape], plan: Plan, at: Box) -> None:  # noqa: PLR0912  one branch for each thing in it
    x0, y0, x1, y1 = at
    canvas.fill(box(x0 - 0.035, y0 - 0.03, x1 + 0.035, y1 + 0.035, corner=0.10), (0.018, 0.02, 0.028), soft_m=0.012)
    for shape in shapes:
        ring, holes = metres(shape.outline), [metres(h) for h in shape.holes]
        match shape.part:
            case "engine_bay":
                canvas.fill(
                    ring, (0.035, 0.04, 0.055), foot=(0.02, 0.022, 0.028), holes=holes, grain=0.10, grain_m=0.03
                )
            case "inner_wing":
                canvas.fill(
                    ring,
                    times(BLUE, 0.92),
                    foot=times(BLUE, 0.5),
                    round_m=0.045,
                    depth=0.9,
                    shine=0.15,
                    grain=0.04,
                    grain_m=0.03,
                )
                canvas.stroke(ring, 0.006, (0.01, 0.01, 0.02), alpha=0.8, closed=True)
            case "bulkhead":
                canvas.fill(ring, times(BLUE, 1.0), foot=times(BLUE, 0.6), round_m=0.025, depth=0.8, shine=0.12)
                canvas.stroke(ring, 0.005, (0.01, 0.01, 0.02), alpha=0.8, closed=True)
    for shape in shapes:
        ring = metres(shape.outline)
        b = bounds(ring)
        if shape.part in ("engine_bay", "inner_wing", "bulkhead"):
            continue
        canvas.fill([(x + 0.014, y + 0.022) for x, y in ring], (0.0, 0.0, 0.0), alpha=0.62, soft_m=0.018)
        match shape.part:
            case "engine":
                canvas.fill(
                    ring,
                    colour("#43614f"),
                    foot=colour("#2b4135"),
                    round_m=0.03,
                    depth=0.9,
                    shine=0.12,
                    grain=0.05,
                    grain_m=0.012,
                )
            case "cooling":
                canvas.fill(ring, (0.06, 0.06, 0.065), round_m=0.012, depth=0.8)
                for i in range(1, 46):
                    x = b[0] + (b[2] - b[0]) * i / 46
                    canvas.stroke([(x, b[1] + 0.022), (x, b[3] - 0.018)], 0.005, (0.20, 0.20, 0.20))
                canvas.fill(
                    box(b[0], b[1] - 0.01, b[2], b[1] + 0.024, corner=0.01),
                    (0.13, 0.13, 0.135),
                    round_m=0.01,
                    depth=0.9,
                    shine=0.3,
                )
                canvas.fill(
                    ellipse((b[0] + b[2]) / 2 + 0.12, b[1] + 0.004, 0.034),
                    colour("#b79c57"),
                    round_m=0.010,
                    depth=0.9,
                    shine=0.5,
                )
            case "air_cleaner":
                canvas.fill(ring, (0.16, 0.17, 0.18), foot=(0.09, 0.09, 0.10), round_m=0.03, depth=1.0, shine=0.4)
                canvas.fill(
                    ellipse((b[0] + b[2]) / 2, b[1] + 0.14, 0.020),
                    (0.75, 0.77, 0.80),
                    round_m=0.006,
                    depth=0.9,
                    shine=0.5,
                )
                canvas.fill(
                    ellipse((b[0] + b[2]) / 2, b[3] - 0.14, 0.020),
                    (0.75, 0.77, 0.80),
                    round_m=0.006,
                    depth=0.9,
                    shine=0.5,
                )
            case "carburettor":
                canvas.fill(ring, (0.62, 0.63, 0.62), foot=(0.36, 0.37, 0.37), round_m=0.018, depth=1.0, shine=0.3)
                canvas.fill(
                    ellipse((b[0] + b[2]) / 2, (b[1] + b[3]) / 2, 0.030),
                    (0.55, 0.48, 0.30),
                    round_m=0.010,
                    depth=0.9,
                    shine=0.4,
                )
            case "battery":
                _battery(canvas, b)
            case _:
                canvas.fill(ring, (0.30, 0.30, 0.31), foot=(0.15, 0.15, 0.16), round_m=0.02, depth=1.0, shine=0.3)
    _engine_top(canvas, bounds(largest(shapes, "engine")))
    for spot in plan.spots:
        if spot.view == "engine_bay" and spot.part == "chassis_plate":
            px, py = spot.anchor[0] / 100, spot.anchor[1] / 100
            canvas.fill(
                box(px - 0.10, py - 0.036, px + 0.10, py + 0.036, corner=0.006),
                (0.72, 0.73, 0.72),
                foot=(0.52, 0.53, 0.52),
                round_m=0.004,
                depth=0.6,
            )
            letters(canvas, "AVERLEY  1300", (px, py - 0.014), 0.017, (0.12, 0.12, 0.12))
            letters(canvas, "AC4 000 0000", (px, py + 0.014), 0.017, (0.16, 0.16, 0.16))
    bx = bounds(largest(shapes, "battery"))
    canvas.tube(
        curve(
            [
                (bx[0] + 0.05, bx[1] + 0.05),
                (bx[0] - 0.08, bx[1] + 0.10),
                (bx[0] - 0.20, bx[1] + 0.04),
                (x0 + 0.42, y0 + 0.22),
            ],
            closed=False,
        ),
        0.016,
        (0.55, 0.06, 0.05),
        shine=0.3,
    )
    canvas.tube(
        curve(
            [(x1 - 0.26, y1 - 0.14), (x1 - 0.22, y0 + 0.62), (x1 - 0.28, y0 + 0.28), (x0 + 0.36, y0 + 0.19)],
            closed=False,
        ),
        0.014,
        (0.07, 0.07, 0.07),
        shine=0.3,
    )
    canvas.tube(
        curve([(x0 + 0.62, y1 - 0.16), (x0 + 0.60, y1 - 0.24), (x0 + 0.66, y1 - 0.30)], closed=False),
        0.05,
        (0.06, 0.06, 0.065),
        shine=0.25,
    )


def _battery(canvas: Canvas, b: Box) -> None:
    tray = box(b[0] - 0.035, b[1] - 0.03, b[2] + 0.035, b[3] + 0.045, corner=0.012)
    canvas.fill(tray, times(BLUE, 1.35), foot=times(BLUE, 0.9), round_m=0.012, depth=-0.7, shine=0.1)
    canvas.stroke(tray, 0.007, times(BLUE, 1.9), closed=True, alpha=0.8)
    canvas.fill(box(b[0] + 0.012, b[1] + 0.03, b[2] + 0.014, b[3] + 0.03), (0, 0, 0), alpha=0.6, soft_m=0.012)
    canvas.fill(
        box(*b, corner=0.01), (0.10, 0.10, 0.105), foot=(0.05, 0.05, 0.055), round_m=0.010, depth=0.9, shine=0.25
    )
    for i in range(6):
        x = b[0] + (b[2] - b[0]) * (i + 0.5) / 6
        canvas.fill(
            ellipse(x, (b[1] + b[3]) / 2 + 0.005, 0.0115), (0.62, 0.14, 0.10), round_m=0.004, depth=0.9, shine=0.4
        )
    for x, tone in ((b[0] + 0.03, (0.66, 0.66, 0.64)), (b[2] - 0.03, (0.60, 0.60, 0.58))):
        canvas.fill(ellipse(x, b[1] + 0.032, 0.017), tone, round_m=0.006, depth=1.0, shine=0.4)


def _engine_top(canvas: Canvas, b: Box) -> None:
    x0, y0, x1, y1 = b
    cover = box(x0 + 0.055, y0 + 0.05, x1 - 0.10, y1 - 0.05, corner=0.05)
    canvas.fill([(x + 0.01, y + 0.016) for x, y in cover], (0, 0, 0), alpha=0.5, soft_m=0.014)
    canvas.fill(cover, (0.60, 0.61, 0.61), foot=(0.42, 0.43, 0.43), round_m=0.028, depth=1.0, shine=0.35, gloss=0.3)
    cx = (x0 + 0.055 + x1 - 0.10) / 2
    for y in (y0 + 0.16, y1 - 0.16):
        canvas.fill(ellipse(cx, y, 0.016), (0.78, 0.79, 0.8), round_m=0.005, depth=1.0, shine=0.5)
    canvas.fill(ellipse(cx, (y0 + y1) / 2 + 0.12, 0.034), (0.06, 0.06, 0.065), round_m=0.010, depth=1.0, shine=0.3)
    letters(canvas, "CURLEW", (cx, (y0 + y1) / 2 - 0.06), 0.020, (0.30, 0.31, 0.31), alpha=0.8)
    for i in range(4):
        y = y0 + 0.12 + (y1 - y0 - 0.24) * i / 3
        canvas.tube(
            curve([(x0 + 0.02, y), (x0 - 0.03, y + 0.015), (x0 - 0.075, (y0 + y1) / 2 + 0.02 * i)], closed=False),
            0.010,
            (0.09, 0.09, 0.09),
            shine=0.3,
        )


def _boot(canvas: Canvas, shapes: list[Shape], at: Box) -> None:
    x0, y0, x1, y1 = at
    canvas.fill(
        box(x0 - 0.045, y0 - 0.04, x1 + 0.045, y1 + 0.04, corner=0.12),
        (0.03, 0.03, 0.032),
        round_m=0.012,
        depth=0.8,
        shine=0.12,
    )
    floor = metres(next(s for s in shapes if s.part == "boot").outline)
    canvas.fill(floor, (0.235, 0.225, 0.215), foot=(0.37, 0.355, 0.335), grain=0.07, grain_m=0.006, seed=9)
    shelf = largest(shapes, "parcel_shelf")
    canvas.fill(box(x0, y0 + 0.10, x1, y0 + 0.30), (0.02, 0.02, 0.02), alpha=0.75, soft_m=0.06, inside=floor)
    canvas.fill(shelf, (0.14, 0.135, 0.13), foot=(0.07, 0.07, 0.07), round_m=0.01, depth=0.6)
    b = bounds(largest(shapes, "spare_wheel"))
    hub, r = ((b[0] + b[2]) / 2, (b[1] + b[3]) / 2), (b[2] - b[0]) / 2
    bare = [(x0 + 0.05, y1 - 0.02), (x0 + 0.04, y1 - 0.38), (x0 + 0.42, y1 - 0.42), (x0 + 0.52, y1 - 0.02)]
    canvas.fill(
        curve(bare),
        times(BLUE, 1.05),
        foot=times(BLUE, 1.35),
        grain=0.03,
        grain_m=0.02,
        round_m=0.008,
        depth=-0.6,
        inside=floor,
    )
    for i in range(3):
        y = y1 - 0.34 + i * 0.10
        canvas.stroke([(x0 + 0.09, y), (x0 + 0.42, y)], 0.016, times(BLUE, 0.7), alpha=0.7, soft_m=0.004)
        canvas.stroke([(x0 + 0.09, y - 0.01), (x0 + 0.42, y - 0.01)], 0.006, times(BLUE, 2.2), alpha=0.5, soft_m=0.002)
    canvas.fill(ellipse(hub[0] + 0.03, hub[1] + 0.05, r), (0, 0, 0), alpha=0.6, soft_m=0.04)
    canvas.fill(ellipse(*hub, r), (0.085, 0.085, 0.09), round_m=0.05, depth=1.0, shine=0.10)
    for k in range(60):
        a = 2 * np.pi * k / 60
        c, s = float(np.cos(a)), float(np.sin(a))
        canvas.stroke(
            [(hub[0] + c * r * 0.90, hub[1] + s * r * 0.90), (hub[0] + c * r * 0.985, hub[1] + s * r * 0.985)],
            0.006,
            (0.025, 0.025, 0.025),
        )
    canvas.fill(
        ellipse(*hub, r * 0.66), (0.60, 0.62, 0.64), foot=(0.40, 0.41, 0.43), round_m=0.02, depth=0.9, shine=0.25
    )
    canvas.fill(ellipse(*hub, r * 0.56), (0.36, 0.37, 0.39), foot=(0.55, 0.56, 0.58), round_m=0.03, depth=-0.7)
    for k in range(4):
        a = 2 * np.pi * k / 4 + 0.4
        canvas.fill(
            ellipse(hub[0] + r * 0.26 * float(np.cos(a)), hub[1] + r * 0.26 * float(np.sin(a)), 0.011),
            (0.03, 0.03, 0.03),
            round_m=0.004,
            depth=-1,
        )
    canvas.fill(ellipse(*hub, r * 0.13), (0.04, 0.04, 0.04), round_m=0.01, depth=-0.8)
    _jack(canvas, bounds(largest(shapes, "tool_kit")))


def _jack(canvas: Canvas, b: Box) -> None:
    x0, y0, x1, y1 = b
    canvas.fill(box(x0 + 0.012, y0 + 0.02, x1 + 0.015, y1 + 0.022, corner=0.03), (0, 0, 0), alpha=0.5, soft_m=0.014)
    canvas.fill(
        box(x0, y0, x1, y1, corner=0.025),
        colour("#5b5a35"),
        foot=colour("#3d3c24"),
        round_m=0.02,
        depth=0.8,
        grain=0.06,
        grain_m=0.005,
    )
    for u in (0.3, 0.7):
        x = x0 + (x1 - x0) * u
        canvas.fill(box(x - 0.010, y0 - 0.004, x + 0.010, y1 + 0.004), colour("#8d7440"), round_m=0.004, depth=0.8)
    my = (y0 + y1) / 2
    canvas.tube([(x0 - 0.03, my - 0.035), (x1 + 0.10, my + 0.03)], 0.030, (0.62, 0.16, 0.10), shine=0.4)
    canvas.tube([(x1 + 0.10, my + 0.03), (x1 + 0.13, my - 0.05)], 0.022, (0.50, 0.13, 0.09), shine=0.3)
    canvas.fill(ellipse(x0 - 0.03, my - 0.035, 0.026), (0.45, 0.46, 0.47), round_m=0.008, depth=1.0, shine=0.4)
