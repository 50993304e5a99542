"""How strong each rate of beating is along time, small enough to keep and draw."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from shutline.car.engine import Spectrogram
from shutline.gauge.engine.running import Listening
from shutline.gauge.engine.speed import at_hertz

_COLUMNS, _ROWS = 160, 56
_LOWEST_RPM, _HIGHEST_RPM = 150.0, 2400.0
_STRONG = 4.5


def spectrogram(found: Listening, *, start_s: float, end_s: float, offset_s: float) -> Spectrogram:
    """Draw the heights of the lines between two moments of the sound, which begins `offset_s` into the recording."""
    times = found.combs.times_s
    here = np.flatnonzero((times >= start_s) & (times <= end_s))
    if not len(here):
        return Spectrogram()
    columns = min(_COLUMNS, len(here))
    rpm = np.exp(np.linspace(np.log(_LOWEST_RPM), np.log(_HIGHEST_RPM), _ROWS))
    heights = at_hertz(found.combs.lines[here], rpm * found.per_rpm, found.combs.bin_hz)
    edges = np.linspace(0, len(here), columns + 1).round().astype(int)
    means = np.stack([heights[first:last].mean(axis=0) for first, last in pairwise(edges)])
    digits = np.clip(np.round(means / _STRONG * 9), 0, 9).astype(int)
    step_s = float(times[here[-1]] - times[here[0]] + found.step_s) / columns
    return Spectrogram(
        start_s=round(offset_s + float(times[here[0]]) - found.step_s / 2, 3),
        step_s=round(step_s, 4),
        rpm=tuple(round(float(one), 1) for one in rpm),
        rows=tuple("".join(map(str, row)) for row in digits.T),
    )
