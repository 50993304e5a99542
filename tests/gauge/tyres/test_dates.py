"""Date codes and ages of tyres, held to guides to tyre ages (check_values.md 10) and to the calendar of ISO 8601."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.errors import BadInputError
from shutline.gauge.limits import Outcome
from shutline.gauge.tyres.dates import age_on, date_code, tyre_age, tyre_date

TODAY = date(2026, 11, 26)


# 4308, 3003 and 346 as several guides to tyre ages explain them.
@pytest.mark.parametrize(
    ("code", "told"),
    [
        ("4308", "week 43 of 2008"),
        ("3003", "week 30 of 2003"),
        ("346", "week 34 of 1986 or 1996"),
        ("0008", None),
        ("5408", None),
        ("43O8", None),
    ],
)
def test_a_date_code_is_week_and_year(code: str, told: str | None) -> None:
    assert tyre_date(code) == told


# 176 with a triangle = week 17 of 1996, in the same guides.
@pytest.mark.parametrize("text", ["176◁", "176 ◀", "DOT XY12 ABC 176 <"])
def test_a_triangle_makes_a_code_of_the_nineties(text: str) -> None:
    assert date_code(text).told() == "week 17 of 1996"
    assert date_code("176", triangle=True).told() == "week 17 of 1996"


def test_without_one_the_decade_is_not_known_and_the_seventies_are_told_apart() -> None:
    weeks = date_code("346").weeks
    assert [(one.week, one.year, one.seen) for one in weeks] == [(34, 1996, True), (34, 1986, True), (34, 1976, False)]
    assert any("1976" in note for note in tyre_age(date_code("346"), TODAY).notes)


# The MOT inspection manual's own example, as pages quote it: week 35 of 2016.
def test_the_manual_s_example_is_read_out_of_the_whole_line() -> None:
    code = date_code("DOT XXXX XXXX 3516")
    assert (code.weeks[0].week, code.weeks[0].year) == (35, 2016)
    assert code.weeks[0].days == (date(2016, 8, 29), date(2016, 9, 4))


@given(st.dates(date(2000, 1, 3), date(2099, 12, 31)))
def test_every_week_of_the_calendar_is_a_date_code(day: date) -> None:
    year, week, _ = day.isocalendar()
    if year < 2100:
        code = date_code(f"{week:02d}{year % 100:02d}")
        assert code.told() == f"week {week} of {year}"
        assert code.weeks[0].days[0] <= day <= code.weeks[0].days[1]
        later = day + timedelta(days=3652)
        age = age_on(code, later)
        assert age.low <= (later - day).days / 365.2425 <= age.high
        assert age.high - age.low < 0.02


@given(st.integers(1, 53), st.integers(0, 9), st.booleans(), st.dates(date(2010, 1, 4), date(2060, 1, 1)))
def test_three_figures_are_always_more_than_ten_years_old(week: int, year: int, triangle: bool, day: date) -> None:
    code = date_code(f"{week:02d}{year}", triangle=triangle)
    assert age_on(code, day).low > 10
    assert tyre_age(code, day).outcome is Outcome.OUTSIDE


def test_age_is_a_range_over_both_decades() -> None:
    age = age_on(date_code("346"), TODAY)
    assert age.low == pytest.approx((TODAY - date(1996, 8, 25)).days / 365.2425)
    assert age.high == pytest.approx((TODAY - date(1986, 8, 18)).days / 365.2425)


def test_six_and_ten_years_are_the_trade_s_and_told_so() -> None:
    told = tyre_age(date_code("4318"), TODAY)
    assert [one.outcome for one in told.held] == [Outcome.WITHIN, Outcome.OUTSIDE]
    assert all(one.limit.standing == "common practice" for one in told.held)
    assert "8.1 years old" in told.sentence
    assert any("not of cars" in note for note in told.notes)


# 2016-11-21 to 27 is the week in which the tenth year ends: the code does not tell the day.
def test_in_the_very_week_it_cannot_be_told() -> None:
    told = tyre_age(date_code("4716"), date(2026, 11, 24))
    assert told.held[0].outcome is Outcome.NEAR


@pytest.mark.parametrize("text", ["", "DOT", "0008", "5408", "12", "12345", "43O8", "4308◁"])
def test_what_is_no_date_code_is_refused(text: str) -> None:
    with pytest.raises(BadInputError, match="tyre date code"):
        date_code(text)


def test_a_week_that_has_not_been_is_refused() -> None:
    with pytest.raises(BadInputError, match="has been by 2026-11-26"):
        age_on(date_code("4927"), TODAY)


def test_week_53_of_a_year_of_52_is_taken_for_its_last() -> None:
    code = date_code("5308")
    assert code.weeks[0].days == (date(2008, 12, 22), date(2008, 12, 28))
    assert any("52 weeks" in note for note in tyre_age(code, TODAY).notes)
