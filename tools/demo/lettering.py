"""Writing on things: plates, dials, drums."""

from __future__ import annotations

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from demo.paint import Canvas, Colour, Pixels, Point


def letters(
    canvas: Canvas,
    text: str,
    centre: Point,
    tall_m: float,
    paint: Colour,
    *,
    wide_m: float | None = None,
    alpha: float = 1.0,
) -> None:
    """Write on the car: capitals `tall_m` high, drawn narrower where they would be wider than `wide_m`."""
    px = max(8, round(tall_m * canvas.px_per_m * 1.45))
    font = ImageFont.load_default(size=px)
    left, top, right, bottom = font.getbbox(text)
    picture = Image.new("L", (int(right - left) + 4, int(bottom - top) + 4), 0)
    ImageDraw.Draw(picture).text((2 - left, 2 - top), text, fill=255, font=font, stroke_width=max(0, px // 40))
    ink: Pixels = np.asarray(picture, dtype=np.float32) / np.float32(255)
    wide = ink.shape[1] / ink.shape[0] * tall_m
    if wide_m is not None:
        wide = min(wide, wide_m)
    size = (max(2, round(wide * canvas.px_per_m)), max(2, round(tall_m * canvas.px_per_m)))
    ink = np.asarray(cv2.resize(ink, size, interpolation=cv2.INTER_AREA), dtype=np.float32)
    x = round((centre[0] - canvas.origin[0]) * canvas.px_per_m - size[0] / 2)
    y = round((centre[1] - canvas.origin[1]) * canvas.px_per_m - size[1] / 2)
    h, w = canvas.rgb.shape[:2]
    x0, y0, x1, y1 = max(0, x), max(0, y), min(w, x + size[0]), min(h, y + size[1])
    if x1 <= x0 or y1 <= y0:
        return
    k = (ink[y0 - y : y1 - y, x0 - x : x1 - x] * np.float32(alpha))[..., None]
    area = canvas.rgb[y0:y1, x0:x1]
    area += (np.asarray(paint, dtype=np.float32) - area) * k
