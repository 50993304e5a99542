"""Turn a frame of a film into an upright JPEG in sRGB that tells nothing but what it shows."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from shutline.capture.high_range import to_srgb
from shutline.capture.limits import limits

if TYPE_CHECKING:
    from av import VideoFrame

# ISO/IEC 23091-2, MatrixCoefficients 2.
_UNSPECIFIED = 2

Picture = npt.NDArray[np.uint8]
Light = npt.NDArray[np.uint8]


def to_jpeg(image: VideoFrame, *, pixel_shape: Fraction = Fraction(1)) -> tuple[bytes, int, int]:
    """Turn a frame upright and pack it.

    Parameters
    ----------
    image : VideoFrame
        As decoded.
    pixel_shape : Fraction
        How wide a pixel is against its height.

    Returns
    -------
    tuple of bytes, int, int
        The JPEG, its width and height in pixels; the long side at most that of `limits.toml`, never enlarged.
    """
    import cv2

    picture = upright(image, pixel_shape=pixel_shape)
    done, packed = cv2.imencode(
        ".jpg", cv2.cvtColor(picture, cv2.COLOR_RGB2BGR), (cv2.IMWRITE_JPEG_QUALITY, limits().stills.jpeg_quality)
    )
    if not done:
        raise ValueError(f"a picture of shape {picture.shape} could not be packed as JPEG")
    height, width = picture.shape[:2]
    return packed.tobytes(), width, height


def upright(image: VideoFrame, *, pixel_shape: Fraction = Fraction(1), longest_side_px: int | None = None) -> Picture:
    """Give a frame as it was meant to be seen, its long side at most so long, or as in `limits.toml`.

    Returns
    -------
    numpy.ndarray
        Shape (height, width, 3), uint8, sRGB, square pixels.
    """
    if image.interlaced_frame:
        image = _one_half(image)
    wide, high = round(image.width * pixel_shape), image.height
    scale = min(1.0, (longest_side_px or limits().stills.longest_side_px) / max(wide, high))
    width, height = max(1, round(wide * scale)), max(1, round(high * scale))
    colour = _coloured(image, width, height)
    return np.ascontiguousarray(np.rot90(colour, round(image.rotation / 90) % 4))


def light_upright(image: VideoFrame, pixel_shape: Fraction, longest_side_px: int) -> Light:
    """Give how light a frame is, as it was meant to be seen, its long side at most so long.

    Returns
    -------
    numpy.ndarray
        Shape (height, width), uint8, square pixels: the signal of the film, whatever it says of colours.
    """
    wide, high = round(image.width * pixel_shape), image.height
    scale = min(1.0, longest_side_px / max(wide, high))
    width, height = max(1, round(wide * scale)), max(1, round(high * scale))
    light = image.reformat(width=width, height=height, format="gray", interpolation="AREA").to_ndarray()
    return np.ascontiguousarray(np.rot90(light, round(image.rotation / 90) % 4))


def _one_half(image: VideoFrame) -> VideoFrame:
    """Give a frame made of one of its two half pictures, the lines between filled in."""
    from av.filter import Graph

    graph = Graph()
    source = graph.add_buffer(
        width=image.width, height=image.height, format=image.format, time_base=image.time_base or Fraction(1, 1000)
    )
    halved, sink = graph.add("yadif", "deint=all"), graph.add("buffersink")
    source.link_to(halved)
    halved.link_to(sink)
    graph.configure()
    graph.push(image)
    graph.push(None)
    return graph.pull()  # type: ignore[return-value]


def _coloured(image: VideoFrame, width: int, height: int) -> Picture:
    """Give the frame in sRGB at a size, where its own marks do not settle that as well."""
    from av.video.reformatter import Colorspace, ColorTrc

    if image.color_trc in {ColorTrc.ARIB_STD_B67, ColorTrc.SMPTE2084}:
        deep = image.reformat(width=width, height=height, format="rgb48le", interpolation="AREA").to_ndarray()
        return to_srgb(np.asarray(deep, np.uint16), hlg=image.color_trc == ColorTrc.ARIB_STD_B67)
    unmarked = image.colorspace == _UNSPECIFIED
    # Common practice, no source: unmarked film is BT.709 from 720 lines on, BT.601 below.
    source = Colorspace.ITU709 if unmarked and (image.width >= 1280 or image.height >= 720) else None
    plain = image.reformat(
        width=width, height=height, format="rgb24", interpolation="AREA", src_colorspace=source
    ).to_ndarray()
    return np.asarray(plain, np.uint8)
