"""A chart of colours that somebody measured: its fields, and where each lies on a photograph."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shutline.gauge.colour.balance import Lab
from shutline.gauge.colour.patches import Point
from shutline.gauge.tables import bad_row, table_rows

_COLUMNS = ("id", "row", "column", "lightness", "red", "yellow", "source")
_MOST = 100
# So much of a field about its middle is read, a share of the way to the next: what is printed about it is left out.
_FIELD = 0.5


@dataclass(frozen=True, slots=True)
class ChartField:
    """A field of a chart: its row and column from 1, and its L*a*b* under D65 as measured."""

    id: str
    row: int
    column: int
    lab: Lab


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart of `rows` by `columns` fields that lie evenly; `fields` are those whose colour is known."""

    rows: int
    columns: int
    fields: tuple[ChartField, ...]


def read_chart(text: str, *, name: str) -> Chart:
    """Read the table of a chart, one field a row.

    Parameters
    ----------
    text : str
        CSV with the columns id, row, column, lightness, red, yellow, source; the last row and column with a field are
        the chart's last.
    name : str
        How messages call it.

    Raises
    ------
    UserError
        A row is not as it should be, or there are less than two rows or columns (slug ``gauge-row``).
    """
    fields: list[ChartField] = []
    for where, row in table_rows(text, name=name, columns=_COLUMNS):
        try:
            at = int(row["row"]), int(row["column"])
            light, red, yellow = (float(row[key]) for key in ("lightness", "red", "yellow"))
        except ValueError:
            raise bad_row(where, "something that is no number", "whole rows and columns, L*a*b* in figures") from None
        if not all(1 <= each <= _MOST for each in at):
            raise bad_row(where, f"row {at[0]}, column {at[1]}", f"1 to {_MOST}")
        # Written so that what is no number fails too.
        if not (0 <= light <= 100 and abs(red) <= 150 and abs(yellow) <= 150):
            raise bad_row(where, f"L*a*b* of {light:g}, {red:g}, {yellow:g}", "0 to 100, and -150 to 150")
        if any((one.row, one.column) == at for one in fields):
            raise bad_row(where, f"row {at[0]}, column {at[1]} a second time", "each field once")
        fields.append(ChartField(row["id"], *at, (light, red, yellow)))
    rows = max((one.row for one in fields), default=0)
    columns = max((one.column for one in fields), default=0)
    if min(rows, columns) < 2:
        raise bad_row(name, f"{rows} rows and {columns} columns", "two of each at least")
    return Chart(rows, columns, tuple(fields))


def outlines_of(corners: Sequence[Point], chart: Chart) -> list[tuple[list[Point], Lab]]:
    """Give the outline of each field on a photograph, as `by_chart` takes them.

    Parameters
    ----------
    corners : sequence of point
        The middles of the four corner fields, pixels, clockwise from the first row's first.
    chart : Chart
        Taken to lie flat, its fields evenly spaced.
    """
    import cv2

    grid = np.array(
        ((1, 1), (chart.columns, 1), (chart.columns, chart.rows), (1, chart.rows)),
        np.float32,
    )
    plane = cv2.getPerspectiveTransform(grid, np.array(corners, np.float32))
    half = _FIELD / 2
    found: list[tuple[list[Point], Lab]] = []
    for field in chart.fields:
        box = [
            (field.column + x, field.row + y) for x, y in ((-half, -half), (half, -half), (half, half), (-half, half))
        ]
        at = cv2.perspectiveTransform(np.array([box], np.float64), plane)[0]
        found.append(([(float(x), float(y)) for x, y in at], field.lab))
    return found
