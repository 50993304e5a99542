"""Days of papers against two others that read days: `date.fromisoformat` and dateutil."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from dateutil import parser
from hypothesis import given
from hypothesis import strategies as st

from shutline.history.papers.dates import RawDate, date_sense, date_ways, raw_dates

TODAY = date(2026, 11, 26)
BRITISH = {"GB": 0.97, "US": 0.03}
AMERICAN = {"GB": 0.03, "US": 0.97}


def ways(
    text: str, *, beside: str = "", country: dict[str, float] = BRITISH, earliest: int | None = None, role: str = ""
):
    (raw,) = [one for one in raw_dates(text) if not one.labelled]
    sense = date_sense([raw, *raw_dates(beside)], country=country, today=TODAY, earliest=earliest)
    values, why = date_ways(raw, sense, role=role)
    return [value.text for value in values], why, values


def nth(day: int) -> str:
    return "th" if 10 <= day % 100 <= 20 else {1: "st", 2: "nd", 3: "rd"}.get(day % 10, "th")


days = st.dates(date(1946, 1, 1), TODAY)


@given(days)
def test_iso_days_are_read_as_the_library_reads_them(day: date) -> None:
    text = day.isoformat()
    told, _, _ = ways(f"on {text}, at noon")
    assert date.fromisoformat(told[0]) == date.fromisoformat(text)


@given(days, st.sampled_from(["%d/%m/%Y", "%d.%m.%Y", "%d-%m-%Y", "%d %m %Y"]))
def test_figures_are_read_both_ways_as_dateutil_reads_them(day: date, form: str) -> None:
    text = day.strftime(form)
    told, _, values = ways(text)
    other = text.replace(" ", "/")
    both = [parser.parse(other, dayfirst=first).date().isoformat() for first in (True, False)]
    assert told[0] == both[0]
    assert set(told) == set(both)
    assert sum(value.chance for value in values) == pytest.approx(1, abs=0.001)


@given(days, st.sampled_from(["%d %B %Y", "%d %b %Y", "%d-%b-%Y", "%d%b%Y", "%B %d, %Y", "%d. %B %Y", "%A %d %B %Y"]))
def test_months_in_words_are_read_as_dateutil_reads_them(day: date, form: str) -> None:
    text = day.strftime(form)
    assert ways(text)[0] == [parser.parse(text, dayfirst=True).date().isoformat()]


@given(days)
def test_the_nth_of_a_month(day: date) -> None:
    text = f"{day.day}{nth(day.day)} of {day:%B %Y}"
    assert ways(text)[0] == [parser.parse(text).date().isoformat()] == ways(text.replace(" ", ""))[0]


@given(st.dates(date(1980, 1, 1), date(1999, 12, 31)), st.sampled_from(["%d %b %y", "%d.%m.%y"]))
def test_two_figures_of_a_year_are_last_centurys_where_the_other_lies_ahead(day: date, form: str) -> None:
    """Dateutil takes a year of two figures for the one within fifty years, as do these years."""
    told, why, _ = ways(day.strftime(form))
    assert told[0] == parser.parse(day.strftime(form), dayfirst=True).date().isoformat()
    if day.year % 100 > TODAY.year % 100:
        assert "two figures of a year" in why


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("the 4th of March 1987", "1987-03-04"),
        ("4 MAR 87", "1987-03-04"),
        ("04.03.87", "1987-03-04"),
        ("O4/O3/1987", "1987-03-04"),
        ("4 MAR l987", "1987-03-04"),
        ("14 0CT 1989", "1989-10-14"),
        ("4. März 1987", "1987-03-04"),
        ("1er août 1999", "1999-08-01"),
        ("Sept 14th 1963", "1963-09-14"),
        ("March 1987", "1987-03"),
        ("03/1987", "1987-03"),
        ("MAR '87", "1987-03"),
    ],
)
def test_days_as_offices_write_them(text: str, told: str) -> None:
    assert ways(text)[0][0] == told


@pytest.mark.parametrize(
    "text", ["31/02/1987", "00/00/0000", "FGY 412H", "175/70 R 13", "1.1.1.1", "12:30", "£12.10.62"]
)
def test_what_is_no_day_is_none(text: str) -> None:
    raws = [one for one in raw_dates(text) if not one.labelled]
    sense = date_sense(raws, country=BRITISH, today=TODAY, earliest=None)
    assert all(date_ways(raw, sense, role="")[0] == () for raw in raws)


def test_other_days_of_the_paper_decide_the_order_and_say_so() -> None:
    told, why, _ = ways("03/04/1990", beside="05/13/1989  06/28/1989  07/19/1989")
    assert told[0] == "1990-03-04"
    assert "3 other days of the paper can only be" in why
    told, why, _ = ways("03/04/1990", beside="13/05/1989", country=AMERICAN)
    assert told == ["1990-03-04", "1990-04-03"]
    assert "the other way is given too" in why


def test_the_country_of_the_paper_decides_where_nothing_else_does() -> None:
    assert ways("03/04/1990", country=AMERICAN)[0] == ["1990-03-04", "1990-04-03"]
    assert ways("03/04/1990")[0] == ["1990-04-03", "1990-03-04"]


def test_an_impossible_day_decides_by_itself() -> None:
    told, why, _ = ways("05/13/1989")
    assert (told, "there is no month 13" in why) == (["1989-05-13"], True)


def test_the_making_of_the_car_and_full_years_beside_decide_the_century() -> None:
    assert ways("09.07.18", earliest=1970)[0][0] == "2018-07-09"
    assert ways("09.07.18", beside="in March 1919 and May 1921")[0][0] == "1918-07-09"


def test_days_ahead_and_before_cars_are_told_and_doubted() -> None:
    tomorrow = TODAY + timedelta(days=1)
    told, why, _ = ways(tomorrow.isoformat())
    assert told == [tomorrow.isoformat()]
    assert "doubtful: it lies after 2026-11-26" in why
    assert "doubtful" not in ways(tomorrow.isoformat(), role="expiry")[1]
    assert "before 1885 there were no cars" in ways("4 March 1884")[1]
    assert "doubtful" not in ways("4 March 1885")[1]


@given(st.text())
def test_nothing_written_makes_it_fail(text: str) -> None:
    raws = raw_dates(text)
    sense = date_sense(raws, country={}, today=TODAY, earliest=None)
    for raw in raws:
        assert isinstance(raw, RawDate)
        values, _ = date_ways(raw, sense, role="")
        assert all(0 < value.chance <= 1 for value in values)
