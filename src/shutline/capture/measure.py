"""Measure how sharp, how steady and how well exposed a frame of a film is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from shutline.capture.limits import limits

if TYPE_CHECKING:
    from av import VideoFrame

Grey = npt.NDArray[np.uint8]

# Formats whose first plane is brightness, one byte a pixel.
_BRIGHT_FIRST = frozenset(
    {"yuv420p", "yuvj420p", "yuv422p", "yuvj422p", "yuv444p", "yuvj444p", "nv12", "nv21", "nv16", "gray", "yuva420p"}
)
# ISO/IEC 23091-2, VideoFullRangeFlag, as FFmpeg numbers it; and ITU-R BT.709-6, item 3.4: black 16, white 235.
_FULL_RANGE = 2
_SPREAD = np.clip((np.arange(256) - 16) * (255 / 219) + 0.5, 0, 255).astype(np.uint8)
# Below this the peak of a phase correlation is no better than chance.
_SURE_PEAK = 0.08


@dataclass(frozen=True, slots=True)
class FrameMeasure:
    """What can be said of one frame.

    `sharpness` is the root mean square of the brightness gradient on the measured width, grey levels a pixel, >= 0: it
    depends on what is shown and is comparable only among frames of one place. `steadiness` is 1 for a camera at rest
    and one half at the speed in `limits.toml`. `exposed` is the share of pixels neither black nor blown out, 0 to 1,
    and `lightness` the mean grey level, 0 to 255.
    """

    at_s: float
    sharpness: float
    steadiness: float
    exposed: float
    lightness: float = 128.0

    @property
    def exposure(self) -> float:
        """How well it is lit, 0 to 1: what is neither black nor blown out, less where all of it is dark or bright."""
        settings = limits().stills
        (darkest, dark), (bright, brightest) = settings.dark_levels, settings.bright_levels
        level = min((self.lightness - darkest) / (dark - darkest), (brightest - self.lightness) / (brightest - bright))
        return self.exposed * min(1.0, max(0.0, level))


def greys(image: VideoFrame) -> tuple[Grey, Grey]:
    """Give a frame's brightness at the width for sharpness and at the one for movement, as it lies in the file.

    Returns
    -------
    tuple of numpy.ndarray
        Two arrays, shape (height, width), uint8; the first no wider than the frame itself.
    """
    import cv2

    settings = limits().stills
    plane = _brightness(image)
    height, width = image.height, image.width
    wide = min(width, settings.measure_px)
    large = cv2.resize(plane, (wide, max(1, height * wide // width)), interpolation=cv2.INTER_AREA)
    small = cv2.resize(
        large, (settings.movement_px, max(1, height * settings.movement_px // width)), interpolation=cv2.INTER_AREA
    )
    return np.asarray(large, np.uint8), np.asarray(small, np.uint8)


def _brightness(image: VideoFrame) -> Grey:
    if image.format.name in _BRIGHT_FIRST:
        plane = image.planes[0]
        rows: Grey = np.frombuffer(memoryview(plane), np.uint8).reshape(-1, plane.line_size)
        # Of two half pictures one is measured: the lines between them would pass for sharpness.
        shown = rows[: image.height : 2 if image.interlaced_frame else 1, : image.width]
        return shown if image.format.name.startswith("yuvj") or image.color_range == _FULL_RANGE else _full(shown)
    width = min(image.width, limits().stills.measure_px)
    small = image.reformat(width=width, height=max(1, image.height * width // image.width), format="gray")
    return np.asarray(small.to_ndarray(), np.uint8)


def _full(narrow: Grey) -> Grey:
    """Spread brightness from 16 for black and 235 for white, as film has it, to 0 and 255."""
    import cv2

    return np.asarray(cv2.LUT(narrow, _SPREAD), np.uint8)


def sharpness(grey: Grey) -> float:
    """Give the root mean square of the brightness gradient (Tenengrad: Sobel, both directions), grey levels a pixel."""
    import cv2

    across = cv2.Sobel(grey, cv2.CV_16S, 1, 0)
    down = cv2.Sobel(grey, cv2.CV_16S, 0, 1)
    power = cv2.norm(across, cv2.NORM_L2SQR) + cv2.norm(down, cv2.NORM_L2SQR)
    # The Sobel kernel sums to eight times a gradient of one.
    return float(np.sqrt(power / grey.size) / 8)


def exposed_share(grey: Grey) -> float:
    """Give the share of pixels that are neither black nor blown out, 0 to 1."""
    import cv2

    low, high = limits().stills.exposed_levels
    return float(cv2.countNonZero(cv2.inRange(grey, low, high)) / grey.size)


def lightness(grey: Grey) -> float:
    """Give the mean grey level, 0 to 255."""
    return float(np.mean(grey))


def speed_widths(earlier: Grey, later: Grey) -> float:
    """Measure how far the picture moved between two frames of one size.

    Two ways are taken and the larger answer kept: the peak of the phase correlation, which sees a pan however long but
    no turn or zoom; and the change of brightness over its gradient, which sees every movement but only a short one.

    Returns
    -------
    float
        Picture widths, >= 0.
    """
    import cv2

    first, second = earlier.astype(np.float32), later.astype(np.float32)
    height, width = first.shape
    (x, y), peak = cv2.phaseCorrelate(first, second, cv2.createHanningWindow((width, height), cv2.CV_32F))
    pan = math.hypot(x, y) if peak > _SURE_PEAK else 0.0
    gradient = float(np.mean(np.hypot(cv2.Sobel(first, cv2.CV_32F, 1, 0), cv2.Sobel(first, cv2.CV_32F, 0, 1)))) / 8
    change = float(np.mean(cv2.absdiff(first, second)))
    # Noise changes every pixel a little; a scene without gradient shows no movement.
    flow: float = max(0.0, change - 1.0) / max(gradient, 1.0)
    return max(pan, flow) / float(width)


def steadiness(moved_widths: float, gap_s: float) -> float:
    """Give how steady the camera was, 0 to 1, from how far the picture moved in a time."""
    speed = moved_widths / gap_s if gap_s > 0 else 0.0
    return 1.0 / (1.0 + speed / limits().stills.half_steady_widths_per_s)
