"""Tell whether two pictures show nearly the same: a fingerprint of 64 bits and how many of them differ."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

_SIDE, _KEPT = 32, 8


def fingerprint(grey: npt.NDArray[np.uint8]) -> int:
    """Give the perceptual hash of a picture: the signs of its slowest waves.

    The picture is made 32 x 32; of its discrete cosine transform the 8 x 8 slowest are kept, and each gives one bit:
    whether it is above their median (common practice, known as pHash).

    Parameters
    ----------
    grey : numpy.ndarray
        Brightness, shape (height, width), uint8.

    Returns
    -------
    int
        64 bits. Light, size and a little noise change few of them; another view changes about half.
    """
    import cv2

    small = cv2.resize(grey, (_SIDE, _SIDE), interpolation=cv2.INTER_AREA).astype(np.float32)
    slow = cv2.dct(small)[:_KEPT, :_KEPT].ravel()
    return int.from_bytes(np.packbits(slow > np.median(slow)).tobytes(), "big")


def distance_bits(one: int, other: int) -> int:
    """Give in how many bits two fingerprints differ, 0 to 64.

    >>> distance_bits(0b1011, 0b0001)
    2
    """
    return (one ^ other).bit_count()
