"""Countries by their letters of ISO 3166-1, by their names, and by the other words people use."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from shutline.history.tables import rows

HOME = "GB"
"""Where the house is, and where the open test history is of."""


@dataclass(frozen=True, slots=True)
class Country:
    """A country: its two letters, what it is called in English, and how that is said in a sentence."""

    code: str
    name: str
    said: str


def country_of(text: str) -> Country | None:
    """Give the country that two letters, a name or another word for it name; None for none.

    >>> country_of("the Netherlands")
    Country(code='NL', name='Netherlands', said='the Netherlands')
    >>> country_of("Nowhere") is None
    True
    """
    return _words().get(_plain(text))


def countries() -> tuple[Country, ...]:
    """Give all countries, by name."""
    return tuple(sorted({one.code: one for one in _words().values()}.values(), key=lambda one: one.name))


def country_name(code: str) -> str:
    """Give the name of a country by its letters; these themselves where there is none."""
    found = country_of(code)
    return found.name if found is not None else code


def said_in(code: str) -> str:
    """Give the name of a country as it is said after 'in': 'France', 'the Netherlands'."""
    found = country_of(code)
    return found.said if found is not None else code


def _plain(text: str) -> str:
    words = re.sub(r"[^\w]+", " ", text.casefold()).split()
    return " ".join(words[1:] if words[:1] == ["the"] else words)


@cache
def _words() -> dict[str, Country]:
    found: dict[str, Country] = {}
    for row in rows("countries.csv", ("code", "name", "also", "source")):
        also = row["also"].split(";") if row["also"] else []
        with_the = f"the {row['name']}"
        one = Country(row["code"], row["name"], with_the if with_the in also else row["name"])
        for words in (row["code"], row["name"], *also):
            if found.setdefault(_plain(words), one) != one:
                raise ValueError(f"countries.csv: {words!r} is {found[_plain(words)].name} and {one.name}")
    return found
