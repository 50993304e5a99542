from __future__ import annotations

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.errors import BadInputError
from shutline.car.readings import Way
from shutline.gauge.readings import Keyed, read_table

TABLE = """part;side;position;spot;value;unit;method
door;near;front;bottom;412;um;magnetic
door;near;front;top;121;um;magnetic

bonnet;;;;96,5;;
door;left;front;;110;um;
roof;;;;9000;um;
"""


def test_rows_become_readings_and_a_bad_row_leaves_the_others_alone() -> None:
    table = read_table(TABLE.encode(), name="film.csv", usual=Keyed("paint_film", "", instrument="paint gauge"))
    assert [(line, one.part, one.value, one.spot) for line, one in table.readings] == [
        (2, "door", 412.0, "bottom"),
        (3, "door", 121.0, "top"),
        (5, "bonnet", 96.5, ""),
    ]
    assert all(one.way is Way.FILE and one.instrument == "paint_gauge" for _, one in table.readings)
    assert table.readings[0][1].details == {"method": "magnetic"}
    assert table.readings[0][1].quote == "door, near, front, bottom, 412, um, magnetic"
    assert [problem.where for problem in table.problems] == ["film.csv, line 6", "film.csv, line 7"]


@pytest.mark.parametrize("parting", [",", ";", "\t"])
def test_the_mark_between_cells_is_found(parting: str) -> None:
    text = parting.join(["quantity", "value", "spot"]) + "\n" + parting.join(["compression", "11.2", "3"])
    ((_, reading),) = read_table(text.encode("utf-8-sig"), name="t").readings
    assert (reading.quantity, reading.value, reading.spot) == ("compression", 11.2, "3")


@pytest.mark.parametrize(
    ("data", "where", "found"),
    [
        (b"", "t, line 1", "columns none"),
        (b"value\n", "t", "no row"),
        (b"part,side\ndoor,near\n", "t, line 1", "part, side"),
        (b"value,value\n1,2\n", "t, line 1", "value, value"),
        (b"value,price\n1,2\n", "t, line 1", "price"),
        (b"value\n\xff\n", "t, line 2", "byte 6"),
        (b"value\n\0\n", "t", "nought"),
    ],
)
def test_a_file_that_gives_nothing_is_refused(data: bytes, where: str, found: str) -> None:
    with pytest.raises(BadInputError) as caught:
        read_table(data, name="t")
    assert caught.value.problem.slug == "readings-table"
    assert caught.value.problem.where == where
    assert found in caught.value.problem.found


def test_a_row_with_a_cell_too_many_is_told_of() -> None:
    table = read_table(b"quantity,value\ntread_depth,5,5\n", name="t")
    assert table.readings == ()
    assert "3 cells" in table.problems[0].found


@given(st.one_of(st.binary(), st.text().map(str.encode)))
def test_no_file_makes_it_fail(data: bytes) -> None:
    for head in (b"", b"quantity,value,part\n"):
        with contextlib.suppress(BadInputError):
            assert read_table(head + data, name="t").readings is not None
