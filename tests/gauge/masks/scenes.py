"""Rendered pictures of cars' ends with invented marks and chassis plates on them, the same for the same seed.

The marks use letters that the series they look like never had (I, Q, Z together with years never issued), so that none
can be anybody's. Nothing here is a photograph; the typeface is the project's own.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import as_file, files
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw, ImageFont

Picture = npt.NDArray[np.uint8]
SIZE = (1600, 900)

MARKS = ("QI51 OIZ", "IQ07 ZIQ", "QIZ 614Q", "Q214 IQZ", "IZQ 71", "QQ 4096", "ZIQ 308I", "OI19 QZZ")
CHASSIS = ("ZQX4417I", "QI2B10957", "OQ1ZZZ8KZQI004417", "66Q-IZ-20418", "IQZ117334Q", "ZZ0QIN91B7Q031882")
LOOKS = {
    "yellow": ((236, 198, 40), (18, 18, 18)),
    "white": ((236, 236, 230), (20, 20, 24)),
    "black": ((16, 16, 18), (206, 206, 204)),
}
OTHER_WORDS = ("GT", "1730 Z", "185/70 R 13", "OVERDRIVE", "MIND THE STEP", "FOR SALE", "super", "2+2", "4 DOOR")


@dataclass(frozen=True)
class Scene:
    """A picture, the kind of plate on it, its words, and the corners of its lettering in pixels; None without one."""

    picture: Picture
    kind: str | None
    words: str
    corners: npt.NDArray[np.float64] | None


def font(size: int) -> ImageFont.FreeTypeFont:
    with as_file(files("shutline.publish").joinpath("fonts", "ShutlineSans-SemiBold.ttf")) as path:
        return ImageFont.truetype(str(path), size)


def plate(words: str, look: str, *, rows: int = 1) -> tuple[Picture, tuple[int, int, int, int]]:
    """Draw a registration plate; give it with the box of its lettering, pixels."""
    ground, ink = LOOKS[look]
    lines = words.split(" ", 1) if rows == 2 else [words]
    face = font(150)
    widths = [round(face.getlength(line)) for line in lines]
    wide, high = max(widths) + 90, 150 * len(lines) + 40
    image = Image.new("RGB", (wide, high), ground)
    draw = ImageDraw.Draw(image)
    draw.rounded_rectangle((3, 3, wide - 4, high - 4), 14, outline=ink, width=4)
    for row, (line, width) in enumerate(zip(lines, widths, strict=True)):
        draw.text(((wide - width) / 2, 150 * row + 20), line, fill=ink, font=face, anchor="la")
    boxes = [
        draw.textbbox(((wide - width) / 2, 150 * row + 20), line, font=face, anchor="la")
        for row, (line, width) in enumerate(zip(lines, widths, strict=True))
    ]
    box = tuple(round(f(b[i] for b in boxes)) for i, f in enumerate((min, min, max, max)))
    return np.asarray(image, np.uint8), box  # type: ignore[return-value]


def chassis_plate(number: str, rng: np.random.Generator) -> tuple[Picture, tuple[int, int, int, int]]:
    """Draw a maker's plate with a chassis number stamped in; give it with the box of the number."""
    shade = int(rng.integers(120, 190))
    image = Image.new("RGB", (900, 420), (shade, shade, shade - 6))
    draw = ImageDraw.Draw(image)
    draw.rectangle((10, 10, 889, 409), outline=(40, 40, 40), width=5)
    draw.text((40, 30), "ORRERY MOTOR WORKS", fill=(30, 30, 30), font=font(56))
    draw.text((40, 130), "CHASSIS No.", fill=(30, 30, 30), font=font(44))
    size = 92 if len(number) < 13 else 74
    draw.text((40, 190), number, fill=(24, 24, 24), font=font(size))
    draw.text((40, 320), "PAINT  TRIM  AXLE", fill=(50, 50, 50), font=font(40))
    return np.asarray(image, np.uint8), tuple(map(round, draw.textbbox((40, 190), number, font=font(size))))  # type: ignore[return-value]


def car_end(rng: np.random.Generator) -> Picture:
    """Draw something like the end of a car in a yard: ground, wall, body, lamps, bumper, a few words."""
    wide, high = SIZE
    rows = np.linspace(0, 1, high)[:, None, None]
    wall, ground = rng.integers(60, 200, 3), rng.integers(50, 140, 3)
    base = np.where(rows < 0.55, wall * (1 - 0.3 * rows), ground * (0.7 + 0.4 * rows)) * np.ones((1, wide, 1))
    image = Image.fromarray(base.clip(0, 255).astype(np.uint8))
    draw = ImageDraw.Draw(image)
    for at in range(0, wide, 80):
        draw.line((at, 0, at, int(high * 0.5)), fill=tuple(int(v * 0.8) for v in wall), width=2)
    paint = tuple(int(v) for v in rng.integers(20, 230, 3))
    draw.rounded_rectangle((260, 230, 1340, 720), 90, fill=paint)
    draw.rounded_rectangle((400, 130, 1200, 420), 70, fill=tuple(int(v * 0.35) for v in paint))
    for left in (320, 1180):
        draw.ellipse((left, 450, left + 110, 560), fill=(200, 60, 50), outline=(220, 220, 220), width=6)
    draw.rounded_rectangle((250, 600, 1350, 660), 26, fill=(176, 178, 182))
    for _ in range(int(rng.integers(1, 4))):
        words = OTHER_WORDS[int(rng.integers(len(OTHER_WORDS)))]
        spot = (int(rng.integers(60, 1300)), int(rng.integers(30, 330)))
        draw.text(
            spot, words, fill=tuple(int(v) for v in rng.integers(0, 255, 3)), font=font(int(rng.integers(24, 60)))
        )
    return np.asarray(image, np.uint8)


def laid(
    ground: Picture,
    cut: Picture,
    box: tuple[int, int, int, int],
    *,
    wide_px: float,
    rng: np.random.Generator,
    yaw: float,
    roll: float,
) -> tuple[Picture, npt.NDArray[np.float64]]:
    """Lay a plate into a picture, turned (degrees), `wide_px` from side to side; give the lettering's corners."""
    high, wide = cut.shape[:2]
    scale = wide_px / wide
    turn, lean = np.radians(roll), np.radians(yaw)
    corners = np.array([(-wide, -high), (wide, -high), (wide, high), (-wide, high)], float) / 2 * scale
    depth = 1 + corners[:, 0] / wide_px * np.sin(lean) * 0.5
    corners[:, 0] *= np.cos(lean)
    corners /= depth[:, None]
    corners = corners @ np.array([(np.cos(turn), np.sin(turn)), (-np.sin(turn), np.cos(turn))])
    reach = np.abs(corners).max(axis=0) + 8
    middle = [rng.uniform(reach[i], SIZE[i] - reach[i]) for i in (0, 1)]
    middle = [np.clip(middle[0], reach[0], SIZE[0] - reach[0]), np.clip(middle[1], reach[1], SIZE[1] - reach[1])]
    aim = (corners + middle).astype(np.float32)
    source = np.array([(0, 0), (wide, 0), (wide, high), (0, high)], np.float32)
    way = cv2.getPerspectiveTransform(source, aim)
    # Made small by area first, as a lens does, so that fine strokes do not flicker.
    share = min(1.0, 2 * scale)
    small = cv2.resize(cut, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
    way_small = way @ np.diag([wide / small.shape[1], high / small.shape[0], 1.0])
    laid_in = cv2.warpPerspective(small, way_small, SIZE, flags=cv2.INTER_AREA)
    where = cv2.warpPerspective(np.full(small.shape[:2], 255, np.uint8), way_small, SIZE)[..., None] / 255.0
    left, top, right, bottom = box
    letters = np.array([[(left, top), (right, top), (right, bottom), (left, bottom)]], np.float32)
    return (
        np.asarray(ground * (1 - where) + laid_in * where, np.uint8),
        cv2.perspectiveTransform(letters, way)[0].astype(np.float64),
    )


def filmed(picture: Picture, rng: np.random.Generator, *, blur: float, noise: float) -> Picture:
    """Make a picture look taken: uneven light, blur (standard deviation, pixels), noise (levels), JPEG."""
    wide, high = SIZE
    across, down = np.meshgrid(np.linspace(-1, 1, wide), np.linspace(-1, 1, high))
    angle = rng.uniform(0, 2 * np.pi)
    light = 1 + 0.25 * (across * np.cos(angle) + down * np.sin(angle))
    lit = picture * light[..., None]
    if blur > 0:
        lit = cv2.GaussianBlur(lit, (0, 0), blur)
    lit = lit + rng.normal(0, noise, (high, wide, 1))
    done, packed = cv2.imencode(".jpg", lit.clip(0, 255).astype(np.uint8)[..., ::-1], (cv2.IMWRITE_JPEG_QUALITY, 88))
    assert done
    return np.ascontiguousarray(cv2.imdecode(packed, cv2.IMREAD_COLOR)[..., ::-1])


def scene(
    seed: int, kind: str | None, *, wide_px: float = 260, blur: float = 0.8, noise: float = 4, yaw: float | None = None
) -> Scene:
    """Make one picture; `kind` is mark, chassis or None for one without a plate."""
    rng = np.random.default_rng(seed)
    ground = car_end(rng)
    words, corners = "", None
    if kind is not None:
        if kind == "mark":
            words = MARKS[int(rng.integers(len(MARKS)))]
            look = tuple(LOOKS)[int(rng.integers(len(LOOKS)))]
            cut, box = plate(words, look, rows=2 if rng.random() < 0.2 else 1)
        else:
            words = CHASSIS[int(rng.integers(len(CHASSIS)))]
            cut, box = chassis_plate(words, rng)
        lean = rng.uniform(-45, 45) if yaw is None else yaw
        ground, corners = laid(ground, cut, box, wide_px=wide_px, rng=rng, yaw=lean, roll=rng.uniform(-10, 10))
    return Scene(filmed(ground, rng, blur=blur, noise=noise), kind, words, corners)


FACES = {
    # From the brows to the chin, and from cheek to cheek, pixels of tests/data/faces: marked by hand.
    "astronaut": (92, 88, 182, 172),
    "camera": (140, 92, 194, 155),
}
FACE_FOLDER = Path(__file__).parents[2] / "data" / "faces"


def faced(seed: int, name: str, *, tall_px: float, blur: float = 0.8, noise: float = 4) -> Scene:
    """Make a picture of a car's end with a person beside it, `tall_px` from the brows to the chin."""
    rng = np.random.default_rng(seed)
    ground = car_end(rng)
    person = np.asarray(Image.open(FACE_FOLDER / f"{name}.jpg").convert("RGB"), np.uint8)
    if rng.random() < 0.5:
        person = person[:, ::-1]
        left, top, right, bottom = FACES[name]
        box = (person.shape[1] - right, top, person.shape[1] - left, bottom)
    else:
        box = FACES[name]
    share = tall_px / (box[3] - box[1])
    way = cv2.INTER_AREA if share < 1 else cv2.INTER_CUBIC
    small = cv2.resize(np.ascontiguousarray(person), None, fx=share, fy=share, interpolation=way)
    high, wide = small.shape[:2]
    at_x, at_y = int(rng.integers(0, SIZE[0] - wide + 1)), int(rng.integers(0, SIZE[1] - high + 1))
    scene_ = ground.copy()
    scene_[at_y : at_y + high, at_x : at_x + wide] = small
    left, top, right, bottom = (edge * share for edge in box)
    corners = np.array([(left, top), (right, top), (right, bottom), (left, bottom)]) + np.array((at_x, at_y))
    return Scene(filmed(scene_, rng, blur=blur, noise=noise), "face", name, corners)


def filmed_plate(
    seed: int, *, seconds: float, rate: float, wide_px: float = 200
) -> list[tuple[float, Picture, npt.NDArray[np.float64]]]:
    """Film a plate as a camera walks past: time, frame (960 x 540), and the lettering's corners in pixels of `SIZE`."""
    rng = np.random.default_rng(seed)
    wall = car_end(rng)
    words = MARKS[int(rng.integers(len(MARKS)))]
    cut, box = plate(words, "yellow")
    fixed = np.random.default_rng(seed + 1)
    picture, corners = laid(wall, cut, box, wide_px=wide_px, rng=fixed, yaw=10, roll=3)
    middle = corners.mean(axis=0)
    frames = []
    for number in range(round(seconds * rate)):
        at_s = number / rate
        swing = np.array((260 * np.sin(at_s * 0.9), 60 * np.sin(at_s * 1.7)))
        size = 1 + 0.25 * np.sin(at_s * 0.6)
        aim = np.clip(middle + swing, (300, 150), (SIZE[0] - 300, SIZE[1] - 150))
        way = np.array([(size, 0, aim[0] - size * middle[0]), (0, size, aim[1] - size * middle[1])])
        moved = cv2.warpAffine(picture, way, SIZE, borderMode=cv2.BORDER_REFLECT)
        small = cv2.resize(moved, (960, 540), interpolation=cv2.INTER_AREA)
        grain = np.random.default_rng(seed * 1000 + number).normal(0, 4, (540, 960, 1))
        noisy = (small + grain).clip(0, 255).astype(np.uint8)
        frames.append((at_s, noisy, corners @ way[:, :2].T + way[:, 2]))
    return frames


def covered_share(
    picture_size: tuple[int, int], corners: npt.NDArray[np.float64], boxes: list[tuple[int, int, int, int]]
) -> float:
    """Say how much of an outline, pixels, lies under boxes (left, top, right, bottom): 0 to 1."""
    wide, high = picture_size
    outline, under = np.zeros((high, wide), np.uint8), np.zeros((high, wide), np.uint8)
    cv2.fillPoly(outline, [np.round(corners).astype(np.int32)], 1)
    for left, top, right, bottom in boxes:
        under[top:bottom, left:right] = 1
    whole = int(outline.sum())
    return float((outline & under).sum() / whole) if whole else 0.0
