"""The list of what a buyer would want looked at, read from data and checked row by row."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from shutline.car.errors import Problem, UserError
from shutline.car.findings import Position, Side
from shutline.car.vocabulary import vocabulary

COLUMNS = ("id", "part", "sides", "positions", "bodies", "min_doors", "weight", "as_whole", "why", "source")
FACT_COLUMNS = ("id", "weight", "why", "source")
_POSITIONS = {
    "": (None,),
    "each": (Position.FRONT, Position.REAR),
    "front": (Position.FRONT,),
    "rear": (Position.REAR,),
}
_SIDES = {"": (None,), "each": (Side.NEAR, Side.OFF)}


@dataclass(frozen=True, slots=True)
class Expected:
    """One part that a buyer would want looked at, wherever it occurs.

    `sides` and `positions` hold None for a part that occurs once. `weight` is 1 to 10. `doors` is the fewest doors it
    applies to, or with a minus sign the most; None for any number.
    """

    id: str
    part: str
    sides: tuple[Side | None, ...]
    positions: tuple[Position | None, ...]
    bodies: frozenset[str]
    doors: int | None
    weight: int
    as_whole: tuple[str, ...]
    why: str

    def applies(self, body: str | None, doors: int | None) -> bool:
        """Tell whether such a car has it; while body and doors are not known it counts as a two-door saloon."""
        if self.bodies and (body or "saloon") not in self.bodies:
            return False
        if self.doors is None:
            return True
        return (doors or 2) >= self.doors if self.doors > 0 else (doors or 2) <= -self.doors


@dataclass(frozen=True, slots=True)
class ExpectedFact:
    """One fact that a buyer would want to know; `weight` is 1 to 10."""

    id: str
    weight: int
    why: str


def read_expected(text: str, *, source: str) -> tuple[Expected, ...]:
    """Read rows of the form of ``data/expected.csv``.

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
    return tuple(_expected(row, where) for where, row in _rows(text, source, COLUMNS))


def read_expected_facts(text: str, *, source: str) -> tuple[ExpectedFact, ...]:
    """Read rows of the form of ``data/expected_facts.csv``; raises as `read_expected` does."""
    return tuple(
        ExpectedFact(row["id"], _weight(row, where), row["why"]) for where, row in _rows(text, source, FACT_COLUMNS)
    )


@cache
def expected() -> tuple[Expected, ...]:
    """Read the shipped list once."""
    return read_expected(_shipped("expected.csv"), source="expected.csv")


@cache
def expected_facts() -> tuple[ExpectedFact, ...]:
    """Read the shipped list of facts once."""
    return read_expected_facts(_shipped("expected_facts.csv"), source="expected_facts.csv")


def _shipped(name: str) -> str:
    return files("shutline.survey").joinpath("data", name).read_text(encoding="utf-8")


def _rows(text: str, source: str, columns: tuple[str, ...]) -> Iterator[tuple[str, dict[str, str]]]:
    reader = csv.DictReader(io.StringIO(text))
    if tuple(reader.fieldnames or ()) != columns:
        raise _refused(f"{source}, line 1", f"columns {', '.join(reader.fieldnames or ())}", ", ".join(columns))
    seen: set[str] = set()
    for row in reader:
        where = f"{source}, line {reader.line_num}"
        if None in row or None in row.values():
            raise _refused(where, "too many or too few columns", f"{len(columns)} columns")
        if not row["id"] or row["id"] in seen:
            raise _refused(where, f"id '{row['id']}' is empty or has been used before", "an id of its own for each row")
        for column in ("why", "source"):
            if not row[column].strip():
                raise _refused(where, f"no {column}", f"a {column} in every row")
        seen.add(row["id"])
        yield where, row


def _expected(row: dict[str, str], where: str) -> Expected:
    parts = vocabulary().parts
    part = parts.get(row["part"])
    if part is None:
        raise _refused(where, f"part '{row['part']}'", "an id of the vocabulary")
    sides, positions = _SIDES.get(row["sides"]), _POSITIONS.get(row["positions"])
    if sides is None or (len(sides) > 1 and not part.sided):
        raise _refused(where, f"sides '{row['sides']}'", "empty, or 'each' for a part that occurs left and right")
    if positions is None or (positions != (None,) and not part.ended):
        raise _refused(where, f"positions '{row['positions']}'", "empty, or each, front, rear for a part at both ends")
    as_whole = tuple(row["as_whole"].split())
    unknown = [name for name in as_whole if name not in parts]
    if unknown:
        raise _refused(where, f"as_whole '{' '.join(unknown)}'", "ids of the vocabulary")
    doors = row["min_doors"]
    if doors and not doors.removeprefix("-").isdecimal():
        raise _refused(where, f"min_doors '{doors}'", "empty or a whole number")
    return Expected(
        row["id"],
        part.id,
        sides,
        positions,
        frozenset(row["bodies"].split()),
        int(doors) if doors else None,
        _weight(row, where),
        as_whole,
        row["why"],
    )


def _weight(row: dict[str, str], where: str) -> int:
    if not row["weight"].isdecimal() or not 1 <= int(row["weight"]) <= 10:
        raise _refused(where, f"weight '{row['weight']}'", "a whole number from 1 to 10")
    return int(row["weight"])


def _refused(where: str, found: str, allowed: str) -> UserError:
    return UserError(Problem("expected-list-refused", where, found, allowed, "Correct the row and run again."))
