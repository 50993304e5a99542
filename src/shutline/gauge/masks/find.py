"""Find marks, chassis numbers and faces in one picture."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

import numpy as np

from shutline.gauge.masks.faces import faces
from shutline.gauge.masks.lines import lines_in
from shutline.gauge.masks.marks import marks_among
from shutline.gauge.masks.settings import finding

if TYPE_CHECKING:
    from shutline.gauge.masks.found import Found, Picture


def find_in_picture(
    picture: Picture, *, lettering_px: int | None = None, faces_px: int | None = None
) -> tuple[Found, ...]:
    """Find what may be to be covered.

    Parameters
    ----------
    picture : ndarray
        Shape (height, width, 3), uint8, RGB, upright.
    lettering_px, faces_px : int, optional
        Longest side at which lettering and faces are sought; as in `finding.toml` when left out.

    Returns
    -------
    tuple of Found
        Marks and chassis numbers, then faces, each the surest first.
    """
    settings = finding().pictures
    small = smaller(picture, lettering_px or settings.lettering_px)
    marks = marks_among(small, lines_in(small))
    return (*marks, *faces().find(picture, longest_px=faces_px or settings.faces_px))


def smaller(picture: Picture, longest_px: int) -> Picture:
    """Give a picture made smaller to a longest side; one that is not larger as it is."""
    import cv2

    share = longest_px / max(picture.shape[:2])
    if share >= 1:
        return picture
    return np.asarray(cv2.resize(picture, None, fx=share, fy=share, interpolation=cv2.INTER_AREA), np.uint8)


@cache
def finder() -> str:
    """Give the name of this search: it changes with the networks, the settings and the rules of `EDITION`."""
    import importlib.metadata

    mark = hashlib.sha256(EDITION.encode())
    mark.update(importlib.metadata.version("rapidocr").encode())
    for name in ("finding.toml", "forms.csv", "chassis.toml"):
        mark.update(files("shutline.gauge.masks").joinpath("data", name).read_bytes())
    mark.update(files("shutline.gauge.masks").joinpath("weights", "SHA256SUMS").read_bytes())
    return mark.hexdigest()[:16]


EDITION = "3"
"""Raised when the rules in code change what is found."""
