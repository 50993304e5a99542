"""The forms in which advertisements tell facts and speech does not, read from the data beside this file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from tomllib import loads
from typing import Any

from shutline.claims.written_data import data

_NAMED = re.compile(r"%(\w+)%")
_SPACES = re.compile(r"\s+")
_CENTURY = 100
_THIS_CENTURY = 2000
_LAST_CENTURY = 1900
_NEXT_YEARS = 35
"""A year of two figures up to here is of this century where a date may lie ahead of us."""
_MONTHS = 12
_DAYS = 31


@dataclass(frozen=True, slots=True)
class Form:
    """One form: the fact it tells, how its letters are found, and what they stand for.

    The first group of `pattern` is the value. `opening` tells that it counts only where a text names its car; `over`
    that it takes the place of what speech makes of the same letters. `times` and `plus` make a number of the letters;
    `values` gives them in plain; `always` is the value whatever the letters are; `kind` is ``number``, ``date``,
    ``figures`` (all the figures put together), ``words`` (as they are written), ``month`` (written ``--MM``, a month of
    no year) or ``months`` (written ``PnM``, a time from now).
    """

    id: str
    fact: str
    pattern: re.Pattern[str]
    opening: bool
    over: bool
    kind: str
    times: int
    plus: int
    values: dict[str, str]
    always: int | str | bool | None
    unit: str
    example: str
    counter_example: str

    def value(self, found: str) -> int | str | bool | None:
        """Give the value that letters stand for, or nothing where they stand for none."""
        if self.always is not None:
            return self.always
        if self.kind == "date":
            return _date(found, past=self.fact == "first_registered")
        plain = _SPACES.sub(" ", found.casefold()).strip(" .")
        if self.kind == "month":
            return f"--{_words()['months'][plain[:3]]:02d}"
        if self.kind == "months":
            count = self._counted(plain.replace("-", " ").split(" ", 1)[0])
            return None if count is None else f"P{count}M"
        if self.kind == "words":
            return " ".join(_words()["plain"].get(word.strip("."), word) for word in plain.split())
        return self.values.get(plain) if self.values else self._counted(plain)

    def _counted(self, plain: str) -> int | None:
        if self.kind == "figures":
            plain = "".join(letter for letter in plain if letter.isdecimal())
        try:
            return round(_number(plain) * self.times) + self.plus
        except ValueError:
            return None


@dataclass(frozen=True, slots=True)
class Refusal:
    """What is no fact of the car where it stands: its letters are looked at between ``<`` and ``>``."""

    id: str
    facts: frozenset[str]
    pattern: re.Pattern[str]
    example: str
    counter_example: str


@dataclass(frozen=True, slots=True)
class YearWords:
    """What stands beside years: a name before a round number, the car itself, or work and papers."""

    behind_a_name: re.Pattern[str]
    of_the_car: re.Pattern[str]
    a_car: re.Pattern[str]
    of_work: re.Pattern[str]


def _number(plain: str) -> float:
    """Give the number that letters write, in words or in figures: 'two', '2nd', '2½', '1,3'."""
    numbers: Mapping[str, int] = _words()["numbers"]
    if plain in numbers:
        return numbers[plain]
    halves: Mapping[str, float] = _words()["halves"]
    for sign, part in halves.items():
        if plain.endswith(sign):
            return float(plain.removesuffix(sign).strip() or 0) + part
    return float(plain.replace(",", "."))


def _date(found: str, *, past: bool) -> str | None:
    """Write a date as the file does: '2027-11', '2027-04-30'; nothing where there is no such day."""
    read = _date_pattern().fullmatch(found.strip())
    if read is None:
        return None
    groups = read.groupdict()
    year = int(groups["y"] or groups["yi"] or groups["y2"])
    if year < _CENTURY:
        year += _THIS_CENTURY if not past or year < _NEXT_YEARS else _LAST_CENTURY
    named = (groups["mon"] or groups["mon2"] or "").casefold()[:3]
    months: Mapping[str, int] = _words()["months"]
    month = months[named] if named else int(groups["m"] or groups["mi"])
    day = int(groups["d"] or groups["di"] or groups["d2"] or 0)
    if not 1 <= month <= _MONTHS or day > _DAYS:
        return None
    return f"{year:04d}-{month:02d}" + (f"-{day:02d}" if day else "")


@cache
def _raw() -> dict[str, Any]:
    return loads(data("advert_forms.toml"))


@cache
def _words() -> dict[str, Any]:
    words: dict[str, Any] = _raw()["words"]
    return words


def _pattern(written: str) -> re.Pattern[str]:
    """Put the pieces in their places: `%num%` is a number in words or figures."""
    pieces: Mapping[str, str | list[str]] = _raw()["pieces"]
    while _NAMED.search(written):
        written = _NAMED.sub(lambda found: _piece(pieces[found.group(1)]), written)
    return re.compile(written)


@cache
def _date_pattern() -> re.Pattern[str]:
    return _pattern("(?i)%date_in_groups%")


def _piece(piece: str | list[str]) -> str:
    if isinstance(piece, str):
        return piece
    return "(?:" + "|".join(sorted(piece, key=len, reverse=True)) + ")"


@cache
def advert_forms() -> tuple[Form, ...]:
    """Read the forms once."""
    return tuple(
        Form(
            row["id"],
            row["fact"],
            _pattern(row["pattern"]),
            bool(row.get("opening", False)),
            bool(row.get("over", False)),
            str(row.get("kind", "number")),
            int(row.get("times", 1)),
            int(row.get("plus", 0)),
            {str(k): str(v) for k, v in row.get("values", {}).items()},
            row.get("always"),
            str(row.get("unit", "")),
            row["example"],
            row["counter_example"],
        )
        for row in _raw()["form"]
    )


@cache
def refusals() -> tuple[Refusal, ...]:
    """Read once what is no fact."""
    return tuple(
        Refusal(row["id"], frozenset(row["facts"]), _pattern(row["pattern"]), row["example"], row["counter_example"])
        for row in _raw()["refusal"]
    )


@cache
def year_words() -> YearWords:
    """Read once what tells the year of a car from the years of work and papers."""
    return YearWords(**{name: _pattern(written) for name, written in _raw()["years"].items()})
