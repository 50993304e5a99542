"""What drawings of readings on the Plan share: bands of a ratio, a figure set on its place, and the scale below."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from shutline.car.plan.curves import Point
from shutline.car.plan.ink import FINE_INK, INK, LINE, PAPER, escaped, number, text_width

BY = "\u00d7"
_FIGURE, _TIMES = 12.0, 9.5
# Room for a place that was not read, and for one mark of the drawing's own behind it.
_TAIL = 260.0


@dataclass(frozen=True, slots=True)
class FigureBox:
    """A figure with how many times the car's own that is, empty where nothing is known to hold it against."""

    figure: str
    times: str

    @property
    def size(self) -> tuple[float, float]:
        """Width and height."""
        wide = max(text_width(self.figure, _FIGURE), text_width(self.times, _TIMES)) + 6
        return wide, 24.5 if self.times else 14.5

    def drawn(self, middle: Point, *, sentence: str) -> str:
        """Write it about a point; `sentence` is what it says when it is pointed at."""
        (x, y), (wide, high) = middle, self.size
        top = y - high / 2
        return (
            f"<g><title>{escaped(sentence)}</title>"
            f'<rect x="{number(x - wide / 2)}" y="{number(top)}" width="{number(wide)}" height="{number(high)}" rx="2" '
            f'fill="{PAPER}" stroke="{FINE_INK}" stroke-width="0.5"/>'
            f'<text x="{number(x)}" y="{number(top + 11)}" font-size="{number(_FIGURE)}" font-weight="600" '
            f'fill="{INK}">{self.figure}</text>'
            + (
                f'<text x="{number(x)}" y="{number(top + 21.5)}" font-size="{number(_TIMES)}" fill="{INK}">'
                f"{self.times}</text>"
                if self.times
                else ""
            )
            + "</g>"
        )


def band_of(ratio: float, bands: Sequence[float]) -> int:
    """Give the number of the band, from one, that a ratio falls in; `bands` are their upper bounds but the last's."""
    return 1 + sum(ratio >= bound for bound in bands)


def band_scale(
    bands: Sequence[float],
    own: float,
    unit: str,
    *,
    heading: str,
    at: Point,
    prefix: str,
    enlarged: float = 1.0,
    width: float = math.inf,
) -> tuple[str, Point]:
    """Write the scale: each band's grain with the ratios and figures it is for, and a place that was not read.

    Parameters
    ----------
    bands : sequence of float
        As `band_of` has them; their grains are those of the shadings ``step_1`` on, named ``grain_1`` on.
    own : float
        The figure that the ratios are to, in `unit`.
    heading : str
        What stands above it.
    at : (x, y)
        Its left top.
    prefix : str
        Put before the ids of the grains.
    enlarged : float
        How many times as large the grains are drawn on the Plan.
    width : float
        Up to where a row may go before the next begins.

    Returns
    -------
    str, (x, y)
        The scale, and where its last entry ends.
    """
    left, top = at
    parts = [f'<text x="{number(left)}" y="{number(top + 14)}" font-size="16">{escaped(heading)}</text>']
    x, y = left, top + 26
    for i, (low, high) in enumerate(pairwise([0.0, *bands, float("inf")]), start=1):
        if low == 0:
            times, figures = f"below {BY}{high:g}", f"below {high * own:.0f} {unit}"
        elif high == float("inf"):
            times, figures = f"{BY}{low:g} and more", f"{low * own:.0f} {unit} and more"
        else:
            times, figures = f"{BY}{low:g} to {high:g}", f"{low * own:.0f} to {high * own:.0f} {unit}"
        wide = 47 + max(text_width(times, 14), text_width(figures, 13))
        if x + wide > width:
            x, y = left, y + 42
        parts.append(
            f'<rect transform="translate({number(x)} {number(y)}) scale({enlarged:.4g})" '
            f'width="{number(40 / enlarged)}" height="{number(30 / enlarged)}" '
            f'fill="url(#{prefix}-grain_{i})" stroke="{INK}" stroke-width="{number(LINE / enlarged)}"/>'
            f'<text x="{number(x + 47)}" y="{number(y + 13)}" font-size="14">{escaped(times)}</text>'
            f'<text x="{number(x + 47)}" y="{number(y + 29)}" font-size="13" fill="{FINE_INK}">'
            f"{escaped(figures)}</text>"
        )
        x += wide + 34
    if x + _TAIL > width:
        x, y = left, y + 42
    parts.append(
        f'<rect x="{number(x)}" y="{number(y)}" width="40" height="30" fill="{PAPER}" stroke="{INK}" '
        f'stroke-width="{LINE}"/><text x="{number(x + 47)}" y="{number(y + 20)}" font-size="14">not read</text>'
    )
    return "".join(parts), (x + 47 + text_width("not read", 14), y)
