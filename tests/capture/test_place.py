from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.capture.place import degrees_of, on_globe, read_moment, read_point


# The three forms of ISO 6709:2008 annex H, with the same place in each (value from memory).
@pytest.mark.parametrize(
    ("text", "latitude", "longitude"),
    [
        ("+40.75-074.00/", 40.75, -74.0),
        ("+4045-07400/", 40.75, -74.0),
        ("+404500-0740000/", 40.75, -74.0),
        ("+4045.3-07400.6+012.5CRSWGS_84/", 40.755, -74.01),
        ("-33.8568+151.2153+006.000/", -33.8568, 151.2153),
    ],
)
def test_each_iso_6709_form_gives_the_same_place(text: str, latitude: float, longitude: float) -> None:
    assert read_point(text) == pytest.approx((latitude, longitude), abs=1e-9)


@pytest.mark.parametrize("text", ["", "40.75,-74.00", "+95.0+010.0/", "+40.75", "+00.0000+000.0000/", "+1+1/", "nan"])
def test_a_text_that_is_no_place_gives_none(text: str) -> None:
    assert read_point(text) is None


@given(st.floats(-90, 90), st.floats(-180, 180))
def test_decimal_degrees_go_round(latitude: float, longitude: float) -> None:
    text = f"{latitude:+010.6f}{longitude:+011.6f}/"
    expected = on_globe(round(latitude, 6), round(longitude, 6))
    if expected is None:
        assert read_point(text) is None
    else:
        assert read_point(text) == pytest.approx(expected, abs=1e-6)


def test_exif_degrees_are_south_and_west_below_nought() -> None:
    assert degrees_of((51.0, 30.0, 36.0), "S") == pytest.approx(-51.51)
    assert degrees_of((0.0, 7.0, 30.0), "W") == pytest.approx(-0.125)


def test_a_clock_that_was_never_set_gives_no_time() -> None:
    assert read_moment("1904-01-01T00:00:00.000000Z") is None
    assert read_moment("1970-01-01T00:00:00Z") is None


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2026:03:14 09:30:00", "2026-03-14T09:30:00"),
        ("2026-03-14T09:30:00+0100", "2026-03-14T09:30:00+01:00"),
        ("2026-03-14T09:30:00.000000Z", "2026-03-14T09:30:00+00:00"),
        ("yesterday", None),
        ("", None),
    ],
)
def test_a_time_keeps_the_offset_it_has(text: str, expected: str | None) -> None:
    assert read_moment(text) == expected
