"""What a search gives: something in a picture that may be to be covered."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shutline.car.masks import Box, MaskKind

Picture = npt.NDArray[np.uint8]
"""Shape (height, width, 3), uint8, RGB, upright."""


@dataclass(frozen=True, slots=True)
class Found:
    """A mark, a chassis number or a face: its box, and how sure the program is, 0 to 1."""

    kind: MaskKind
    box: Box
    sureness: float
