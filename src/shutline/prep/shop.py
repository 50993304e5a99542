"""Who works on a car and where: people with their trades and hours, bays, and days on which nobody works."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache

from shutline.prep.model import Task
from shutline.prep.rows import Laid, Row, laid, refused
from shutline.prep.schedule import Bay, Hours, Person, Shop

FILES = ("people.toml", "bays.toml")
"""Each may have a file of the user's laid over it."""

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@dataclass(frozen=True, slots=True)
class ShopTables:
    """People, bays, closed days, how many work on a car at once, and days that it is away for work outside."""

    people: tuple[Person, ...]
    bays: tuple[Bay, ...]
    closed: frozenset[date]
    at_once: int
    away_days: float

    def for_tasks(self, tasks: Collection[Task]) -> Shop:
        """Give the shop as a schedule of these tasks wants it: of jobs done wholly outside the car is away."""
        outside = {task.job.id for task in tasks if task.job.outside.high and not task.job.labour}
        return Shop(self.people, self.bays, self.closed, self.at_once, dict.fromkeys(sorted(outside), self.away_days))


@cache
def shop_tables() -> ShopTables:
    """Read the shipped tables once."""
    return with_own_shop({})


def with_own_shop(own: Mapping[str, str], *, names: Mapping[str, str] | None = None) -> ShopTables:
    """Lay rows of the user's own over the shipped ones; both as for `shutline.prep.tables.with_own_rows`.

    Raises
    ------
    UserError
        A row is not as it should be, by file and line (slug ``prep-table-refused``).
    """

    def file(name: str, heading: str, *head: str) -> Laid:
        return laid(name, heading=heading, own=own.get(name, ""), called=(names or {}).get(name, name), head=head)

    people = file("people.toml", "person", "house")
    house = people.head["house"]
    house.allow(("closed", "at_once", "away_days"))
    at_once = house.number("at_once", most=100.0)
    if at_once < 1 or at_once != int(at_once):
        raise house.refuse("at_once", f"at_once = {at_once:g}", "a whole number from 1")
    return ShopTables(
        people=tuple(_person(row) for row in people.rows.values()),
        bays=tuple(_bay(row) for row in file("bays.toml", "bay").rows.values()),
        closed=_dates(house, "closed"),
        at_once=int(at_once),
        away_days=house.number("away_days", most=100.0),
    )


def _person(row: Row) -> Person:
    row.allow(("id", "name", "trades", "days", "hours", "off", "source"))
    if unknown := [day for day in row.texts("days") if day not in DAYS]:
        raise row.refuse("days", f"day '{unknown[0]}'", ", ".join(DAYS))
    hours = _hours(row)
    week = tuple(hours if day in row.texts("days") else () for day in DAYS)
    return Person(row.text("name"), row.texts("trades"), week, _dates(row, "off"))


def _bay(row: Row) -> Bay:
    row.allow(("id", "name", "kind", "source"))
    return Bay(row.text("name"), row.text("kind"))


def _hours(row: Row) -> Hours:
    value = row.values.get("hours", [])
    spans = [one for one in value if isinstance(one, list)] if isinstance(value, list) else []
    ends = [end for span in spans for end in span]
    whole = isinstance(value, list) and len(spans) == len(value) and all(len(span) == 2 for span in spans)
    numbers = all(isinstance(end, int | float) and not isinstance(end, bool) for end in ends)
    if not (whole and ends and numbers and ends == sorted(set(ends)) and ends[0] >= 0 and ends[-1] <= 24):
        raise row.refuse("hours", f"hours = {value!r}"[:80], "hours = [[8, 12], [13, 17]], each after the one before")
    return tuple((float(begin), float(end)) for begin, end in spans)


def _dates(row: Row, entry: str) -> frozenset[date]:
    found = set()
    for text in row.texts(entry):
        try:
            found.add(date.fromisoformat(text))
        except ValueError:
            raise refused(row.at(entry), f"'{text}'", 'days such as "2026-12-25"') from None
    return frozenset(found)
