"""The list of facts that a buyer would want to know, read from data and checked row by row."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from shutline.car.errors import Problem, UserError

FACT_COLUMNS = ("id", "weight", "why", "source")


@dataclass(frozen=True, slots=True)
class WantedFact:
    """One fact that a buyer would want to know; `weight` is 1 to 10."""

    id: str
    weight: int
    why: str


def read_wanted_facts(text: str, *, source: str) -> tuple[WantedFact, ...]:
    """Read rows of the form of ``data/wanted_facts.csv``.

    Parameters
    ----------
    text : str
        The CSV with its heading.
    source : str
        What to call it when a row is refused.

    Raises
    ------
    UserError
        A column, an id or a value is unknown, missing or repeated; it names the line.
    """
    reader = csv.DictReader(io.StringIO(text))
    if tuple(reader.fieldnames or ()) != FACT_COLUMNS:
        raise _refused(f"{source}, line 1", f"columns {', '.join(reader.fieldnames or ())}", ", ".join(FACT_COLUMNS))
    found: dict[str, WantedFact] = {}
    for row in reader:
        where = f"{source}, line {reader.line_num}"
        if None in row or None in row.values():
            raise _refused(where, "too many or too few columns", f"{len(FACT_COLUMNS)} columns")
        if not row["id"] or row["id"] in found:
            raise _refused(where, f"id '{row['id']}' is empty or has been used before", "an id of its own for each row")
        for column in ("why", "source"):
            if not row[column].strip():
                raise _refused(where, f"no {column}", f"a {column} in every row")
        if not row["weight"].isdecimal() or not 1 <= int(row["weight"]) <= 10:
            raise _refused(where, f"weight '{row['weight']}'", "a whole number from 1 to 10")
        found[row["id"]] = WantedFact(row["id"], int(row["weight"]), row["why"])
    return tuple(found.values())


@cache
def wanted_facts() -> tuple[WantedFact, ...]:
    """Read the shipped list once."""
    text = files("shutline.survey").joinpath("data", "wanted_facts.csv").read_text(encoding="utf-8")
    return read_wanted_facts(text, source="wanted_facts.csv")


def _refused(where: str, found: str, allowed: str) -> UserError:
    return UserError(Problem("wanted-facts-refused", where, found, allowed, "Correct the row and run again."))
