"""Colour difference CIEDE2000, as Sharma, Wu and Dalal set it out.

G. Sharma, W. Wu and E. N. Dalal, 'The CIEDE2000 color-difference formula: implementation notes, supplementary test
data, and mathematical observations', Color Research and Application 30(1), 21-30, 2005, doi 10.1002/col.20070.

The formula is made for D65, 1000 lx, a grey ground, samples of 4 degrees or more edge to edge, and differences of up to
about five. Where it tells two colours apart and of what size that looks is another matter than what a paint shop
accepts.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

_BLOCK = 8192
"""So many pairs are worked on at once, so that all of their columns stay near the processor."""
_OPPOSED = 1e-8
"""Two hues whose unit vectors add up to less than this have no bisector that can be told from rounding."""
_25_TO_7 = 25.0**7
_DEG = np.pi / 180
_COS_30, _SIN_30 = np.cos(30 * _DEG), np.sin(30 * _DEG)
_COS_6, _SIN_6 = np.cos(6 * _DEG), np.sin(6 * _DEG)
_COS_63, _SIN_63 = np.cos(63 * _DEG), np.sin(63 * _DEG)


def delta_e_2000(lab_1: npt.ArrayLike, lab_2: npt.ArrayLike, *, k: tuple[float, float, float] = (1.0, 1.0, 1.0)) -> Any:
    """Give the difference of two colours, or of many pairs.

    Parameters
    ----------
    lab_1, lab_2 : array_like
        CIE L*a*b* under D65, shape (..., 3): L* from 0 to 100; shapes that broadcast.
    k : tuple of float
        Weights of lightness, chroma and hue, each above nought; 1 under the conditions above.

    Returns
    -------
    float or ndarray
        Nought or more, shape as broadcast without the last axis; not a number where a colour is none.

    Raises
    ------
    ValueError
        The last axis is not of three.
    """
    terms = difference_terms(lab_1, lab_2, k=k)
    light, chroma, hue, turned = terms[..., 0], terms[..., 1], terms[..., 2], terms[..., 3]
    found = np.sqrt(np.maximum(light * light + chroma * chroma + hue * hue + turned * chroma * hue, 0.0))
    return float(found) if found.ndim == 0 else found


def difference_terms(
    lab_1: npt.ArrayLike, lab_2: npt.ArrayLike, *, k: tuple[float, float, float] = (1.0, 1.0, 1.0)
) -> Array:
    """Give what a difference is made of; arguments and errors as for `delta_e_2000`.

    Returns
    -------
    ndarray
        Shape (..., 4): lightness, chroma and hue, second less first, each over its weight (ΔL'/kS_L, ΔC'/kS_C,
        ΔH'/kS_H), and the rotation R_T that binds the last two.
    """
    one, two = np.asarray(lab_1, np.float64), np.asarray(lab_2, np.float64)
    if one.shape[-1:] != (3,) or two.shape[-1:] != (3,):
        raise ValueError(f"colours of shape {one.shape} and {two.shape}; the last axis is L*, a*, b*")
    shape = np.broadcast_shapes(one.shape, two.shape)
    one, two = (np.broadcast_to(each, shape).reshape(-1, 3) for each in (one, two))
    found = np.empty((4, len(one)))
    for at in range(0, len(one), _BLOCK):
        piece = slice(at, at + _BLOCK)
        found[:, piece] = _terms(np.ascontiguousarray(one[piece].T), np.ascontiguousarray(two[piece].T), k)
    return found.T.reshape(*shape[:-1], 4)


def _terms(one: Array, two: Array, k: tuple[float, float, float]) -> tuple[Array, Array, Array, Array]:
    """Work out a block; `one` and `two` of shape (3, n)."""
    (l1, a1, b1), (l2, a2, b2) = one, two
    square_1, square_2 = b1 * b1, b2 * b2
    mean = (np.sqrt(a1 * a1 + square_1) + np.sqrt(a2 * a2 + square_2)) / 2
    # (1 + G), equations 4 and 5.
    stretch = 1.5 - 0.5 * _root_share(mean)
    a1, a2 = stretch * a1, stretch * a2
    c1, c2 = np.sqrt(a1 * a1 + square_1), np.sqrt(a2 * a2 + square_2)
    product, along = c1 * c2, a1 * a2 + b1 * b2
    across = a1 * b2 - a2 * b1
    # ΔH' = 2 √(C'C') sin(Δh/2), equation 11, from the two vectors and without an angle: each of the two forms is exact
    # where the other loses figures.
    near = along > 0
    forward = np.sqrt(np.where(near, product + along, 1.0) / 2)
    back = np.sqrt(2 * np.maximum(product - along, 0.0))
    hue = np.where(near, across / np.where(forward > 0, forward, 1.0), np.where(across < 0, -back, back))
    cos, sin = _bisector((a1, b1, c1), (a2, b2, c2))
    cos_2, sin_2 = cos * cos - sin * sin, 2 * sin * cos
    cos_3, sin_3 = cos_2 * cos - sin_2 * sin, sin_2 * cos + cos_2 * sin
    cos_4, sin_4 = cos_2 * cos_2 - sin_2 * sin_2, 2 * sin_2 * cos_2
    # Equation 15.
    t = (
        1
        - 0.17 * (cos * _COS_30 + sin * _SIN_30)
        + 0.24 * cos_2
        + 0.32 * (cos_3 * _COS_6 - sin_3 * _SIN_6)
        - 0.20 * (cos_4 * _COS_63 + sin_4 * _SIN_63)
    )
    angle = np.arctan2(sin, cos) / _DEG
    angle += 360.0 * (angle < 0)
    chroma = (c1 + c2) / 2
    bend = (angle - 275) / 25
    turned = -2 * _root_share(chroma) * np.sin(60 * _DEG * np.exp(-(bend * bend)))
    light = (l1 + l2) / 2 - 50
    light *= light
    s_light = 1 + 0.015 * light / np.sqrt(20 + light)
    return (
        (l2 - l1) / (k[0] * s_light),
        (c2 - c1) / (k[1] * (1 + 0.045 * chroma)),
        hue / (k[2] * (1 + 0.015 * chroma * t)),
        turned,
    )


def _root_share(chroma: Array) -> Array:
    """Give √(C⁷ / (C⁷ + 25⁷))."""
    square = chroma * chroma
    seventh = square * square * square * chroma
    return np.asarray(np.sqrt(seventh / (seventh + _25_TO_7)))


def _bisector(one: tuple[Array, Array, Array], two: tuple[Array, Array, Array]) -> tuple[Array, Array]:
    """Give cosine and sine of the mean hue, equation 14: half way the shorter way round.

    A grey has no hue and leaves that of the other. Opposed hues have two half ways, and there the paper's own rule
    decides, as far as its angles can be told (its pair 14 lies on that edge).
    """
    (a1, b1, c1), (a2, b2, c2) = one, two
    over_1, over_2 = 1 / np.where(c1 > 0, c1, 1.0), 1 / np.where(c2 > 0, c2, 1.0)
    cos, sin = a1 * over_1 + a2 * over_2, b1 * over_1 + b2 * over_2
    long = np.sqrt(cos * cos + sin * sin)
    opposed = long < _OPPOSED
    if opposed.any():
        hue_1 = np.arctan2(b1[opposed], a1[opposed]) % (2 * np.pi)
        hue_2 = np.arctan2(b2[opposed], a2[opposed]) % (2 * np.pi)
        total = hue_1 + hue_2
        far = np.abs(hue_1 - hue_2) > np.pi
        total += np.where(far, np.where(total < 2 * np.pi, 2 * np.pi, -2 * np.pi), 0.0)
        cos[opposed], sin[opposed], long[opposed] = np.cos(total / 2), np.sin(total / 2), 1.0
    return cos / long, sin / long
