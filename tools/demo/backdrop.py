"""The yard behind the car: sky, trees, a long workshop; soft, so that it lies further off than the car."""

from __future__ import annotations

import numpy as np

from demo.paint import Canvas, box, colour, ellipse


def paint_backdrop(canvas: Canvas, wide_m: float, ground_y: float) -> Canvas:
    """Paint the backdrop; the ground of the yard meets the wall 1.3 m above the car's ground line."""
    foot = ground_y - 0.92
    canvas.fill(box(-1, -1, wide_m + 1, foot + 0.2), colour("#b9cbd9"), foot=colour("#e9e6dc"))
    rng = np.random.default_rng(404)
    for _ in range(16):
        x, y = rng.uniform(0, wide_m), rng.uniform(0.0, foot - 1.6)
        for _ in range(5):
            canvas.fill(
                ellipse(
                    x + rng.normal(0, 0.5), y + rng.normal(0, 0.07), rng.uniform(0.3, 0.8), rng.uniform(0.05, 0.14)
                ),
                (1.0, 0.99, 0.96),
                alpha=0.22,
                soft_m=0.09,
            )
    for _ in range(90):
        x = rng.uniform(0, wide_m)
        r = rng.uniform(0.16, 0.38)
        tone = rng.uniform(0.75, 1.1)
        canvas.fill(
            ellipse(x, foot - 0.62 + rng.normal(0, 0.06), r, r * 0.9),
            (0.42 * tone, 0.49 * tone, 0.40 * tone),
            alpha=0.85,
            soft_m=0.05,
        )
    canvas.fill(box(-1, foot - 0.6, wide_m + 1, foot + 0.05), colour("#8b9384"), foot=colour("#9d9a8c"), soft_m=0.03)
    at = 0.3
    number = 0
    while at < wide_m:
        long = float(rng.uniform(2.6, 3.6))
        _workshop(canvas, at, foot, long, number)
        at += long + float(rng.uniform(0.5, 1.0))
        number += 1
    canvas.fill(box(-1, foot, wide_m + 1, ground_y + 0.3), colour("#b7ab98"), foot=colour("#a39a8c"))
    canvas.fill(box(-1, foot - 0.03, wide_m + 1, foot + 0.05), (0.30, 0.28, 0.24), alpha=0.45, soft_m=0.04)
    return canvas


def _workshop(canvas: Canvas, x: float, foot: float, long: float, number: int) -> None:
    tall = 0.92 + 0.14 * (number % 3)
    brick = (colour("#a9735a"), colour("#9c6a52"), colour("#b08468"))[number % 3]
    canvas.fill(
        box(x, foot - tall, x + long, foot),
        brick,
        foot=(brick[0] * 0.88, brick[1] * 0.86, brick[2] * 0.85),
        grain=0.02,
        grain_m=0.05,
    )
    for row in range(1, 12):
        y = foot - tall + tall * row / 12
        canvas.stroke([(x, y), (x + long, y)], 0.007, (0.80, 0.74, 0.66), alpha=0.22)
    roof = [
        (x - 0.08, foot - tall + 0.02),
        (x + 0.18, foot - tall - 0.34),
        (x + long - 0.18, foot - tall - 0.34),
        (x + long + 0.08, foot - tall + 0.02),
    ]
    canvas.fill(roof, colour("#6d7178"), foot=colour("#565a61"), soft_m=0.01)
    door = x + long * (0.16 if number % 2 else 0.52)
    canvas.fill(box(door, foot - 0.70, door + 0.92, foot), colour("#3f5a55"), foot=colour("#324845"))
    for k in range(1, 6):
        canvas.stroke(
            [(door + 0.92 * k / 6, foot - 0.70), (door + 0.92 * k / 6, foot)], 0.010, (0.15, 0.22, 0.21), alpha=0.6
        )
    pane = x + long * (0.66 if number % 2 else 0.14)
    canvas.fill(box(pane, foot - 0.62, pane + 0.55, foot - 0.30), colour("#dfe3dc"))
    canvas.fill(box(pane + 0.03, foot - 0.59, pane + 0.52, foot - 0.33), colour("#56656d"), foot=colour("#8b989c"))
    for k in (1, 2):
        canvas.stroke([(pane + 0.55 * k / 3, foot - 0.6), (pane + 0.55 * k / 3, foot - 0.32)], 0.018, colour("#dfe3dc"))
    canvas.stroke([(pane, foot - 0.46), (pane + 0.55, foot - 0.46)], 0.016, colour("#dfe3dc"))
