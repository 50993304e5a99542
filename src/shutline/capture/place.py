"""Read the place and the time that a camera wrote into a file."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from datetime import datetime

# ISO 6709 annex H: latitude and longitude as degrees, degrees and minutes, or degrees, minutes and seconds; then
# perhaps a height, a reference system and a solidus.
_POINT = re.compile(r"\s*([+-])(\d{2}|\d{4}|\d{6})(\.\d+)?([+-])(\d{3}|\d{5}|\d{7})(\.\d+)?(?![\d.])")
# Clocks that were never set stand at the start of their count: QuickTime's in 1904, Unix's in 1970.
_UNSET_YEARS = frozenset({1904, 1970})


def read_point(text: str) -> tuple[float, float] | None:
    """Read a place written after ISO 6709.

    Parameters
    ----------
    text : str
        For example ``+40.6892-074.0445/`` or ``+4041.35-07402.67+010/``.

    Returns
    -------
    tuple of float or None
        Latitude and longitude, degrees, north and east positive; None when it is no such text or lies off the globe.
    """
    match = _POINT.match(text)
    if match is None:
        return None
    latitude = _degrees(match[1], match[2], match[3], whole=2)
    longitude = _degrees(match[4], match[5], match[6], whole=3)
    return on_globe(latitude, longitude)


def on_globe(latitude_deg: float, longitude_deg: float) -> tuple[float, float] | None:
    """Give the pair if it can be a place; None off the globe, and for the 0, 0 of a receiver without fix."""
    if not (math.isfinite(latitude_deg) and math.isfinite(longitude_deg)):
        return None
    if abs(latitude_deg) > 90 or abs(longitude_deg) > 180 or (latitude_deg == 0 and longitude_deg == 0):
        return None
    return latitude_deg, longitude_deg


def _degrees(sign: str, digits: str, fraction: str | None, *, whole: int) -> float:
    pairs = [digits[:whole], *(digits[at : at + 2] for at in range(whole, len(digits), 2))]
    pairs[-1] += fraction or ""
    value: float = sum(float(part) / float(60**power) for power, part in enumerate(pairs))
    return -value if sign == "-" else value


def degrees_of(parts: Sequence[float], reference: str) -> float:
    """Give signed degrees from degrees, minutes and seconds and one of N, S, E, W (Exif 2.32, GPSLatitude)."""
    value: float = sum(float(part) / float(60**power) for power, part in enumerate(parts))
    return -value if reference.strip().upper()[:1] in {"S", "W"} else value


def read_moment(text: str) -> str | None:
    """Read a date and time written after ISO 8601 or as Exif writes them.

    Parameters
    ----------
    text : str
        For example ``2026-03-14T09:30:00+0000`` or ``2026:03:14 09:30:00``.

    Returns
    -------
    str or None
        ISO 8601, with the offset that was there and none where there was none; None when it is no time, or a clock
        that was never set.
    """
    plain = text.strip().rstrip("\x00")
    plain = re.sub(r"^(\d{4}):(\d{2}):(\d{2})", r"\1-\2-\3", plain)
    try:
        moment = datetime.fromisoformat(plain)
    except ValueError:
        return None
    if moment.year in _UNSET_YEARS:
        return None
    return moment.isoformat()
