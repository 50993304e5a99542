"""Stills made ready to be shown: small enough to send, without what else their files tell, each shown once."""

from __future__ import annotations

import io
import warnings
from collections.abc import Mapping
from typing import TYPE_CHECKING

from shutline.car.errors import Problem
from shutline.publish.report.model import Illustration
from shutline.publish.report.times import moment
from shutline.publish.wording import phrase

if TYPE_CHECKING:
    from shutline.car.carfile import KeptFinding

# Wide enough for a column of the page on a fine screen; a camera's own size would make the file ten times as large.
LONGEST_SIDE_PX = 960
LARGEST_PX = 120_000_000
_QUALITY = 80


class Album:
    """The stills of one report: hands each out once, and remembers beside which number."""

    def __init__(self, stills: Mapping[str, bytes]) -> None:
        self._stills = stills
        self._shown: dict[str, int] = {}
        self._absent: list[str] = []
        self._unreadable: list[str] = []

    def beside(self, number: int, kept: KeptFinding, words: str) -> tuple[tuple[Illustration, ...], str]:
        """Give the pictures for a finding, and a note where a picture is shown elsewhere or is not at hand."""
        pictures: list[Illustration] = []
        note = ""
        for still in kept.stills:
            if still.sha256 in self._shown:
                note = note or phrase("pictures.see", number=self._shown[still.sha256])
                continue
            at = moment(still.at_s)
            data = self._stills.get(still.sha256)
            ready = None if data is None else _ready(data)
            if ready is None:
                (self._absent if data is None else self._unreadable).append(at)
                note = note or phrase("pictures.absent")
                continue
            self._shown[still.sha256] = number
            jpeg, width, height = ready
            alt = phrase("pictures.alt", moment=at, words=words)
            caption = phrase("pictures.caption", moment=at)
            pictures.append(Illustration(f"still-{number}-{len(pictures) + 1}", jpeg, width, height, alt, caption))
        return tuple(pictures), note

    def problems(self) -> tuple[Problem, ...]:
        """Give what is wrong with the stills asked for so far, one problem for each kind of trouble."""
        return tuple(
            Problem(
                "still-not-shown",
                f"stills at {', '.join(dict.fromkeys(moments))}",
                found,
                "the report gives their words without them",
                "Take the stills again",
            )
            for moments, found in (
                (self._absent, "the pictures are not at hand"),
                (self._unreadable, "the files cannot be read as pictures"),
            )
            if moments
        )


def _ready(data: bytes) -> tuple[bytes, int, int] | None:
    """Make a picture small and bare; None for what is no picture, or too large to be one."""
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            image: Image.Image = Image.open(io.BytesIO(data), formats=("JPEG", "PNG", "WEBP"))
            if image.width * image.height > LARGEST_PX:
                return None
            share = min(LONGEST_SIDE_PX / max(image.size), 1.0)
            image.draft("RGB", (round(image.width * share), round(image.height * share)))
            image = ImageOps.exif_transpose(image).convert("RGB")
        image.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX), Image.Resampling.BILINEAR)
        bare = Image.new("RGB", image.size)
        bare.paste(image)
        out = io.BytesIO()
        bare.save(out, "JPEG", quality=_QUALITY)
    except (OSError, ValueError, SyntaxError, UnidentifiedImageError, Image.DecompressionBombError):
        return None
    return out.getvalue(), image.width, image.height
