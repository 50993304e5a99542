"""Boxes and masks: what must hold of them whatever their numbers."""

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from shutline.car.masks import Box, BoxAt, Mask, MaskKind, boxes_at

share = st.floats(0, 1, allow_nan=False)


@st.composite
def boxes(draw: st.DrawFn) -> Box:
    left, right = sorted(draw(st.lists(share, min_size=2, max_size=2, unique=True)))
    top, bottom = sorted(draw(st.lists(share, min_size=2, max_size=2, unique=True)))
    return Box(left, top, right, bottom)


@st.composite
def masks(draw: st.DrawFn) -> Mask:
    times = sorted(draw(st.sets(st.floats(0, 600), min_size=1, max_size=6)))
    return Mask("film", MaskKind.MARK, tuple(BoxAt(at, draw(boxes())) for at in times))


def holds(outer: Box, inner: Box, slack: float = 1e-9) -> bool:
    left, top, right, bottom = outer.edges
    return (
        left <= inner.left + slack
        and top <= inner.top + slack
        and right >= inner.right - slack
        and bottom >= inner.bottom - slack
    )


@given(boxes(), st.floats(0, 3), st.floats(0.2, 5))
def test_a_grown_box_holds_the_box(box: Box, by: float, aspect: float) -> None:
    assert holds(box.grown(by, aspect=aspect), box)


@given(boxes(), boxes())
@example(Box(0.0, 0.0, 1.8e-244, 1.8e-244), Box(0.0, 0.0, 1.8e-244, 1.8e-244))
def test_a_joined_box_holds_both_and_likeness_is_the_same_both_ways(one: Box, other: Box) -> None:
    joined = one.joined(other)
    assert holds(joined, one)
    assert holds(joined, other)
    assert 0 <= one.shared(other) <= min(one.area, other.area) * (1 + 1e-9)
    assert math.isclose(one.likeness(other), other.likeness(one), abs_tol=1e-9)


@given(boxes(), st.floats(-2, 2), st.floats(-2, 2))
def test_a_moved_box_keeps_its_size_and_stays_in_the_picture(box: Box, right: float, down: float) -> None:
    try:
        moved = box.moved(right, down)
    except ValueError:
        # A box thinner than rounding has nowhere to go.
        assert min(box.right - box.left, box.bottom - box.top) < 1e-12
        return
    assert math.isclose(moved.right - moved.left, box.right - box.left, abs_tol=1e-9)
    assert math.isclose(moved.bottom - moved.top, box.bottom - box.top, abs_tol=1e-9)


@given(boxes(), st.integers(1, 5000), st.integers(1, 5000))
def test_pixels_hold_the_whole_box_and_lie_in_the_picture(box: Box, width: int, height: int) -> None:
    left, top, right, bottom = box.pixels(width, height)
    assert 0 <= left < right <= width
    assert 0 <= top < bottom <= height
    assert left <= box.left * width
    assert right >= box.right * width
    assert top <= box.top * height
    assert bottom >= box.bottom * height


@given(masks(), st.floats(-10, 700))
def test_between_its_boxes_a_mask_lies_within_both(mask: Mask, at_s: float) -> None:
    box = mask.at(at_s)
    if not mask.start_s <= at_s <= mask.end_s:
        assert box is None
        return
    assert box is not None
    before = max((one for one in mask.way if one.at_s <= at_s), key=lambda one: one.at_s).box
    after = min((one for one in mask.way if one.at_s >= at_s), key=lambda one: one.at_s).box
    assert holds(before.joined(after), box)


@given(masks())
def test_at_its_own_moments_a_mask_is_where_it_was_put(mask: Mask) -> None:
    for one in mask.way:
        box = mask.at(one.at_s)
        assert box is not None
        assert box.edges == pytest.approx(one.box.edges)


def test_a_mask_holds_a_little_longer_by_the_slack() -> None:
    mask = Mask("film", MaskKind.FACE, (BoxAt(1.0, Box(0, 0, 0.5, 0.5)), BoxAt(2.0, Box(0.5, 0.5, 1, 1))))
    assert mask.at(0.9) is None
    assert mask.at(0.96, slack_s=0.05) == Box(0, 0, 0.5, 0.5)
    assert mask.at(2.04, slack_s=0.05) == Box(0.5, 0.5, 1, 1)
    assert boxes_at([mask], "film", 1.5) == (Box(0.25, 0.25, 0.75, 0.75),)
    assert boxes_at([mask], "another film", 1.5) == ()


@pytest.mark.parametrize(
    "edges", [(0.5, 0, 0.5, 1), (0.6, 0, 0.5, 1), (-0.1, 0, 1, 1), (0, 0, 1.1, 1), (0, math.nan, 1, 1)]
)
def test_a_box_without_an_inside_or_outside_the_picture_is_refused(edges: tuple[float, float, float, float]) -> None:
    with pytest.raises(ValueError, match="box"):
        Box(*edges)


def test_a_way_that_goes_back_in_time_is_refused() -> None:
    box = Box(0, 0, 1, 1)
    for times in ((), (2.0, 1.0), (1.0, 1.0), (-1.0,)):
        with pytest.raises(ValueError, match="times of a mask"):
            Mask("film", MaskKind.MARK, tuple(BoxAt(at, box) for at in times))
