"""The tables of this package, the user's rows laid over ours, each read whole or refused with file and line."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping
from importlib.resources import files

from shutline.car.errors import Problem, UserError

Row = tuple[str, dict[str, str]]
"""How messages call the place of a row, and the row."""


def text_of(name: str) -> str:
    """Give a file of this package's data as text."""
    return files("shutline.ledger").joinpath("data", name).read_text(encoding="utf-8")


def rows(
    name: str, columns: tuple[str, ...], *, may_be_empty: frozenset[str], own: Mapping[str, str]
) -> tuple[Row, ...]:
    """Give the rows of one of our tables; a row of the user's with the id of one of ours takes its place.

    Parameters
    ----------
    name : str
        The file of the table.
    columns : tuple of str
        What its first line has to be; the first column is the id.
    may_be_empty : frozenset of str
        The columns that a row may leave empty.
    own : mapping of str to str
        The user's tables by name, each of the form of ours.

    Raises
    ------
    UserError
        A column is unknown or missing, an entry is empty, an id is there twice (slug ``ledger-table-refused``).
    """
    laid: dict[str, Row] = {}
    for text in (text_of(name), own.get(name, "")):
        laid |= {row[columns[0]]: (where, row) for where, row in _read(text, name, columns, may_be_empty)}
    return tuple(laid.values())


def _read(text: str, name: str, columns: tuple[str, ...], may_be_empty: frozenset[str]) -> Iterator[Row]:
    if not text:
        return
    reader = csv.DictReader(io.StringIO(text.removeprefix("\ufeff")))
    if tuple(reader.fieldnames or ()) != columns:
        raise refused(f"{name}, line 1", f"columns {', '.join(reader.fieldnames or ())}", ", ".join(columns))
    seen: set[str] = set()
    for row in reader:
        where = f"{name}, line {reader.line_num}"
        if None in row or None in row.values():
            raise refused(where, "too many or too few columns", f"{len(columns)} columns")
        empty = [column for column in columns if column not in may_be_empty and not row[column].strip()]
        if empty:
            raise refused(where, f"{', '.join(empty)} empty", f"empty only {', '.join(sorted(may_be_empty))}")
        if row[columns[0]] in seen:
            raise refused(where, f"{row[columns[0]]!r} a second time", "each once")
        seen.add(row[columns[0]])
        yield where, row


def refused(where: str, found: str, allowed: str) -> UserError:
    """Make the refusal of a row."""
    return UserError(
        Problem(
            slug="ledger-table-refused",
            where=where,
            found=found,
            allowed=allowed,
            advice="Mend the line that is named.",
        )
    )
