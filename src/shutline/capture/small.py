"""A picture made small enough to be one of many on a page: upright, and without what else its file tells."""

from __future__ import annotations

import contextlib
import io
import os
import secrets
from pathlib import Path

from shutline.capture import files
from shutline.capture.limits import limits
from shutline.capture.originals import original_path
from shutline.capture.probe_picture import open_picture, quiet

LONGEST_SIDE_PX = 640
"""Of a small picture: twice the width of a column, for fine screens."""
_QUALITY = 78


def small_picture(path: Path) -> bytes | None:
    """Make a picture small.

    Parameters
    ----------
    path : Path
        An original or a still; it is only read.

    Returns
    -------
    bytes or None
        A JPEG of at most `LONGEST_SIDE_PX` a side, turned as the picture is to be looked at, without any tags; None
        for what cannot be read as a picture, or is larger than the limits allow.

    Raises
    ------
    ShutlineError
        The file cannot be opened (see `files.opened`).
    """
    from PIL import Image, ImageOps

    with files.opened(path) as file, quiet():
        try:
            picture = open_picture(file)
            if picture.width * picture.height > limits().picture.max_megapixels * 1e6:
                return None
            share = min(LONGEST_SIDE_PX / max(picture.size), 1.0)
            # A JPEG is read at no more than twice the size that is wanted.
            picture.draft("RGB", (max(1, round(picture.width * share)), max(1, round(picture.height * share))))
            # The reader of HEIF turns its pictures itself.
            upright = (picture if picture.format == "HEIF" else ImageOps.exif_transpose(picture)).convert("RGB")
            upright.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX), Image.Resampling.BICUBIC)
            bare = Image.new("RGB", upright.size)
            bare.paste(upright)
            out = io.BytesIO()
            bare.save(out, "JPEG", quality=_QUALITY, optimize=True)
        except Exception:  # noqa: BLE001 - readers of pictures raise whatever a damaged file leads them to
            return None
    return out.getvalue()


def kept_small(source: Path, folder: Path, sha256: str) -> Path | None:
    """Give the small picture of a file, made the first time it is asked for; None where it cannot be made.

    Parameters
    ----------
    source : Path
        The picture.
    folder : Path
        The folder of derived files; small pictures lie in ``small`` there, under the SHA-256 of what they are of.
    sha256 : str
        Of the picture.
    """
    place = original_path(folder / "small", sha256).with_suffix(".jpg")
    if place.is_file():
        return place
    made = small_picture(source)
    if made is None:
        return None
    place.parent.mkdir(parents=True, exist_ok=True)
    part = place.with_name(f"{secrets.token_hex(8)}.part")
    try:
        part.write_bytes(made)
        os.replace(part, place)  # noqa: PTH105 - whole or not at all, on every system
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
    return place
