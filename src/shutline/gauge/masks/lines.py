"""Lettering sought at a size of one's own choosing: the reader's own way looks at pictures as large as they come."""

from __future__ import annotations

from typing import Any

import numpy as np

from shutline.gauge.masks.found import Picture
from shutline.gauge.masks.pieces import Rect, pieces_or_whole
from shutline.gauge.masks.settings import finding
from shutline.gauge.seen.lettering import Line, Quad, cut, lettering

_NEAR = (9, 25)
_ROOM = 24
"""Pieces so near (rows and columns of the glance) are looked at together, with so much room around them, pixels."""
_TALLEST = 1.5
"""What stands higher than so many times its width is not read: marks and numbers run along."""


def lines_in(picture: Picture) -> list[Line]:
    """Find the lines of a picture at the size it has, and read each once.

    The whole is glanced at smaller first, and only where anything may be lettering is looked at as large as it is.

    Parameters
    ----------
    picture : ndarray
        Shape (height, width, 3), uint8, RGB, upright.
    """
    # One loaded network for all that looks for lettering.
    reader = lettering()
    detector = reader._loaded().text_det
    quads = [quad for rect in _places(detector, picture) for quad in _found(detector, picture, rect)]
    along = [quad for quad in quads if _runs_along(quad)]
    read = reader.read([cut(picture, quad) for quad in along])
    return [Line(signs, quad) for signs, quad in zip(read, along, strict=True) if signs]


def _places(detector: Any, picture: Picture) -> list[Rect]:
    """Give where lettering may stand; the whole picture where that is much of it."""
    import cv2

    settings = finding().lettering
    high, wide = picture.shape[:2]
    small = cv2.resize(picture, None, fx=settings.glance, fy=settings.glance, interpolation=cv2.INTER_AREA)
    belief = _belief(detector, np.asarray(small, np.uint8))
    if belief is None:
        return [(0, 0, wide, high)]
    some = (belief[0, 0] > settings.glance_least).astype(np.uint8)
    # Letters of one line, and lines of one plate, lie in one place.
    _, _, boxes, _ = cv2.connectedComponentsWithStats(cv2.dilate(some, np.ones(_NEAR, np.uint8)))
    across, down = wide / some.shape[1], high / some.shape[0]
    rects = [
        (
            max(0, int(x * across) - _ROOM),
            max(0, int(y * down) - _ROOM),
            min(wide, int((x + w) * across) + _ROOM),
            min(high, int((y + h) * down) + _ROOM),
        )
        for x, y, w, h, _ in boxes[1:].tolist()
    ]
    return pieces_or_whole(rects, wide, high, most=settings.glance_most)


def _found(detector: Any, picture: Picture, rect: Rect) -> list[Quad]:
    left, top, right, low = rect
    piece = picture[top:low, left:right]
    belief = _belief(detector, piece)
    if belief is None:
        return []
    boxes, _ = detector.postprocess_op(belief, piece.shape[:2])
    return [_quad(np.asarray(box, np.float64) + np.array((left, top))) for box in boxes]


def _belief(detector: Any, picture: Picture) -> Any:
    """Give how much the network believes in lettering at each pixel, shape (1, 1, height, width), sides rounded."""
    from rapidocr.ch_ppocr_det.utils import DetPreProcess

    prepared = DetPreProcess(max(picture.shape[:2]), "max", detector.mean, detector.std)(picture[..., ::-1])
    return None if prepared is None else detector.session(prepared)


def _quad(box: np.ndarray[tuple[int, int], np.dtype[np.float64]]) -> Quad:
    a, b, c, d = ((float(x), float(y)) for x, y in box)
    return a, b, c, d


def _runs_along(quad: Quad) -> bool:
    corners = np.array(quad)
    return bool(np.linalg.norm(corners[3] - corners[0]) < _TALLEST * np.linalg.norm(corners[1] - corners[0]))
