from __future__ import annotations

import pytest

from shutline.car.errors import UserError
from shutline.survey.expected import COLUMNS, expected, expected_facts, read_expected, read_expected_facts

HEAD = ",".join(COLUMNS) + "\n"
GOOD = "first,sill,each,,,,10,bodywork,it carries the car,common practice\n"


def test_shipped_lists_load_and_every_row_has_a_reason() -> None:
    assert len(expected()) > 40
    assert len(expected_facts()) > 5
    assert all(row.why for row in (*expected(), *expected_facts()))


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ("sill,sil,each,,,,10,bodywork,why,source\n", "part 'sil'"),
        ("roof,roof,each,,,,10,bodywork,why,source\n", "sides 'each'"),
        ("sill,sill,each,front,,,10,bodywork,why,source\n", "positions 'front'"),
        ("sill,sill,each,,,,11,bodywork,why,source\n", "weight '11'"),
        ("sill,sill,each,,,,10,bodywrok,why,source\n", "as_whole 'bodywrok'"),
        ("sill,sill,each,,,two,10,bodywork,why,source\n", "min_doors 'two'"),
        ("sill,sill,each,,,,10,bodywork,,source\n", "no why"),
        ("sill,sill,each,,,,10,bodywork,why,\n", "no source"),
        ("sill,sill,each,,,,10,bodywork\n", "columns"),
        (GOOD, "has been used before"),
    ],
)
def test_a_wrong_row_is_refused_with_its_line(row: str, told: str) -> None:
    with pytest.raises(UserError) as refused:
        read_expected(HEAD + GOOD + row, source="mine.csv")
    assert "mine.csv, line 3" in str(refused.value)
    assert told in str(refused.value)


def test_unknown_columns_are_refused() -> None:
    with pytest.raises(UserError, match="line 1"):
        read_expected_facts("id,weight,why\n", source="mine.csv")


def test_rear_doors_are_expected_of_four_doors_only() -> None:
    rows = {row.id: row for row in expected()}
    assert rows["door_rear"].applies("saloon", 4)
    assert not rows["door_rear"].applies("saloon", 2)
    assert not rows["door_rear"].applies("saloon", None)
    assert not rows["door"].applies("saloon", 4)
    assert rows["door"].applies("saloon", 2)
