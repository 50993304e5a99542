"""VINs against the published examples; what is no VIN is kept as written."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.history import chassis_number
from shutline.history.chassis import differing

PUBLISHED = Path(__file__).parents[1] / "published" / "vin_check_digit.csv"


def rows() -> list[dict[str, str]]:
    with PUBLISHED.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", rows(), ids=lambda row: row["vin"])
def test_the_published_examples(row: dict[str, str]) -> None:
    """See `tests/published/vin_check_digit.md`; outside North America a check digit says nothing."""
    told = chassis_number(row["vin"])
    law = row["vin"][0] in "12345"
    assert told.vin
    assert told.check == (("holds" if row["valid"] == "True" else "fails") if law else "not applicable")
    assert (told.maker, told.describes, told.serial) == (row["vin"][:3], row["vin"][3:9], row["vin"][9:])


def test_an_early_number_is_kept_as_written_and_not_checked() -> None:
    told = chassis_number(" ga-hn5 / 4711 L ")
    assert (told.vin, told.check, told.text) == (False, "not applicable", " ga-hn5 / 4711 L ")
    assert "kept as written" in told.sentence


def test_likely_misreadings_are_proposed_and_never_applied() -> None:
    told = chassis_number("1M8GDM9AXKPO42788")
    assert told.plain == "1M8GDM9AXKPO42788"
    assert "1M8GDM9AXKP042788" in told.others
    wrong = chassis_number("1M8GDM9AXKP042786")
    assert wrong.check == "fails"


def test_model_years_go_round_after_thirty() -> None:
    """From memory: K stands for 1989 and 2019."""
    assert chassis_number("1M8GDM9AXKP042788").years == (1989, 2019)


def test_numbers_in_several_places_are_compared_without_spaces() -> None:
    assert differing(["GA 4711", "ga4711"]) == ()
    assert differing(["GA4711", "GA4771", "GA 4711"]) == (("GA4711", "GA4771"), ("GA4771", "GA 4711"))


@given(st.text())
def test_nothing_written_makes_it_fail(text: str) -> None:
    assert chassis_number(text).text == text
