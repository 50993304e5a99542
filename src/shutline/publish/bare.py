"""Pictures made ready to go out: small, covered where they must be, and telling nothing but what they show."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from PIL import Image

    from shutline.car.recordings import PrivateDetails

Pixels = npt.NDArray[np.uint8]
"""Shape (height, width, 3), sRGB, upright."""
Cover = Callable[[Pixels], Pixels]
"""Gives a picture of the same shape with some of it covered; may not change the one it was given."""

# Exif 2.32, annex D and clause 4.6.
_MAKE, _TAKEN, _TAKEN_OFFSET, _GPS, _EXIF = 0x010F, 0x9003, 0x9011, 0x8825, 0x8769


@dataclass(frozen=True, slots=True)
class Tells:
    """What a picture, clip or film that goes out may tell beside what it shows: nothing, unless asked for."""

    place: bool = False
    device: bool = False
    time: bool = False


@dataclass(frozen=True, slots=True)
class BarePicture:
    """A picture ready to go out: JPEG in sRGB, upright; width and height in pixels."""

    jpeg: bytes
    width: int
    height: int


def bare_picture(
    data: bytes,
    *,
    longest_side_px: int,
    quality: int,
    cover: Cover | None = None,
    tells: Tells | None = None,
    private: PrivateDetails | None = None,
    taken_at: str | None = None,
) -> BarePicture | None:
    """Make a picture ready to go out.

    Parameters
    ----------
    data : bytes
        A whole file of any kind that is taken in (see `capture.pictures.unpack`).
    longest_side_px : int
        Made smaller to this, never larger.
    quality : int
        Of the JPEG, 1 to 95.
    cover : Cover, optional
        Done to the picture at the size it goes out in.
    tells : Tells, optional
        What of `private` and `taken_at` is written into it, as Exif; nothing when left out.

    Returns
    -------
    BarePicture or None
        None where the bytes are no picture, or one that is not unpacked. All else that the file told, in Exif, XMP,
        IPTC, text or a colour profile, is gone: only pixels are carried over.
    """
    from shutline.capture.pictures import unpack

    pixels = unpack(io.BytesIO(data), longest_side_px=longest_side_px)
    if pixels is None:
        return None
    return pack(pixels if cover is None else cover(pixels), quality=quality, exif=_exif(tells, private, taken_at))


def pack(pixels: Pixels, *, quality: int, exif: Image.Exif | None = None) -> BarePicture:
    """Pack pixels as JPEG, with nothing beside them but `exif`."""
    from PIL import Image

    out = io.BytesIO()
    more = {} if exif is None else {"exif": exif}
    Image.fromarray(pixels, "RGB").save(out, "JPEG", quality=quality, **more)
    return BarePicture(out.getvalue(), pixels.shape[1], pixels.shape[0])


def _exif(tells: Tells | None, private: PrivateDetails | None, taken_at: str | None) -> Image.Exif | None:
    """Give what was asked for as Exif; None where that is nothing."""
    from PIL import Image

    tells, told = tells or Tells(), False
    exif = Image.Exif()
    if tells.time and taken_at:
        exif.get_ifd(_EXIF)[_TAKEN] = taken_at[:19].replace("-", ":").replace("T", " ")
        if taken_at[19:] and taken_at[-6:-5] in {"+", "-"}:
            exif.get_ifd(_EXIF)[_TAKEN_OFFSET] = taken_at[-6:]
        told = True
    if tells.device and private is not None and private.device:
        exif[_MAKE], told = private.device, True
    if tells.place and private is not None and private.latitude_deg is not None and private.longitude_deg is not None:
        north, east = private.latitude_deg >= 0, private.longitude_deg >= 0
        exif.get_ifd(_GPS).update(
            {
                1: "N" if north else "S",
                2: _degrees(abs(private.latitude_deg)),
                3: "E" if east else "W",
                4: _degrees(abs(private.longitude_deg)),
            }
        )
        told = True
    return exif if told else None


def _degrees(value: float) -> tuple[float, float, float]:
    """Give degrees, minutes, seconds; to a hundredth of a second, a third of a metre."""
    seconds = round(value * 3600, 2)
    return float(seconds // 3600), float(seconds % 3600 // 60), round(seconds % 60, 2)
