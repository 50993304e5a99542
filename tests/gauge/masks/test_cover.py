"""What is covered is gone, and all else is as it was."""

import hashlib
from itertools import pairwise

import numpy as np
import pytest
import scenes
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.masks import Box, MaskKind
from shutline.gauge.masks.cover import covered
from shutline.gauge.masks.find import find_in_picture
from shutline.gauge.masks.lines import lines_in
from shutline.gauge.masks.marks import plain
from shutline.gauge.masks.settings import shipped_policy

edge = st.floats(0, 1, allow_nan=False)


@st.composite
def boxes(draw: st.DrawFn) -> Box:
    left, right = sorted(draw(st.lists(edge, min_size=2, max_size=2, unique=True)))
    top, bottom = sorted(draw(st.lists(edge, min_size=2, max_size=2, unique=True)))
    return Box(left, top, right, bottom)


@given(st.lists(boxes(), max_size=4), st.integers(1, 60), st.integers(1, 60), st.integers(0, 9))
def test_only_pixels_that_a_box_touches_change(given_boxes: list[Box], wide: int, high: int, seed: int) -> None:
    picture = np.random.default_rng(seed).integers(0, 256, (high, wide, 3)).astype(np.uint8)
    before = picture.copy()
    done = covered(picture, given_boxes, colour=(1, 2, 3))
    under = np.zeros((high, wide), bool)
    for box in given_boxes:
        left, top, right, bottom = box.pixels(wide, high)
        under[top:bottom, left:right] = True
    assert np.array_equal(picture, before)
    assert np.array_equal(done[~under], before[~under])
    assert (done[under] == (1, 2, 3)).all()


@given(boxes(), st.integers(0, 9))
def test_nothing_under_a_cover_depends_on_what_was_there(box: Box, seed: int) -> None:
    left, top, right, bottom = box.pixels(40, 30)
    picture = np.random.default_rng(seed).integers(0, 256, (30, 40, 3)).astype(np.uint8)
    other = picture.copy()
    other[top:bottom, left:right] = 255 - other[top:bottom, left:right]
    first, second = (covered(one, [box], colour=(74, 74, 70)) for one in (picture, other))
    assert hashlib.sha256(first.tobytes()).digest() == hashlib.sha256(second.tobytes()).digest()


@pytest.mark.slow
@pytest.mark.parametrize("seed", [11, 12, 13])
def test_no_mark_can_be_read_in_a_masked_picture(seed: int) -> None:
    scene = scenes.scene(seed, "mark", wide_px=300)
    wanted = set(plain(scene.words))
    before = " ".join(plain(line.text) for line in lines_in(scene.picture))
    assert sum(sign in before for sign in wanted) >= len(wanted) - 2
    policy = shipped_policy()
    found = [one for one in find_in_picture(scene.picture) if one.kind is MaskKind.MARK]
    aspect = scenes.SIZE[0] / scenes.SIZE[1]
    done = covered(scene.picture, [one.box.grown(policy.margin, aspect=aspect) for one in found], colour=policy.colour)
    left, top = scene.corners.min(axis=0)
    right, bottom = scene.corners.max(axis=0)
    mark = plain(scene.words)
    for line in lines_in(done):
        x, y = np.mean(line.quad, axis=0)
        if left <= x <= right and top <= y <= bottom:
            # The flat cover itself may be read as a dash or a one: no two signs of the mark may be.
            assert not any(pair in plain(line.text) for pair in map("".join, pairwise(mark))), line.text
