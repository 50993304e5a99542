"""Bring high dynamic range film, as many phones make it, to sRGB.

Light is scaled so that the reference white of ITU-R BT.2408 (75 % of the HLG signal, 203 cd/m² in PQ) becomes white;
what is brighter is white too. Colours go from the primaries of BT.2020 to those of BT.709.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import numpy.typing as npt

# ITU-R BT.2100-2, table 5 (HLG) and table 4 (PQ).
_HLG_A, _HLG_B, _HLG_C = 0.17883277, 0.28466892, 0.55991073
_PQ_M1, _PQ_M2 = 2610 / 16384, 2523 / 4096 * 128
_PQ_C1, _PQ_C2, _PQ_C3 = 3424 / 4096, 2413 / 4096 * 32, 2392 / 4096 * 32
_PQ_PEAK_CD_M2 = 10_000
# ITU-R BT.2408-7, clause 2.
_WHITE_HLG_SIGNAL, _WHITE_CD_M2 = 0.75, 203
# ITU-R BT.2407-0, clause 2: BT.2020 to BT.709, linear light.
_TO_709 = np.array(
    ((1.6605, -0.5876, -0.0728), (-0.1246, 1.1329, -0.0083), (-0.0182, -0.1006, 1.1187)), dtype=np.float32
)
_STEPS = 65_536


def hlg_light(signal: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Give the scene light of an HLG signal, both 0 to 1 (BT.2100 inverse OETF)."""
    low = signal**2 / 3
    high = (np.exp((signal - _HLG_C) / _HLG_A) + _HLG_B) / 12
    return np.where(signal <= 0.5, low, high)


def pq_light(signal: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Give the display light, cd/m², of a PQ signal, 0 to 1 (BT.2100 EOTF)."""
    root = signal ** (1 / _PQ_M2)
    return _PQ_PEAK_CD_M2 * (np.maximum(root - _PQ_C1, 0) / (_PQ_C2 - _PQ_C3 * root)) ** (1 / _PQ_M1)


@cache
def _table(*, hlg: bool) -> npt.NDArray[np.float32]:
    """Give light with white at one for each step of a 16-bit signal."""
    signal = np.arange(_STEPS) / (_STEPS - 1)
    if hlg:
        return (hlg_light(signal) / hlg_light(np.array([_WHITE_HLG_SIGNAL]))).astype(np.float32)
    return (pq_light(signal) / _WHITE_CD_M2).astype(np.float32)


def to_srgb(picture: npt.NDArray[np.uint16], *, hlg: bool) -> npt.NDArray[np.uint8]:
    """Bring a picture to sRGB.

    Parameters
    ----------
    picture : numpy.ndarray
        Shape (height, width, 3), uint16, full scale 65,535: red, green, blue of BT.2020, coded as HLG or PQ.
    hlg : bool
        True for HLG, False for PQ.

    Returns
    -------
    numpy.ndarray
        The same shape, uint8, sRGB (IEC 61966-2-1).
    """
    light = np.clip(_table(hlg=hlg)[picture] @ _TO_709.T, 0, 1)
    coded = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.asarray(np.round(coded * 255), np.uint8)
