"""Take the one frame of a film that stands on the screen at a moment."""

from __future__ import annotations

import math
from pathlib import Path

from shutline.capture import files, frames, measure, still_problems
from shutline.capture.jpeg import to_jpeg
from shutline.capture.limits import limits
from shutline.capture.still_search import ChosenStill
from shutline.car.errors import BadInputError

_NEARLY_S = 0.0005
"""A player's clock and a frame's own time differ by rounding; a frame this little late is the one shown, seconds."""


def frame_at(path: Path, at_s: float) -> ChosenStill | None:
    """Take the frame that a player shows at a moment: the last one not later than it, or the first of the film.

    Only the stretch from the key frame before the moment is decoded.

    Parameters
    ----------
    path : Path
        A film.
    at_s : float
        Seconds from the start of the recording, >= 0.

    Returns
    -------
    ChosenStill or None
        With its own time and the measures that stills are chosen by; None where the film has no picture, or none there.

    Raises
    ------
    BadInputError
        The file is no recording, or its frames are larger than is unpacked (slug ``picture-too-large``).
    ValueError
        `at_s` is no moment.
    """
    if not (math.isfinite(at_s) and at_s >= 0):
        raise ValueError(f"{at_s} s is no moment of a recording")
    with frames.open_film(path) as film:
        if film is None:
            return None
        if film.size[0] * film.size[1] > limits().film.max_megapixels * 1e6:
            raise BadInputError(still_problems.too_large(files.shown_name(path), film.size))
        until_s = at_s + _NEARLY_S
        earlier: frames.Frame | None = None
        shown: frames.Frame | None = None
        for run in film.runs(at_s, until_s):
            for frame in film.decode(run, until_s=until_s):
                if shown is not None and frame.at_s > until_s:
                    break
                earlier, shown = shown, frame
        if shown is None:
            return None
        large, small = measure.greys(shown.image)
        steadiness = limits().stills.steady_enough / 2
        if earlier is not None:
            moved = measure.speed_widths(measure.greys(earlier.image)[1], small)
            steadiness = measure.steadiness(moved, shown.at_s - earlier.at_s)
        jpeg, width, height = to_jpeg(shown.image, pixel_shape=film.pixel_shape)
        return ChosenStill(jpeg, width, height, shown.at_s, measure.sharpness(large), steadiness)
