"""What tells side and end along the words, before the network is asked; the words are invented."""

from __future__ import annotations

import numpy as np

from shutline.car.findings import Drive
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.remarks import shipped_lexicon
from shutline.remarks.analysis import Analysis, analyse
from shutline.remarks.bearings import NEITHER, Bearings, bearings


def analysed(words: str) -> Analysis:
    stretch = stretch_of(words, 0.0, 60.0, origin=StretchOrigin.TRANSCRIPT)
    return analyse([stretch], drive=Drive.RHD, lexicon=shipped_lexicon())


def lie(words: str) -> tuple[Analysis, Bearings]:
    analysis = analysed(words)
    return analysis, bearings(len(analysis.text.norm), analysis.at, analysis.walked)


def told(words: str) -> tuple[list[tuple[str, str]], list[tuple[str, str]]]:
    analysis, where = lie(words)
    norm = analysis.text.norm
    sides = [(norm[at], ("near", "off")[where.side[at]]) for at in np.flatnonzero(where.side != NEITHER)]
    ends = [(norm[at], ("front", "rear")[where.end[at]]) for at in np.flatnonzero(where.end != NEITHER)]
    return sides, ends


def test_said_sides_and_ends_are_laid_on_their_words() -> None:
    sides, _ = told("Nearside sill is sound. Offside door has a dent.")
    assert next(side for _, side in sides) == "near"
    assert [side for _, side in sides][-1] == "off"
    _, ends = told("Bonnet is straight. Boot lid has a scratch.")
    assert [end for _, end in ends] == ["front", "rear"]


def test_the_other_side_is_settled() -> None:
    sides, _ = told("Nearside sill is sound. Other side, the sill is rusty.")
    assert "off" in [side for _, side in sides]


def test_the_walk_is_even_until_something_is_said() -> None:
    _, where = lie("Well, here it is. Nearside sill is sound.")
    assert where.near[0] == 0.5
    assert where.near[-1] > 0.5
    assert where.front[0] == 0.5


def test_mirrored_words_give_mirrored_sides() -> None:
    words = "Nearside sill is sound. Offside door has a dent. Other side is straight."
    swapped = "Offside sill is sound. Nearside door has a dent. Other side is straight."
    (_, here), (_, there) = lie(words), lie(swapped)
    said = here.side != NEITHER
    np.testing.assert_array_equal(said, there.side != NEITHER)
    np.testing.assert_array_equal(here.side[said], 1 - there.side[said])
    np.testing.assert_allclose(here.near, 1 - there.near, atol=1e-9)


def test_no_words_have_no_bearings() -> None:
    _, where = lie("")
    assert len(where.side) == len(where.near) == 0
