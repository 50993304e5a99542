"""Forms of marks and chassis numbers, held to tables from elsewhere (tests/published names them)."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.errors import UserError
from shutline.gauge.seen import forms

PUBLISHED = Path(__file__).resolve().parents[2] / "published"


def test_check_digits_are_those_of_the_published_examples() -> None:
    with (PUBLISHED / "vin_check_digit.csv").open(encoding="utf-8", newline="") as rows:
        examples = list(csv.DictReader(rows))
    assert len(examples) == 7
    for row in examples:
        assert forms.vin_check_digit(row["vin"]) == row["check_digit"], row["source"]
        assert (row["vin"][8] == row["check_digit"]) == (row["valid"] == "True"), row["source"]


@pytest.mark.parametrize("vin", ["1M8GDM9AXKPO42788", "1M8GDM9AXKP04278", "IM8GDM9AXKP042788", "QM8GDM9AXKP042788", ""])
def test_a_vin_has_17_signs_and_no_i_o_or_q(vin: str) -> None:
    assert not forms.is_vin(vin)


def test_the_check_digit_is_law_in_north_america_only() -> None:
    assert forms.has_check_digit("1M8GDM9AXKP042788")
    assert not forms.has_check_digit("SGZCZ43D13S812715")


# check_values.md 5: no year letter is I, O, Q, U or Z; 00 and 01 were never issued; Isle of Man letters are serials.
@pytest.mark.parametrize(
    ("mark", "form"),
    [
        ("AB57CDE", "gb-current"),
        ("T123ABC", "gb-prefix"),
        ("FGY 412H", "gb-suffix"),
        ("Q123ABC", "gb-q"),
        ("1234 WX", "gb-dateless-turned"),
        ("MAN 123 A", "im"),
        ("J84512", "je"),
        ("AIZ 4521", "ni"),
    ],
)
def test_a_mark_has_a_known_form(mark: str, form: str) -> None:
    assert form in {one.id for one in forms.mark_forms(mark)}


@pytest.mark.parametrize("mark", ["AB01CDE", "Z123ABC", "0GY412H", "FGY0412H", "12345ABC", "FGY412Z1", "", "FGY-412H"])
def test_what_has_no_known_form_is_no_mark(mark: str) -> None:
    assert not forms.mark_forms(mark)


def test_a_change_is_proposed_only_for_signs_that_are_taken_for_each_other() -> None:
    assert list(forms.changed("SGZCZ43DI3S8I2715", forms.is_vin)) == ["SGZCZ43D13S812715"]
    assert list(forms.changed("XYZ", forms.is_vin)) == []


@given(st.text("ABCDEFGHJKLMNPRSTUVWXYZ0123456789IOQ", min_size=17, max_size=17))
def test_a_change_keeps_the_length_and_never_more_than_two_signs(text: str) -> None:
    for new in forms.changed(text, forms.is_vin):
        different = [(a, b) for a, b in zip(text, new, strict=True) if a != b]
        assert 1 <= len(different) <= 2
        assert all(b in forms.alike(a) for a, b in different)


@pytest.mark.parametrize(
    ("row", "named"),
    [
        ("a,A,[A-Z,AB,12,s", "cannot be read"),
        ("a,A,[A-Z]+,12,AB,s", "example"),
        ("a,A,[A-Z]+,AB,12,s\na,A,[A-Z]+,AB,12,s", "second time"),
        ("a,A,[A-Z]+,AB,12,", "missing"),
    ],
)
def test_a_row_of_forms_that_cannot_be_is_named(row: str, named: str) -> None:
    with pytest.raises(UserError, match=named):
        forms.read_marks(f"id,name,pattern,example,counter_example,source\n{row}\n")
