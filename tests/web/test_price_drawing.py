"""What the page of a price draws is to scale: each step begins where the last one ended, curves keep to the sheet."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.market import Ask, Asking, Bridge
from shutline.market.bridge import Step
from shutline.usecases.price_shown import AskingShown
from shutline.web.price_drawing import HIGH, WIDE, bridge_drawn, curve_drawn


@given(start=st.integers(100, 90_000), pounds=st.lists(st.integers(-3_000, 3_000), min_size=1, max_size=9))
def test_each_step_begins_where_the_last_one_ended(start: int, pounds: list[int]) -> None:
    steps = tuple(Step(f"step {number}", one, 10) for number, one in enumerate(pounds))
    drawn = bridge_drawn(Bridge("a car", start, steps, start + sum(pounds)))
    assert drawn.steps[0].start == drawn.start_x
    assert drawn.steps[-1].end == drawn.end_x
    for before, after in zip(drawn.steps, drawn.steps[1:], strict=False):
        assert before.end == after.start
    for one in drawn.steps:
        assert one.adds == (one.pounds >= 0)
        assert 0 <= one.left <= one.left + min(one.wide, abs(one.end - one.start)) <= WIDE
        assert one.wide >= 2
    reach = max(abs(one.end - one.start) for one in drawn.steps)
    largest = max(drawn.steps, key=lambda one: abs(one.pounds))
    assert abs(largest.end - largest.start) == pytest.approx(reach, abs=0.2)


def test_curves_stay_on_their_sheets_and_marks_where_their_prices_are() -> None:
    curve = tuple(
        Ask(5_000 + 100 * n, (10.0 * n, 2.0 * n, 90.0 * n), (0.5, 0.1, 0.9), (3.0 * n - 40, 2.0 * n - 60, 5.0 * n))
        for n in range(41)
    )
    asking = Asking(curve, curve[20], 6_500, 7_500, at_end=False, cut=None, stood=(), note="")
    drawn = curve_drawn(AskingShown(asking, None, None, 99_000.0, curve[-1]), last_day=180.0)
    assert (drawn.best, drawn.at, drawn.flat) == (500.0, WIDE, (375.0, 250.0))
    assert (drawn.top, drawn.foot, drawn.days) == (200, -60, 180)
    assert drawn.nought == pytest.approx(HIGH * (1 - 60 / 260), abs=0.1)
    for path, high in ((drawn.line, HIGH), (drawn.band, HIGH), (drawn.times, HIGH / 2), (drawn.times_band, HIGH / 2)):
        points = [tuple(map(float, one.split())) for one in re.findall(r"[\d.]+ [\d.]+", path)]
        assert len(points) in {41, 82}
        assert all(0 <= x <= WIDE and 0 <= y <= high for x, y in points)
