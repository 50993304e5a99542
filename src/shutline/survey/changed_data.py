"""What two findings of two recordings have to do with each other: read from data."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache

from shutline.survey.tables import conditions_of, one_of, refused, shipped, table_rows

LADDER_COLUMNS = ("id", "conditions", "ordered", "why", "source")
ANSWER_COLUMNS = ("id", "first", "second", "outcome", "why", "source")


@dataclass(frozen=True, slots=True)
class Ladder:
    """Conditions that may be the same thing at two times; where `ordered`, the later ones are worse."""

    id: str
    conditions: tuple[str, ...]
    ordered: bool
    why: str


@dataclass(frozen=True, slots=True)
class Answered:
    """What it means when something said of a place the first time meets something else the second time."""

    id: str
    first: frozenset[str]
    second: frozenset[str]
    outcome: str
    why: str


@dataclass(frozen=True, slots=True)
class ChangedCosts:
    """What each difference between two findings costs; see ``data/changed.toml``."""

    alone: int
    place_told_once: int
    place_of_both: int
    same_ladder: int
    answered: int
    turned: int
    unsure: int
    degree: int
    words: int


@dataclass(frozen=True, slots=True)
class ChangedTables:
    """All that tells what changed."""

    ladders: tuple[Ladder, ...]
    answers: tuple[Answered, ...]
    costs: ChangedCosts


def read_ladders(text: str, *, source: str) -> tuple[Ladder, ...]:
    """Read rows of the form of ``data/changed_ladders.csv``; raises UserError with the line of a row that is wrong."""
    found = []
    for where, row in table_rows(text, source=source, columns=LADDER_COLUMNS):
        conditions = tuple(row["conditions"].split())
        if len(conditions_of(row["conditions"], where=where)) != len(conditions) or len(conditions) < 2:
            raise refused(where, f"conditions '{row['conditions']}'", "at least two, none of them twice")
        ordered = one_of(row["ordered"], ("yes", "no"), where=where, column="ordered") == "yes"
        found.append(Ladder(row["id"], conditions, ordered, row["why"]))
    return tuple(found)


def read_answers(text: str, *, source: str) -> tuple[Answered, ...]:
    """Read rows of the form of ``data/changed_answers.csv``; raises as `read_ladders` does."""
    return tuple(
        Answered(
            row["id"],
            conditions_of(row["first"], where=where),
            conditions_of(row["second"], where=where),
            one_of(row["outcome"], ("new", "gone", "unclear"), where=where, column="outcome"),
            row["why"],
        )
        for where, row in table_rows(text, source=source, columns=ANSWER_COLUMNS)
    )


@cache
def changed_tables() -> ChangedTables:
    """Read the shipped tables once."""
    return ChangedTables(
        ladders=read_ladders(shipped("changed_ladders.csv"), source="changed_ladders.csv"),
        answers=read_answers(shipped("changed_answers.csv"), source="changed_answers.csv"),
        costs=ChangedCosts(**tomllib.loads(shipped("changed.toml"))["costs"]),
    )
