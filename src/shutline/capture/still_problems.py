"""What is said where no still could be had, or only a poor one."""

from __future__ import annotations

from collections.abc import Sequence

from shutline.capture.limits import limits
from shutline.car.errors import Problem

_TOLD = 8


def missing(where: str, moments_s: Sequence[float]) -> Problem:
    """Say that no frame could be read at some moments."""
    return Problem(
        slug="no-still",
        where=where,
        found=f"no frame could be read at {_list(moments_s)}",
        allowed="what was said there stands without a picture",
        advice="Look at the film there, or add a picture.",
    )


def damaged(where: str, packets: int) -> Problem:
    """Say that pieces of picture could not be decoded."""
    return Problem(
        slug="picture-gap",
        where=where,
        found=f"{packets} piece(s) of picture could not be decoded",
        allowed="frames that could be decoded are used; some may show damage",
        advice="Look at the stills before they go out; copy the film from the camera again.",
    )


def dark(where: str, moments_s: Sequence[float]) -> Problem:
    """Say that the best frames of some moments are too dark."""
    return Problem(
        slug="still-dark",
        where=where,
        found=f"too dark at {_list(moments_s)}; no better frame is near the words",
        allowed="the best of them is taken all the same",
        advice="Add a picture taken with a light, or film that part again.",
    )


def blown_out(where: str, moments_s: Sequence[float]) -> Problem:
    """Say that the best frames of some moments are blown out."""
    return Problem(
        slug="still-blown-out",
        where=where,
        found=f"blown out by light at {_list(moments_s)}; no better frame is near the words",
        allowed="the best of them is taken all the same",
        advice="Add a picture taken out of the sun, or film that part again.",
    )


def interlaced(where: str) -> Problem:
    """Say that a film is made of half pictures."""
    return Problem(
        slug="interlaced",
        where=where,
        found="each frame holds two half pictures taken one after the other, as cameras for television do",
        allowed="stills are made of one half, the lines between filled in; they are half as fine from top to bottom",
        advice="Set the camera to progressive if it has that.",
    )


def no_picture(where: str) -> Problem:
    """Say that there is nothing to see in a recording."""
    return Problem(
        slug="no-picture-track",
        where=where,
        found="no picture track",
        allowed="what was said is read; no stills can be taken",
        advice="Add pictures, or film again with the picture on.",
    )


def too_large(where: str, size: tuple[int, int]) -> Problem:
    """Say that frames are larger than is unpacked."""
    return Problem(
        slug="picture-too-large",
        where=where,
        found=f"frames of {size[0]} x {size[1]} pixels",
        allowed=f"frames of at most {limits().film.max_megapixels:g} million pixels; no stills are taken",
        advice="Make the film smaller with the program it comes from.",
    )


def _list(moments_s: Sequence[float]) -> str:
    told = ", ".join(f"{at_s:.1f} s" for at_s in sorted(moments_s)[:_TOLD])
    return f"{told} and {len(moments_s) - _TOLD} more" if len(moments_s) > _TOLD else told
