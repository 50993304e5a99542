"""Comparables out of CSV, by a list of which column is what."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from decimal import Decimal, InvalidOperation
from typing import Any

from shutline.car.comparables import Comparable, Mileage, Unit
from shutline.car.errors import BadInputError, Problem

FIELDS = ("when", "price", "currency", "sold", "car", "mileage", "unit", "condition", "where", "days", "source")
NEEDED = ("when", "price")
_SIGNS = {"£": "GBP", "€": "EUR", "$": "USD"}


@dataclass(frozen=True, slots=True)
class Columns:
    """Which heading is which field, as the user said it once; what is kept of it is data, all of it text.

    `fields` gives the heading of each of `FIELDS` there is; `attributes` those that describe the car, by what to call
    them. `sold_words` are the entries that mean sold, any other means asked; without a column everything is `sold`.
    `days` are written as `day_form` of strptime.
    """

    fields: Mapping[str, str]
    attributes: Mapping[str, str] = field(default_factory=dict)
    day_form: str = "%Y-%m-%d"
    sold_words: tuple[str, ...] = ("sold", "yes", "y", "1", "true")
    sold: bool = True
    currency: str = "GBP"
    unit: str = "miles"

    def __post_init__(self) -> None:
        unknown = sorted(set(self.fields) - set(FIELDS))
        missing = [one for one in NEEDED if one not in self.fields]
        if unknown or missing:
            found = f"fields {unknown} unknown" if unknown else f"no column for {', '.join(missing)}"
            raise _bad("columns", found, f"{', '.join(FIELDS)}; at least {' and '.join(NEEDED)}")


@dataclass(frozen=True, slots=True)
class Read:
    """What was read, and a Problem by line for each row that was not (slug ``comparable-row``)."""

    comparables: tuple[Comparable, ...]
    problems: tuple[Problem, ...]


def columns_by_name(heading: Sequence[str], fields: Mapping[str, str] | None = None, **others: Any) -> Columns:
    """Take headings for the fields that they are named like; every other column is an attribute.

    Parameters
    ----------
    heading : sequence of str
        The first line.
    fields : mapping of str to str, optional
        The heading of fields whose columns are named otherwise.
    **others
        As `Columns` has them: ``day_form``, ``currency``.
    """
    given = dict(fields or {})
    named = {one.casefold(): one for one in heading if one.casefold() in FIELDS and one not in given.values()}
    taken = named | given
    return Columns(taken, {one: one for one in heading if one and one not in taken.values()}, **others)


def heading_of(text: str) -> tuple[str, ...]:
    """Give the headings of a file."""
    return tuple(one.strip() for one in next(csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline="")), []))


def read_comparables(text: str, columns: Columns | None = None, *, name: str = "comparables") -> Read:
    """Read rows of CSV; a row that cannot be read is told by its line and kept apart, the others count.

    Parameters
    ----------
    text : str
        The file, with headings in its first line.
    columns : Columns, optional
        Which heading is what; without them the headings have to be the names of the fields (`columns_by_name`).
    name : str
        What to call the file.

    Raises
    ------
    BadInputError
        A heading is missing or there twice (slug ``comparable-columns``).
    """
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""))
    heading = heading_of(text)
    next(reader, None)
    taken = columns or columns_by_name(heading)
    wanted = (*taken.fields.values(), *taken.attributes.values())
    for one in wanted:
        if heading.count(one) != 1:
            found = f"{heading.count(one)} columns {one!r}"
            raise _bad(f"{name}, line 1", found, f"one; there are {', '.join(heading) or 'none'}")
    found_rows, problems = [], []
    for row in reader:
        where = f"{name}, line {reader.line_num}"
        if not any(one.strip() for one in row):
            continue
        try:
            found_rows.append(_one(row, heading, taken, where))
        except ValueError as error:
            found, _, allowed = str(error).partition("; ")
            problems.append(
                Problem(
                    slug="comparable-row",
                    where=where,
                    found=found,
                    allowed=allowed,
                    advice="Mend the line; until then it does not count.",
                )
            )
    return Read(tuple(found_rows), tuple(problems))


def _one(entries: Sequence[str], heading: Sequence[str], columns: Columns, where: str) -> Comparable:
    if len(entries) != len(heading):
        raise ValueError(f"{len(entries)} entries; {len(heading)} as in the first line")
    row = dict(zip(heading, entries, strict=True))
    given: dict[str, str] = {one: row[heading].strip() for one, heading in columns.fields.items()}
    price, currency = _price(given["price"], given.get("currency") or columns.currency)
    made: dict[str, Any] = {one: given.get(one, "") for one in ("car", "condition", "where", "source")}
    miles = given.get("mileage", "")
    if miles:
        unit = (given.get("unit") or columns.unit).casefold()
        if unit not in {"miles", "mi", "km"}:
            raise ValueError(f"mileage in {unit!r}; miles or km")
        made["mileage"] = Mileage(_number(miles, "mileage"), Unit.KM if unit == "km" else Unit.MILES)
    if given.get("days"):
        days = _number(given["days"], "days")
        if days != int(days):
            raise ValueError(f"days {given['days']!r}; a whole number")
        made["days"] = int(days)
    sold = given["sold"].casefold() in columns.sold_words if "sold" in given else columns.sold
    attributes = {one: row[heading].strip() for one, heading in columns.attributes.items() if row[heading].strip()}
    day = _day(given["when"], columns.day_form)
    return Comparable(day, price, currency, sold=sold, attributes=attributes, line=where, **made)


def _day(text: str, form: str) -> date:
    try:
        return datetime.strptime(text, form).replace(tzinfo=UTC).date()
    except ValueError:
        raise ValueError(f"day {text[:40]!r}; a day as {form}") from None


def _number(text: str, what: str) -> float:
    try:
        value = float(text.replace(",", ""))
    except ValueError:
        value = -1.0
    if not 0 <= value <= 10_000_000:
        raise ValueError(f"{what} {text[:40]!r}; a number from 0 to ten million")
    return value


def _price(text: str, currency: str) -> tuple[Decimal, str]:
    sign = next((one for one in _SIGNS if text.startswith(one)), "")
    try:
        price = Decimal(text.removeprefix(sign).strip().replace(",", ""))
    except InvalidOperation:
        price = Decimal(0)
    if not price.is_finite() or not 0 < price <= 1_000_000_000:
        raise ValueError(f"price {text[:40]!r}; more than nought, such as 8500 or £8,500")
    return price, _SIGNS.get(sign, currency.upper())


def _bad(where: str, found: str, allowed: str) -> BadInputError:
    return BadInputError(
        Problem(
            slug="comparable-columns",
            where=where,
            found=found,
            allowed=allowed,
            advice="Say which column is what.",
        )
    )
