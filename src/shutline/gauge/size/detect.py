"""The card in a photograph: its markers found, and their corners read where their straight edges meet."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt

from shutline.car.errors import BadInputError, Problem
from shutline.gauge.size.card import MODULES, Array, Card, _dictionary, cards
from shutline.gauge.size.settings import settings

Picture = npt.NDArray[np.uint8]
"""Shape (height, width, 3), uint8, sRGB, upright."""


@dataclass(frozen=True, slots=True, eq=False)
class FoundCard:
    """A card as it stands in a photograph.

    `mm` and `px` are the corners of its markers on the card and in the picture, shape (4 n, 2) both, the middle of the
    picture's first pixel at 0, 0. `side_px` is the middle length of a marker's side.
    """

    card: Card
    markers: tuple[int, ...]
    mm: Array
    px: Array
    side_px: float


def find_card(picture: Picture) -> FoundCard:
    """Find the card in a photograph; the one with most markers where there are two.

    Parameters
    ----------
    picture : ndarray
        Shape (height, width, 3), uint8, sRGB, upright.

    Raises
    ------
    BadInputError
        Slug ``marker-card-not-found``: too few of its markers are seen, or they are too small.
    """
    import cv2

    tuning = settings().finding
    grey = np.asarray(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY), np.uint8)
    share = min(1.0, tuning.longest_px / max(grey.shape))
    small = cv2.resize(grey, None, fx=share, fy=share, interpolation=cv2.INTER_AREA) if share < 1 else grey
    quads, numbers, _ = _detector().detectMarkers(small)
    seen: dict[int, Array] = {}
    for quad, number in zip(quads, [] if numbers is None else np.ravel(numbers).tolist(), strict=True):
        # The middle of a small pixel is the middle of those it was made of.
        seen.setdefault(int(number), (np.asarray(quad, np.float64).reshape(4, 2) + 0.5) / share - 0.5)
    of = [(card, [each for each, _, _ in card.markers if each in seen]) for card in cards().values()]
    card, there = max(of, key=lambda each: len(each[1]))
    if len(there) < tuning.least_markers:
        raise _not_found(f"{len(there)} markers of a card", f"{tuning.least_markers} or more of the four")
    light = _light(grey)
    corners = {number: _refined(light, seen[number]) for number in there}
    sides = [np.linalg.norm(np.roll(quad, -1, axis=0) - quad, axis=1) for quad in corners.values()]
    side = float(np.median(sides))
    if side < tuning.least_side_px:
        raise _not_found(f"markers of {side:.0f} pixels", f"sides of {tuning.least_side_px:.0f} pixels or more")
    return FoundCard(
        card,
        tuple(there),
        np.concatenate([card.corners(number) for number in there]),
        np.concatenate([corners[number] for number in there]),
        side,
    )


def _refined(light: npt.NDArray[np.float32], quad: Array) -> Array:
    """Give corners as the crossings of straight lines laid through the edges, twice from where they were."""
    found = quad
    for _ in range(2):
        lines = [_edge(light, found[at], found[(at + 1) % 4]) for at in range(4)]
        crossed = [_crossing(lines[at - 1], lines[at]) for at in range(4)]
        if any(each is None for each in crossed):
            return found
        fresh = np.array(crossed)
        reach = np.linalg.norm(found[1] - found[0]) / MODULES
        if np.abs(fresh - found).max() > reach:
            return found
        found = fresh
    return np.asarray(found, np.float64)


def _edge(light: npt.NDArray[np.float32], start: Array, end: Array) -> tuple[Array, Array]:
    """Give a point and a direction of the line from white to black between two corners.

    An edge lies where the middle of the fall of light across it does: blur and shade do not move it, in light.
    """
    import cv2

    tuning = settings().finding
    along = end - start
    side = float(np.linalg.norm(along))
    along = along / side
    # Corners go by the clock with y down: this side of the way is inside.
    inward = np.array((-along[1], along[0]))
    reach = min(tuning.reach_px, tuning.reach_modules * side / MODULES)
    offsets = np.arange(-reach, reach + 0.25, 0.5)
    shares = np.linspace(*tuning.along, tuning.places)
    middles = start + shares[:, None] * side * along
    spots = (middles[:, None, :] + offsets[None, :, None] * inward).astype(np.float32)
    seen = cv2.remap(light, spots[..., 0], spots[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    fall = np.maximum(-np.diff(np.asarray(seen, np.float64), axis=1), 0.0)
    # What is less than a tenth of the steepest is noise.
    fall = np.maximum(fall - 0.1 * fall.max(axis=1, keepdims=True), 0.0)
    weight = fall.sum(axis=1)
    between = (offsets[:-1] + offsets[1:]) / 2
    good = weight > 0.3 * np.median(weight)
    at = (fall[good] @ between) / np.maximum(weight[good], 1e-12)
    points = middles[good] + at[:, None] * inward
    keep = np.ones(len(points), bool)
    for _ in range(3):
        middle = points[keep].mean(axis=0)
        _, _, ways = np.linalg.svd(points[keep] - middle)
        off = np.abs((points - middle) @ ways[1])
        keep = off <= 3 * max(1.4826 * float(np.median(off)), 0.02)
    return middle, ways[0]


def _crossing(one: tuple[Array, Array], other: tuple[Array, Array]) -> Array | None:
    ground = np.column_stack((one[1], -other[1]))
    if abs(float(np.linalg.det(ground))) < 0.05:
        return None
    return np.asarray(one[0] + np.linalg.solve(ground, other[0] - one[0])[0] * one[1])


def _light(grey: Picture) -> npt.NDArray[np.float32]:
    """Give grey in light (IEC 61966-2-1): in sRGB a blurred edge lies off to its dark side."""
    import cv2

    steps = np.arange(256) / 255
    table = np.where(steps <= 0.04045, steps / 12.92, ((steps + 0.055) / 1.055) ** 2.4).astype(np.float32)
    return np.asarray(cv2.LUT(grey, table), np.float32)


@cache
def _detector() -> Any:
    import cv2

    how = cv2.aruco.DetectorParameters()
    how.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    return cv2.aruco.ArucoDetector(_dictionary(), how)


def _not_found(found: str, allowed: str) -> BadInputError:
    return BadInputError(
        Problem(
            slug="marker-card-not-found",
            where="photograph",
            found=found,
            allowed=allowed,
            advice="Photograph the whole card, nearer, sharp and without reflections on it.",
        )
    )
