from __future__ import annotations

import pytest

from shutline.car.errors import UserError
from shutline.survey.wanted import FACT_COLUMNS, read_wanted_facts, wanted_facts

HEAD = ",".join(FACT_COLUMNS) + "\n"
GOOD = "year,10,all go by it,common practice\n"


def test_the_shipped_list_loads_and_every_row_has_a_reason() -> None:
    assert len(wanted_facts()) > 5
    assert all(row.why for row in wanted_facts())


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ("keys,11,why,source\n", "weight '11'"),
        ("keys,many,why,source\n", "weight 'many'"),
        ("keys,3,,source\n", "no why"),
        ("keys,3,why,\n", "no source"),
        ("keys,3\n", "columns"),
        (GOOD, "has been used before"),
    ],
)
def test_a_wrong_row_is_refused_with_its_line(row: str, told: str) -> None:
    with pytest.raises(UserError) as refused:
        read_wanted_facts(HEAD + GOOD + row, source="mine.csv")
    assert "mine.csv, line 3" in str(refused.value)
    assert told in str(refused.value)


def test_unknown_columns_are_refused() -> None:
    with pytest.raises(UserError, match="line 1"):
        read_wanted_facts("id,weight,why\n", source="mine.csv")
