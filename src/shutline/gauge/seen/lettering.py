"""Read the lettering in a picture: where it stands, and sign by sign what it says and what came second."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt

from shutline.gauge.seen.weights import without_tiny

Picture = npt.NDArray[np.uint8]
"""Shape (height, width, 3), uint8, RGB, upright."""

Quad = tuple[tuple[float, float], tuple[float, float], tuple[float, float], tuple[float, float]]
"""Corners in pixels of the picture: where the writing begins at the top, ends at the top, ends below, begins below."""

LOOKS = 7
"""How often a line is looked at again, in other lights and cut otherwise; see `Lettering.looks`."""

# The recogniser was trained on lines this high, pixels, and at least this wide for their height.
_HIGH = 48
_LEAST_WIDE = 320
# Lines looked at together; more takes memory and saves no time.
_BATCH = 6
# A longer side than this is made smaller before writing is sought, pixels.
_LONGEST_SIDE = 1280
# A shorter side than this is made larger.
_SHORTEST_SIDE = 352


@dataclass(frozen=True, slots=True)
class Sign:
    """One sign as it was read: `share` of the recogniser's belief in it, and the next sign it believed in, 0 to 1."""

    text: str
    share: float
    second: str = ""
    second_share: float = 0.0


@dataclass(frozen=True, slots=True)
class Line:
    """A line of writing: its signs in order, spaces among them, and where it stands."""

    signs: tuple[Sign, ...]
    quad: Quad

    @property
    def text(self) -> str:
        """The line as it was read."""
        return "".join(sign.text for sign in self.signs)

    @property
    def weakest(self) -> float:
        """The smallest share of a sign, spaces aside; 0 for an empty line."""
        return min((sign.share for sign in self.signs if sign.text != " "), default=0.0)

    @property
    def height(self) -> float:
        """How high it stands, pixels of the picture: the mean of its two ends."""
        a, b, c, d = (np.array(corner) for corner in self.quad)
        return float(np.linalg.norm(d - a) + np.linalg.norm(c - b)) / 2


class Lettering:
    """The reader of writing, its networks loaded when first used; safe to use from several threads."""

    def __init__(self) -> None:
        self._loading = threading.Lock()
        self._engine: Any = None
        self._signs: list[str] = []

    def lines(self, picture: Picture) -> list[Line]:
        """Find the lines of a picture and read each once, from the top.

        Parameters
        ----------
        picture : ndarray
            Shape (height, width, 3), uint8, RGB, upright.
        """
        quads = self.places(picture)
        read = self.read([cut(picture, quad) for quad in quads])
        return [Line(signs, quad) for quad, signs in zip(quads, read, strict=True) if signs]

    def places(self, picture: Picture) -> list[Quad]:
        """Find where the lines of a picture stand, from the top, and read none; the picture as for `lines`."""
        bgr, scale = _fitting(picture)
        found = self._loaded().text_det(bgr)
        if found.boxes is None:
            return []
        return [_quad(box / scale) for box in np.asarray(found.boxes, np.float64)]

    def looks(self, picture: Picture, line: Line) -> list[Line]:
        """Read a line anew: cut wider, narrower, higher, lower, darker against lighter, smoother, smaller.

        Parameters
        ----------
        picture : ndarray
            The picture it stands in.
        line : Line
            Where to look.

        Returns
        -------
        list of Line
            `LOOKS` readings; one that shows nothing is an empty line. What only one light shows is not to be relied
            on, and a drum between two figures shows another one when cut higher or lower.
        """
        import cv2

        usual = cut(picture, line.quad)
        wide = cut(picture, grown(line.quad, 0.12))
        grey = cv2.cvtColor(wide, cv2.COLOR_RGB2GRAY)
        even = cv2.createCLAHE(clipLimit=2.5, tileGridSize=(2, 8)).apply(grey)
        smooth = cv2.GaussianBlur(usual, (0, 0), max(0.6, usual.shape[0] / 60))
        share = min(1.0, 26 / usual.shape[0])
        small = cv2.resize(usual, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
        tight = cut(picture, grown(line.quad, -0.05))
        higher, lower = (cut(picture, shifted(line.quad, share)) for share in (-0.18, 0.18))
        views = (wide, tight, higher, lower, 255 - cv2.cvtColor(even, cv2.COLOR_GRAY2RGB), smooth, small)
        return [Line(signs, line.quad) for signs in self.read([np.asarray(view, np.uint8) for view in views])]

    def widely(self, picture: Picture, line: Line) -> Line:
        """Read a line with what stands to its left and right, one and a half heights of it, to see that it is whole."""
        quad = lengthened(line.quad, 1.5)
        return Line(self.read([cut(picture, quad)])[0], quad)

    def _loaded(self) -> Any:
        with self._loading:
            if self._engine is None:
                self._engine = _engine()
                self._signs = self._engine.text_rec.postprocess_op.character
            return self._engine

    def read(self, cuts: Sequence[Picture]) -> list[tuple[Sign, ...]]:
        """Read pieces that each hold one line and nothing else; no signs of one that shows nothing."""
        import cv2

        session = self._loaded().text_rec.session
        order = sorted(range(len(cuts)), key=lambda at: cuts[at].shape[1] / cuts[at].shape[0])
        read: dict[int, tuple[Sign, ...]] = {}
        for first in range(0, len(order), _BATCH):
            group = order[first : first + _BATCH]
            widths = [max(1, round(_HIGH * cuts[at].shape[1] / cuts[at].shape[0])) for at in group]
            batch = np.zeros((len(group), 3, _HIGH, max(_LEAST_WIDE, *widths)), np.float32)
            for row, at, wide in zip(batch, group, widths, strict=True):
                small = cv2.resize(cuts[at][..., ::-1], (wide, _HIGH), interpolation=cv2.INTER_LINEAR)
                row[:, :, :wide] = small.astype(np.float32).transpose(2, 0, 1) / 127.5 - 1
            for at, beliefs in zip(group, session(batch), strict=True):
                read[at] = _signs(beliefs, self._signs)
        return [read[at] for at in range(len(cuts))]


def _engine() -> Any:
    """Load the networks out of the package: nothing is fetched."""
    from pathlib import Path

    import onnxruntime
    import rapidocr

    models = Path(rapidocr.__file__).parent / "models"
    finding = models / "PP-OCRv6_det_small.onnx"
    engine: Any = rapidocr.RapidOCR(
        params={
            "Global.log_level": "critical",
            # More threads wait for each other more than they gain on lines as short as these.
            "EngineConfig.onnxruntime.intra_op_num_threads": 1,
            "Det.model_path": str(finding),
            "Rec.model_path": str(models / "PP-OCRv6_rec_small.onnx"),
            "Det.limit_side_len": _SHORTEST_SIDE,
        }
    )
    # One by one, so that each can be asked by itself.
    engine._load_det_model()
    engine._load_rec_model()
    # Many weights of two of its layers are too small to count; they took three quarters of its time.
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    options.log_severity_level = 3
    engine.text_det.session.session = onnxruntime.InferenceSession(
        without_tiny(finding.read_bytes()), options, providers=["CPUExecutionProvider"]
    )
    return engine


@cache
def lettering() -> Lettering:
    """Give the one reader of a process."""
    return Lettering()


def _signs(beliefs: npt.NDArray[np.float32], names: Sequence[str]) -> tuple[Sign, ...]:
    """Put the beliefs of each column together to signs: the same sign in columns side by side is one."""
    best = beliefs.argmax(axis=1)
    signs: list[Sign] = []
    previous = 0
    for column, number in enumerate(best):
        if number != 0:
            sign = _sign(beliefs[column], int(number), names)
            if number != previous:
                signs.append(sign)
            elif sign.share > signs[-1].share:
                signs[-1] = sign
        previous = int(number)
    # Spaces before and after are none.
    texts = [sign.text != " " for sign in signs]
    if not any(texts):
        return ()
    first, last = texts.index(True), len(texts) - texts[::-1].index(True)
    return tuple(signs[first:last])


def _sign(beliefs: npt.NDArray[np.float32], number: int, names: Sequence[str]) -> Sign:
    order = np.argpartition(beliefs, -3)[-3:]
    others = [int(at) for at in order if at not in {number, 0}]
    second = max(others, key=lambda at: beliefs[at])
    return Sign(names[number], float(beliefs[number]), names[second], float(beliefs[second]))


def _fitting(picture: Picture) -> tuple[Picture, float]:
    import cv2

    scale = min(1.0, _LONGEST_SIDE / max(picture.shape[:2]))
    bgr: npt.NDArray[Any] = picture[..., ::-1]
    if scale < 1.0:
        bgr = cv2.resize(bgr, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    return np.ascontiguousarray(bgr), scale


def _quad(box: npt.NDArray[np.float64]) -> Quad:
    a, b, c, d = ((float(x), float(y)) for x, y in box)
    return a, b, c, d


def grown(quad: Quad, share: float) -> Quad:
    """Give a quad whose sides lie further out by a share of its height; further in when negative."""
    a, b, c, d = (np.array(corner) for corner in quad)
    down = ((d - a) + (c - b)) / 2
    high = float(np.linalg.norm(down)) or 1.0
    along = ((b - a) + (c - d)) / 2
    along = along / (float(np.linalg.norm(along)) or 1.0) * high
    out = [a - down * share - along * share, b - down * share + along * share]
    out += [c + down * share + along * share, d + down * share - along * share]
    return _quad(np.array(out))


def lengthened(quad: Quad, heights: float) -> Quad:
    """Give a quad that reaches further to the left and right by so many of its heights."""
    a, b, c, d = (np.array(corner) for corner in quad)
    high = float(np.linalg.norm(((d - a) + (c - b)) / 2)) or 1.0
    along = ((b - a) + (c - d)) / 2
    along = along / (float(np.linalg.norm(along)) or 1.0) * high * heights
    return _quad(np.array([a - along, b + along, c + along, d - along]))


def shifted(quad: Quad, share: float) -> Quad:
    """Give a quad that lies further down by a share of its height; further up when negative."""
    a, b, c, d = (np.array(corner) for corner in quad)
    down = ((d - a) + (c - b)) / 2 * share
    return _quad(np.array([a + down, b + down, c + down, d + down]))


def cut(picture: Picture, quad: Quad) -> Picture:
    """Cut a quad out of a picture and lay it straight.

    Returns
    -------
    ndarray
        Shape (height, width, 3), uint8; at least one pixel each way.
    """
    import cv2

    corners = np.array(quad, np.float32)
    wide = max(np.linalg.norm(corners[1] - corners[0]), np.linalg.norm(corners[2] - corners[3]))
    high = max(np.linalg.norm(corners[3] - corners[0]), np.linalg.norm(corners[2] - corners[1]))
    size = (max(1, min(4096, round(float(wide)))), max(1, min(2048, round(float(high)))))
    aim = np.array([(0, 0), (size[0], 0), size, (0, size[1])], np.float32)
    straight: npt.NDArray[Any] = cv2.warpPerspective(
        picture,
        cv2.getPerspectiveTransform(corners, aim),
        size,
        flags=cv2.INTER_CUBIC,
        borderMode=cv2.BORDER_REPLICATE,
    )
    if size[1] >= 1.5 * size[0]:
        straight = np.rot90(straight)
    return np.ascontiguousarray(straight, np.uint8)
