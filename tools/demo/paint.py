"""A canvas in metres on which shapes are laid with light, roundness, soft edges and grain."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

Pixels = NDArray[np.float32]
Colour = tuple[float, float, float]
Point = tuple[float, float]
Field = Callable[[Pixels, Pixels], Pixels]
"""A colour for each place: x and y in metres, shapes (1, w) and (h, 1), to (h, w, 3)."""

LIGHT = (-0.42, -0.91)
"""Where the light comes from on the flat of the picture: from above, a little from the left."""


def colour(code: str) -> Colour:
    """Turn ``#rrggbb`` into red, green, blue in [0, 1]."""
    return (int(code[1:3], 16) / 255, int(code[3:5], 16) / 255, int(code[5:7], 16) / 255)


def curve(points: Sequence[Point], *, closed: bool = True, steps: int = 14) -> list[Point]:
    """Lay a smooth line through points (centripetal enough for drawing: Catmull and Rom)."""
    p = np.asarray(points, dtype=np.float64)
    n = len(p)
    out: list[Point] = []
    for i in range(n if closed else n - 1):
        at = [(i + k) % n if closed else min(max(i + k, 0), n - 1) for k in (-1, 0, 1, 2)]
        a, b, c, d = (p[j] for j in at)
        for s in range(steps):
            u = s / steps
            q = 0.5 * ((2 * b) + (c - a) * u + (2 * a - 5 * b + 4 * c - d) * u**2 + (3 * b - a - 3 * c + d) * u**3)
            out.append((float(q[0]), float(q[1])))
    if not closed:
        out.append((float(p[-1][0]), float(p[-1][1])))
    return out


def eased(ring: Sequence[Point], *, corner_deg: float = 38.0, steps: int = 6) -> list[Point]:
    """Round the bends of a polygon between its corners, through the same points.

    A point where it turns by `corner_deg` or more stays a corner, and so do the ends of long straight runs.
    """
    p = np.asarray(ring, dtype=np.float64)
    n = len(p)
    if n < 8:
        return [(float(x), float(y)) for x, y in p]
    step = np.roll(p, -1, axis=0) - p
    long = np.hypot(step[:, 0], step[:, 1])
    heading = np.arctan2(step[:, 1], step[:, 0])
    turn = np.abs((heading - np.roll(heading, 1) + np.pi) % (2 * np.pi) - np.pi)
    out: list[Point] = []
    for i in range(n):
        a, b, c, d = p[i - 1], p[i], p[(i + 1) % n], p[(i + 2) % n]
        out.append((float(b[0]), float(b[1])))
        here, there = turn[i] < np.radians(corner_deg), turn[(i + 1) % n] < np.radians(corner_deg)
        bends = max(turn[i] * here, turn[(i + 1) % n] * there) > np.radians(1.5)
        even = long[i] < 3.2 * min(long[i - 1] if here else 9.0, long[(i + 1) % n] if there else 9.0)
        if not bends or not even or long[i] < 0.004:
            continue
        # A far neighbour is drawn near, so that a long straight run does not pull the bend after it out of shape.
        before = b + (a - b) * min(1.0, long[i] / max(long[i - 1], 1e-9)) if here else 2 * b - c
        after = c + (d - c) * min(1.0, long[i] / max(long[(i + 1) % n], 1e-9)) if there else 2 * c - b
        for s in range(1, steps):
            u = s / steps
            q = 0.5 * (
                2 * b
                + (c - before) * u
                + (2 * before - 5 * b + 4 * c - after) * u**2
                + (3 * b - before - 3 * c + after) * u**3
            )
            out.append((float(q[0]), float(q[1])))
    return out


def ellipse(x: float, y: float, rx: float, ry: float | None = None, *, turn_deg: float = 0.0) -> list[Point]:
    """Give an ellipse as a polygon of 96 points."""
    a = np.linspace(0, 2 * np.pi, 96, endpoint=False)
    u, v = rx * np.cos(a), (rx if ry is None else ry) * np.sin(a)
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    return [(float(x + i * c - j * s), float(y + i * s + j * c)) for i, j in zip(u, v, strict=True)]


def box(x0: float, y0: float, x1: float, y1: float, *, corner: float = 0.0) -> list[Point]:
    """Give a rectangle with rounded corners as a polygon."""
    if corner <= 0:
        return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    out: list[Point] = []
    for cx, cy, start in (
        (x1 - corner, y0 + corner, -90),
        (x1 - corner, y1 - corner, 0),
        (x0 + corner, y1 - corner, 90),
        (x0 + corner, y0 + corner, 180),
    ):
        turns = np.radians(np.linspace(start, start + 90, 9))
        out.extend((float(cx + corner * np.cos(a)), float(cy + corner * np.sin(a))) for a in turns)
    return out


def smooth(field: Pixels, sigma: float) -> Pixels:
    """Blur by a Gaussian of any width in about the same time."""
    if sigma <= 0.3:
        return field
    shrink = max(1, int(sigma / 3))
    if shrink == 1:
        return np.asarray(cv2.GaussianBlur(field, (0, 0), sigma), dtype=np.float32)
    h, w = field.shape[:2]
    small = cv2.resize(field, (max(2, w // shrink), max(2, h // shrink)), interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (0, 0), sigma / shrink, borderType=cv2.BORDER_REPLICATE)
    wide = cv2.resize(small, (w, h), interpolation=cv2.INTER_LINEAR)
    return np.asarray(cv2.blur(wide, (2 * shrink + 1, 2 * shrink + 1)), dtype=np.float32)


def clouds(height: int, width: int, scale_px: float, seed: int, *, octaves: int = 3) -> Pixels:
    """Give seeded smooth noise with mean 0 and deviation about 1."""
    rng = np.random.default_rng(seed)
    total = np.zeros((height, width), dtype=np.float32)
    for o in range(octaves):
        step = max(1.0, scale_px / 2**o)
        grid = rng.normal(0, 1, (int(height / step) + 3, int(width / step) + 3)).astype(np.float32)
        total += cv2.resize(grid, (width, height), interpolation=cv2.INTER_CUBIC) / 2**o
    return np.asarray(total / max(float(total.std()), 1e-6), dtype=np.float32)


class Canvas:
    """A picture `width_m` by `height_m` at `px_per_m`; x to the right, y down, the origin top left at `origin`."""

    def __init__(
        self, width_m: float, height_m: float, px_per_m: float, ground: Colour, *, origin: Point = (0.0, 0.0)
    ) -> None:
        self.px_per_m = px_per_m
        self.origin = origin
        size = (round(height_m * px_per_m), round(width_m * px_per_m), 3)
        self.rgb: Pixels = np.empty(size, dtype=np.float32)
        self.rgb[:] = ground
        self.cover: Pixels = np.ones(size[:2], dtype=np.float32)
        """0 where what lies behind shows through."""
        self.gloss: Pixels = np.zeros(size[:2], dtype=np.float32)
        """How much of what stands round the car is mirrored there."""

    def _px(self, points: Sequence[Point]) -> NDArray[np.float64]:
        return np.asarray((np.asarray(points, dtype=np.float64) - np.asarray(self.origin)) * self.px_per_m)

    def _window(self, px: NDArray[np.float64], margin: float) -> tuple[slice, slice] | None:
        h, w = self.rgb.shape[:2]
        x0, y0 = np.floor(px.min(axis=0) - margin - 2).astype(int)
        x1, y1 = np.ceil(px.max(axis=0) + margin + 3).astype(int)
        x0, y0, x1, y1 = max(0, x0), max(0, y0), min(w, x1), min(h, y1)
        return None if x1 <= x0 or y1 <= y0 else (slice(y0, y1), slice(x0, x1))

    def mask(
        self, points: Sequence[Point], window: tuple[slice, slice], holes: Sequence[Sequence[Point]] = ()
    ) -> Pixels:
        """Cover of a polygon less its holes over a window, in [0, 1], edges smooth."""
        rings = [self._px(ring) - (window[1].start, window[0].start) for ring in (points, *holes)]
        size = (window[0].stop - window[0].start, window[1].stop - window[1].start)
        cover = np.zeros(size, dtype=np.uint8)
        at = [np.round((px - 0.5) * 16).astype(np.int32) for px in rings]
        cv2.fillPoly(cover, at, 255, lineType=cv2.LINE_AA, shift=4)
        return np.asarray(cover, dtype=np.float32) / np.float32(255)

    def fill(
        self,
        points: Sequence[Point],
        paint: Colour | Field,
        *,
        holes: Sequence[Sequence[Point]] = (),
        foot: Colour | None = None,
        gloss: float | None = None,
        alpha: float = 1.0,
        soft_m: float = 0.0,
        round_m: float = 0.0,
        depth: float = 0.55,
        shine: float = 0.0,
        grain: float = 0.0,
        grain_m: float = 0.01,
        seed: int = 1,
        inside: Sequence[Point] | None = None,
    ) -> None:
        """Lay a polygon down.

        `paint` fades to `foot` down its height. `soft_m` blurs the edge. `round_m` makes it look raised with an edge
        that wide, lit by `depth`, with a bright edge of `shine`. `grain` roughens it. `inside` keeps it within another
        polygon. `gloss` sets how much of the surroundings it mirrors.
        """
        px = self._px(points)
        window = self._window(px, soft_m * self.px_per_m * 3)
        if window is None:
            return
        cover = self.mask(points, window, holes)
        area = self.rgb[window]
        h, w = cover.shape
        tone = np.empty((h, w, 3), dtype=np.float32)
        if callable(paint):
            x = (np.arange(window[1].start, window[1].stop, dtype=np.float32) + 0.5) / self.px_per_m + self.origin[0]
            y = (np.arange(window[0].start, window[0].stop, dtype=np.float32) + 0.5) / self.px_per_m + self.origin[1]
            tone[:] = paint(x[None, :].astype(np.float32), y[:, None].astype(np.float32))
        else:
            tone[:] = paint
        if foot is not None:
            top, bottom = px[:, 1].min() - window[0].start, px[:, 1].max() - window[0].start
            u = np.clip((np.arange(h) - top) / max(bottom - top, 1), 0, 1).astype(np.float32)[:, None, None]
            tone = tone * (1 - u) + np.asarray(foot, dtype=np.float32) * u
        if round_m > 0:
            sigma = round_m * self.px_per_m
            raised = smooth(cover, sigma)
            gx = cv2.Sobel(raised, cv2.CV_32F, 1, 0, ksize=3) * (sigma * 0.32)
            gy = cv2.Sobel(raised, cv2.CV_32F, 0, 1, ksize=3) * (sigma * 0.32)
            # The edge falls away outwards, so its face looks down the slope: bright towards the light.
            lit = -(gx * LIGHT[0] + gy * LIGHT[1])
            tone *= (1.0 + depth * 1.1 * lit)[..., None]
            if shine > 0:
                tone += (shine * np.clip(lit * 1.4 - 0.2, 0, 1) ** 2)[..., None]
        if grain > 0:
            tone *= (1.0 + grain * clouds(h, w, max(2.0, grain_m * self.px_per_m), seed))[..., None]
        if soft_m > 0:
            cover = smooth(cover, soft_m * self.px_per_m)
        if inside is not None:
            cover = cover * self.mask(inside, window)
        k = (cover * np.float32(alpha))[..., None]
        area += (np.clip(tone, 0, 1) - area) * k
        behind = self.cover[window]
        behind += (1 - behind) * k[..., 0]
        if gloss is not None:
            mirror = self.gloss[window]
            mirror += (np.float32(gloss) - mirror) * k[..., 0]

    def shade(self, points: Sequence[Point], amount: float, *, soft_m: float = 0.0) -> None:
        """Darken (below 0) or lighten (above 0) what lies under a polygon, keeping its colour."""
        px = self._px(points)
        window = self._window(px, soft_m * self.px_per_m * 3)
        if window is None:
            return
        cover = smooth(self.mask(points, window), soft_m * self.px_per_m)[..., None]
        area = self.rgb[window]
        if amount < 0:
            area *= 1 + amount * cover
        else:
            area += (1 - area) * amount * cover

    def stroke(
        self,
        points: Sequence[Point],
        width_m: float,
        paint: Colour,
        *,
        alpha: float = 1.0,
        closed: bool = False,
        soft_m: float = 0.0,
    ) -> None:
        """Draw a line of even width along points."""
        px = self._px(points)
        margin = (width_m + soft_m * 3) * self.px_per_m
        window = self._window(px, margin)
        if window is None:
            return
        size = (window[0].stop - window[0].start, window[1].stop - window[1].start)
        cover = np.zeros(size, dtype=np.uint8)
        at = np.round((px - (window[1].start, window[0].start) - 0.5) * 16).astype(np.int32)
        thick = max(1, round(width_m * self.px_per_m))
        cv2.polylines(cover, [at], closed, 255, thick, cv2.LINE_AA, shift=4)
        k = smooth(np.asarray(cover, dtype=np.float32) / np.float32(255), soft_m * self.px_per_m)
        thin = min(1.0, width_m * self.px_per_m)
        area = self.rgb[window]
        area += (np.asarray(paint, dtype=np.float32) - area) * (k * np.float32(alpha * thin))[..., None]

    def tube(self, points: Sequence[Point], width_m: float, paint: Colour, *, shine: float = 0.5) -> None:
        """Draw a round pipe, cable or rim: dark below, lit along its upper edge."""
        self.stroke(points, width_m, tuple(0.45 * c for c in paint))  # type: ignore[arg-type]
        lifted = [(x - 0.08 * width_m, y - 0.10 * width_m) for x, y in points]
        self.stroke(lifted, width_m * 0.72, paint, soft_m=width_m * 0.10)
        lit = [(x - 0.16 * width_m, y - 0.22 * width_m) for x, y in points]
        self.stroke(lit, width_m * 0.16, (1.0, 1.0, 1.0), alpha=shine, soft_m=width_m * 0.05)

    def bytes(self) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
        """Give the picture as 8-bit blue, green, red and cover, and its gloss."""
        stack = np.concatenate((self.rgb[..., ::-1], self.cover[..., None]), axis=2)
        picture = (np.clip(stack, 0, 1) * 255 + 0.5).astype(np.uint8)
        return np.ascontiguousarray(picture), (np.clip(self.gloss, 0, 1) * 255 + 0.5).astype(np.uint8)
