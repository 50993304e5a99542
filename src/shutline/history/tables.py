"""The tables of this package, read row by row."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from importlib.resources import files


def text_of(name: str, *, package: str = "shutline.history") -> str:
    """Give a file of the data of this package, or of one below it, as text."""
    return files(package).joinpath(f"data/{name}").read_text(encoding="utf-8")


def rows(name: str, columns: tuple[str, ...], *, package: str = "shutline.history") -> Iterator[dict[str, str]]:
    """Give the rows of a table; raises ValueError, with file and line, where one is out of order."""
    reader = csv.DictReader(io.StringIO(text_of(name, package=package)))
    if tuple(reader.fieldnames or ()) != columns:
        raise ValueError(f"{name}, line 1: columns {reader.fieldnames}; allowed: {', '.join(columns)}")
    for row in reader:
        if None in row or None in row.values() or not row[columns[-1]].strip():
            raise ValueError(f"{name}, line {reader.line_num}: a value too many, or one missing")
        yield row
