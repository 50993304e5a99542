"""What the cutting of films shares: what came of it, how it is watched, and what stands in the way."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from shutline.capture import still_problems
from shutline.capture.film_writer import COPIED_PICTURE, Line
from shutline.capture.limits import limits
from shutline.car.errors import BadInputError, Problem, StoppedError

if TYPE_CHECKING:
    from av import VideoStream
    from av.container import InputContainer
    from av.stream import Stream

Cover = Callable[[npt.NDArray[np.uint8], float], npt.NDArray[np.uint8]]
"""Gives a frame (height, width, 3; sRGB, upright) with some of it covered; the second is its moment, seconds."""

# A frame's time and a moment that a person names differ by rounding.
_NEARLY_S = 0.0005
# Packets come in another order than the frames in them are shown.
_REORDER_S = 1.0
Lines = tuple[Sequence[Line], Sequence[Line]]
"""Chapters and captions."""
NEARLY_S = 0.0005
"""A frame's time and a moment that a person names differ by rounding."""


@dataclass(frozen=True, slots=True)
class Cut:
    """What was written: from `start_s` to `end_s` of the recording, seconds.

    `early_s` is how long before the moment asked for it begins, `late_s` how long after the end asked for it ends; both
    are less than a frame where `exact`, which says that the picture was coded anew.
    """

    start_s: float
    end_s: float
    early_s: float
    late_s: float
    exact: bool
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class Watch:
    """How far the work is, told as a share of 0 to 1; and whether it must stop.

    `on_going_on` is told the share that is there already, where work goes on that was stopped.
    """

    on_progress: Callable[[float], None] | None = None
    should_stop: Callable[[], bool] | None = None
    on_going_on: Callable[[float], None] | None = None

    def goes_on(self, share: float) -> None:
        """Tell the share that was made before."""
        if self.on_going_on is not None:
            self.on_going_on(min(1.0, max(0.0, share)))

    def at(self, share: float, where: str) -> None:
        """Tell the share, and raise `StoppedError` where a stop was asked for."""
        if self.should_stop is not None and self.should_stop():
            raise StoppedError(where)
        if self.on_progress is not None:
            self.on_progress(min(1.0, max(0.0, share)))


def seek(container: InputContainer, at_s: float, zero: Fraction) -> None:
    """Go to a moment, seconds from the start of the recording, or to the very beginning where that cannot be done."""
    import av

    try:
        container.seek(math.floor((at_s + zero) * 1_000_000))
    except av.FFmpegError:
        container.seek(0)


def codec_of(stream: Stream) -> str:
    """Give FFmpeg's name of what a track is coded in."""
    return stream.codec_context.codec.canonical_name


def refuse_large(where: str, films: Sequence[VideoStream]) -> None:
    """Raise BadInputError for frames larger than is unpacked (slug ``picture-too-large``)."""
    for film in films[:1]:
        size = (film.codec_context.width, film.codec_context.height)
        if size[0] * size[1] > limits().film.max_megapixels * 1e6:
            raise BadInputError(still_problems.too_large(where, size))


def no_times(where: str, start_s: float, end_s: float) -> Problem:
    """Say that two moments make no clip."""
    return Problem(
        slug="clip-times",
        where=where,
        found=f"from {start_s:g} to {end_s:g} s",
        allowed="a clip that ends after it starts, both within the recording",
        advice="Name other moments.",
    )


def empty(where: str, start_s: float, end_s: float) -> Problem:
    """Say that there is nothing in a stretch."""
    return Problem(
        slug="clip-empty",
        where=where,
        found=f"nothing could be read from {start_s:.1f} to {end_s:.1f} s",
        allowed="a stretch in which there is picture or sound",
        advice="Look at the film there; it may end before, or be damaged.",
    )


def early(where: str, made: Cut) -> Problem:
    """Say that a clip begins long before what was asked for."""
    return Problem(
        slug="clip-begins-early",
        where=where,
        found=f"the clip begins {made.early_s:.1f} s before the moment asked for",
        allowed="copied as it is, a picture begins at a key frame, and this film has none nearer",
        advice="Have it cut exactly; the picture is then coded anew.",
    )


def coded_anew(where: str, codec: str) -> Problem:
    """Say that a picture was coded anew because no MP4 holds it as it is."""
    return Problem(
        slug="clip-coded-anew",
        where=where,
        found=f"a picture coded as {codec}",
        allowed=f"pictures that an MP4 holds are copied as they are: {', '.join(sorted(COPIED_PICTURE))}",
        advice="Nothing needs doing: the picture was coded anew.",
    )
