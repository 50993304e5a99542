"""Pages are read off their pictures, whichever way they lie."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

from shutline.gauge.pages import read_page

sys.path.insert(0, str(Path(__file__).resolve().parents[3] / "bench"))

from papers_made import pdf_of, picture_of, scanned

PAGE = """= Service record
Harbottle Motors, Saltmarsh \\
Date 12/03/2019 #h(1fr) Mileage 41,206 \\
Registration FGY 412H, oil and filter changed, brake fluid renewed \\
Total £266.40, of which tax £44.40
"""


@pytest.fixture(scope="module")
def page() -> np.ndarray:
    return picture_of(pdf_of(PAGE), longest_px=1600)


@pytest.mark.parametrize("turned", [0, 90, 180, 270])
def test_a_photographed_page_is_turned_and_read(page: np.ndarray, turned: int) -> None:
    read, upright = read_page(scanned(page, seed=turned, turned=turned), number=7)
    assert (read.number, read.turned) == (7, -turned % 360)
    told = " ".join(one.words for one in read.lines)
    for figure in ("12/03/2019", "41,206", "412H", "266.40", "44.40"):
        assert figure in told
    assert upright.shape[0] > upright.shape[1]
    tops = [one.box.top for one in read.lines]
    assert tops == sorted(tops)
    mileage = next(one for one in read.lines if "41,206" in one.words)
    date = next(one for one in read.lines if "12/03" in one.words)
    assert mileage is date or mileage.box.left > date.box.left + date.box.width
    assert all(0.2 <= one.score <= 1 for one in read.lines)


def test_a_page_without_words_has_no_lines_and_stays() -> None:
    read, upright = read_page(np.full((300, 200, 3), 255, np.uint8))
    assert (read.lines, read.turned, upright.shape) == ((), 0, (300, 200, 3))
