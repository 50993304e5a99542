"""How likely each pixel within an outline shows rust: by its colour beside the panel's own paint, and its roughness."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
import numpy.typing as npt

from shutline.car.errors import BadInputError, Problem
from shutline.gauge.colour.sharma2005 import Array
from shutline.gauge.colour.srgb import lab_of_signs
from shutline.gauge.rust.settings import settings

Picture = npt.NDArray[np.uint8]
"""Shape (height, width, 3), uint8, sRGB, upright."""
Field = npt.NDArray[np.float32]
_BITS = 6
_RUST_HUE = np.radians(52.0)
"""Where the hues of rust lie, CIE Lab: from memory."""


@dataclass(frozen=True, slots=True, eq=False)
class Segmented:
    """What of a picture may be rust.

    `odds` are the natural logarithms of the odds of rust, shape (rows, columns), of the outline's box made smaller by
    `shrink`, its left top corner at `corner` pixels of the picture; `inside` says which of them lie within the outline.
    `paint` is the panel's own colour, L*a*b*, None where none stands out; `paint_odds` the odds of that colour itself.
    """

    odds: Field
    inside: npt.NDArray[np.bool_]
    corner: tuple[int, int]
    shrink: float
    paint: tuple[float, float, float] | None
    paint_odds: float


def segment(picture: Picture, outline: Sequence[tuple[float, float]]) -> Segmented:
    """Weigh each pixel within an outline.

    Parameters
    ----------
    picture : ndarray
        Shape (height, width, 3), uint8, sRGB, upright.
    outline : sequence of tuple of float
        Three corners or more, pixels, the middle of the first pixel at 0, 0; what sticks out is cut off.

    Raises
    ------
    BadInputError
        Slug ``rust-outline``: fewer than three corners, or too little within the picture.
    """
    weights = settings().weights
    piece, inside, corner, shrink = _piece(picture, outline)
    bins = _bins(piece)
    paint = _paint(bins[inside])
    colour = _colour_odds(paint)
    seen = colour[bins]
    rough = roughness(piece)
    near = smooth(seen, 3)
    odds = np.float32(weights.smooth) * near
    odds += np.float32(weights.wide) * smooth(seen, weights.wide_px)
    near *= rough
    odds += np.float32(weights.rough_colour) * near
    odds += np.float32(weights.rough) * rough
    odds += np.float32(weights.ground)
    own = 0.0 if paint is None else float(colour[_bins(_signs_near(paint))][0, 0])
    return Segmented(odds, inside, corner, shrink, paint, own)


def features(lab: Array, paint: tuple[float, float, float] | None) -> Array:
    """Give what is weighed of a colour.

    Parameters
    ----------
    lab : ndarray
        Shape (n, 3).
    paint : tuple of float, optional
        The panel's own colour.

    Returns
    -------
    ndarray
        Shape (n, 19).
    """
    light, red, yellow = (lab[:, 0] - 40) / 30, lab[:, 1] / 30, lab[:, 2] / 30
    chroma = np.hypot(red, yellow)
    hue = np.arctan2(yellow, red)
    near = np.exp(-(((hue - _RUST_HUE) / 0.45) ** 2)) * np.minimum(chroma, 1.2)
    if paint is None:
        apart, lighter, redder, stronger = (np.zeros(len(lab)) for _ in range(4))
        known = np.zeros(len(lab))
        own = np.zeros((3, len(lab)))
    else:
        own_chroma = np.hypot(paint[1], paint[2]) / 30
        shift = np.hypot(lab[:, 1] - paint[1], lab[:, 2] - paint[2])
        apart = np.tanh(np.hypot(shift, 0.5 * (lab[:, 0] - paint[0])) / 12)
        lighter = np.tanh((lab[:, 0] - paint[0]) / 20)
        redder = np.tanh(shift / 12)
        stronger = np.tanh((chroma - own_chroma) / 0.5)
        known = np.ones(len(lab))
        scaled = np.array(((paint[0] - 40) / 30, paint[1] / 30, paint[2] / 30))
        own = np.broadcast_to(scaled[:, None], (3, len(lab)))
    return np.column_stack(
        (
            *(light, red, yellow, chroma, near),
            *(light * light, red * red, yellow * yellow, red * yellow, light * chroma),
            *(apart, lighter, redder, stronger, known, near * apart),
            *own,
        )
    )


def roughness(piece: Picture) -> Field:
    """Give how rough a picture is about each pixel, beside its middle: a logarithm within -2 and 2.

    Parameters
    ----------
    piece : ndarray
        Shape (rows, columns, 3), uint8, sRGB.
    """
    import cv2

    grey = cv2.cvtColor(piece, cv2.COLOR_RGB2GRAY)
    small = np.asarray(cv2.resize(grey, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA), np.float32)
    across = settings().look.texture_px
    mean = cv2.blur(small, (across, across))
    spread = np.sqrt(np.maximum(cv2.blur(small * small, (across, across)) - mean * mean, 0.0)) + 0.8
    rough = np.log(spread)
    rough -= np.median(rough[::4, ::4])
    rough = np.clip(rough, -2, 2)
    return np.asarray(cv2.resize(rough, grey.shape[::-1], interpolation=cv2.INTER_LINEAR), np.float32)


def smooth(odds: Field, across: int) -> Field:
    """Give odds with those about them, `across` pixels square."""
    import cv2

    return np.asarray(cv2.blur(np.asarray(odds, np.float32), (across, across)), np.float32)


def weighed(ground: Array) -> Field:
    """Give the odds that colours have by themselves: one layer of what was learnt between, `features` in."""
    inner, bias, outer, last = network()
    return np.asarray(np.tanh(ground.astype(np.float32) @ inner + bias) @ outer + last, np.float32)


@cache
def network() -> tuple[Field, Field, Field, np.float32]:
    """Read what was learnt of colours: weights in, shape (features, units), biases, weights out, and the last bias."""
    text = files("shutline.gauge.rust").joinpath("data", "colours.csv").read_text(encoding="utf-8")
    rows = np.array([[float(each) for each in line.split(",")] for line in text.splitlines()[1:]], np.float32)
    # A row is a unit: its weights in, its bias, its weight out; the last row has but the last bias.
    units = rows[:-1]
    return units[:, :-2].T.copy(), units[:, -2].copy(), units[:, -1].copy(), np.float32(rows[-1, -1])


def _colour_odds(paint: tuple[float, float, float] | None) -> Field:
    """Give the odds of each colour of `_bins` by colour alone."""
    if paint is None:
        return _odds_unpainted()
    return weighed(features(_bin_labs(), paint))


@cache
def _odds_unpainted() -> Field:
    return weighed(features(_bin_labs(), None))


def _piece(
    picture: Picture, outline: Sequence[tuple[float, float]]
) -> tuple[Picture, npt.NDArray[np.bool_], tuple[int, int], float]:
    """Cut out the outline's box, made smaller where it is large."""
    import cv2

    look = settings().look
    corners = np.asarray(outline, np.float64)
    high, wide = picture.shape[:2]
    if corners.ndim != 2 or corners.shape[-1] != 2 or len(corners) < 3 or not np.isfinite(corners).all():
        raise _refused(f"{len(outline)} corners", "three corners or more, each across and down in pixels")
    left, top = np.floor(corners.min(axis=0)).clip(0, (wide, high)).astype(int)
    right, low = (np.ceil(corners.max(axis=0)) + 1).clip(0, (wide, high)).astype(int)
    if (right - left) * (low - top) < look.least_pixels:
        raise _refused(
            f"a box of {max(0, right - left)} by {max(0, low - top)} pixels",
            f"{look.least_pixels} pixels or more within the picture",
        )
    piece = picture[top:low, left:right]
    shrink = min(1.0, float(np.sqrt(look.most_pixels / (piece.shape[0] * piece.shape[1]))))
    if shrink < 1:
        piece = np.asarray(cv2.resize(piece, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA), np.uint8)
    drawn = (corners - (left, top) + 0.5) * shrink - 0.5
    # Corners go to the filler in 256ths of a pixel; what lies far outside is cut first.
    drawn = np.round(np.clip(drawn, -8192, 16384) * 256).astype(np.int32)
    inside = cv2.fillPoly(np.zeros(piece.shape[:2], np.uint8), [drawn], 1, shift=8).astype(bool)
    if int(inside.sum()) < look.least_pixels:
        raise _refused(f"{int(inside.sum())} pixels", f"{look.least_pixels} pixels or more within the picture")
    return piece, inside, (int(left), int(top)), shrink


def _bins(piece: Picture) -> npt.NDArray[np.int32]:
    """Give the number of each pixel's colour, six bits a channel."""
    down = 8 - _BITS
    red, green, blue = (piece[..., at].astype(np.int32) >> down for at in range(3))
    return np.asarray((red << (2 * _BITS)) | (green << _BITS) | blue)


@cache
def _bin_labs() -> Array:
    """Give L*a*b* of the middle of each colour of `_bins`, shape (262144, 3)."""
    steps = (np.arange(1 << _BITS) + 0.5) * (1 << (8 - _BITS)) / 256
    red, green, blue = np.meshgrid(steps, steps, steps, indexing="ij")
    return lab_of_signs(np.stack((red.ravel(), green.ravel(), blue.ravel()), axis=1))


def _paint(bins: npt.NDArray[np.int32]) -> tuple[float, float, float] | None:
    """Give the commonest colour among those that rust seldom has; None where it covers little.

    Counted in cells of L*a*b* ten wide, and the mean of the fullest cell and those beside it taken.
    """
    counts = np.bincount(bins, minlength=1 << (3 * _BITS)).astype(np.float64)
    labs = _bin_labs()
    doubtful = 1 / (1 + np.exp(-_odds_unpainted()))
    weight = counts * (1 - doubtful) + 0.15 * counts
    there = counts > 0
    cells = np.floor(labs[there] / 10).astype(int) + np.array((0, 20, 20))
    number = (cells[:, 0] * 64 + cells[:, 1]) * 64 + cells[:, 2]
    sums = np.bincount(number, weights=weight[there])
    fullest = int(np.argmax(sums))
    middle = np.array((fullest // 4096, fullest // 64 % 64, fullest % 64)) * 10.0 + (5.0, -195.0, -195.0)
    near = np.abs(labs[there] - middle).max(axis=1) < 15
    if counts[there][near].sum() < settings().look.paint_share * counts.sum():
        return None
    light, red, yellow = np.average(labs[there][near], axis=0, weights=weight[there][near])
    return float(light), float(red), float(yellow)


def _signs_near(lab: tuple[float, float, float]) -> Picture:
    from shutline.gauge.colour.srgb import light_of_lab, signs_of

    return np.round(255 * signs_of(light_of_lab(lab))).astype(np.uint8).reshape(1, 1, 3)


def _refused(found: str, allowed: str) -> BadInputError:
    return BadInputError(
        Problem(
            slug="rust-outline",
            where="outline",
            found=found,
            allowed=allowed,
            advice="Outline a larger piece of the panel within the picture.",
        )
    )
