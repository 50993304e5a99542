"""Readings out of a table: one a row, in whatever order of columns."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass, replace

from shutline.car.errors import BadInputError, Problem, UserError
from shutline.car.readings import Reading, Way
from shutline.gauge.readings.entry import Keyed, reading_of
from shutline.gauge.readings.quantities import Instrument, quantities

COLUMNS = (
    *("quantity", "value", "unit", "uncertainty", "part", "side", "position", "spot"),
    *("series", "instrument", "measured_at"),
)
"""The columns of a table; any of the details of a quantity may be one more. Only `value` must be there."""
_MOST_ROWS = 100_000


@dataclass(frozen=True, slots=True)
class Table:
    """What a table gave: the readings, each with the number of its row, and what was wrong with the other rows."""

    readings: tuple[tuple[int, Reading], ...]
    problems: tuple[Problem, ...]


def read_table(
    data: bytes,
    *,
    name: str,
    usual: Keyed | None = None,
    own: Mapping[str, Instrument] | None = None,
) -> Table:
    """Read a table of readings; a row that cannot be taken is told of and leaves the others alone.

    Parameters
    ----------
    data : bytes
        CSV in UTF-8, parted by comma, semicolon or tab, the first line naming the columns.
    name : str
        How messages call the file.
    usual : Keyed, optional
        What a row is taken to say where it has no such column or leaves it empty.
    own : mapping of str to Instrument, optional
        The user's instruments.

    Raises
    ------
    BadInputError
        Slug ``readings-table``: no UTF-8, no column `value`, a column nobody knows, or no row.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(10) + 1
        raise _bad(
            f"{name}, line {line}", f"byte {error.start} is no UTF-8", "UTF-8", "Save the file as UTF-8."
        ) from None
    if "\0" in text:
        raise _bad(name, "a nought byte", "text", "Save the table as CSV.")
    first = text.partition("\n")[0]
    reader = csv.reader(io.StringIO(text), delimiter=max(",;\t", key=first.count))
    try:
        names = _columns(next(reader, []), name)
        return _rows(reader, names, name=name, usual=usual or Keyed("", ""), own=own)
    except csv.Error as error:
        raise _bad(f"{name}, line {reader.line_num}", str(error), "CSV", "Save the table anew as CSV.") from None


def _columns(raw: list[str], name: str) -> list[str]:
    details = {detail for one in quantities().values() for detail in one.details}
    names = [one.strip().casefold().replace(" ", "_") for one in raw]
    unknown = [one for one in names if one not in COLUMNS and one not in details]
    twice = {one for one in names if names.count(one) > 1}
    if unknown or twice or "value" not in names:
        found = f"columns {', '.join(raw) or 'none'}"
        allowed = (
            f"value, and any of {', '.join(one for one in (*COLUMNS, *sorted(details)) if one != 'value')}, each once"
        )
        raise _bad(f"{name}, line 1", found, allowed, "Name the columns so.")
    return names


def _rows(reader: object, names: list[str], *, name: str, usual: Keyed, own: Mapping[str, Instrument] | None) -> Table:
    readings: list[tuple[int, Reading]] = []
    problems: list[Problem] = []
    for row in reader:  # type: ignore[attr-defined]
        if not any(cell.strip() for cell in row):
            continue
        line = reader.line_num  # type: ignore[attr-defined]
        where = f"{name}, line {line}"
        if len(readings) + len(problems) >= _MOST_ROWS:
            problems.append(_bad(where, f"more than {_MOST_ROWS:,} rows", "no more", "Part the file.").problem)
            break
        if len(row) > len(names):
            problems.append(
                _bad(where, f"{len(row)} cells", f"{len(names)}", "Look at the marks between them.").problem
            )
            continue
        cells = {column: cell.strip() for column, cell in zip(names, row, strict=False) if cell.strip()}
        plain = {column: cell for column, cell in cells.items() if column in COLUMNS}
        keyed = replace(usual, **{"value": "", **plain}, details={**usual.details, **_details(cells)})
        try:
            reading = reading_of(keyed, where=where, way=Way.FILE, own=own)
        except UserError as error:
            problems.append(error.problem)
            continue
        readings.append((line, replace(reading, quote=", ".join(cells.values()))))
    if not readings and not problems:
        raise _bad(name, "no row", "a line of names, then a reading a line", "Look at the file.")
    return Table(tuple(readings), tuple(problems))


def _details(cells: Mapping[str, str]) -> dict[str, str]:
    return {column: cell for column, cell in cells.items() if column not in COLUMNS}


def _bad(where: str, found: str, allowed: str, advice: str) -> BadInputError:
    return BadInputError(Problem(slug="readings-table", where=where, found=found, allowed=allowed, advice=advice))
