"""Comparables out of CSV, by a list of which column is what."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from decimal import Decimal
from itertools import islice
from typing import Any

from shutline.car.comparables import Comparable, Mileage, Unit
from shutline.car.errors import BadInputError, Problem

FIELDS = ("when", "price", "currency", "sold", "car", "mileage", "unit", "condition", "where", "days", "source")
NEEDED = ("when", "price")
MOST_LINES = 50
"""Of one row: more of them are a quote that was never closed."""
LONGEST = 300
"""Characters of an entry."""
_FORMULA = re.compile(r"'*[=+\-@\t\r]")
_NUMBER = re.compile(r"-[0-9]+(\.[0-9]+)?")
_SOME_DAY = date(2026, 11, 26)
_SIGNS = {"£": "GBP", "€": "EUR", "$": "USD"}
_SEPARATORS = ",;\t"
_FIGURE = re.compile(r"([0-9]+|[0-9]{1,3}(,[0-9]{3})+)(\.[0-9]+)?")
"""A number with its thousands by commas or with none."""
_THOUSANDS_BY_POINT = re.compile(r"[1-9][0-9]{0,2}(\.[0-9]{3})+")
"""Not taken: where it comes from it is a thousand times what it would be read as."""
_MILEAGE = re.compile(r"(?P<figure>.*?)\s*(?P<unit>miles|mi|km)?", re.IGNORECASE | re.DOTALL)


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
        try:
            read = _day(_SOME_DAY.strftime(self.day_form), self.day_form)
        except (ValueError, re.error):
            read = None
        if read != _SOME_DAY:
            raise _bad("columns", f"days as {self.day_form[:40]!r}", "day, month and year, such as %d/%m/%Y")


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a file: the line it begins on, its text as it came, and what was read, or why it cannot be.

    `entries` are the headings with the entries under them, empty ones left out, in an order of their own.
    """

    line: int
    text: str
    entries: tuple[tuple[str, str], ...]
    read: Comparable | Problem


@dataclass(frozen=True, slots=True)
class Read:
    """What was read, and a Problem by line for each row that was not (slug ``comparable-row``)."""

    comparables: tuple[Comparable, ...]
    problems: tuple[Problem, ...]


def columns_by_name(heading: Sequence[str], fields: Mapping[str, str] | None = None, **others: Any) -> Columns:
    """Take headings for the fields that they are named like; every other column is an attribute of that name.

    Parameters
    ----------
    heading : sequence of str
        The first line.
    fields : mapping of str to str, optional
        The heading of fields whose columns are named otherwise, and of attributes that are to be called otherwise.
    **others
        As `Columns` has them: ``day_form``, ``currency``.
    """
    given = dict(fields or {})
    named = {one.casefold(): one for one in heading if one.casefold() in FIELDS and one not in given.values()}
    taken = named | {one: head for one, head in given.items() if one in FIELDS}
    called = {one: head for one, head in given.items() if one not in FIELDS}
    rest = [one for one in heading if one and one not in taken.values() and one not in called.values()]
    return Columns(taken, attribute_names(rest) | called, **others)


def attribute_names(headings: Sequence[str]) -> dict[str, str]:
    """Call attributes by their headings in small letters, where no two would be called alike."""
    names = Counter(one.casefold() for one in headings)
    return {one.casefold() if names[one.casefold()] == 1 else one: one for one in headings}


def heading_of(text: str) -> tuple[str, ...]:
    """Give the headings of a file."""
    first = next(_rows(text, None), None)
    return () if first is None else tuple(bare(one) for one in first.entries)


def sample_of(text: str, *, most: int = 50) -> tuple[tuple[str, ...], ...]:
    """Give the entries of the first rows after the headings, those that have as many as there are headings."""
    width = len(heading_of(text))
    rows = (row.entries for row in islice(_rows(text, width), 1, most + 1))
    return tuple(tuple(map(bare, row)) for row in rows if len(row) == width)


def reads_days(entries: Iterable[str], form: str) -> int:
    """Tell how many entries are days of a form of strptime."""
    found = 0
    for one in entries:
        try:
            _day(one, form)
        except ValueError:
            continue
        found += 1
    return found


def guarded(cell: str) -> str:
    """Keep a spreadsheet from taking words for a formula; `bare` takes it off again.

    >>> guarded("=1+1"), guarded("-5"), bare(guarded("'=1"))
    ("'=1+1", '-5', "'=1")
    """
    return f"'{cell}" if _FORMULA.match(cell) and not _NUMBER.fullmatch(cell) else cell


def bare(cell: str) -> str:
    """Give an entry without spaces around it and without what keeps it from being a formula."""
    text = cell.strip()
    return text[1:] if text.startswith("'") and _FORMULA.match(text) else text


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
    found = [row.read for row in rows_of(text, columns, name=name)]
    return Read(
        tuple(one for one in found if isinstance(one, Comparable)),
        tuple(one for one in found if isinstance(one, Problem)),
    )


def rows_of(text: str, columns: Columns | None = None, *, name: str = "comparables") -> Iterator[Row]:
    """Give the rows of CSV one by one, empty ones left out; as `read_comparables`."""
    heading = heading_of(text)
    taken = columns or columns_by_name(heading)
    for one in (*taken.fields.values(), *taken.attributes.values()):
        if heading.count(one) != 1:
            found = f"{heading.count(one)} columns {one!r}"
            raise _bad(f"{name}, line 1", found, f"one; there are {', '.join(heading)[:600] or 'none'}")
    rows = _rows(text, len(heading))
    next(rows, None)
    for row in rows:
        where = f"{name}, line {row.line}"
        if not row.trouble and not any(one.strip() for one in row.entries):
            continue
        read: Comparable | Problem
        try:
            read = _one(row, heading, taken, where)
        except ValueError as error:
            found, _, allowed = str(error).rpartition("; ")
            read = Problem("comparable-row", where, found, allowed, "Mend the line; until then it does not count.")
        pairs = zip(heading, map(bare, row.entries), strict=False)
        yield Row(row.line, row.text, tuple(sorted(pair for pair in pairs if pair[1])), read)


@dataclass(frozen=True, slots=True)
class _Raw:
    line: int
    text: str
    entries: tuple[str, ...]
    trouble: str = ""


class _Lines:
    """Hands lines to the reader of CSV, of one row no more than a cell with line breaks may have."""

    def __init__(self, lines: Sequence[str], at: int) -> None:
        self._lines = lines
        self.start = self.at = at

    def __iter__(self) -> _Lines:
        return self

    def __next__(self) -> str:
        if self.at >= len(self._lines) or self.at - self.start >= MOST_LINES:
            raise StopIteration
        self.at += 1
        return self._lines[self.at - 1]


def _rows(text: str, width: int | None) -> Iterator[_Raw]:
    """Split text into rows of `width` entries; a quote that is never closed costs its own line and no other."""
    lines = list(io.StringIO(text.removeprefix("\ufeff"), newline=""))
    separator = max(_SEPARATORS, key=lambda one: len(next(csv.reader(lines[:1], delimiter=one), [])))
    at = 0
    while at < len(lines):
        feed = _Lines(lines, at)
        reader = csv.reader(feed, delimiter=separator, strict=True)
        while True:
            feed.start = feed.at
            trouble = ""
            try:
                entries = tuple(next(reader))
            except StopIteration:
                return
            except csv.Error as error:
                entries = ()
                trouble = f"quotes or lengths that are no CSV ({error}); entries that hold {separator!r} in quotes"
            several = feed.at - feed.start > 1
            if several and width not in {None, len(entries)}:
                trouble = trouble or f"{len(entries)} entries over several lines; {width} as in the first line"
            if trouble:
                at = feed.start + 1
                yield _Raw(at, lines[at - 1], (), trouble)
                break
            yield _Raw(feed.start + 1, "".join(lines[feed.start : feed.at]), entries)


def _one(raw: _Raw, heading: Sequence[str], columns: Columns, where: str) -> Comparable:
    if raw.trouble:
        raise ValueError(raw.trouble)
    if len(raw.entries) != len(heading):
        raise ValueError(f"{len(raw.entries)} entries; {len(heading)} as in the first line")
    row = dict(zip(heading, raw.entries, strict=True))
    given = {one: row[heading] for one, heading in columns.fields.items()}
    return comparable_of(given, {one: row[heading] for one, heading in columns.attributes.items()}, columns, line=where)


def comparable_of(
    fields: Mapping[str, str], attributes: Mapping[str, str], columns: Columns | None = None, *, line: str = ""
) -> Comparable:
    """Read a comparable of its entries as text.

    Parameters
    ----------
    fields : mapping of str to str
        Entries of `FIELDS`; ``when`` and ``price`` have to be there.
    attributes : mapping of str to str
        What describes the car; empty entries are left out.
    columns : Columns, optional
        How days are written, what means sold, and what is taken where an entry does not tell; by default as `Columns`
        has it.
    line : str
        Where it stands.

    Raises
    ------
    ValueError
        An entry cannot be; the message says which, a semicolon, and what is allowed.
    """
    for name, text in (*fields.items(), *attributes.items()):
        if len(text) > LONGEST:
            raise ValueError(f"{len(text):,} characters in {name[:40]!r}; up to {LONGEST}")
    columns = columns or Columns({one: one for one in NEEDED})
    given: dict[str, str] = {one: bare(text) for one, text in fields.items()}
    price, currency = _price(given["price"], given.get("currency") or columns.currency)
    made: dict[str, Any] = {one: given.get(one, "") for one in ("car", "condition", "where", "source")}
    miles = given.get("mileage", "")
    if miles:
        made["mileage"] = _mileage(miles, given.get("unit", ""), columns.unit)
    if given.get("days"):
        days = _number(given["days"], "days")
        if days != int(days):
            raise ValueError(f"days {given['days']!r}; a whole number")
        made["days"] = int(days)
    sold = given["sold"].casefold() in columns.sold_words if "sold" in given else columns.sold
    described = {one: bare(text) for one, text in attributes.items() if bare(text)}
    day = _day(given["when"], columns.day_form)
    return Comparable(day, price, currency, sold=sold, attributes=described, line=line, **made)


def _day(text: str, form: str) -> date:
    try:
        return datetime.strptime(text, form).replace(tzinfo=UTC).date()
    except ValueError:
        raise ValueError(f"day {text[:40]!r}; a day as in {_SOME_DAY.strftime(form)}") from None


def _mileage(text: str, column: str, otherwise: str) -> Mileage:
    """Read a mileage; what its own entry says it is in goes before the column of units."""
    parts = _MILEAGE.fullmatch(text)
    figure, own = (text, None) if parts is None else parts.group("figure", "unit")
    unit = (own or column or otherwise).casefold()
    if unit not in {"miles", "mi", "km"}:
        raise ValueError(f"mileage in {unit!r}; miles or km")
    return Mileage(_number(figure, "mileage"), Unit.KM if unit == "km" else Unit.MILES)


def _number(text: str, what: str) -> float:
    value = _figure(text)
    if value is None or value > 10_000_000:
        raise ValueError(f"{what} {text[:40]!r}; a number from 0 to ten million, such as 61000 or 61,000")
    return float(value)


def _figure(text: str) -> Decimal | None:
    """Read a number that cannot be meant otherwise."""
    if not _FIGURE.fullmatch(text) or _THOUSANDS_BY_POINT.fullmatch(text):
        return None
    return Decimal(text.replace(",", ""))


def _price(text: str, currency: str) -> tuple[Decimal, str]:
    sign = next((one for one in _SIGNS if text.startswith(one)), "")
    price = _figure(text.removeprefix(sign).strip())
    if price is None or not 0 < price <= 1_000_000_000:
        raise ValueError(f"price {text[:40]!r}; more than nought, such as 8500 or £8,500")
    if not re.fullmatch(r"[A-Za-z]{3}", currency):
        raise ValueError(f"currency {currency[:40]!r}; three letters, such as GBP")
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
