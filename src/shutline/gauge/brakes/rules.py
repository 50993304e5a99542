"""The tables of brakes, read once."""

from __future__ import annotations

from functools import cache

from shutline.gauge.against import AgainstRow, read_against
from shutline.gauge.limits import Limit, read_limits
from shutline.gauge.results import Meaning, Use, read_meanings, read_uses
from shutline.gauge.tables import shipped


@cache
def limits() -> tuple[Limit, ...]:
    """Give the limits of brakes."""
    return read_limits(shipped("brakes", "limits.csv"), name="brakes/limits.csv")


@cache
def uses() -> dict[str, Use]:
    """Give what results are good for, by id."""
    return read_uses(shipped("brakes", "uses.csv"), name="brakes/uses.csv")


@cache
def meanings() -> dict[str, Meaning]:
    """Give what unlike sides may mean, by id."""
    return read_meanings(shipped("brakes", "meanings.csv"), name="brakes/meanings.csv")


@cache
def against_rows() -> tuple[AgainstRow, ...]:
    """Give the findings that what the rollers say stands against."""
    return read_against(shipped("brakes", "against.csv"), name="brakes/against.csv")
