"""Painted panels with rust on them, rendered with known truth; and what is taken for rust: dirt, stains, primer."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from shutline.gauge.colour.srgb import light_of_lab, signs_of

KINDS = ("none", "specks", "spots", "patch", "general")
RUST = np.array(((20, 8, 9), (30, 18, 20), (38, 24, 32), (50, 28, 46), (60, 16, 44)), np.float64)
"""L*a*b* of rust from its darkest to its lightest: from memory."""


@dataclass
class Panel:
    picture: np.ndarray
    rust: np.ndarray
    """Where rust is, shape (height, width)."""
    paint: tuple[float, ...]
    kind: str

    @property
    def share(self) -> float:
        return float(self.rust.mean())


def fractal(rng: np.random.Generator, high: int, wide: int, coarse: float, fine: float) -> np.ndarray:
    """Give a field of mean nought and spread one with features from `coarse` to `fine` pixels."""
    total = np.zeros((high, wide), np.float32)
    size, weight = coarse, 1.0
    while size >= fine:
        rows, columns = max(2, int(high / size) + 2), max(2, int(wide / size) + 2)
        seed = rng.standard_normal((rows, columns)).astype(np.float32)
        total += weight * cv2.resize(seed, (wide, high), interpolation=cv2.INTER_CUBIC)
        size, weight = size / 2, weight * 0.75
    return (total - total.mean()) / max(float(total.std()), 1e-6)


def discs(rng: np.random.Generator, high: int, wide: int, radii: tuple[float, float], share: float) -> np.ndarray:
    """Give discs thrown at random until they cover a share."""
    field = np.zeros((high, wide), np.uint8)
    covered, target = 0.0, share * high * wide
    while covered < target:
        radius = float(np.exp(rng.uniform(*np.log(radii))))
        at = rng.uniform((0, 0), (wide, high))
        cv2.circle(field, tuple(int(v * 16) for v in at), int(radius * 16), 1, -1, cv2.LINE_8, 4)
        covered += np.pi * radius**2
    return field.astype(np.float32)


def rust_mask(rng: np.random.Generator, high: int, wide: int, kind: str, share: float) -> np.ndarray:
    """Give where rust is, 0 or 1."""
    if kind == "none":
        return np.zeros((high, wide), np.float32)
    if kind == "specks":
        return discs(rng, high, wide, (0.8, 2.5), share)
    if kind == "spots":
        field = discs(rng, high, wide, (5, 18), share)
        ragged = cv2.GaussianBlur(field, (0, 0), 3) + 0.16 * fractal(rng, high, wide, 12, 2)
        return (ragged > 0.5).astype(np.float32)
    field = fractal(rng, high, wide, 24 if kind == "general" else 160, 2)
    if kind == "patch":
        y, x = np.mgrid[0:high, 0:wide].astype(np.float32)
        middle = rng.uniform((0, 0.3 * high), (wide, high))
        far = np.hypot((x - middle[0]) / wide, (y - middle[1]) / high)
        field = 0.6 * field - 6 * far
    return (field > np.quantile(field, 1 - share)).astype(np.float32)


def panel(seed: int, *, high: int = 360, wide: int = 480, kind: str | None = None, share: float | None = None) -> Panel:
    """Render one; all that is not given is drawn from the seed."""
    rng = np.random.default_rng(seed)
    drawn_kind, drawn_share, paint = _drawn(rng)
    kind = kind or drawn_kind
    share = share if share is not None else drawn_share
    if kind == "specks":
        share = min(share, 0.15)
    image = np.broadcast_to(light_of_lab(paint), (high, wide, 3)).astype(np.float32)
    image = image * (1 + rng.uniform(0.0, 0.06) * fractal(rng, high, wide, 3, 1.5))[..., None]
    mask = rust_mask(rng, high, wide, kind, share)
    if rng.random() < 0.4:
        dirt = _lab_light((rng.uniform(28, 50), rng.uniform(1, 6), rng.uniform(5, 14)))
        cover = np.clip(fractal(rng, high, wide, 80, 2) - rng.uniform(0.4, 2.0), 0, 1) * rng.uniform(0.2, 0.8)
        image = _over(image, dirt, cover)
    if rng.random() < 0.15:
        primer = _lab_light((55, 0, 0) if rng.random() < 0.5 else (33, 26, 18))
        field = fractal(rng, high, wide, 90, 12)
        image = _over(image, primer, (field > np.quantile(field, rng.uniform(0.9, 0.99))).astype(np.float32))
    if rng.random() < 0.35 and kind != "none":
        run = cv2.blur(mask, (5, 61), anchor=(2, 60))
        stain = np.clip(run * 3, 0, 1) * rng.uniform(0.08, 0.3) * (1 - mask)
        image = _over(image, _lab_light((50, 20, 42)), stain.astype(np.float32))
    image = _over(image, _rust(rng, high, wide), cv2.GaussianBlur(mask, (0, 0), 0.6))
    image = _lit(image, rng, high, wide)
    signs = np.round(255 * signs_of(image)).astype(np.uint8)
    packed = cv2.imencode(".jpg", signs[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, int(rng.integers(75, 97))])[1]
    picture = np.ascontiguousarray(cv2.imdecode(packed, cv2.IMREAD_COLOR)[..., ::-1])
    return Panel(picture, mask > 0.5, paint, kind)


def paint_of(seed: int) -> tuple[float, ...]:
    """Give the paint that `panel` renders a seed with, in L*a*b*, without rendering it."""
    return _drawn(np.random.default_rng(seed))[2]


def _drawn(rng: np.random.Generator) -> tuple[str, float, tuple[float, ...]]:
    kind = str(rng.choice(KINDS, p=(0.2, 0.2, 0.2, 0.25, 0.15)))
    share = float(np.exp(rng.uniform(np.log(0.0008), np.log(0.6))))
    return kind, share, _paint(rng)


def _paint(rng: np.random.Generator) -> tuple[float, ...]:
    """Draw a paint: any colour that can be shown, and often a red, a maroon, an orange or a brown."""
    while True:
        if rng.random() < 0.25:
            hue, chroma = np.radians(rng.uniform(10, 75)), rng.uniform(10, 65)
            lab = (rng.uniform(20, 60), chroma * np.cos(hue), chroma * np.sin(hue))
        else:
            hue, chroma = rng.uniform(0, 2 * np.pi), 45 * rng.random() ** 1.3
            lab = (rng.uniform(12, 92), chroma * np.cos(hue), chroma * np.sin(hue))
        light = light_of_lab(lab)
        if light.min() > 0.002 and light.max() < 0.9:
            return tuple(float(v) for v in lab)


def _rust(rng: np.random.Generator, high: int, wide: int) -> np.ndarray:
    """Give light of rust all over: from dark to orange in blotches, rough."""
    middle, spread = rng.uniform(1.0, 2.6), rng.uniform(0.4, 0.9)
    at = np.clip(middle + spread * fractal(rng, high, wide, rng.uniform(6, 30), 1.5), 0, len(RUST) - 1.001)
    low = at.astype(int)
    lab = RUST[low] + (at - low)[..., None] * (RUST[low + 1] - RUST[low])
    lab = lab + rng.normal(0, 2, 3)
    rough = 1 + rng.uniform(0.08, 0.3) * fractal(rng, high, wide, 3, 1)
    return np.clip(light_of_lab(lab), 0.001, 1) * np.clip(rough, 0.2, 2)[..., None]


def _lit(image: np.ndarray, rng: np.random.Generator, high: int, wide: int) -> np.ndarray:
    image = image * (1 + 0.15 * fractal(rng, high, wide, 400, 200))[..., None]
    if rng.random() < 0.5:
        sky = np.array((0.55, 0.65, 0.8)) * rng.uniform(0.05, 0.35)
        image = image + sky * np.clip(fractal(rng, high, wide, 250, 60), 0, 1.5)[..., None] * 0.5
    image = image * (1 + rng.normal(0, 0.05, 3)) * rng.uniform(0.7, 1.15)
    image = cv2.GaussianBlur(image.astype(np.float32), (0, 0), rng.uniform(0.4, 1.1))
    image = image + rng.uniform(0.002, 0.01) * np.sqrt(np.clip(image, 0.01, 1)) * rng.standard_normal(image.shape)
    return np.clip(image, 0, 1)


def _lab_light(lab: tuple[float, ...]) -> np.ndarray:
    return np.clip(light_of_lab(lab), 0.001, 1).astype(np.float32)


def _over(image: np.ndarray, what: np.ndarray, cover: np.ndarray) -> np.ndarray:
    return image + (what - image) * cover[..., None]
