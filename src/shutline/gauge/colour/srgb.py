"""Light and L*a*b* out of sRGB (IEC 61966-2-1:1999)."""

from __future__ import annotations

from functools import cache

import numpy as np
import numpy.typing as npt

from shutline.gauge.colour.cie1976 import lab_of_xyz, xyz_of_lab
from shutline.gauge.colour.sharma2005 import Array

TO_XYZ = np.array(((0.4124, 0.3576, 0.1805), (0.2126, 0.7152, 0.0722), (0.0193, 0.1192, 0.9505)))
"""XYZ of D65 out of light in red, green, blue."""
WHITE = TO_XYZ.sum(axis=1)
"""What the matrix makes of white, so that a grey has a* and b* of nought exactly."""


def light_of(signs: npt.ArrayLike) -> Array:
    """Give the light of sRGB values: 0 to 1 of 0 to 255, or of 0 to 1 where they are not whole numbers of eight bits.

    Parameters
    ----------
    signs : array_like
        Any shape; uint8 of 0 to 255, or float of 0 to 1.

    Returns
    -------
    ndarray
        The same shape, linear in light.
    """
    values = np.asarray(signs)
    if values.dtype == np.uint8:
        return np.asarray(_steps()[values])
    return _decoded(np.asarray(values, np.float64))


def signs_of(light: npt.ArrayLike) -> Array:
    """Give sRGB values from 0 to 1 of light; what lies outside 0 to 1 is cut."""
    value = np.clip(np.asarray(light, np.float64), 0, 1)
    return np.where(value <= 0.0031308, 12.92 * value, 1.055 * value ** (1 / 2.4) - 0.055)


def lab_of_light(light: npt.ArrayLike) -> Array:
    """Give L*a*b* under D65 of linear red, green, blue; shape (..., 3)."""
    return lab_of_xyz(np.asarray(light, np.float64) @ TO_XYZ.T, WHITE)


def light_of_lab(lab: npt.ArrayLike) -> Array:
    """Give linear red, green, blue of L*a*b* under D65, below 0 or over 1 where sRGB cannot show it."""
    return np.asarray(xyz_of_lab(lab, WHITE) @ np.linalg.inv(TO_XYZ).T)


def lab_of_signs(signs: npt.ArrayLike) -> Array:
    """Give L*a*b* under D65 of sRGB values; shape (..., 3), values as for `light_of`."""
    return lab_of_light(light_of(signs))


@cache
def _steps() -> Array:
    return _decoded(np.arange(256) / 255)


def _decoded(value: Array) -> Array:
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)
