"""Unpack a picture as it was meant to be seen: upright, in sRGB, eight bits a channel, and no more than its pixels."""

from __future__ import annotations

import contextlib
import io
from typing import TYPE_CHECKING, BinaryIO

import numpy as np
import numpy.typing as npt

from shutline.capture.limits import limits
from shutline.capture.probe_picture import open_picture, quiet

if TYPE_CHECKING:
    from PIL import Image

Picture = npt.NDArray[np.uint8]
"""Shape (height, width, 3), sRGB, upright."""


def unpack(file: BinaryIO, *, longest_side_px: int | None = None, frame: int = 0) -> Picture | None:
    """Unpack a picture: turned upright, its colours brought to sRGB, what lies under its clear places white.

    Parameters
    ----------
    file : BinaryIO
        JPEG, PNG, WebP, HEIF, AVIF, TIFF, GIF or BMP.
    longest_side_px : int, optional
        Make it smaller so that its long side is at most this; never larger.
    frame : int
        Which of several pictures in it, from 0.

    Returns
    -------
    numpy.ndarray or None
        None for what is no picture, is damaged from its beginning, or is larger than is unpacked (`limits.toml`).
    """
    from PIL import Image, ImageOps

    try:
        with quiet(), open_picture(file) as opened:
            picture: Image.Image = opened
            if frame:
                picture.seek(frame)
            width, height = picture.size
            if width * height > limits().picture.max_megapixels * 1e6:
                return None
            if longest_side_px is not None:
                share = min(longest_side_px / max(width, height), 1.0)
                picture.draft("RGB", (max(1, round(width * share)), max(1, round(height * share))))
            with contextlib.suppress(OSError):
                picture.load()
            # Of one that is cut off, what was unpacked is shown.
            opened.tile = []  # type: ignore[attr-defined]
            icc = picture.info.get("icc_profile")
            if picture.format != "HEIF":
                # A decoder of HEIF turns the picture itself, and Exif says it once more.
                picture = ImageOps.exif_transpose(picture)
            picture = _plain(picture, icc)
            if longest_side_px is not None:
                picture.thumbnail((longest_side_px, longest_side_px), Image.Resampling.LANCZOS)
            return np.asarray(picture, np.uint8)
    except Exception:  # noqa: BLE001 - a damaged picture raises anything; that there is none is the answer
        return None


def _plain(picture: Image.Image, icc: bytes | None) -> Image.Image:
    """Give a picture in three channels of eight bits, in sRGB."""
    from PIL import Image, ImageCms

    if picture.mode.startswith("I;16") or picture.mode in {"I", "F"}:
        deep = np.asarray(picture, np.float64)
        top = 65_535.0 if picture.mode.startswith("I;16") or float(deep.max(initial=0)) > 255 else 255.0
        return Image.fromarray(np.asarray(np.clip(deep / top, 0, 1) * 255, np.uint8)).convert("RGB")
    if picture.mode in {"RGBA", "LA", "PA"} or "transparency" in picture.info:
        clear = picture.convert("RGBA")
        picture = Image.new("RGBA", clear.size, "white")
        picture.alpha_composite(clear)
        picture = picture.convert("RGB")
    if icc and picture.mode in {"RGB", "CMYK", "L"}:
        with contextlib.suppress(ImageCms.PyCMSError, OSError, ValueError, TypeError):
            profile = ImageCms.ImageCmsProfile(io.BytesIO(icc))
            converted = ImageCms.profileToProfile(picture, profile, ImageCms.createProfile("sRGB"), outputMode="RGB")
            if converted is not None:
                return converted
    return picture.convert("RGB")
