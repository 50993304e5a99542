"""CIE 1976 L*a*b* and its colour difference (CIE 15, ISO/CIE 11664-4)."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from shutline.gauge.colour.sharma2005 import Array

_EDGE = (6 / 29) ** 3


def lab_of_xyz(xyz: npt.ArrayLike, white: npt.ArrayLike) -> Array:
    """Give L*a*b* of tristimulus values.

    Parameters
    ----------
    xyz : array_like
        Shape (..., 3), nought or more, on the scale of `white`.
    white : array_like
        The white, shape (3,).

    Returns
    -------
    ndarray
        Shape (..., 3).
    """
    share = np.asarray(xyz, np.float64) / np.asarray(white, np.float64)
    f = np.where(share > _EDGE, np.cbrt(share), share * (29 / 6) ** 2 / 3 + 4 / 29)
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack((116 * y - 16, 500 * (x - y), 200 * (y - z)), axis=-1)


def xyz_of_lab(lab: npt.ArrayLike, white: npt.ArrayLike) -> Array:
    """Give tristimulus values of L*a*b*, on the scale of `white`; shapes as for `lab_of_xyz`."""
    light, red, yellow = np.moveaxis(np.asarray(lab, np.float64), -1, 0)
    y = (light + 16) / 116
    f = np.stack((y + red / 500, y, y - yellow / 200), axis=-1)
    share = np.where(f > 6 / 29, f**3, 3 * (6 / 29) ** 2 * (f - 4 / 29))
    return np.asarray(share * np.asarray(white, np.float64))


def delta_e_1976(lab_1: npt.ArrayLike, lab_2: npt.ArrayLike) -> Any:
    """Give the plain distance of two colours in L*a*b*; shapes as for `delta_e_2000`."""
    apart = np.asarray(lab_1, np.float64) - np.asarray(lab_2, np.float64)
    found = np.sqrt(np.sum(apart * apart, axis=-1))
    return float(found) if found.ndim == 0 else found
