"""Marks against the published table of year letters, row by row, and the worked examples of what may be moved where."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.history import Proof, mark_told
from shutline.history.marks import half_year

PUBLISHED = Path(__file__).parents[1] / "published" / "uk_age_identifiers.csv"


def rows() -> list[dict[str, str]]:
    with PUBLISHED.open(encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file) if row["scheme"] in {"suffix", "prefix", "current"}]


@pytest.mark.parametrize("row", rows(), ids=lambda row: f"{row['scheme']} {row['identifier']}")
def test_the_table_of_age_identifiers_row_by_row(row: dict[str, str]) -> None:
    """Against `tests/published/uk_age_identifiers.csv`; see the note beside it."""
    mark = {"suffix": "FGY 412{}", "prefix": "{}412 FGY", "current": "AB{}CDE"}[row["scheme"]].format(row["identifier"])
    told = mark_told(mark)
    assert (told.start, told.end) == (date.fromisoformat(row["start"]), date.fromisoformat(row["end"]))
    assert told.proof is Proof.NOT_KNOWN


def day(text: str) -> tuple[date, date]:
    return date.fromisoformat(text), date.fromisoformat(text)


@pytest.mark.parametrize(
    ("mark", "registered", "proof"),
    [
        # A dealer in marks, platemaster.com, and the licensing agency's words: check_values.md 5.
        ("AB07 CDE", day("2003-04-01"), Proof.IMPOSSIBLE),
        ("T123 ABC", day("1999-01-01"), Proof.IMPOSSIBLE),
        ("S123 ABC", day("1999-04-01"), Proof.LOOKS_OLDER),
        ("D12 SUE", day("1982-09-01"), Proof.IMPOSSIBLE),
        ("Y2 SUE", day("2005-10-01"), Proof.LOOKS_OLDER),
        ("WXB 217", day("1999-04-01"), Proof.NO_AGE),
        # Traps: a last letter is a serial on the Isle of Man.
        ("MAN 123 A", day("1950-01-01"), Proof.NO_AGE),
        ("CMN 12 X", day("1950-01-01"), Proof.NO_AGE),
        ("Q123 ABC", day("1950-01-01"), Proof.NO_AGE),
        ("J84512", day("1950-01-01"), Proof.NO_AGE),
        ("84512", day("1950-01-01"), Proof.NO_AGE),
        ("AIZ 4521", day("1950-01-01"), Proof.NO_AGE),
        ("not a mark", day("1950-01-01"), Proof.NO_AGE),
        # On both sides of the boundary of G.
        ("FGY 412G", day("1968-08-01"), Proof.POSSIBLE),
        ("FGY 412G", day("1968-07-31"), Proof.IMPOSSIBLE),
        ("FGY 412G", day("1969-07-31"), Proof.POSSIBLE),
        ("FGY 412G", day("1969-08-01"), Proof.LOOKS_OLDER),
        # A year alone: part of it would do.
        ("FGY 412G", (date(1968, 1, 1), date(1968, 12, 31)), Proof.POSSIBLE),
    ],
)
def test_what_may_be_on_which_car(mark: str, registered: tuple[date, date], proof: Proof) -> None:
    told = mark_told(mark, first_registered=registered)
    assert told.proof is proof, told.sentence
    assert told.sentence.endswith(".")


def test_half_years() -> None:
    """The first of the present marks is 51, of September 2001; 00 and 01 were never given (check_values.md 5)."""
    assert half_year(51)[0] == date(2001, 9, 1)
    assert half_year(2)[0] == date(2002, 3, 1)
    assert half_year(57)[1] == date(2008, 2, 29)


@given(st.text(), st.dates(date(1890, 1, 1), date(2060, 1, 1)))
def test_nothing_written_makes_it_fail(text: str, registered: date) -> None:
    told = mark_told(text, first_registered=(registered, registered))
    assert told.text == "".join(text.split()).upper()
