"""The picture of an engine's note as SVG: how strongly it beats at each speed along time, and the speed followed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import groupby

from shutline.car.engine import EngineNote
from shutline.publish.engine import axis_words, picture_words
from shutline.publish.report.times import moment

WIDTH, HEIGHT = 860.0, 380.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 62.0, 16.0, 26.0, 46.0
_GROUND, _INK, _SOFT, _ACCENT, _RULE = "#fdfaf3", "#2b2823", "#5a5348", "#34508e", "#d8cdb9"
# From paper to ink; the line of the speed stands out from all of them by its white edge.
_SHADES = ("#f6eedd", "#eadfc6", "#dccdab", "#c9b68f", "#b39d76", "#99835f", "#7d694b", "#5f4f39", "#443829")
_MARKS_RPM = (200, 400, 600, 800, 1000, 1500, 2000)


def engine_picture(note: EngineNote) -> str:
    """Draw a note.

    Parameters
    ----------
    note : EngineNote
        With its spectrogram and its trace.

    Returns
    -------
    str
        SVG that scales, with a role and a description for who cannot see it; empty where there is nothing to
        draw.
    """
    shown = note.spectrogram
    if not shown.rows or not shown.rows[0]:
        return ""
    sheet = _Sheet(note)
    words = axis_words()
    label = f'aria-label="{_safe(picture_words(note))}"'
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" {label}>',
        f'<rect width="{WIDTH:g}" height="{HEIGHT:g}" fill="{_GROUND}"/>',
        *sheet.shades(),
        *sheet.axes(words),
        *sheet.events(words),
        *sheet.course(),
        "</svg>",
    ]
    return "".join(parts)


class _Sheet:
    """Where times and speeds lie on the sheet."""

    def __init__(self, note: EngineNote) -> None:
        self._note = note
        shown = note.spectrogram
        self._start_s = shown.start_s
        self._end_s = shown.start_s + shown.step_s * len(shown.rows[0])
        self._low, self._high = math.log(shown.rpm[0]), math.log(shown.rpm[-1])

    def x(self, at_s: float) -> float:
        share = (at_s - self._start_s) / max(self._end_s - self._start_s, 1e-6)
        return _LEFT + share * (WIDTH - _LEFT - _RIGHT)

    def y(self, rpm: float) -> float:
        share = (math.log(max(rpm, 1.0)) - self._low) / max(self._high - self._low, 1e-6)
        return HEIGHT - _BOTTOM - share * (HEIGHT - _TOP - _BOTTOM)

    def shades(self) -> Iterator[str]:
        """Lay down each strength as one shape; runs along time are drawn as one piece."""
        shown = self._note.spectrogram
        step = (self._high - self._low) / max(len(shown.rows) - 1, 1) / 2
        pieces: dict[str, list[str]] = {}
        for rpm, row in zip(shown.rpm, shown.rows, strict=True):
            top = max(_TOP, self.y(math.exp(math.log(rpm) + step)))
            foot = min(HEIGHT - _BOTTOM, self.y(math.exp(math.log(rpm) - step)))
            at = 0
            for digit, run in groupby(row):
                length = len(list(run))
                if digit != "0":
                    left, right = (self.x(self._start_s + shown.step_s * one) for one in (at, at + length))
                    pieces.setdefault(digit, []).append(f"M{left:.1f} {top:.1f}H{right:.1f}V{foot:.1f}H{left:.1f}Z")
                at += length
        for digit, ways in sorted(pieces.items()):
            yield f'<path fill="{_SHADES[int(digit) - 1]}" d="{"".join(ways)}"/>'

    def axes(self, names: Mapping[str, str]) -> Iterator[str]:
        yield f'<g font-family="Source Sans 3, sans-serif" font-size="13" fill="{_SOFT}">'
        for rpm in _MARKS_RPM:
            if self._low <= math.log(rpm) <= self._high:
                y = self.y(rpm)
                yield f'<path d="M{_LEFT:g} {y:.1f}H{WIDTH - _RIGHT:g}" stroke="{_RULE}" stroke-width="0.7"/>'
                yield f'<text x="{_LEFT - 7:g}" y="{y + 4.5:.1f}" text-anchor="end">{rpm}</text>'
        span = self._end_s - self._start_s
        step = next(one for one in (1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1800) if span / one <= 12 or one == 1800)
        at = math.ceil(self._start_s / step) * step
        while at <= self._end_s:
            yield f'<text x="{self.x(at):.1f}" y="{HEIGHT - _BOTTOM + 17:g}" text-anchor="middle">{moment(at)}</text>'
            at += step
        yield f'<text x="{WIDTH - _RIGHT:g}" y="{HEIGHT - 8:g}" text-anchor="end">{_safe(names["x"])}</text>'
        yield f'<text x="6" y="{HEIGHT - 8:g}">{_safe(names["y"])}</text></g>'

    def events(self, names: Mapping[str, str]) -> Iterator[str]:
        yield f'<g font-family="Source Sans 3, sans-serif" font-size="13" fill="{_INK}">'
        for at_s, name, end in (
            (self._note.first_turn_s, names["starter"], "end"),
            (self._note.fires_s, names["fired"], "start"),
        ):
            if at_s is None or not self._start_s <= at_s <= self._end_s:
                continue
            x = self.x(at_s)
            yield f'<path d="M{x:.1f} {_TOP:g}V{HEIGHT - _BOTTOM:g}" stroke="{_INK}" stroke-dasharray="3 3"/>'
            shift = -4 if end == "end" else 4
            yield f'<text x="{x + shift:.1f}" y="{_TOP - 6:g}" text-anchor="{end}">{_safe(name)}</text>'
        yield "</g>"

    def course(self) -> Iterator[str]:
        """Draw the speed where it was heard, broken where it was not."""
        ways = []
        pen_down = False
        for at_s, rpm in zip(self._note.trace.times_s, self._note.trace.rpm, strict=True):
            if rpm is None:
                pen_down = False
                continue
            ways.append(f"{'L' if pen_down else 'M'}{self.x(at_s):.1f} {self.y(rpm):.1f}")
            pen_down = True
        if ways:
            way = "".join(ways)
            for colour, width in (("#ffffff", 5), (_ACCENT, 2.4)):
                yield (
                    f'<path d="{way}" fill="none" stroke="{colour}" stroke-width="{width}" '
                    'stroke-linejoin="round" stroke-linecap="round"/>'
                )


def _safe(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&quot;")
