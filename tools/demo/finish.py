"""How the surfaces of the car take the light: paint, bright metal, glass, rubber, cloth."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from demo.paint import Canvas, Colour, Field, Pixels, Point, box, ellipse

BLUE: Colour = (0.070, 0.120, 0.270)
SKY: Colour = (0.70, 0.78, 0.87)
GROUND_LIGHT: Colour = (0.36, 0.33, 0.29)
CHROME_BANDS = (
    (0.0, (0.93, 0.95, 0.97)),
    (0.22, (0.80, 0.84, 0.89)),
    (0.44, (0.60, 0.65, 0.72)),
    (0.52, (0.20, 0.22, 0.25)),
    (0.62, (0.40, 0.38, 0.36)),
    (0.80, (0.70, 0.67, 0.62)),
    (1.0, (0.30, 0.29, 0.28)),
)


def bands(stops: Sequence[tuple[float, Colour]], u: Pixels) -> Pixels:
    """Look up a colour along stops; u of any shape gives that shape with a last axis of 3."""
    at = [s for s, _ in stops]
    return np.stack([np.interp(u, at, [c[i] for _, c in stops]) for i in range(3)], axis=-1).astype(np.float32)


def mix(a: Colour, b: Colour, k: float) -> Colour:
    """Go from one colour to another, k in [0, 1]."""
    return (a[0] + (b[0] - a[0]) * k, a[1] + (b[1] - a[1]) * k, a[2] + (b[2] - a[2]) * k)


def times(a: Colour, k: float) -> Colour:
    """Darken or lighten a colour."""
    return (min(1.0, a[0] * k), min(1.0, a[1] * k), min(1.0, a[2] * k))


def paint_upright(ground_y: float, *, base: Colour = BLUE, wide: tuple[float, float] | None = None) -> Field:
    """Paint on an upright side: ground mirrored low, a dark line of the yard at the waist, sky on the shoulder.

    `wide` is left and right of a face whose edges turn away from the eye (front and rear).
    """
    stops = (
        (0.14, times(base, 0.30)),
        (0.24, mix(times(base, 0.7), GROUND_LIGHT, 0.25)),
        (0.33, mix(base, GROUND_LIGHT, 0.40)),
        (0.44, mix(base, GROUND_LIGHT, 0.17)),
        (0.515, times(base, 0.92)),
        (0.530, times(base, 0.66)),
        (0.548, times(base, 1.55)),
        (0.60, times(base, 1.28)),
        (0.68, times(base, 1.02)),
        (0.735, times(base, 0.62)),
        (0.775, times(base, 0.50)),
        (0.800, mix(base, SKY, 0.26)),
        (0.835, mix(base, SKY, 0.50)),
        (0.875, mix(base, SKY, 0.36)),
        (0.91, mix(base, SKY, 0.62)),
        (1.00, mix(base, SKY, 0.40)),
        (1.25, mix(base, SKY, 0.12)),
        (1.34, mix(base, SKY, 0.30)),
        (1.42, mix(base, SKY, 0.72)),
    )

    def field(x: Pixels, y: Pixels) -> Pixels:
        sway = 0.010 * np.sin(x * 2.3 + 0.7) + 0.006 * np.sin(x * 5.1)
        height = ground_y - y + sway.astype(np.float32)
        tone = bands(stops, height)
        if wide is not None:
            u = np.abs((x - wide[0]) / (wide[1] - wide[0]) * 2 - 1)
            tone = tone * (1 - 0.45 * np.clip((u - 0.62) / 0.38, 0, 1) ** 1.6)[..., None].astype(np.float32)
        return tone

    return field


def paint_flat(box_m: tuple[float, float, float, float], *, base: Colour = BLUE, lean: float = 0.0) -> Field:
    """Paint on a panel seen from above: one wide soft light across it, falling off to the edges."""
    x0, y0, x1, y1 = box_m

    def field(x: Pixels, y: Pixels) -> Pixels:
        u, v = (x - x0) / (x1 - x0), (y - y0) / (y1 - y0)
        across = np.exp(-(((u - 0.36 - 0.10 * v - lean) / 0.20) ** 2)) * 0.62
        edge = np.exp(-(((u - 0.80 + 0.06 * v) / 0.09) ** 2)) * 0.30
        k = (0.10 + across + edge) * (0.72 + 0.35 * v)
        tone = np.asarray(base, dtype=np.float32) * (1.12 - 0.2 * v)[..., None]
        out = tone + (np.asarray(SKY, dtype=np.float32) - tone) * np.clip(k, 0, 0.8)[..., None] * 0.78
        return np.asarray(out, dtype=np.float32)

    return field


def chrome(y0: float, y1: float) -> Field:
    """Bright metal on an upright thing: sky above, the yard as a dark line, ground below."""

    def field(x: Pixels, y: Pixels) -> Pixels:
        wander = 0.04 * np.sin(x * 3.1) + 0.02 * np.sin(x * 11.0)
        return bands(CHROME_BANDS, np.clip((y - y0) / max(y1 - y0, 1e-6) + wander, 0, 1).astype(np.float32))

    return field


def glass(box_m: tuple[float, float, float, float]) -> Field:
    """Window glass: dark inside, sky along the top, a slanting light."""
    x0, y0, x1, y1 = box_m

    def field(x: Pixels, y: Pixels) -> Pixels:
        v = np.clip((y - y0) / (y1 - y0), 0, 1)
        base = bands(
            (
                (0.0, (0.62, 0.71, 0.78)),
                (0.28, (0.40, 0.48, 0.54)),
                (0.55, (0.17, 0.20, 0.22)),
                (1.0, (0.10, 0.11, 0.12)),
            ),
            np.broadcast_to(v, np.broadcast_shapes(x.shape, y.shape)).astype(np.float32),
        )
        s = (x - x0) - (y1 - y) * 0.55 - (x1 - x0) * 0.16
        streak = np.exp(-((s / 0.055) ** 2)) * 0.35 + np.exp(-(((s - 0.13) / 0.022) ** 2)) * 0.22
        return (base + (np.asarray((0.86, 0.91, 0.94), dtype=np.float32) - base) * streak[..., None]).astype(np.float32)

    return field


def wheel(canvas: Canvas, hub: Point, tyre_m: float, *, cap: Colour = (0.80, 0.83, 0.87)) -> None:
    """Draw a wheel seen square on: tyre, rim, slots, bright cap."""
    x, y = hub
    canvas.fill(ellipse(x, y, tyre_m), (0.105, 0.105, 0.110), round_m=0.035, depth=0.8, shine=0.10, gloss=0.0)
    for share, tone in ((0.93, 0.055), (0.80, 0.16), (0.74, 0.07)):
        canvas.stroke(ellipse(x, y, tyre_m * share), 0.004, (tone, tone, tone), closed=True, alpha=0.8)
    rim = tyre_m * 0.66
    canvas.fill(ellipse(x, y, rim), (0.55, 0.57, 0.60), foot=(0.34, 0.35, 0.37), round_m=0.010, depth=0.9, shine=0.3)
    canvas.fill(ellipse(x, y, rim * 0.93), (0.40, 0.42, 0.45), foot=(0.66, 0.67, 0.68), round_m=0.012, depth=-0.5)
    for i in range(10):
        a = 2 * np.pi * i / 10
        at = (x + rim * 0.72 * np.cos(a), y + rim * 0.72 * np.sin(a))
        slot = ellipse(float(at[0]), float(at[1]), rim * 0.13, rim * 0.07, turn_deg=float(np.degrees(a)) + 90)
        canvas.fill(slot, (0.05, 0.05, 0.055), round_m=0.006, depth=-1.0)
    dome = rim * 0.55

    def bright(px: Pixels, py: Pixels) -> Pixels:
        r = np.hypot(px - x, py - y) / dome
        height = (py - y) / dome + 0.15 * np.sin((px - x) / dome * 2.6)
        tone = bands(CHROME_BANDS, np.clip(0.5 + 0.62 * height * (0.6 + 0.5 * r), 0, 1).astype(np.float32))
        return np.asarray(tone * (1.0 - 0.25 * np.clip(r - 0.72, 0, 1)[..., None] * 3), dtype=np.float32)

    canvas.fill(ellipse(x, y, dome), bright, gloss=0.35)
    canvas.stroke(ellipse(x, y, dome), 0.004, (0.1, 0.1, 0.1), closed=True, alpha=0.6)
    canvas.stroke(ellipse(x, y, dome * 0.62), 0.003, (0.25, 0.25, 0.27), closed=True, alpha=0.6)
    canvas.fill(ellipse(x, y, dome * 0.24), cap, round_m=0.012, depth=0.9, shine=0.5)
    canvas.fill(box(x - 0.003, y - tyre_m * 0.60, x + 0.003, y - tyre_m * 0.55), (0.04, 0.04, 0.04))


def headlamp(canvas: Canvas, hub: Point, radius_m: float) -> None:
    """Draw a headlamp: bright rim, fluted glass over its bowl."""
    x, y = hub
    canvas.fill(
        ellipse(x, y, radius_m), chrome(y - radius_m, y + radius_m), round_m=0.012, depth=0.6, shine=0.4, gloss=0.5
    )
    lens = radius_m * 0.80
    canvas.fill(ellipse(x, y, lens), (0.55, 0.60, 0.62), foot=(0.86, 0.89, 0.88), round_m=0.03, depth=-0.35, gloss=0.4)
    canvas.fill(ellipse(x, y + lens * 0.1, lens * 0.34), (0.92, 0.94, 0.92), alpha=0.85, soft_m=0.012)
    canvas.fill(ellipse(x, y + lens * 0.1, lens * 0.15), (0.60, 0.58, 0.50), alpha=0.9, soft_m=0.004)
    for i in range(-8, 9):
        u = i / 9
        reach = lens * np.sqrt(1 - u * u) * 0.97
        line = [(x + lens * u, y - reach), (x + lens * u, y + reach)]
        canvas.stroke(line, 0.0022, (0.35, 0.39, 0.42), alpha=0.34)
    for v in (-0.35, 0.35):
        reach = lens * np.sqrt(1 - v * v) * 0.97
        canvas.stroke([(x - reach, y + lens * v), (x + reach, y + lens * v)], 0.0022, (0.35, 0.39, 0.42), alpha=0.3)
    canvas.stroke(ellipse(x, y, lens), 0.004, (0.16, 0.17, 0.18), closed=True, alpha=0.8)
    canvas.fill(
        ellipse(x - lens * 0.34, y - lens * 0.46, lens * 0.30, lens * 0.16, turn_deg=-38),
        (1, 1, 1),
        alpha=0.55,
        soft_m=0.008,
    )
