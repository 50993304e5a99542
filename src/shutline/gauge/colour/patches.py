"""A patch of a picture: parted into tiles, each with the colour of its mean light."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shutline.car.errors import BadInputError, Problem
from shutline.gauge.colour.settings import PatchSettings, settings
from shutline.gauge.colour.sharma2005 import Array
from shutline.gauge.colour.srgb import light_of

Picture = npt.NDArray[np.uint8]
"""Shape (height, width, 3), uint8, sRGB, upright."""
Point = tuple[float, float]
"""Pixels from the left and from the top; the middle of the first pixel is 0, 0."""


@dataclass(frozen=True, slots=True, eq=False)
class Patch:
    """The tiles of a patch.

    `light` is the mean light of each, shape (n, 3), linear in red, green, blue, 0 to 1 before any balance; `places`
    their middles in pixels, shape (n, 2); `alike` how much neighbouring tiles are alike beyond chance, the correlation
    of their lightness, 0 to just below 1; `left_out` the share of pixels that show a reflection or nothing.
    """

    light: Array
    places: Array
    alike: float
    left_out: float


def read_patch(picture: Picture, outline: Sequence[Point], *, name: str = "patch") -> Patch:
    """Part what lies within an outline into tiles.

    Parameters
    ----------
    picture : ndarray
        Shape (height, width, 3), uint8, sRGB, upright.
    outline : sequence of point
        Three corners or more, pixels.
    name : str
        What messages call it.

    Raises
    ------
    BadInputError
        Slug ``patch-refused``: fewer than three corners, outside the picture, too small, or too much of it reflects.
    """
    tuning = settings().patches
    corners = np.asarray(outline, np.float64)
    high, wide = picture.shape[:2]
    if corners.ndim != 2 or len(corners) < 3 or not np.isfinite(corners).all():
        raise _refused(name, f"{len(corners)} corners", "three corners or more", "Pick the corners of a plain piece.")
    if (corners < -0.5).any() or (corners > (wide - 0.5, high - 0.5)).any():
        raise _refused(name, "a corner outside the picture", f"{wide} by {high} pixels", "Pick within the picture.")
    left, top = np.floor(corners.min(axis=0)).astype(int).clip(0)
    right, low = np.ceil(corners.max(axis=0)).astype(int) + 1
    piece = picture[top:low, left:right]
    inside = _inside(corners - (left, top), piece.shape[:2])
    fit = inside & (piece.max(axis=2) < tuning.glare) & (piece.max(axis=2) > tuning.dark)
    count = int(inside.sum())
    left_out = 1 - fit.sum() / count if count else 1.0
    if count and left_out > tuning.most_left_out:
        raise _refused(
            name,
            f"{left_out:.0%} of it is a reflection, overexposed or black",
            f"up to {tuning.most_left_out:.0%}",
            "Pick a piece without reflections, or photograph it in shade.",
        )
    light, places = _tiles(piece, inside, fit, tuning)
    if len(light) < tuning.least_tiles:
        raise _refused(
            name,
            f"{count} pixels, {len(light)} tiles",
            f"room for {tuning.least_tiles} tiles of {tuning.least_tile_px} by {tuning.least_tile_px} pixels",
            "Pick a larger piece, or go nearer with the camera.",
        )
    return Patch(light, places + np.array((left, top)), _neighbours(light, places), float(left_out))


def _inside(corners: Array, shape: tuple[int, int]) -> npt.NDArray[np.bool_]:
    import cv2

    # Corners go to the filler in 256ths of a pixel, so that no half pixel is lost.
    drawn = cv2.fillPoly(np.zeros(shape, np.uint8), [np.round(corners * 256).astype(np.int32)], 1, shift=8)
    return np.asarray(drawn, bool)


def _tiles(
    piece: Picture, inside: npt.NDArray[np.bool_], fit: npt.NDArray[np.bool_], tuning: PatchSettings
) -> tuple[Array, Array]:
    """Give mean light and middle of each tile that lies in the outline by half and is fit by half."""
    side = max(tuning.least_tile_px, round(float(np.sqrt(inside.sum())) / tuning.tiles))
    rows, columns = (-(-length // side) for length in inside.shape)
    down, across = (np.arange(length) // side for length in inside.shape)
    number = (down[:, None] * columns + across[None, :]).ravel()
    count = rows * columns
    whole = np.bincount(number, weights=inside.ravel(), minlength=count)
    good = np.bincount(number, weights=fit.ravel(), minlength=count)
    light = light_of(piece) * fit[..., None]
    sums = [np.bincount(number, weights=light[..., c].ravel(), minlength=count) for c in range(3)]
    keep = (whole >= side * side / 2) & (good >= whole / 2)
    numbers = np.flatnonzero(keep)
    places = np.stack((numbers % columns, numbers // columns), axis=1) * side + (side - 1) / 2
    return np.stack(sums, axis=1)[keep] / good[keep, None], np.asarray(places, np.float64)


def _neighbours(light: Array, places: Array) -> float:
    """Give how alike tiles side by side are, beyond chance: correlation of their lightness, 0 to 0.9."""
    value = np.cbrt(light @ (0.2126, 0.7152, 0.0722))
    value = value - value.mean()
    spread = float(np.mean(value * value))
    if spread <= 1e-18:
        return 0.0
    apart = np.abs(places[:, None, :] - places[None, :, :])
    step = apart.sum(axis=2)
    nearest = float(np.min(step[step > 0]))
    one, other = np.nonzero(np.triu(step <= nearest * 1.01, 1))
    found = float(np.mean(value[one] * value[other])) / spread
    # A sample's own mean pulls its correlations down by about one over its number.
    return min(max(0.0, found + 1 / len(value)), 0.9)


def _refused(name: str, found: str, allowed: str, advice: str) -> BadInputError:
    return BadInputError(Problem(slug="patch-refused", where=name, found=found, allowed=allowed, advice=advice))
