"""Turn the picture of a page the way it reads best, and read it line by line."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

import numpy as np

from shutline.car.papers import Box, Line, Page
from shutline.gauge.masks.lines import lines_in
from shutline.gauge.seen.lettering import cut, lettering

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shutline.gauge.seen.lettering import Line as Read
    from shutline.gauge.seen.lettering import Picture, Quad, Sign


@dataclass(frozen=True, slots=True)
class _Reading:
    """What is told and how a page is turned; see ``data/pages.toml``."""

    glance_px: int
    lines_tried: int
    taller: float
    least_score: float


@cache
def _settings() -> _Reading:
    text = files("shutline.gauge.pages").joinpath("data/pages.toml").read_text(encoding="utf-8")
    return _Reading(**tomllib.loads(text))


def read_page(picture: Picture, *, number: int = 1) -> tuple[Page, Picture]:
    """Read a page.

    Parameters
    ----------
    picture : ndarray
        Shape (height, width, 3), uint8, RGB; it may lie on its side or stand on its head.
    number : int
        Which page it is, from 1.

    Returns
    -------
    tuple of (Page, ndarray)
        Its lines from top to bottom, each with the mean share of the reader's belief in its signs; and the picture as
        it was turned, in whose shares the places are.
    """
    turned = turn_of(picture)
    upright = np.ascontiguousarray(np.rot90(picture, -turned // 90))
    high, wide = upright.shape[:2]
    lines = [_line(one, wide, high) for one in lines_in(upright)]
    told = sorted((one for one in lines if one.score >= _settings().least_score), key=lambda one: one.box.top)
    return Page(number, tuple(told), turned), upright


def turn_of(picture: Picture) -> int:
    """Tell by how many degrees clockwise a page is to be turned to be read: 0, 90, 180 or 270.

    Which way its lines run shows by their form; which end is up, by what reads better. A page without lines stays.
    """
    import cv2

    settings = _settings()
    scale = min(1.0, settings.glance_px / max(picture.shape[:2]))
    small = np.asarray(cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), np.uint8)
    quads = lettering().places(small)
    lying = sum(_length(quad) for quad in quads if _stands(quad)) > sum(
        _length(quad) for quad in quads if not _stands(quad)
    )
    if lying:
        small = np.ascontiguousarray(np.rot90(small, -1))
        quads = lettering().places(small)
    longest = sorted((quad for quad in quads if not _stands(quad)), key=_length)[-settings.lines_tried :]
    pieces = [cut(small, quad) for quad in longest]
    if not pieces:
        return 0
    one_way = lettering().read(pieces)
    other_way = lettering().read([np.ascontiguousarray(np.rot90(piece, 2)) for piece in pieces])
    upside_down = _belief(other_way) > _belief(one_way)
    return 90 * lying + 180 * upside_down


def _belief(read: Sequence[Sequence[Sign]]) -> float:
    """Give how much is believed of what was read: shares above one half, so that half-believed signs gain nothing."""
    return sum(sign.share - 0.5 for line in read for sign in line if sign.text != " ")


def _stands(quad: Quad) -> bool:
    a, b, _, d = (np.array(corner) for corner in quad)
    return bool(np.linalg.norm(d - a) > _settings().taller * np.linalg.norm(b - a))


def _length(quad: Quad) -> float:
    a, b, _, d = (np.array(corner) for corner in quad)
    return float(max(np.linalg.norm(d - a), np.linalg.norm(b - a)))


def _line(read: Read, wide: int, high: int) -> Line:
    across = [min(max(x / wide, 0.0), 1.0) for x, _ in read.quad]
    down = [min(max(y / high, 0.0), 1.0) for _, y in read.quad]
    box = Box(min(across), min(down), max(across) - min(across), max(down) - min(down))
    shares = [sign.share for sign in read.signs if sign.text != " "]
    return Line(read.text, box, round(float(np.mean(shares)), 4))
