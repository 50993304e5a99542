"""Draws each defect where the script says it is."""

from __future__ import annotations

import cv2
import numpy as np

from demo.finish import BLUE, times
from demo.paint import Canvas, Colour, Point, colour, curve, ellipse
from demo.script import Flaw

RUST: Colour = colour("#7a3a16")
DARK_RUST: Colour = colour("#43200d")
BRIGHT_RUST: Colour = colour("#b5611f")

Ring = list[Point]


def draw_flaw(canvas: Canvas, flaw: Flaw, at: Point, within: Ring | None, *, wiped: bool) -> None:
    """Draw one defect round a point; `within` is the part's outline, which some of them fill or stay inside."""
    rng = np.random.default_rng(sum(map(ord, flaw.kind)) * 31 + 7)
    size = flaw.size_m
    match flaw.kind:
        case "pitting":
            _pitting(canvas, at, size, within, rng)
        case "chips":
            _chips(canvas, at, size, rng)
        case "blisters":
            _blisters(canvas, at, size, rng)
        case "dust":
            _dust(canvas, at, size, wiped=wiped)
        case "scab":
            _scab(canvas, at, size, rng)
        case "crack":
            _crack(canvas, at, size, within, rng)
        case "wet":
            _wet(canvas, at, size, rng)
        case "dent":
            _dent(canvas, at, size)
        case "shade":
            if within is not None:
                _shade(canvas, within)
        case "tear":
            _tear(canvas, at, size, rng)
        case _:
            raise ValueError(flaw.kind)


def _blob(
    at: Point, r: float, rng: np.random.Generator, *, rough: float = 0.3, points: int = 9, flat: float = 1.0
) -> Ring:
    angles = np.linspace(0, 2 * np.pi, points, endpoint=False)
    radii = r * (1 + rng.uniform(-rough, rough, points))
    return curve(
        [
            (float(at[0] + a * np.cos(t)), float(at[1] + flat * a * np.sin(t)))
            for a, t in zip(radii, angles, strict=True)
        ]
    )


def _pitting(canvas: Canvas, at: Point, size: float, within: Ring | None, rng: np.random.Generator) -> None:
    canvas.fill(ellipse(*at, size * 1.1, size * 0.5), (0.42, 0.38, 0.33), alpha=0.30, soft_m=size * 0.22, inside=within)
    for _ in range(230):
        x, y = at[0] + rng.normal(0, size * 0.48), at[1] + rng.normal(0, size * 0.16)
        r = float(rng.gamma(2.0, 0.00055)) + 0.0005
        tone = RUST if rng.random() < 0.45 else (0.12, 0.11, 0.10)
        spot = _blob((x, y), r, rng, points=7)
        canvas.fill([(a + r * 0.25, b + r * 0.5) for a, b in spot], (0.97, 0.97, 0.97), alpha=0.55, inside=within)
        canvas.fill(spot, tone, inside=within)
        if rng.random() < 0.25:
            canvas.fill(ellipse(x, y + r, r * 2.2, r * 1.6), BRIGHT_RUST, alpha=0.22, soft_m=r, inside=within)


def _chips(canvas: Canvas, at: Point, size: float, rng: np.random.Generator) -> None:
    spread = ((-0.46, 0.10), (-0.29, -0.12), (-0.12, 0.16), (0.02, -0.22), (0.17, 0.08), (0.34, -0.06), (0.47, 0.18))
    for i, (u, v) in enumerate(spread):
        where = (at[0] + u * size, at[1] + v * size * 0.35)
        r = 0.0042 + 0.0028 * float(rng.random())
        chip = _blob(where, r * 1.25, rng, rough=0.35, points=7)
        canvas.fill([(x + 0.0008, y + 0.0014) for x, y in chip], (0.55, 0.62, 0.75), alpha=0.5)
        canvas.fill(chip, (0.80, 0.79, 0.75), round_m=0.001, depth=-0.8)
        core = DARK_RUST if i % 3 == 0 else (0.36, 0.36, 0.36)
        canvas.fill(_blob(where, r * 0.55, rng, rough=0.3, points=7), core)


def _blisters(canvas: Canvas, at: Point, size: float, rng: np.random.Generator) -> None:
    canvas.fill(_blob(at, size * 0.62, rng, rough=0.15, flat=0.8), times(BLUE, 0.75), alpha=0.5, soft_m=size * 0.16)
    spots: list[tuple[float, float, float]] = []
    while len(spots) < 34:
        x, y = at[0] + rng.normal(0, size * 0.30), at[1] + rng.normal(0, size * 0.24)
        r = float(np.clip(rng.gamma(3.0, size * 0.016), size * 0.018, size * 0.12))
        if all(np.hypot(x - a, y - b) > (r + c) * 0.72 for a, b, c in spots):
            spots.append((float(x), float(y), r))
    for x, y, r in spots:
        bubble = _blob((x, y), r, rng, rough=0.12, points=9)
        canvas.fill([(a + r * 0.18, b + r * 0.34) for a, b in bubble], (0.005, 0.01, 0.02), alpha=0.75, soft_m=r * 0.16)
        canvas.fill(bubble, times(BLUE, 1.35), foot=times(BLUE, 0.7), round_m=r * 0.42, depth=0.95, shine=0.22)
        canvas.fill(
            ellipse(x - r * 0.25, y - r * 0.36, r * 0.24, r * 0.13, turn_deg=-25),
            (0.80, 0.86, 0.94),
            alpha=0.50,
            soft_m=r * 0.07,
        )
        if r > size * 0.055:
            canvas.fill(_blob((x + r * 0.1, y + r * 0.15), r * 0.34, rng, rough=0.4), RUST, round_m=r * 0.1, depth=-0.7)
            canvas.fill(
                _blob((x + r * 0.1, y + r * 0.9), r * 0.30, rng, rough=0.3), BRIGHT_RUST, alpha=0.35, soft_m=r * 0.2
            )
    for _ in range(5):
        x = at[0] + rng.normal(0, size * 0.25)
        run = [
            (x - 0.002, at[1] + size * 0.1),
            (x + 0.002, at[1] + size * 0.1),
            (x + 0.001, at[1] + size * 0.55),
            (x - 0.001, at[1] + size * 0.55),
        ]
        canvas.fill(run, BRIGHT_RUST, foot=RUST, alpha=0.40, soft_m=0.0016)


def _dust(canvas: Canvas, at: Point, size: float, *, wiped: bool) -> None:
    n = 60
    u = np.linspace(0, 1, n)
    x = at[0] + size * (u - 0.5)
    y = at[1] + 0.10 * size * np.sin(u * 2.6 + 0.3) - 0.02 * size * u
    width = 0.0030 * (np.sin(np.pi * u) ** 0.5) * (0.7 + 0.5 * np.sin(u * 37) ** 2) + 0.0004
    pale: Colour = (0.74, 0.73, 0.70)
    keep = [(0, n)] if not wiped else [(0, 17), (47, n)]
    for first, last in keep:
        upper = [
            (float(a), float(b - w)) for a, b, w in zip(x[first:last], y[first:last], width[first:last], strict=True)
        ]
        lower = [
            (float(a), float(b + w)) for a, b, w in zip(x[first:last], y[first:last], width[first:last], strict=True)
        ]
        ring = upper + lower[::-1]
        canvas.fill(ring, pale, alpha=0.22, soft_m=0.009)
        canvas.fill(ring, pale, alpha=0.78, soft_m=0.0010)
    if wiped:
        smear = [(float(a), float(b)) for a, b in zip(x[15:49], y[15:49] + 0.012, strict=True)]
        canvas.stroke(smear, 0.034, times(BLUE, 1.15), alpha=0.5, soft_m=0.004)
        canvas.stroke([(a, b + 0.020) for a, b in smear], 0.003, pale, alpha=0.28, soft_m=0.002)


def _scab(canvas: Canvas, at: Point, size: float, rng: np.random.Generator) -> None:
    canvas.fill(_blob((at[0], at[1]), size * 0.75, rng, rough=0.25), times(BLUE, 0.6), alpha=0.6, soft_m=size * 0.14)
    canvas.fill(
        _blob((at[0], at[1] + size * 0.55), size * 0.36, rng, rough=0.2, flat=1.6),
        BRIGHT_RUST,
        alpha=0.35,
        soft_m=size * 0.16,
    )
    crust = _blob(at, size * 0.55, rng, rough=0.34, points=13)
    canvas.fill(
        [(x + size * 0.05, y + size * 0.08) for x, y in crust], (0.01, 0.01, 0.01), alpha=0.7, soft_m=size * 0.04
    )
    canvas.fill(crust, RUST, foot=DARK_RUST, round_m=size * 0.10, depth=1.0, grain=0.22, grain_m=size * 0.06, seed=3)
    for _ in range(70):
        where = (at[0] + rng.normal(0, size * 0.22), at[1] + rng.normal(0, size * 0.22))
        tone = colour("#8e4a1b") if rng.random() < 0.55 else DARK_RUST
        canvas.fill(
            _blob(where, size * float(rng.uniform(0.015, 0.06)), rng, rough=0.5, points=7),
            tone,
            round_m=size * 0.012,
            depth=0.9,
            alpha=0.8,
        )
    for _ in range(12):
        a = rng.uniform(0, 2 * np.pi)
        d = size * rng.uniform(0.6, 0.95)
        where = (float(at[0] + d * np.cos(a)), float(at[1] + d * np.sin(a)))
        canvas.fill(_blob(where, size * 0.04, rng), times(BLUE, 1.5), round_m=size * 0.02, depth=1.2, shine=0.3)


def _crack(canvas: Canvas, at: Point, size: float, within: Ring | None, rng: np.random.Generator) -> None:
    def run(start: Point, angle: float, long: float, kinks: int) -> Ring:
        points = [start]
        for _ in range(kinks):
            angle += float(rng.normal(0, 0.30))
            last = points[-1]
            points.append(
                (last[0] + long / kinks * float(np.cos(angle)), last[1] + long / kinks * float(np.sin(angle)))
            )
        return points

    start = (at[0] - size * 0.5, at[1] + size * 0.34)
    lines = [run(start, -0.72, size * 1.25, 9)]
    lines += [
        run(lines[0][3], 0.25, size * 0.55, 5),
        run(lines[0][5], -1.7, size * 0.5, 4),
        run(lines[0][4], -0.1, size * 0.3, 3),
    ]
    for number, line in enumerate(lines):
        w = size * (0.030 if number == 0 else 0.018)
        for k in range(len(line) - 1):
            a, b = line[k], line[k + 1]
            ring = [(a[0], a[1] - w * 0.5), (b[0], b[1] - w * 0.4), (b[0], b[1] + w * 0.4), (a[0], a[1] + w * 0.5)]
            canvas.fill([(x + w * 0.7, y + w * 0.9) for x, y in ring], (0.10, 0.0, 0.01), alpha=0.85, inside=within)
            canvas.fill(ring, (1.0, 0.83, 0.80), alpha=0.92, inside=within)
    chip = _blob(start, size * 0.09, rng, rough=0.35)
    canvas.fill(chip, (0.25, 0.02, 0.03), round_m=size * 0.02, depth=-1.0, inside=within)


def _wet(canvas: Canvas, at: Point, size: float, rng: np.random.Generator) -> None:
    pool = _blob(at, size * 0.62, rng, rough=0.24, points=12, flat=0.82)
    canvas.shade([(x, y) for x, y in pool], -0.35, soft_m=size * 0.10)
    canvas.shade(pool, -0.52, soft_m=size * 0.018)
    inner = _blob((at[0] - size * 0.05, at[1] + size * 0.05), size * 0.36, rng, rough=0.2, points=10, flat=0.75)
    canvas.fill(inner, (0.05, 0.055, 0.065), alpha=0.5, soft_m=size * 0.02)
    for u, v, rx, ry in ((-0.14, -0.06, 0.17, 0.030), (0.06, 0.03, 0.11, 0.020), (-0.02, 0.14, 0.08, 0.014)):
        canvas.fill(
            ellipse(at[0] + u * size, at[1] + v * size, rx * size, ry * size, turn_deg=-12),
            (0.85, 0.90, 0.95),
            alpha=0.62,
            soft_m=size * 0.010,
        )
    for _ in range(7):
        a, d = rng.uniform(0, 2 * np.pi), size * rng.uniform(0.58, 0.80)
        x, y = float(at[0] + d * np.cos(a)), float(at[1] + d * 0.8 * np.sin(a))
        r = float(size * rng.uniform(0.010, 0.024))
        canvas.fill(ellipse(x, y, r), (0.07, 0.075, 0.085), alpha=0.8, round_m=r * 0.4, depth=-0.6)
        canvas.fill(ellipse(x - r * 0.3, y - r * 0.3, r * 0.3), (0.95, 0.97, 1.0), alpha=0.45, soft_m=r * 0.1)


def _dent(canvas: Canvas, at: Point, size: float) -> None:
    """Bend what the panel mirrors round the hollow, then shade it: dark where it faces the ground, bright below."""
    h, w = canvas.rgb.shape[:2]
    r = size * canvas.px_per_m * 0.62
    cx, cy = (at[0] - canvas.origin[0]) * canvas.px_per_m, (at[1] - canvas.origin[1]) * canvas.px_per_m
    x0, y0, x1, y1 = (
        int(np.clip(v, 0, m)) for v, m in ((cx - 2 * r, w), (cy - 2 * r, h), (cx + 2 * r, w), (cy + 2 * r, h))
    )
    if x1 - x0 < 8 or y1 - y0 < 8:
        return
    gx, gy = np.meshgrid(np.arange(x0, x1, dtype=np.float32), np.arange(y0, y1, dtype=np.float32))
    u, v = (gx - cx) / (r * 1.35), (gy - cy) / r
    d2 = u * u + v * v
    pull = np.exp(-d2 * 1.25)
    patch = canvas.rgb[y0:y1, x0:x1].copy()
    bent = cv2.remap(
        patch,
        gx - x0 + u * pull * r * 0.25,
        gy - y0 + (v * 0.75 - 0.55) * pull * r * 0.75,
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REFLECT,
    )
    slope = -2.0 * v * np.exp(-d2 * 1.7) - 0.9 * u * np.exp(-d2 * 1.7)
    lit = np.clip(1.0 - 0.85 * slope * -1.0, 0.25, 2.4)[..., None]
    glint = np.exp(-(((d2 - 0.62) / 0.22) ** 2)) * np.clip(v * 0.95 + u * 0.30 - 0.15, 0, 1) ** 1.5 * 0.40
    rim = np.exp(-(((d2 - 1.25) / 0.20) ** 2)) * np.clip(-v - 0.3, 0, 1) * 0.10
    out = bent * np.where(d2[..., None] < 6, lit, 1.0) + (glint + rim)[..., None] * np.asarray(
        (0.80, 0.88, 1.0), dtype=np.float32
    )
    canvas.rgb[y0:y1, x0:x1] = np.clip(out, 0, 1)


def _shade(canvas: Canvas, door: Ring) -> None:
    """Tint a door a shade off its neighbours, with a soft masking edge along its front shut line."""
    canvas.fill(door, (0.030, 0.105, 0.300), alpha=0.46)
    xs = [p[0] for p in door]
    ys = [p[1] for p in door]
    edge = max(xs) - 0.012
    strip = [
        (edge - 0.006, min(ys) + 0.03),
        (edge, min(ys) + 0.03),
        (edge, max(ys) - 0.03),
        (edge - 0.006, max(ys) - 0.03),
    ]
    canvas.fill(strip, (0.30, 0.42, 0.66), alpha=0.45, soft_m=0.004, inside=door)


def _tear(canvas: Canvas, at: Point, size: float, rng: np.random.Generator) -> None:
    edge = ((-0.55, 0.0), (-0.2, -0.11), (0.22, -0.08), (0.58, 0.02), (0.2, 0.10), (-0.2, 0.09))
    gash = curve([(at[0] + u * size, at[1] + v * size) for u, v in edge])
    canvas.fill([(x, y - size * 0.03) for x, y in gash], (0.55, 0.29, 0.19), soft_m=size * 0.02)
    canvas.fill(gash, (0.10, 0.06, 0.04), round_m=size * 0.03, depth=-0.8)
    foam = [(at[0] + (x - at[0]) * 0.78, at[1] + (y - at[1]) * 0.62 + size * 0.008) for x, y in gash]
    canvas.fill(
        foam, colour("#d9b25a"), foot=colour("#a97c33"), round_m=size * 0.04, depth=0.6, grain=0.10, grain_m=0.004
    )
    for _ in range(16):
        x = at[0] + float(rng.uniform(-0.5, 0.5)) * size
        y = at[1] + float(rng.choice([-0.09, 0.09])) * size
        canvas.stroke(
            [(x, y), (x + float(rng.normal(0, 0.006)), y + float(rng.normal(0, 0.008)))],
            0.0012,
            (0.80, 0.62, 0.45),
            alpha=0.9,
        )
    for u in (-0.30, 0.34):
        x = at[0] + u * size
        tape = [
            (x - size * 0.10, at[1] - size * 0.30),
            (x + size * 0.09, at[1] - size * 0.27),
            (x + size * 0.12, at[1] + size * 0.28),
            (x - size * 0.08, at[1] + size * 0.31),
        ]
        canvas.fill([(a + 0.003, b + 0.004) for a, b in tape], (0, 0, 0), alpha=0.55, soft_m=0.003)
        canvas.fill(
            tape,
            (0.13, 0.13, 0.135),
            foot=(0.08, 0.08, 0.085),
            round_m=0.004,
            depth=0.9,
            shine=0.25,
            grain=0.05,
            grain_m=0.003,
        )
        canvas.stroke(
            [(x - size * 0.05, at[1] - size * 0.2), (x - size * 0.03, at[1] + size * 0.2)],
            0.004,
            (0.42, 0.42, 0.44),
            alpha=0.6,
            soft_m=0.003,
        )
