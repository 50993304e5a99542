"""Mileages and money: the forms of several countries come to the same figures."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.history.papers.amounts import bare_money, mileage_ways, money_ways, raw_mileages, raw_money

BRITISH = {"GB": 0.97, "IE": 0.03}


@given(
    st.integers(1000, 999_999),
    st.sampled_from([",", ".", "", " "]),
    st.sampled_from([" miles", " mls", " MILES", "m", " km", "kms"]),
)
def test_a_mileage_with_its_unit_however_it_is_parted(miles: int, mark: str, unit: str) -> None:
    text = f"at {miles:,}".replace(",", mark) + unit
    (found,) = raw_mileages(text)
    assert (found.miles, found.unit) == (miles, "km" if "k" in unit else "mi")
    (value,) = mileage_ways(found, unit="", country=BRITISH)[0]
    assert (value.text, value.unit, value.chance) == (str(miles), found.unit, 1.0)


@pytest.mark.parametrize(
    "text",
    [
        "every 6,000 miles",
        "the 12,000 mile service",
        "next due 48,000 miles",
        "30 miles per gallon",
        "3,000 miles an hour",
        "£410 miles",
    ],
)
def test_distances_that_are_no_reading(text: str) -> None:
    assert raw_mileages(text) == []


@given(
    st.integers(0, 9_999_999), st.sampled_from([("£", ""), ("€", ""), ("$", ""), ("", " €"), ("", " DM"), ("GBP ", "")])
)
def test_money_in_both_conventions_comes_to_the_same(hundredths: int, sign: tuple[str, str]) -> None:
    british = f"{hundredths // 100:,}.{hundredths % 100:02d}"
    german = british.translate(str.maketrans(",.", ".,"))
    for text in (british, german):
        (found,) = raw_money(f"{sign[0]}{text}{sign[1]}")
        assert found.ways == ((hundredths, 1.0),)


@given(st.integers(0, 999), st.integers(0, 19), st.integers(0, 11))
def test_pounds_shillings_and_pence(pounds: int, shillings: int, pence: int) -> None:
    """Twenty shillings to the pound, twelve pence to the shilling: Decimal Currency Act 1969, from memory."""
    exact = pounds + (shillings * 12 + pence) / 240
    for text in (
        f"£{pounds}-{shillings}-{pence}",
        f"£{pounds} {shillings}s {pence}d",
        f"£{pounds}.{shillings}.{pence}",
    ):
        (found,) = raw_money(text)
        assert found.shillings
        assert found.ways[0][0] / 100 == pytest.approx(exact, abs=0.00501)


def test_three_figures_behind_a_mark_are_thousands_and_the_other_way_is_given() -> None:
    (found,) = raw_money("£2,400")
    values, why = money_ways(found, country=BRITISH)
    assert [(value.text, value.unit) for value in values[:1]] == [("2400.00", "GBP")]
    assert "2.40" in {value.text for value in values}
    assert "thousands" in why


def test_misread_figures_are_put_right_and_said() -> None:
    (found,) = raw_mileages("4l,2O6 mi1es")
    values, why = mileage_ways(found, unit="", country=BRITISH)
    assert values[0].text == "41206"
    assert "2 of its signs read as letters" in why


@pytest.mark.parametrize("text", ["VAT 20.00%", "1.50 mm", "12.30.45", "v1.25", "11.50 bar"])
def test_decimals_that_are_no_money(text: str) -> None:
    assert bare_money(text) == []


@given(st.text())
def test_nothing_written_makes_it_fail(text: str) -> None:
    raw_mileages(text)
    for found in (*raw_money(text), *bare_money(text)):
        assert money_ways(found, country={})[0]
