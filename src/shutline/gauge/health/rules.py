"""The tables of engine health, read once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cache

from shutline.gauge.limits import Limit, read_limits
from shutline.gauge.results import Meaning, Use, read_meanings, read_uses
from shutline.gauge.tables import bad_row, shipped, table_rows


@dataclass(frozen=True, slots=True)
class LeakBand:
    """What one page calls a leak from `low` up to but not including `high`, %."""

    low: float
    high: float
    words: str
    source: str


@dataclass(frozen=True, slots=True)
class Treated:
    """Cars that are tested as if first used before August 1975: those first used before `before`, None for all."""

    id: str
    before: date | None
    words: str
    source: str


@cache
def limits() -> tuple[Limit, ...]:
    """Give the limits of engine health."""
    return read_limits(shipped("health", "limits.csv"), name="health/limits.csv")


@cache
def uses() -> dict[str, Use]:
    """Give what results are good for, by id."""
    return read_uses(shipped("health", "uses.csv"), name="health/uses.csv")


@cache
def meanings() -> dict[str, Meaning]:
    """Give what figures may mean, by id."""
    return read_meanings(shipped("health", "meanings.csv"), name="health/meanings.csv")


@cache
def leak_bands() -> tuple[LeakBand, ...]:
    """Give what is said of leaks, the smallest first; each band begins where the one before ends."""
    found: list[LeakBand] = []
    name = "health/leak_bands.csv"
    columns = ("id", "from", "to", "words", "source")
    for where, row in table_rows(shipped("health", "leak_bands.csv"), name=name, columns=columns):
        band = LeakBand(float(row["from"]), float(row["to"]), row["words"], row["source"])
        if band.high <= band.low or band.low != (found[-1].high if found else 0):
            raise bad_row(where, f"from {band.low:g} to {band.high:g}", "bands from 0 on, each where the last ends")
        found.append(band)
    return tuple(found)


@cache
def treated() -> dict[str, Treated]:
    """Give the cars that are tested as older than they are, by id."""
    rows = table_rows(
        shipped("health", "treated.csv"),
        name="health/treated.csv",
        columns=("id", "before", "words", "source"),
        may_be_empty=frozenset({"before"}),
    )
    return {
        row["id"]: Treated(
            row["id"], date.fromisoformat(row["before"]) if row["before"] else None, row["words"], row["source"]
        )
        for _, row in rows
    }
