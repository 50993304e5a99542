"""The user's own chart: its table, and where its fields lie on a photograph that was not taken square on."""

from __future__ import annotations

import numpy as np
import pytest

from shutline.car.errors import UserError
from shutline.gauge.colour import outlines_of, read_chart

HEAD = "id,row,column,lightness,red,yellow,source\n"
ROWS = [f"{row}-{column},{row},{column},{10 * row + column},0,0,made\n" for row in (1, 2, 3) for column in (1, 2, 3, 4)]


def test_fields_lie_where_the_plane_of_the_chart_puts_them() -> None:
    """Against a homography written out by hand."""
    plane = np.array(((120.0, 15.0, 40.0), (-10.0, 90.0, 30.0), (0.03, 0.05, 1.0)))

    def seen(column: float, row: float) -> tuple[float, float]:
        x, y, w = plane @ (column, row, 1.0)
        return x / w, y / w

    corners = [seen(1, 1), seen(4, 1), seen(4, 3), seen(1, 3)]
    found = outlines_of(corners, read_chart(HEAD + "".join(ROWS), name="chart.csv"))
    assert len(found) == 12
    for outline, lab in found:
        row, column = divmod(int(lab[0]), 10)
        expected = [seen(column + x, row + y) for x, y in ((-0.25, -0.25), (0.25, -0.25), (0.25, 0.25), (-0.25, 0.25))]
        assert np.allclose(outline, expected, atol=1e-2)


@pytest.mark.parametrize(
    ("rows", "named", "where"),
    [
        (["a,1,1,50,0,0,made\n", "a,1,2,50,0,0,made\n"], "a second time", "line 3"),
        (["a,1,1,50,0,0,made\n", "b,1,1,50,0,0,made\n"], "row 1, column 1 a second time", "line 3"),
        (["a,0,1,50,0,0,made\n"], "1 to 100", "line 2"),
        (["a,1,1,nan,0,0,made\n"], "0 to 100", "line 2"),
        (["a,1,1,50,grey,0,made\n"], "no number", "line 2"),
        (["a,1,1,50,0,0,made\n", "b,1,2,50,0,0,made\n"], "two of each", "chart.csv"),
        ([], "two of each", "chart.csv"),
    ],
)
def test_a_table_that_is_no_chart_is_refused_where_it_is_wrong(rows: list[str], named: str, where: str) -> None:
    with pytest.raises(UserError, match=named) as refused:
        read_chart(HEAD + "".join(rows), name="chart.csv")
    assert refused.value.problem.where.endswith(where)
