"""What lettering stands on: whether one colour lies all round it, and ends at an edge as a plate does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shutline.gauge.masks.found import Picture
from shutline.gauge.masks.settings import finding
from shutline.gauge.seen.lettering import Quad, grown

_HIGH = 20
"""Height to which lettering is brought before its ground is looked at, pixels."""
_RING = (-0.15, 0.04)
"""The ring that tells the ground of lettering: from so far within its outline to so far outside, heights of it."""

Corners = npt.NDArray[np.float64]
"""Shape (4, 2): x and y of corners, pixels of the picture."""


@dataclass(frozen=True, slots=True)
class Ground:
    """The ground of some lettering.

    `uniform` is the share of the ring around it that has one colour, `contrast` the distance of the lettering from that
    colour (CIE Lab), `plate` the corners of the ground where it ends at an edge all round, else None.
    """

    uniform: float
    contrast: float
    plate: Corners | None

    @property
    def like_a_plate(self) -> bool:
        """Tell whether it has an edge all round and clear lettering on it."""
        return self.plate is not None and self.contrast > 2 * finding().lettering.ground_distance


def ground_of(picture: Picture, quads: Sequence[Quad]) -> Ground | None:
    """Look at what lettering stands on.

    Parameters
    ----------
    picture : ndarray
        Shape (height, width, 3), uint8, RGB.
    quads : sequence of Quad
        The lines of one piece of lettering.

    Returns
    -------
    Ground or None
        None where it is too small to tell.
    """
    import cv2

    settings = finding().lettering
    corners = np.array(quads, np.float64)
    tall = min(_tall(quad) for quad in corners)
    reach = settings.reach * tall
    left, top = np.floor(corners.reshape(-1, 2).min(axis=0) - reach).astype(int)
    right, bottom = np.ceil(corners.reshape(-1, 2).max(axis=0) + reach).astype(int)
    high, wide = picture.shape[:2]
    cut_left, cut_top, cut_right, cut_bottom = max(left, 0), max(top, 0), min(right, wide), min(bottom, high)
    if tall < 4 or cut_right - cut_left < 8 or cut_bottom - cut_top < 8:
        return None
    share = min(1.0, _HIGH / tall)
    window = picture[cut_top:cut_bottom, cut_left:cut_right]
    small = cv2.resize(window, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
    lab = cv2.cvtColor(small.astype(np.float32) / 255, cv2.COLOR_RGB2LAB)
    letters, ring, within_ring = (np.zeros(small.shape[:2], np.uint8) for _ in range(3))
    for quad in quads:
        for mask, out in ((letters, 0.0), (ring, _RING[1]), (within_ring, _RING[0])):
            shape = (np.array(grown(quad, out)) - (cut_left, cut_top)) * share
            cv2.fillPoly(mask, [np.round(shape).astype(np.int32)], 1)
    around = (ring == 1) & (within_ring == 0)
    if not around.any():
        return None
    colour = np.median(lab[around], axis=0)
    distance = np.linalg.norm(lab - colour, axis=2)
    like = distance < settings.ground_distance
    uniform = float(like[around].mean())
    within = distance[letters == 1]
    contrast = (
        float(np.median(within[within >= settings.ground_distance]))
        if (within >= settings.ground_distance).any()
        else 0.0
    )
    plate = None
    if uniform >= settings.ring_uniform:
        # Where the window ends at the picture's own edge a plate may be cut off by it.
        ends = (cut_left == left, cut_top == top, cut_right == right, cut_bottom == bottom)
        plate = _plate(like, around, letters, ends)
    return Ground(uniform, contrast, None if plate is None else plate / share + (cut_left, cut_top))


def _plate(
    like: npt.NDArray[np.bool_],
    around: npt.NDArray[np.bool_],
    letters: npt.NDArray[np.uint8],
    ends: tuple[bool, bool, bool, bool],
) -> Corners | None:
    """Give the outline of the ground, in pixels of the window, where it is that of a plate."""
    import cv2

    settings = finding().lettering
    _, pieces = cv2.connectedComponents(like.astype(np.uint8), connectivity=4)
    number = int(np.bincount(pieces[around & like]).argmax())
    piece = pieces == number
    sides = (piece[:, 0], piece[0], piece[:, -1], piece[-1])
    if any(inside and side.any() for inside, side in zip(ends, sides, strict=True)):
        return None
    whole = (piece | (letters == 1)).astype(np.uint8)
    outlines, _ = cv2.findContours(whole, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    outline = max(outlines, key=cv2.contourArea)
    box = cv2.minAreaRect(outline)
    long, short = max(box[1]), max(min(box[1]), 1.0)
    area = long * short
    least, most = settings.proportions
    if not least <= long / short <= most or area > settings.largest * float((letters == 1).sum()):
        return None
    if cv2.contourArea(outline) < settings.fills * area:
        return None
    return np.asarray(cv2.boxPoints(box), np.float64)


def _tall(quad: Corners) -> float:
    return float(np.linalg.norm(quad[3] - quad[0]) + np.linalg.norm(quad[2] - quad[1])) / 2
