"""Cover boxes of a picture with a flat colour: nothing of what was there is left."""

from __future__ import annotations

from collections.abc import Iterable

from shutline.car.masks import Box
from shutline.gauge.masks.found import Picture


def covered(picture: Picture, boxes: Iterable[Box], *, colour: tuple[int, int, int]) -> Picture:
    """Give a picture with boxes of it filled.

    Parameters
    ----------
    picture : ndarray
        Shape (height, width, 3), uint8, RGB, upright; left as it is.
    boxes : iterable of Box
        In shares of the picture.
    colour : tuple of int
        Red, green, blue, 0 to 255.

    Returns
    -------
    ndarray
        The same shape. Each pixel that a box touches has the colour, each other pixel is as it was.
    """
    done = picture.copy()
    high, wide = picture.shape[:2]
    for box in boxes:
        left, top, right, bottom = box.pixels(wide, high)
        done[top:bottom, left:right] = colour
    return done
