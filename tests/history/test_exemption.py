"""Tax and test by age, on both sides of each boundary: check_values.md 6."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.history import exemptions


def one(of: str, day: str, **more: tuple[date, date] | bool) -> bool | None:
    return next(told.free for told in exemptions(date.fromisoformat(day), **more) if told.of == of)  # type: ignore[arg-type]


def on(text: str) -> tuple[date, date]:
    return date.fromisoformat(text), date.fromisoformat(text)


@pytest.mark.parametrize(
    ("made", "day", "free"),
    [
        ("1984-12-31", "2025-04-01", True),
        ("1985-01-01", "2026-03-31", False),
        ("1985-12-31", "2026-04-01", True),
        ("1986-01-01", "2026-04-01", False),
        ("1980-06-01", "2021-04-01", True),
        ("1980-06-01", "2021-03-31", False),
    ],
)
def test_tax_goes_by_years_from_april(made: str, day: str, free: bool) -> None:
    assert one("tax", day, made=on(made)) is free


def test_registered_before_8_january_counts_as_built_the_year_before() -> None:
    assert one("tax", "2024-04-01", registered=on("1984-01-07")) is True
    assert one("tax", "2024-04-01", registered=on("1984-01-08")) is False
    # A day on which it was made goes before it.
    assert one("tax", "2024-04-01", made=on("1984-02-01"), registered=on("1984-01-07")) is False


@pytest.mark.parametrize(
    ("made", "day", "free"),
    [
        ("1978-05-20", "2018-05-20", True),
        ("1978-05-21", "2018-05-20", False),
        ("1978-05-21", "2018-05-21", True),
        # The rule began on 20 May 2018, however old the car.
        ("1950-01-01", "2018-05-19", False),
        ("1950-01-01", "2018-05-20", True),
        ("1984-02-29", "2024-02-28", False),
        ("1984-02-29", "2024-02-29", True),
    ],
)
def test_the_test_goes_by_the_day(made: str, day: str, free: bool) -> None:
    assert one("test", day, made=on(made)) is free


def test_a_year_alone_leaves_it_open_for_a_while() -> None:
    year = (date(1985, 1, 1), date(1985, 12, 31))
    assert one("test", "2024-12-31", made=year) is False
    assert one("test", "2025-06-01", made=year) is None
    assert one("test", "2025-12-31", made=year) is True
    assert exemptions(date(2026, 1, 1)) == ()


def test_a_q_mark_or_a_kit_is_never_historic_for_the_test() -> None:
    (tax, test) = exemptions(date(2026, 5, 1), made=on("1960-01-01"), never_historic=True)
    assert (tax.free, test.free) == (True, False)
    assert "Q mark" in test.ask
    assert "applied for" in tax.ask


@given(st.dates(date(1900, 1, 1), date(2040, 1, 1)), st.dates(date(2018, 6, 1), date(2060, 1, 1)))
def test_once_free_it_stays_free(made: date, day: date) -> None:
    later = day.replace(year=day.year + 1, day=min(day.day, 28))
    for of in ("tax", "test"):
        assert not one(of, day.isoformat(), made=(made, made)) or one(of, later.isoformat(), made=(made, made))
