"""The words that stand in a page of a PDF itself, line by line with their places."""

from __future__ import annotations

import ctypes
import math
from collections import Counter
from dataclasses import dataclass
from typing import Any

from shutline.capture.limits import limits
from shutline.car.papers import Box, Line

_PICTURE = 3
"""An object of a page that is a picture (fpdf_edit.h, FPDF_PAGEOBJ_IMAGE)."""


@dataclass(slots=True)
class _Run:
    """Letters that PDFium has put together: in shares of the page's long side, from the upper left corner."""

    words: str
    left: float
    top: float
    right: float
    low: float

    @property
    def high(self) -> float:
        return self.low - self.top


def page_words(page: Any) -> tuple[tuple[Line, ...], int]:
    """Give the lines of a page that stand in the file, top to bottom, and by how much the page is to be turned.

    Parameters
    ----------
    page : pypdfium2.PdfPage
        Open, of a document that is open.

    Returns
    -------
    tuple of (Line, ...) and int
        No lines where there are too few letters, or where the page is a scan with a few letters of the scanner's on it;
        places are those of the turned page. Degrees clockwise: 0, 90, 180 or 270.
    """
    textpage = page.get_textpage()
    try:
        count = textpage.count_chars()
        if not _believed(page, textpage, count):
            return (), 0
        turned = _turn(textpage, count)
        runs, size = _runs(page, textpage), _size(page)
    finally:
        textpage.close()
    for _ in range(turned // 90):
        runs = [_Run(run.words, size[1] - run.low, run.left, size[1] - run.top, run.right) for run in runs]
        size = size[::-1]
    lines = [Line(run.words, _box(run, *size)) for run in _joined(runs)]
    return tuple(sorted(lines, key=lambda one: (round(one.box.top, 3), one.box.left))), turned


def _believed(page: Any, textpage: Any, count: int) -> bool:
    settings = limits().papers
    if count < settings.least_letters:
        return False
    letters = sum(sign.isalnum() for sign in textpage.get_text_range())
    if letters < settings.least_letters:
        return False
    return letters >= settings.scanned_letters or _scanned_share(page) < settings.scanned_share


def _scanned_share(page: Any) -> float:
    """Give the share of the page that its largest picture takes up."""
    wide, high = page.get_size()
    largest: float = 0.0
    for thing in page.get_objects(filter=(_PICTURE,)):
        left, low, right, top = thing.get_bounds()
        largest = max(largest, float(abs(right - left) * abs(top - low)))
    return largest / float(max(1.0, wide * high))


def _turn(textpage: Any, count: int) -> int:
    """Give by how many degrees clockwise the page is to be turned for most of its letters to stand upright."""
    import pypdfium2.raw as pdfium

    step = max(1, count // 400)
    angles = [pdfium.FPDFText_GetCharAngle(textpage.raw, at) for at in range(0, count, step)]
    # Told clockwise, of the page as it lies before it is turned to be shown.
    told = Counter(round(math.degrees(angle) / 90) * 90 % 360 for angle in angles if angle >= 0)
    rotation = textpage.page.get_rotation()
    most = told.most_common(1)[0][0] if told else 0
    return int(-(most + rotation) % 360)


def _runs(page: Any, textpage: Any) -> list[_Run]:
    found = []
    for at in range(textpage.count_rects()):
        left, low, right, top = textpage.get_rect(at)
        words = " ".join(textpage.get_text_bounded(left, low, right, top).split())
        if words:
            (x, y), (x2, y2) = _on_page(page, left, top), _on_page(page, right, low)
            found.append(_Run(words, min(x, x2), min(y, y2), max(x, x2), max(y, y2)))
    return found


def _on_page(page: Any, x: float, y: float) -> tuple[float, float]:
    """Give where a point of the file's own measure lies on the page as it is shown, in shares of its long side."""
    import pypdfium2.raw as pdfium

    fine = 1_000_000
    wide, high = _size(page)
    across, down = ctypes.c_int(), ctypes.c_int()
    size = (round(wide * fine), round(high * fine))
    pdfium.FPDF_PageToDevice(page.raw, 0, 0, *size, 0, x, y, ctypes.byref(across), ctypes.byref(down))
    return across.value / fine, down.value / fine


def _size(page: Any) -> tuple[float, float]:
    """Give width and height of a page as it is shown, in shares of its long side."""
    wide, high = page.get_size()
    longest = max(wide, high, 1.0)
    return wide / longest, high / longest


def _joined(runs: list[_Run]) -> list[_Run]:
    """Join runs of one line that are set in several faces, and let columns stand apart."""
    done: list[_Run] = []
    for run in sorted(runs, key=lambda one: (one.left, one.top)):
        near = [
            one
            for one in done
            if min(one.low, run.low) - max(one.top, run.top) > 0.5 * min(one.high, run.high)
            and -0.2 * run.high <= run.left - one.right < limits().papers.joined_em * run.high
        ]
        if near:
            one = max(near, key=lambda other: other.right)
            one.words = f"{one.words} {run.words}"
            one.top, one.low, one.right = min(one.top, run.top), max(one.low, run.low), max(one.right, run.right)
        else:
            done.append(run)
    return done


def _box(run: _Run, wide: float, high: float) -> Box:
    left, top = min(max(run.left / wide, 0.0), 1.0), min(max(run.top / high, 0.0), 1.0)
    right, low = min(max(run.right / wide, left), 1.0), min(max(run.low / high, top), 1.0)
    return Box(left, top, right - left, low - top)
