"""Find faces in a picture with a small network whose weights lie in the package."""

from __future__ import annotations

import threading
from functools import cache
from importlib.resources import as_file, files
from typing import Any

import numpy as np
import numpy.typing as npt

from shutline.car.masks import Box, MaskKind
from shutline.gauge.masks.found import Found, Picture
from shutline.gauge.masks.pieces import Rect, pieces_or_whole
from shutline.gauge.masks.settings import finding

_STEP = 4
"""The network gives one answer for each square of so many pixels."""
_MULTIPLE = 32
"""Sides that it takes are multiples of this many pixels."""
_ANSWERS = 5
_ROOM = 64
"""How much more than a face and as much again is looked at around it, pixels."""


class Faces:
    """The network, loaded when first used; safe to use from several threads."""

    def __init__(self) -> None:
        self._loading = threading.Lock()
        self._session: Any = None

    def find(self, picture: Picture, *, longest_px: int) -> tuple[Found, ...]:
        """Find the faces.

        The whole is glanced at smaller first, and only where a face may be is looked at as large as asked for.

        Parameters
        ----------
        picture : ndarray
            Shape (height, width, 3), uint8, RGB, upright.
        longest_px : int
            Side to which a larger picture is made smaller; a face of less than about 12 pixels there is not found.

        Returns
        -------
        tuple of Found
            The surest first.
        """
        share = min(1.0, longest_px / max(picture.shape[:2]))
        small = _resized(picture, share)
        high, wide = small.shape[:2]
        answers = np.zeros((_ANSWERS, high // _STEP, wide // _STEP), np.float32)
        for left, top, right, low in self._places(small):
            answers[:, top // _STEP : low // _STEP, left // _STEP : right // _STEP] = self._asked(
                small[top:low, left:right]
            )
        return _faces(answers[0], answers[1:3], answers[3:5], (wide, high))

    def _places(self, small: Picture) -> list[Rect]:
        """Give where a face may be, at full steps of the network; the whole picture where that is much of it."""
        settings = finding().faces
        high, wide = small.shape[:2]
        glance = _resized(small, settings.glance)
        answers = self._asked(glance)
        share = np.array((wide / glance.shape[1], high / glance.shape[0]))
        rects = []
        for row, column in np.argwhere(answers[0] >= settings.glance_least):
            # As large as a face there would be, and so much again around it.
            tall, broad = np.exp(answers[1:3, row, column]) * _STEP
            reach = np.array((broad, tall)) * share + _ROOM
            middle = (np.array((column, row)) + 0.5) * _STEP * share
            left, top = np.maximum(0, (middle - reach) // _MULTIPLE * _MULTIPLE).astype(int)
            right, low = np.minimum((wide, high), -(-(middle + reach) // _MULTIPLE) * _MULTIPLE).astype(int)
            rects.append((int(left), int(top), int(right), int(low)))
        return pieces_or_whole(rects, wide, high, most=settings.glance_most)

    def _asked(self, small: Picture) -> npt.NDArray[np.float32]:
        """Give belief, heights, widths and where from the square's corner, shape (5, height / 4, width / 4)."""
        taken = np.ascontiguousarray(small.astype(np.float32).transpose(2, 0, 1)[None])
        belief, sizes, offsets, _ = self._loaded().run(None, {"input.1": taken})
        return np.concatenate([belief[0], sizes[0], offsets[0]])

    def _loaded(self) -> Any:
        with self._loading:
            if self._session is None:
                self._session = _session()
            return self._session


@cache
def faces() -> Faces:
    """Give the one finder of a process."""
    return Faces()


def _session() -> Any:
    import onnxruntime

    options = onnxruntime.SessionOptions()
    # Waiting threads sleep: the machine has other work.
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")
    options.log_severity_level = 3
    with as_file(files("shutline.gauge.masks").joinpath("weights", "centerface.onnx")) as path:
        return onnxruntime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])


def _resized(picture: Picture, share: float) -> Picture:
    """Give a picture at a share of its size, its sides brought to what the network takes."""
    import cv2

    high, wide = picture.shape[:2]
    size = tuple(max(_MULTIPLE, round(side * share / _MULTIPLE) * _MULTIPLE) for side in (wide, high))
    way = cv2.INTER_AREA if share < 1 else cv2.INTER_LINEAR
    return np.asarray(cv2.resize(picture, size, interpolation=way), np.uint8)


def _faces(
    belief: npt.NDArray[np.float32],
    sizes: npt.NDArray[np.float32],
    offsets: npt.NDArray[np.float32],
    size: tuple[int, ...],
) -> tuple[Found, ...]:
    """Take the squares that are believed in, and of those that overlap the surest."""
    settings = finding().faces
    rows, columns = np.nonzero(belief >= settings.least)
    order = np.argsort(-belief[rows, columns], kind="stable")
    kept: list[Found] = []
    for row, column in zip(rows[order], columns[order], strict=True):
        high, wide = np.exp(sizes[:, row, column]) * _STEP
        down, along = (np.array((row, column)) + offsets[:, row, column] + 0.5) * _STEP
        box = _box((along - wide / 2, down - high / 2, along + wide / 2, down + high / 2), size)
        if box is not None and all(box.likeness(other.box) < settings.overlap for other in kept):
            kept.append(Found(MaskKind.FACE, box, float(belief[row, column])))
    return tuple(kept)


def _box(edges: tuple[float, float, float, float], size: tuple[int, ...]) -> Box | None:
    left, top, right, bottom = (min(max(float(edge) / size[at % 2], 0.0), 1.0) for at, edge in enumerate(edges))
    return Box(left, top, right, bottom) if left < right and top < bottom else None
