"""What a registration mark proves of a car's age: a bound at most, and often nothing."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from functools import cache

from shutline.gauge.seen.forms import mark_forms
from shutline.history.countries import said_in
from shutline.history.tables import rows

_ISLAND = re.compile(r"(?:[A-Z]MN|MAN)[0-9]{1,4}[A-Z]?|[A-Z]?MN[0-9]{1,4}|[A-Z][0-9]{1,3}(?:[A-Z]MN|MAN)")
_GUERNSEY = re.compile(r"[1-9][0-9]{0,4}")
_NEAR = frozenset({"GB", "IM", "JE", "GG"})
"""Countries whose marks say themselves whose they are."""
_FIRST_HALF_YEARS = 51
"""The first of the present marks, September 2001, has 51."""


class Proof(StrEnum):
    """How a mark stands to a date of first registration."""

    POSSIBLE = "possible"
    """The car may carry it."""
    LOOKS_OLDER = "looks older"
    """The mark is older than the car: lawful, and it was moved to it."""
    IMPOSSIBLE = "impossible"
    """The mark is newer than the car: no car may be made to look newer than it is."""
    NO_AGE = "no age"
    """The mark says nothing of age."""
    NOT_KNOWN = "not known"
    """There is no date to hold it against."""


@dataclass(frozen=True, slots=True)
class MarkTold:
    """What a mark tells.

    `text` is it as given, without spaces and in capitals; `form` the id of its form, empty for one that is not known:
    then it is kept as written. `start` to `end` are the days on which marks of its year were first given, None where
    it has no year. `countries` are those that have marks of its form, by their letters of ISO 3166, and `country` is
    the first of them. `proof` is how it stands to the date of first registration. `sentence` tells it whole.
    """

    text: str
    form: str
    country: str
    start: date | None
    end: date | None
    proof: Proof
    sentence: str
    source: str
    countries: tuple[str, ...] = ()


def mark_told(text: str, *, first_registered: tuple[date, date] | None = None) -> MarkTold:
    """Tell what a registration mark says of a car's age.

    Parameters
    ----------
    text : str
        The mark; spaces and capitals do not count.
    first_registered : (date, date), optional
        Between which days the car was first registered, both included; one day twice where it is known.

    Returns
    -------
    MarkTold
        A mark that fits several forms is taken for the one that proves least: the trailing letter of a mark of the Isle
        of Man is a serial, and no year.
    """
    plain = "".join(text.split()).upper()
    forms = _forms_of(plain)
    if not forms:
        words = f"{plain} has none of the forms that are known here; it is kept as written and proves nothing."
        return MarkTold(plain, "", "", None, None, Proof.NO_AGE, words, "")
    form, about = forms[0], _forms()[forms[0]]
    countries = tuple(dict.fromkeys(code for one in forms for code in _forms()[one]["country"].split(";")))
    start, end = _period(form, plain)
    if start is not None and end is not None:
        proof = _proof(start, end, first_registered)
        words = _sentence(plain, start, end, proof, first_registered)
        return MarkTold(plain, form, countries[0], start, end, proof, words, about["source"], countries)
    words = f"{plain}: {about['proves']}."
    if countries[0] not in _NEAR:
        names = " or ".join(said_in(code) for code in countries)
        words = f"{plain} has a form of {names}: {about['proves'] if len(forms) == 1 else 'it proves nothing of age'}."
    return MarkTold(plain, form, countries[0], None, None, Proof.NO_AGE, words, about["source"], countries)


def half_year(figures: int) -> tuple[date, date]:
    """Give the half year of the two figures of a present mark: 51 is September 2001 to February 2002.

    >>> half_year(7)
    (datetime.date(2007, 3, 1), datetime.date(2007, 8, 31))
    >>> half_year(57)
    (datetime.date(2007, 9, 1), datetime.date(2008, 2, 29))
    """
    if figures < _FIRST_HALF_YEARS - 1:
        return date(2000 + figures, 3, 1), date(2000 + figures, 8, 31)
    year = 2000 + figures - 50
    return date(year, 9, 1), date(year + 1, 3, 1) - timedelta(days=1)


def _forms_of(plain: str) -> tuple[str, ...]:
    """Give the forms of a mark: one of ours where one fits, the one that proves least; else all of other countries."""
    forms = [form.id for form in mark_forms(plain)]
    if _ISLAND.fullmatch(plain):
        return ("im",)
    if not forms and _GUERNSEY.fullmatch(plain):
        return ("gg",)
    near = [form for form in forms if form in _forms() and _forms()[form]["country"] in _NEAR]
    # Where a home form fits, a foreign one that happens to fit too is not meant.
    home = [form for form in near if _forms()[form]["country"] == "GB"] or near
    if home:
        return (next((form for form in home if _forms()[form]["age"] == "no"), home[0]),)
    # Hyphens between its groups do not count.
    signs = re.sub(r"[-.·]", "", plain)
    found = [form.id for form in mark_forms(signs) if form.id in _forms() and _forms()[form.id]["country"] not in _NEAR]
    table = rows("foreign_marks.csv", ("form", "pattern", "example", "counter_example", "source"))
    return (*found, *(row["form"] for row in table if re.fullmatch(row["pattern"], signs)))


def _period(form: str, plain: str) -> tuple[date | None, date | None]:
    if form == "gb-current":
        return half_year(int(plain[2:4]))
    letter = plain[0] if form == "gb-prefix" else plain[-1]
    return _letters().get((form, letter), (None, None))


def _proof(start: date, end: date, registered: tuple[date, date] | None) -> Proof:
    if registered is None:
        return Proof.NOT_KNOWN
    first, last = registered
    if last < start:
        return Proof.IMPOSSIBLE
    return Proof.LOOKS_OLDER if first > end else Proof.POSSIBLE


def _sentence(plain: str, start: date, end: date, proof: Proof, registered: tuple[date, date] | None) -> str:
    period = f"marks like {plain} were first given from {_day(start)} to {_day(end)}"
    if proof is Proof.NOT_KNOWN or registered is None:
        return f"{period[:1].upper()}{period[1:]}: a car that carries one was registered then, or later."
    when = _day(registered[0]) if registered[0] == registered[1] else f"{_day(registered[0])} to {_day(registered[1])}"
    if proof is Proof.IMPOSSIBLE:
        return (
            f"{plain} cannot be on a car first registered {when}: {period}, and no car may carry a mark that makes it "
            "look newer than it is. One of the two is wrong."
        )
    if proof is Proof.LOOKS_OLDER:
        moved = "That is lawful; the mark was moved to it."
        return f"{plain} is older than the car, first registered {when}: {period}. {moved}"
    return f"{plain} agrees with a first registration {when}: {period}."


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"


@cache
def _forms() -> dict[str, dict[str, str]]:
    return {row["form"]: row for row in rows("marks.csv", ("form", "country", "age", "proves", "source"))}


@cache
def _letters() -> dict[tuple[str, str], tuple[date, date]]:
    table = rows("year_letters.csv", ("form", "letter", "from", "to", "source"))
    return {
        (row["form"], row["letter"]): (date.fromisoformat(row["from"]), date.fromisoformat(row["to"])) for row in table
    }
