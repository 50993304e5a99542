"""The tables beside a gauge: read whole, or refused with file and line."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from importlib.resources import files

from shutline.car.errors import Problem, UserError


def shipped(package: str, name: str) -> str:
    """Give the text of a data file of a gauge: `package` such as ``tyres``, or empty for what all gauges share."""
    home = files("shutline.gauge")
    return (home.joinpath(package) if package else home).joinpath("data", name).read_text(encoding="utf-8")


def table_rows(
    text: str, *, name: str, columns: tuple[str, ...], may_be_empty: frozenset[str] = frozenset(), key: str = "id"
) -> Iterator[tuple[str, dict[str, str]]]:
    """Give the rows of a table in CSV, each with how messages call its place.

    Parameters
    ----------
    text : str
        The table, with a line of columns.
    name : str
        How messages call it.
    columns : tuple of str
        What the line of columns has to be.
    may_be_empty : frozenset of str
        Columns that a row may leave empty.
    key : str
        The column whose entries are there once each; empty for none.

    Raises
    ------
    UserError
        A column is unknown or missing, an entry is empty, or a key is there twice (slug ``gauge-row``).
    """
    reader = csv.DictReader(io.StringIO(text))
    if tuple(reader.fieldnames or ()) != columns:
        raise bad_row(f"{name}, line 1", f"columns {', '.join(reader.fieldnames or ())}", ", ".join(columns))
    seen: set[str] = set()
    for row in reader:
        where = f"{name}, line {reader.line_num}"
        if None in row or None in row.values():
            raise bad_row(where, "too many or too few columns", f"{len(columns)} columns")
        empty = [column for column in columns if column not in may_be_empty and not row[column].strip()]
        if empty:
            raise bad_row(
                where, f"{', '.join(empty)} empty", f"empty only {', '.join(sorted(may_be_empty)) or 'nothing'}"
            )
        if key and row[key] in seen:
            raise bad_row(where, f"{row[key]!r} a second time", "each once")
        seen.add(row[key] if key else "")
        yield where, row


def bad_row(where: str, found: str, allowed: str) -> UserError:
    """Make the refusal of a row: where it stands, what was found, what is allowed."""
    return UserError(
        Problem(slug="gauge-row", where=where, found=found, allowed=allowed, advice="Mend the line that is named.")
    )
