from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.findings import Position, Side
from shutline.gauge.readings import Keyed, reading_of, trends

MARCH, OCTOBER = date(2026, 3, 1), date(2026, 10, 2)
TYRE = reading_of(
    Keyed("tread_depth", 4.1, uncertainty=0.1, side="near", position="rear", spot="inner", instrument="tread gauge")
)


def test_two_days_of_one_place_make_a_trend() -> None:
    """The uncertainty of a difference: JCGM 100:2008, 5.1.2; 0.9 mm within 1.96 times 0.1 x sqrt(2) either way."""
    (trend,) = trends([(TYRE, MARCH), (replace(TYRE, value=3.2), OCTOBER)])
    assert trend.change == pytest.approx(-0.9)
    assert trend.uncertainty == pytest.approx(0.1414, abs=1e-4)
    assert trend.changed
    assert trend.sentence == (
        "Nearside rear tyre, inner: tread depth 4.1 mm on 2026-03-01, 3.2 mm on 2026-10-02: 0.9 mm less "
        "(0.6 mm to 1.2 mm)."
    )


def test_a_difference_within_the_doubt_is_told_as_none() -> None:
    (trend,) = trends([(TYRE, MARCH), (replace(TYRE, value=4.0), OCTOBER)])
    assert not trend.changed
    assert trend.sentence.endswith("no more apart than the instrument may be off.")


def test_other_places_conditions_and_the_same_day_make_none() -> None:
    dry = reading_of(Keyed("compression", 10, spot="1", details={"state": "dry"}))
    wet = reading_of(Keyed("compression", 13, spot="1", details={"state": "wet"}))
    assert trends([(TYRE, MARCH), (replace(TYRE, side=Side.OFF), OCTOBER)]) == ()
    assert trends([(TYRE, MARCH), (replace(TYRE, position=Position.FRONT), OCTOBER)]) == ()
    assert trends([(dry, MARCH), (wet, OCTOBER)]) == ()
    assert trends([(TYRE, MARCH), (replace(TYRE, value=2.0), MARCH)]) == ()


def test_units_are_brought_together() -> None:
    psi = reading_of(Keyed("compression", 145.0377, "psi", spot="1"))
    bar = reading_of(Keyed("compression", 10.0, "bar", spot="1"))
    (trend,) = trends([(psi, MARCH), (bar, OCTOBER)])
    assert trend.change == pytest.approx(0, abs=1e-4)


@given(st.lists(st.tuples(st.floats(0, 20), st.dates(MARCH, OCTOBER)), max_size=12))
def test_the_order_of_readings_changes_nothing(given_: list[tuple[float, date]]) -> None:
    readings = [(replace(TYRE, value=value), day) for value, day in given_]
    told = [one.sentence for one in trends(readings)]
    assert told == [one.sentence for one in trends(reversed(readings))]
