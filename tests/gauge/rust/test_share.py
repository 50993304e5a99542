"""The share of rust on rendered panels: near the true one, within what is said, wide where paint looks like rust."""

import importlib.util
import sys
from collections.abc import Sequence
from functools import cache
from itertools import islice
from pathlib import Path
from types import ModuleType
from typing import Any

import cv2
import numpy as np
import pytest

from shutline.car.errors import BadInputError
from shutline.gauge.rust import Segmented, likely, rust_of, rust_within, segment, segmenting
from shutline.gauge.rust.settings import settings
from shutline.gauge.rust.share import curve_of, is_clear, prior_shift, share_at


def _rusted() -> ModuleType:
    spec = importlib.util.spec_from_file_location("rusted", Path(__file__).with_name("rusted.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["rusted"] = module
    spec.loader.exec_module(module)
    return module


rusted = _rusted()


def whole(picture: np.ndarray) -> list[tuple[float, float]]:
    high, wide = picture.shape[:2]
    return [(-0.5, -0.5), (wide - 0.5, -0.5), (wide - 0.5, high - 0.5), (-0.5, high - 0.5)]


def test_the_interval_holds_the_true_share_of_rendered_panels() -> None:
    # None of these was learnt from. 90 %: of 40 at least 29 but for chance of one in a thousand; docs/rust.md has more.
    held = 0
    for seed in range(510_000, 510_040):
        panel, found = looked_at(seed)
        told = rust_of(found)
        held += told.low <= panel.share <= told.high
    assert held >= 29


@cache
def looked_at(seed: int) -> tuple[Any, Segmented]:
    """Render a panel and look for its rust, once."""
    panel = rusted.panel(seed)
    return panel, segment(panel.picture, whole(panel.picture))


def near_to_rust(paint: tuple[float, float, float]) -> bool:
    odds = segmenting._colour_odds(paint)[segmenting._bins(segmenting._signs_near(paint))]
    return bool(odds[0, 0] >= settings().weights.clear_paint)


def told_and_true(seeds: Sequence[int], *, clear: bool) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Give how likely rust was said to be pixel by pixel, where it is, and the error of each panel's share."""
    belief, truth, off = [], [], []
    for seed in seeds:
        panel, found = looked_at(seed)
        if is_clear(found) is clear:
            belief.append(likely(found).ravel())
            truth.append(panel.rust.ravel())
            off.append(rust_of(found).share - panel.share)
    return np.concatenate(belief), np.concatenate(truth), np.array(off)


def test_how_likely_rust_is_said_to_be_is_how_often_it_is_where_the_paint_is_clear() -> None:
    said, is_so, _ = told_and_true(range(510_000, 510_050), clear=True)
    for low, high in ((0.0, 0.05), (0.2, 0.5), (0.5, 0.8), (0.9, 1.01)):
        band = (said >= low) & (said < high)
        assert abs(said[band].mean() - is_so[band].mean()) < 0.15


def test_paint_that_is_near_to_rust_is_not_said_to_be_rust_too_often() -> None:
    # None of these was learnt from. Before, what was called 40 likely was rust in 5, and shares came out 17 too large.
    brownish = (seed for seed in range(520_000, 520_200) if near_to_rust(rusted.paint_of(seed)))
    said, is_so, off = told_and_true(list(islice(brownish, 14)), clear=False)
    assert len(off) >= 10
    for low, high in ((0.0, 0.05), (0.05, 0.3), (0.3, 0.7), (0.9, 1.01)):
        band = (said >= low) & (said < high)
        assert said[band].mean() - is_so[band].mean() < 0.15
    assert abs(off.mean()) < 0.1


def test_an_outline_tells_of_nothing_but_what_is_in_it() -> None:
    panel = rusted.panel(3, kind="none")
    picture = panel.picture.copy()
    rust = rusted.panel(4, kind="general", share=0.6).picture
    picture[:, :200] = rust[:, :200]
    clean = [(230.0, 20.0), (460.0, 20.0), (460.0, 340.0), (230.0, 340.0)]
    assert rust_within(picture, clean) == rust_within(panel.picture, clean)


def painted(lab: tuple[float, float, float], share: float) -> np.ndarray:
    rng = np.random.default_rng(1)
    from shutline.gauge.colour.srgb import light_of_lab, signs_of

    mask = rusted.rust_mask(rng, 360, 480, "patch", share)
    image = np.broadcast_to(light_of_lab(lab), (360, 480, 3)).astype(np.float32)
    image = image * (1 + 0.02 * rusted.fractal(rng, 360, 480, 3, 1.5))[..., None]
    image = image + (rusted._rust(rng, 360, 480) - image) * mask[..., None]
    return np.round(255 * signs_of(image)).astype(np.uint8)


@pytest.mark.parametrize("share", [0.02, 0.1, 0.4])
def test_rust_on_pale_paint_is_told_closely(share: float) -> None:
    picture = painted((75.0, -8.0, 4.0), share)
    found = rust_within(picture, whole(picture))
    assert found.told
    assert found.share == pytest.approx(share, rel=0.3)
    assert found.low < share < found.high
    assert found.distribution is not None
    assert f"ASTM D610 {found.grades.d610}-{found.distribution.letter}" in found.sentence


def test_a_picture_full_of_rusty_paint_is_not_taken_for_more_rust_than_was_learnt_from() -> None:
    brown = painted((38.0, 24.0, 32.0), 0.3)
    found = segment(brown, whole(brown))
    assert not is_clear(found)
    assert prior_shift(found) <= 0
    pale = painted((75.0, -8.0, 4.0), 0.3)
    assert prior_shift(segment(pale, whole(pale))) > 0


def test_brown_paint_widens_what_is_told_and_says_why() -> None:
    pale, brown = (
        rust_within(picture, whole(picture))
        for picture in (painted((75.0, -8.0, 4.0), 0.1), painted((38.0, 24.0, 32.0), 0.1))
    )
    assert brown.high - brown.low > 1.5 * (pale.high - pale.low)
    assert any("paint itself" in each for each in brown.cautions)
    assert not any("paint itself" in each for each in pale.cautions)


def test_clean_paint_has_no_rust_for_certain() -> None:
    picture = painted((30.0, 0.0, -25.0), 1e-9)
    found = rust_within(picture, whole(picture))
    assert found.low == 0
    assert found.grades.d610_least == "10"
    assert found.distribution is None
    assert "No rust is told for certain" in found.sentence


def test_a_shift_of_the_odds_moves_the_share_the_same_way_and_by_little_where_all_is_plain() -> None:
    curve = curve_of(np.concatenate((np.full(900, -9.0), np.full(100, 9.0))).astype(np.float32))
    assert share_at(curve, 0.0) == pytest.approx(0.1, abs=1e-3)
    assert share_at(curve, 2.0) == pytest.approx(0.1, abs=2e-3)
    doubtful = curve_of(np.zeros(1000, np.float32))
    assert share_at(doubtful, -1.0) < 0.3
    assert share_at(doubtful, 1.0) > 0.7


def test_a_large_picture_gives_what_it_gives_made_smaller() -> None:
    panel = rusted.panel(8, kind="patch", share=0.2)
    large = cv2.resize(panel.picture, None, fx=6, fy=6, interpolation=cv2.INTER_CUBIC)
    found = segment(large, whole(large))
    assert found.shrink < 1
    assert found.odds.size <= 4_000_000
    assert rust_of(found).low < 0.2 < rust_of(found).high


def test_the_same_picture_gives_the_same_answer_twice_and_is_left_alone() -> None:
    panel = rusted.panel(9)
    before = panel.picture.copy()
    assert rust_within(panel.picture, whole(panel.picture)) == rust_within(panel.picture, whole(panel.picture))
    assert (panel.picture == before).all()


@pytest.mark.parametrize(
    ("outline", "words"),
    [
        ([(0.0, 0.0), (50.0, 50.0)], "three corners"),
        ([(0.0, 0.0), (float("inf"), 0.0), (9.0, 9.0)], "three corners"),
        ([(0.0, 0.0), (9.0, 0.0), (9.0, 9.0)], "400 pixels"),
        ([(900.0, 0.0), (990.0, 0.0), (990.0, 90.0)], "400 pixels"),
        ([(0.0, 0.0), (150.0, 150.0), (149.0, 149.5)], "400 pixels"),
    ],
)
def test_outlines_with_nothing_to_look_at_are_refused(outline: list[tuple[float, float]], words: str) -> None:
    panel = rusted.panel(1)
    with pytest.raises(BadInputError, match=words):
        rust_within(panel.picture, outline)
