"""Photographs of the marker card on a panel, rendered with known truth."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np

from shutline.gauge.size.card import MODULES, Card, cards, pattern

PX_MM = 8
TIMES = 2
"""A scene is rendered so many times as large, and made smaller by means of squares."""


@dataclass
class Scene:
    picture: np.ndarray
    matrix: np.ndarray
    """From millimetres of the plane to pixels, the middle of the first pixel at 0, 0."""
    printed: float
    """True length of what should be one millimetre of the card."""

    def px(self, mm: np.ndarray) -> np.ndarray:
        raised = np.column_stack((mm, np.ones(len(mm)))) @ self.matrix.T
        return raised[:, :2] / raised[:, 2:]


@cache
def drawn(name: str) -> np.ndarray:
    """Give a card's light, 0.03 where black and 0.85 where white, PX_MM pixels a millimetre."""
    card = cards()[name]
    light = np.full((round(card.height_mm * PX_MM), round(card.width_mm * PX_MM)), 0.85, np.float32)
    for number, left, top in card.markers:
        step = card.marker_mm * PX_MM / MODULES
        for row, squares in enumerate(pattern(number)):
            for column, black in enumerate(squares):
                if black:
                    y, x = top * PX_MM + row * step, left * PX_MM + column * step
                    light[round(y) : round(y + step), round(x) : round(x + step)] = 0.03
    return light


def camera(rng: np.random.Generator, wide: int, high: int, *, tilt: float, away_mm: tuple[float, float]) -> np.ndarray:
    """Give the matrix from millimetres of a plane about 0, 0 to pixels, for a camera somewhere before it."""
    turn, lean, way = rng.uniform(-np.pi, np.pi), np.radians(rng.uniform(0, tilt)), rng.uniform(0, 2 * np.pi)
    axis = np.array((np.cos(way), np.sin(way), 0.0)) * lean
    rotation = cv2.Rodrigues(axis)[0] @ cv2.Rodrigues(np.array((0.0, 0.0, turn / 6)))[0]
    away = rng.uniform(*away_mm)
    shift = np.array((*rng.uniform(-0.12, 0.12, 2) * away, away))
    focal = 1.0 * wide
    inner = np.array(((focal, 0, (wide - 1) / 2), (0, focal, (high - 1) / 2), (0, 0, 1)))
    return inner @ np.column_stack((rotation[:, 0], rotation[:, 1], shift))


def scene(seed: int, *, name: str = "sheet", wide: int = 1000, high: int = 750, tilt: float = 45.0) -> Scene:
    """Render a card on a flat panel; the middle of the card is the plane's 0, 0."""
    rng = np.random.default_rng(seed)
    card: Card = cards()[name]
    printed = float(rng.normal(1.0, 0.01))
    scaled = card.width_mm / cards()["sheet"].width_mm
    matrix = camera(rng, wide, high, tilt=tilt, away_mm=(330 * scaled, 700 * scaled))
    # From the pixels of the drawn card to millimetres of the plane.
    to_plane = np.array(
        (
            (printed / PX_MM, 0, printed * (0.5 / PX_MM - card.width_mm / 2)),
            (0, printed / PX_MM, printed * (0.5 / PX_MM - card.height_mm / 2)),
            (0, 0, 1),
        )
    )
    larger = np.array(((TIMES, 0, (TIMES - 1) / 2), (0, TIMES, (TIMES - 1) / 2), (0, 0, 1)))
    whole = larger @ matrix @ to_plane
    size = (wide * TIMES, high * TIMES)
    paint = float(rng.uniform(0.05, 0.5))
    light = cv2.warpPerspective(drawn(name), whole, size, flags=cv2.INTER_LINEAR, borderValue=-1.0)
    light = np.where(light < -0.01, paint, light).astype(np.float32)
    light = cv2.resize(light, (wide, high), interpolation=cv2.INTER_AREA)
    return Scene(finish(light, rng), matrix, printed)


def finish(light: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Give light shaded, blurred and noisy, as a picture of eight bits."""
    high, wide = light.shape
    fall = rng.uniform(-0.3, 0.3, 2)
    y, x = np.mgrid[0:high, 0:wide].astype(np.float32)
    light = light * (1 + fall[0] * (x / wide - 0.5) + fall[1] * (y / high - 0.5))
    light = cv2.GaussianBlur(light, (0, 0), rng.uniform(0.5, 1.5))
    light = light + (rng.uniform(0.003, 0.012) * rng.standard_normal(light.shape)).astype(np.float32)
    light = np.clip(light, 0, 1)
    signs = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.repeat(np.round(255 * signs).astype(np.uint8)[..., None], 3, axis=2)


def bent_scene(
    seed: int, radius_mm: float, *, name: str = "sheet", wide: int = 1000, high: int = 750
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Render a card laid round a cylinder; give the picture, two places on the panel in pixels and their true distance.

    The distance is the straight one between the places in space.
    """
    rng = np.random.default_rng(seed)
    card = cards()[name]
    project = _camera_in_space(rng, wide, high)
    step = 1.0
    x = np.arange(0, card.width_mm + step / 2, step)
    y = np.arange(0, card.height_mm + step / 2, step)
    grid = np.stack(np.meshgrid(x, y), axis=-1)
    seen = project(_round(grid.reshape(-1, 2), card, radius_mm)).reshape(*grid.shape)
    light = np.full((high * TIMES, wide * TIMES), -1.0, np.float32)
    art = drawn(name)
    # Each square millimetre is laid in by itself: as good as flat at this size.
    for row in range(0, len(y) - 1, 2):
        for column in range(0, len(x) - 1, 2):
            r2, c2 = min(row + 2, len(y) - 1), min(column + 2, len(x) - 1)
            quad = (
                np.array((seen[row, column], seen[row, c2], seen[r2, c2], seen[r2, column])) * TIMES + (TIMES - 1) / 2
            )
            source = np.array(((x[column], y[row]), (x[c2], y[row]), (x[c2], y[r2]), (x[column], y[r2])))
            low, top = np.floor(quad.min(axis=0)).astype(int), np.ceil(quad.max(axis=0)).astype(int) + 1
            if (low < 0).any() or top[0] >= wide * TIMES or top[1] >= high * TIMES:
                continue
            to = cv2.getPerspectiveTransform((source * PX_MM - 0.5).astype(np.float32), (quad - low).astype(np.float32))
            piece = cv2.warpPerspective(
                art, to, tuple(int(v) for v in top - low), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
            )
            mask = cv2.fillConvexPoly(
                np.zeros(piece.shape, np.uint8), np.round((quad - low) * 256).astype(np.int32), 1, shift=8
            )
            part = light[low[1] : top[1], low[0] : top[0]]
            part[mask > 0] = piece[mask > 0]
    light = np.where(light < 0, 0.3, light).astype(np.float32)
    light = cv2.resize(light, (wide, high), interpolation=cv2.INTER_AREA)
    places = rng.uniform((0, 0), (card.width_mm, card.height_mm), (2, 2))
    space = _round(places, card, radius_mm)
    return finish(light, rng), project(space), np.linalg.norm(space[1] - space[0])


def _round(mm: np.ndarray, card: Card, radius_mm: float) -> np.ndarray:
    """Give places of a card in space when it is laid round a cylinder whose axis runs down it."""
    angle = (mm[:, 0] - card.width_mm / 2) / radius_mm
    return np.column_stack((radius_mm * np.sin(angle), mm[:, 1] - card.height_mm / 2, radius_mm * (1 - np.cos(angle))))


def _camera_in_space(rng: np.random.Generator, wide: int, high: int) -> Callable[[np.ndarray], np.ndarray]:
    lean, way = np.radians(rng.uniform(5, 40)), rng.uniform(0, 2 * np.pi)
    rotation = cv2.Rodrigues(np.array((np.cos(way), np.sin(way), 0.0)) * lean)[0]
    away = rng.uniform(400, 700)
    focal = 1.0 * wide

    def project(space: np.ndarray) -> np.ndarray:
        there = space @ rotation.T + np.array((0, 0, away))
        return np.column_stack(
            (focal * there[:, 0] / there[:, 2] + (wide - 1) / 2, focal * there[:, 1] / there[:, 2] + (high - 1) / 2)
        )

    return project
