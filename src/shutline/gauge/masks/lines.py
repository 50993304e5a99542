"""Lettering sought at a size of one's own choosing: the reader's own way looks at pictures as large as they come."""

from __future__ import annotations

import numpy as np

from shutline.gauge.masks.found import Picture
from shutline.gauge.seen.lettering import Line, Quad, cut, lettering

_TALLEST = 1.5
"""What stands higher than so many times its width is not read: marks and numbers run along."""


def lines_in(picture: Picture) -> list[Line]:
    """Find the lines of a picture at the size it has, and read each once.

    Parameters
    ----------
    picture : ndarray
        Shape (height, width, 3), uint8, RGB, upright.
    """
    from rapidocr.ch_ppocr_det.utils import DetPreProcess

    reader = lettering()
    # One loaded network for all that looks for lettering.
    detector = reader._loaded().text_det
    prepared = DetPreProcess(max(picture.shape[:2]), "max", detector.mean, detector.std)(picture[..., ::-1])
    if prepared is None:
        return []
    boxes, _ = detector.postprocess_op(detector.session(prepared), picture.shape[:2])
    quads = [_quad(np.asarray(box, np.float64)) for box in boxes]
    along = [quad for quad in quads if _runs_along(quad)]
    read = reader._read([cut(picture, quad) for quad in along])
    return [Line(signs, quad) for signs, quad in zip(read, along, strict=True) if signs]


def _quad(box: np.ndarray[tuple[int, int], np.dtype[np.float64]]) -> Quad:
    a, b, c, d = ((float(x), float(y)) for x, y in box)
    return a, b, c, d


def _runs_along(quad: Quad) -> bool:
    corners = np.array(quad)
    return bool(np.linalg.norm(corners[3] - corners[0]) < _TALLEST * np.linalg.norm(corners[1] - corners[0]))
