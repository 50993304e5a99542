"""Draw pictures of figures on a car, as a phone takes them, with what they show: seeded, marks and numbers invented.

    python bench/drawn_figures.py --out FOLDER [--count 4] [--seed 1]

Fonts: those that Shutline ships, the one inside Pillow, the stroke fonts inside OpenCV, and seven-segment and drum
figures drawn here. No picture is of a real car, plate or tyre.
"""

from __future__ import annotations

import argparse
import random
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from io import BytesIO
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw, ImageFont

Picture = npt.NDArray[np.uint8]
Colour = tuple[int, int, int]

_MARK_LETTERS = "ABCDEFGHJKLMNPRSTUVWXY"
_VIN_LETTERS = "ABCDEFGHJKLMNPRSTUVWXYZ0123456789"
_SEGMENTS = {
    "0": "abcdef", "1": "bc", "2": "abged", "3": "abgcd", "4": "fgbc",
    "5": "afgcd", "6": "afgedc", "7": "abc", "8": "abcdefg", "9": "abcdfg",
}  # fmt: skip
FONTS = ("sans", "bold", "serif", "inner", "stroke", "stroke-wide")


@dataclass(frozen=True, slots=True)
class Drawn:
    """A picture (RGB, uint8), what kind of figure it shows, what that reads, and how it was drawn.

    `also` are readings that a careful person would let pass too: a drum between two figures.
    """

    picture: Picture
    kind: str
    truth: str
    how: str
    also: tuple[str, ...] = ()


# Lettering ------------------------------------------------------------------------------------------------------------


@cache
def _font(name: str, size: int) -> Any:
    if name == "inner":
        return ImageFont.load_default(size)
    file = {"sans": "ShutlineSans-Regular", "bold": "ShutlineSans-SemiBold", "serif": "ShutlineSerif-SemiBold"}[name]
    data = files("shutline.publish").joinpath(f"fonts/{file}.ttf").read_bytes()
    return ImageFont.truetype(BytesIO(data), size)


def lettering(text: str, size: int, font: str, *, spread: float = 0.0) -> npt.NDArray[np.float32]:
    """Give text as a mask, 0 to 1, `size` pixels high with a margin; `spread` is more room between letters."""
    if font.startswith("stroke"):
        return _stroked(text, size, spread, wide=font == "stroke-wide")
    face = _font(font, size)
    widths = [face.getlength(letter) + spread * size for letter in text]
    canvas = Image.new("L", (int(sum(widths)) + size, int(size * 1.6)))
    draw = ImageDraw.Draw(canvas)
    x = size / 2
    for letter, width in zip(text, widths, strict=True):
        draw.text((x, size * 0.15), letter, fill=255, font=face)
        x += width
    return (np.asarray(canvas) / 255).astype(np.float32)


def _stroked(text: str, size: int, spread: float, *, wide: bool) -> npt.NDArray[np.float32]:
    face = cv2.FONT_HERSHEY_DUPLEX if wide else cv2.FONT_HERSHEY_SIMPLEX
    scale = size / 30
    thick = max(2, round(size / (11 if wide else 14)))
    widths = [cv2.getTextSize(letter, face, scale, thick)[0][0] + spread * size for letter in text]
    canvas = np.zeros((int(size * 1.6), int(sum(widths)) + size), np.uint8)
    x = size / 2
    for letter, width in zip(text, widths, strict=True):
        cv2.putText(canvas, letter, (int(x), int(size * 1.1)), face, scale, 255, thick, cv2.LINE_AA)
        x += width
    return (canvas / 255).astype(np.float32)


def segments(text: str, size: int, *, ghost: float = 0.0) -> npt.NDArray[np.float32]:
    """Give figures of seven segments as a mask; `ghost` is how far those that are off still show."""
    width, gap = round(size * 0.55), round(size * 0.22)
    canvas = np.zeros((size + size // 2, (width + gap) * len(text) + size), np.float32)
    x = size // 2
    for figure in text:
        lit = np.zeros_like(canvas)
        for name, points in _bars(x, size // 4, width, size).items():
            on = 1.0 if name in _SEGMENTS.get(figure, "") else ghost
            cv2.fillPoly(lit, [np.array(points, np.int32)], on, cv2.LINE_AA)
        canvas = np.maximum(canvas, lit)
        x += width + gap
    lean = np.array([[1, -0.08, 0.08 * size], [0, 1, 0]], np.float32)
    return np.asarray(cv2.warpAffine(canvas, lean, canvas.shape[::-1]), np.float32)


def _bars(x: int, y: int, w: int, h: int) -> dict[str, list[tuple[float, float]]]:
    t = h * 0.075

    def across(cy: float) -> list[tuple[float, float]]:
        return [(x + t, cy - t), (x + w - t, cy - t), (x + w, cy), (x + w - t, cy + t), (x + t, cy + t), (x, cy)]

    def up(cx: float, top: float, low: float) -> list[tuple[float, float]]:
        return [(cx, top), (cx + t, top + t), (cx + t, low - t), (cx, low), (cx - t, low - t), (cx - t, top + t)]

    top, middle, low = y + t, y + h / 2, y + h - t
    return {
        "a": across(top),
        "g": across(middle),
        "d": across(low),
        "f": up(x + t / 2, top + t, middle - t / 2),
        "b": up(x + w - t / 2, top + t, middle - t / 2),
        "e": up(x + t / 2, middle + t / 2, low - t),
        "c": up(x + w - t / 2, middle + t / 2, low - t),
    }


def _painted(mask: npt.NDArray[np.float32], ink: Colour, ground: Colour) -> Picture:
    share = mask[..., None]
    return np.asarray(share * np.array(ink) + (1 - share) * np.array(ground), np.uint8)


# What is drawn --------------------------------------------------------------------------------------------------------


def odometer(rng: random.Random) -> Drawn:
    """Draw drums in a row behind a window; the last may be half turned, or count tenths in another colour."""
    size = 60
    figures = f"{rng.randrange(400, 99_999):05d}" if rng.random() < 0.6 else f"{rng.randrange(400, 199_999):06d}"
    tenths = rng.random() < 0.25
    turned = not tenths and rng.random() < 0.25
    font = rng.choice(("sans", "bold", "inner", "stroke-wide"))
    light, dark = (235, 232, 220), (22, 22, 24)
    cells = [_drum(figure, size, font, light, dark) for figure in figures]
    also: tuple[str, ...] = ()
    how = f"drums, {font}"
    if tenths:
        ink, ground = rng.choice((((20, 20, 20), (235, 235, 230)), ((240, 236, 230), (150, 30, 28))))
        cells.append(_drum(str(rng.randrange(10)), size, font, ink, ground))
        how += ", tenths"
    if turned:
        share = rng.uniform(0.3, 0.7)
        after = (int(figures[-1]) + 1) % 10
        if after == 0:
            figures = figures[:-1] + "4"
            after = 5
        both = np.vstack([_drum(figures[-1], size, font, light, dark), _drum(str(after), size, font, light, dark)])
        start = round(share * cells[0].shape[0])
        cells[-1] = both[start : start + cells[0].shape[0]]
        also = (str(int(figures[:-1] + str(after))),)
        how += ", last drum half turned"
    gap = np.full((cells[0].shape[0], rng.randrange(2, 7), 3), 60, np.uint8)
    row: list[Picture] = []
    for cell in cells:
        row += [gap, cell]
    window = np.hstack([*row, gap])
    face = np.full((window.shape[0] + 160, window.shape[1] + 220, 3), (30, 31, 33), np.uint8)
    face[60 : 60 + window.shape[0], 110 : 110 + window.shape[1]] = window
    unit = rng.choice(("MILES", "MPH", "km", ""))
    if unit:
        _lay(face, _painted(lettering(unit, 26, "sans"), (220, 220, 215), (30, 31, 33)), 110, 70 + window.shape[0])
    return Drawn(face, "odometer", str(int(figures)), how, also)


def _drum(figure: str, size: int, font: str, ink: Colour, ground: Colour) -> Picture:
    mask = lettering(figure, size, font)
    columns = np.flatnonzero(mask.max(axis=0) > 0.2)
    rows = np.flatnonzero(mask.max(axis=1) > 0.2)
    cut = mask[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    high = round(size * 0.8)
    width = max(1, round(cut.shape[1] * high / cut.shape[0]))
    cut = np.asarray(cv2.resize(cut, (min(width, round(size * 0.66)), high), interpolation=cv2.INTER_AREA), np.float32)
    cell = np.zeros((round(size * 1.3), round(size * 0.86)), np.float32)
    y, x = (cell.shape[0] - high) // 2, (cell.shape[1] - cut.shape[1]) // 2
    cell[y : y + high, x : x + cut.shape[1]] = cut
    painted = _painted(cell, ink, ground).astype(np.float32)
    shade = 1 - 0.45 * np.abs(np.linspace(-1, 1, cell.shape[0]))[:, None, None] ** 2
    return np.asarray(painted * shade, np.uint8)


def lcd_odometer(rng: random.Random) -> Drawn:
    """Draw seven segments on grey-green glass, the dark ones showing through a little."""
    figures = f"{rng.randrange(1_000, 199_999):06d}" if rng.random() < 0.5 else str(rng.randrange(1_000, 199_999))
    mask = segments(figures, 70, ghost=rng.choice((0.0, 0.06, 0.12)))
    ink, ground = rng.choice(
        (((30, 38, 30), (150, 165, 140)), ((230, 120, 30), (20, 14, 10)), ((20, 22, 26), (170, 176, 180)))
    )
    glass = _painted(mask, ink, ground)
    face = np.full((glass.shape[0] + 120, glass.shape[1] + 200, 3), (28, 28, 30), np.uint8)
    _lay(face, glass, 60, 60)
    unit = rng.choice(("mi", "km"))
    _lay(face, _painted(lettering(unit, 34, "sans"), ink, ground), 60 + glass.shape[1], 60 + 30)
    return Drawn(face, "odometer", str(int(figures)), "seven segments")


def mark(rng: random.Random) -> Drawn:
    """Draw a registration mark of one of the known British forms, its letters and figures at random."""

    def letters(count: int) -> str:
        return "".join(rng.choice(_MARK_LETTERS) for _ in range(count))

    number = rng.randrange(1, 1000)
    form = rng.choice(("suffix", "prefix", "current", "dateless", "dateless-turned"))
    text = {
        "suffix": f"{letters(3)} {number}{rng.choice('BCDEFGHJKLMNPRSTVWXY')}",
        "prefix": f"{rng.choice('ABCDEFGHJKLMNPRSTVWXY')}{number} {letters(3)}",
        "current": f"{letters(2)}{rng.choice((51, 2, 53, 4, 55, 6, 57, 8, 59, 10)):02d} {letters(3)}",
        "dateless": f"{letters(3)} {number}",
        "dateless-turned": f"{rng.randrange(1, 10_000)} {letters(2)}",
    }[form]
    ink, ground = rng.choice(
        (((20, 20, 20), (240, 200, 40)), ((20, 20, 20), (240, 240, 236)), ((215, 215, 215), (24, 24, 26)))
    )
    font = rng.choice(("bold", "sans", "inner", "stroke-wide"))
    plate = _painted(lettering(text, 90, font, spread=0.06), ink, ground)
    face = np.full((plate.shape[0] + 200, plate.shape[1] + 240, 3), (70, 74, 90), np.uint8)
    _lay(face, plate, 120, 100)
    return Drawn(face, "mark", text.replace(" ", ""), f"{form}, {font}")


def chassis_plate(rng: random.Random) -> Drawn:
    """Draw a maker's plate: a VIN of 17 signs, or an older number after its label; dots, strokes or print."""
    long = rng.random() < 0.7
    if long:
        vin = (
            "S"
            + "".join(rng.choice(_VIN_LETTERS) for _ in range(10))
            + "".join(rng.choice("0123456789") for _ in range(6))
        )
    else:
        letters = "".join(rng.choice("ABCDEFGHJKLMNPRSTUVWX") for _ in range(rng.randrange(1, 4)))
        vin = f"{letters}{rng.randrange(1, 10)}{rng.choice('/-')}{rng.randrange(1000, 99_999)}"
    font = rng.choice(("sans", "bold", "inner", "stroke", "stroke-wide", "dots"))
    mask = lettering(vin, 44, "stroke" if font == "dots" else font, spread=0.12)
    if font == "dots":
        yy, xx = np.mgrid[0 : mask.shape[0], 0 : mask.shape[1]]
        mask = mask * ((((xx % 4) - 2) ** 2 + ((yy % 4) - 2) ** 2) < 4.5)
        mask = np.asarray(cv2.GaussianBlur(mask.astype(np.float32), (0, 0), 0.8), np.float32)
    ground = rng.choice(((190, 192, 190), (40, 40, 44), (205, 200, 180)))
    ink: Colour = (30, 30, 30) if ground[0] > 100 else (225, 225, 220)
    number = _painted(mask, ink, ground)
    plate = np.full((number.shape[0] * 3, max(number.shape[1] + 120, 520), 3), ground, np.uint8)
    label = rng.choice(("CHASSIS NO.", "VIN", "CAR NO.")) if not long else rng.choice(("VIN", "CHASSIS NO.", ""))
    _lay(plate, _painted(lettering("OSTREL MOTORS LTD", 30, "sans"), ink, ground), 10, 0)
    if label:
        _lay(plate, _painted(lettering(label, 28, "sans"), ink, ground), 10, number.shape[0] - 12)
    _lay(plate, number, 30, round(number.shape[0] * 1.7))
    face = np.full((plate.shape[0] + 140, plate.shape[1] + 160, 3), (60, 80, 66), np.uint8)
    _lay(face, plate, 80, 70)
    return Drawn(face, "chassis", vin, f"{'17 signs' if long else 'older number'}, {font}")


def sidewall(rng: random.Random) -> Drawn:
    """Draw black rubber with raised letters on an arc: size with load and speed, or the date code."""
    dated = rng.random() < 0.4
    if dated:
        year = rng.randrange(0, 26)
        truth = f"{rng.randrange(1, 53):02d}{year:02d}"
        works = f"{rng.choice(('4B', 'XT', 'U9'))}{rng.choice('HJKL')}{rng.choice('2357')}"
        text = f"DOT {works} {rng.choice(('ABC', 'FLN', 'PTX'))} {truth}"
    else:
        width, ratio, rim = rng.choice(
            (
                (145, 80, 10),
                (155, 80, 13),
                (165, 70, 14),
                (175, 65, 15),
                (185, 60, 14),
                (195, 65, 15),
                (205, 55, 16),
                (215, 60, 16),
                (225, 45, 17),
            )
        )
        truth = f"{width}/{ratio}R{rim} {rng.randrange(69, 98)}{rng.choice('STHVW')}"
        text = truth.replace("R", rng.choice(("R", " R")), 1)
    font = rng.choice(("bold", "sans", "inner", "stroke-wide"))
    mask = lettering(text, 52, font, spread=rng.uniform(0.04, 0.14))
    rise = rng.uniform(0.25, 0.6)
    rubber = np.full((*mask.shape, 3), rng.randrange(28, 52), np.float32)
    edge = cv2.GaussianBlur(mask, (0, 0), 1.2)
    relief = np.roll(edge, (-1, -1), (0, 1)) - np.roll(edge, (1, 1), (0, 1))
    rubber += (relief * 150 * rise + mask * 80 * rise)[..., None]
    grain = np.random.default_rng(rng.randrange(1 << 30)).normal(0, 5, mask.shape)
    flat = np.asarray(np.clip(rubber + grain[..., None], 0, 255), np.uint8)
    face = np.full((flat.shape[0] + 200, flat.shape[1] + 120, 3), 38, np.uint8)
    _lay(face, flat, 60, 100)
    return Drawn(
        _arched(face, rng.uniform(0.0, 0.16)),
        "tyre-date" if dated else "tyre-size",
        truth,
        f"{font}, raised {rise:.2f}",
    )


def paint_gauge(rng: random.Random) -> Drawn:
    """Draw the glass of a paint gauge: a number in segments and its unit."""
    value = rng.randrange(60, 480) if rng.random() < 0.8 else rng.randrange(480, 1800)
    ghost = rng.choice((0.0, 0.05))
    glass = _painted(segments(str(value), 110, ghost=ghost), (26, 30, 26), (164, 176, 150))
    face = np.full((glass.shape[0] + 160, glass.shape[1] + 240, 3), (164, 176, 150), np.uint8)
    _lay(face, glass, 40, 70)
    _lay(face, _painted(lettering("µm", 44, "sans"), (26, 30, 26), (164, 176, 150)), 40 + glass.shape[1], 130)
    _lay(face, _painted(lettering(rng.choice(("Fe", "NFe")), 34, "sans"), (26, 30, 26), (164, 176, 150)), 30, 10)
    body = cv2.copyMakeBorder(face, 50, 90, 50, 50, cv2.BORDER_CONSTANT, value=(60, 62, 66))
    return Drawn(np.asarray(body, np.uint8), "paint", str(value), "seven segments")


def _lay(canvas: Picture, piece: Picture, x: int, y: int) -> None:
    high, wide = min(piece.shape[0], canvas.shape[0] - y), min(piece.shape[1], canvas.shape[1] - x)
    if high > 0 and wide > 0:
        canvas[y : y + high, x : x + wide] = piece[:high, :wide]


def _arched(picture: Picture, bend: float) -> Picture:
    high, wide = picture.shape[:2]
    yy, xx = np.mgrid[0:high, 0:wide].astype(np.float32)
    lift = bend * high * (1 - ((xx - wide / 2) / (wide / 2)) ** 2)
    return np.asarray(
        cv2.remap(picture, xx, yy + lift - bend * high / 2, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    )


KINDS: dict[str, Callable[[random.Random], Drawn]] = {
    "odometer": odometer,
    "lcd-odometer": lcd_odometer,
    "mark": mark,
    "chassis": chassis_plate,
    "sidewall": sidewall,
    "paint-gauge": paint_gauge,
}


# What a camera does to it ---------------------------------------------------------------------------------------------


def as_photographed(picture: Picture, rng: random.Random, *, trouble: float = 1.0) -> Picture:
    """Lay it askew in a larger scene, light it unevenly, blur it, make it noisy, and pack it as JPEG.

    `trouble` 0 leaves it nearly as drawn, 1 is a hasty phone picture, more is worse.
    """
    grain = np.random.default_rng(rng.randrange(1 << 30))
    high, wide = picture.shape[:2]
    scale = rng.uniform(0.45, 0.9) * 640 / wide * (1 if trouble < 1.5 else 0.75)
    scene: npt.NDArray[Any] = grain.normal(70, 10, (360, 640, 3)).astype(np.float32)
    scene = cv2.GaussianBlur(scene, (0, 0), 6)
    lean = rng.uniform(-8, 8) * trouble
    turn = cv2.getRotationMatrix2D((wide / 2, high / 2), lean, min(scale, 320 / high))
    turn[:, 2] += (320 - wide / 2 + rng.uniform(-30, 30), 180 - high / 2 + rng.uniform(-15, 15))
    corners = np.array([(0, 0), (wide, 0), (wide, high), (0, high)], np.float32)
    aim = corners @ turn[:, :2].T + turn[:, 2]
    size = np.ptp(aim, axis=0)
    aim += grain.uniform(-0.04, 0.04, (4, 2)) * trouble * size
    warp = cv2.getPerspectiveTransform(corners, np.asarray(aim, np.float32))
    laid = cv2.warpPerspective(picture, warp, (640, 360), flags=cv2.INTER_AREA)
    there = cv2.warpPerspective(np.ones((high, wide), np.float32), warp, (640, 360))[..., None]
    scene = scene * (1 - there) + laid * there
    yy, xx = np.mgrid[0:360, 0:640] / 360
    angle = rng.uniform(0, 6.28)
    light = 1 + 0.35 * trouble * (np.cos(angle) * (xx - 0.9) + np.sin(angle) * (yy - 0.5))
    scene = scene * light[..., None] * rng.uniform(0.65, 1.15)
    if rng.random() < 0.25 * trouble:
        spot = np.exp(-(((xx - rng.uniform(0.4, 1.4)) ** 2 + (yy - rng.uniform(0.3, 0.7)) ** 2) / 0.02))
        scene = scene + (spot * 120)[..., None]
    blur = rng.uniform(0.2, 0.95) * trouble
    scene = cv2.GaussianBlur(scene, (0, 0), max(blur, 0.1))
    if rng.random() < 0.3 * trouble:
        length = rng.randrange(3, 6)
        kernel = np.zeros((length, length), np.float32)
        kernel[length // 2] = 1 / length
        scene = cv2.filter2D(scene, -1, kernel)
    scene = scene + grain.normal(0, rng.uniform(1, 7) * trouble, scene.shape)
    packed = cv2.imencode(
        ".jpg", np.clip(scene, 0, 255).astype(np.uint8)[..., ::-1], (cv2.IMWRITE_JPEG_QUALITY, rng.randrange(55, 92))
    )[1]
    unpacked: Any = cv2.imdecode(packed, cv2.IMREAD_COLOR)
    return np.ascontiguousarray(unpacked[..., ::-1])


def drawn(kind: str, seed: int, *, trouble: float | None = None) -> Drawn:
    """Draw one picture; the same kind and seed give the same picture."""
    rng = random.Random(f"{kind} {seed}")  # noqa: S311 - a seeded drawing, nothing secret
    made = KINDS[kind](rng)
    worse = rng.choice((0.5, 1.0, 1.0, 1.6, 2.2)) if trouble is None else trouble
    photographed = as_photographed(made.picture, rng, trouble=worse)
    return Drawn(photographed, made.kind, made.truth, f"{made.how}, trouble {worse:g}", made.also)


def main() -> None:
    """Write some of each kind to look at."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--count", type=int, default=4)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)
    for kind in KINDS:
        for number in range(given.seed, given.seed + given.count):
            one = drawn(kind, number)
            cv2.imwrite(str(given.out / f"{kind}-{number}.jpg"), one.picture[..., ::-1])
            print(f"{kind}-{number}.jpg: {one.truth} ({one.how})")


if __name__ == "__main__":
    main()
