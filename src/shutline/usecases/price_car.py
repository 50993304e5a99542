"""What a car is as the comparables call it: proposed from what its file knows, settled by a person."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from shutline.car.errors import BadInputError, Problem
from shutline.history.tables import rows
from shutline.usecases.told_facts import ToldFact, told_facts, values_of

if TYPE_CHECKING:
    from datetime import date

    from shutline.car.carfile import CarFile
    from shutline.car.price_said import PriceSaid
    from shutline.market import Car, Comparable

MOST_OFFERED = 60
LONGEST = 100
"""The longest name and the longest entry, characters."""
_TABLE, _COLUMNS = "price_attributes.csv", ("id", "fact", "called", "form", "source")
_FORMS = frozenset({"age", "as it is", "year", "engine", "keepers", "before", "mileage", "title"})
_MILEAGE, _CONDITION, _WHERE = "mileage", "condition", "where"
_LITRES_BELOW = 20.0
"""Engines are counted in litres where no figure that was seen reaches this."""


@dataclass(frozen=True, slots=True)
class Called:
    """Which fact a name of the comparables is taken from, and how."""

    fact: str
    form: str


@dataclass(frozen=True, slots=True)
class Seen:
    """What the comparables have under one name: how often each entry, and whether all are numbers."""

    counts: Mapping[str, int]
    number: bool


@dataclass(frozen=True, slots=True)
class AttributeShown:
    """One thing that is noted of cars: its `value` for this one, empty where nothing is known.

    `kept` tells that a person said so; `proposed` is what the car file knows of it, and `why` where from or why not.
    `offered` are entries of the comparables, the most frequent first, none for numbers.
    """

    name: str
    value: str
    kept: bool
    proposed: str
    why: str
    offered: tuple[str, ...]


@cache
def called() -> Mapping[str, Called]:
    """Give what names of comparables mean; raises ValueError, with file and line, where a row is out of order."""
    found: dict[str, Called] = {}
    for row in rows(_TABLE, _COLUMNS, package="shutline.usecases"):
        if row["form"] not in _FORMS:
            raise ValueError(f"{_TABLE}, {row['id']}: form {row['form']!r}; allowed: {', '.join(sorted(_FORMS))}")
        for name in row["called"].split("|"):
            if name in found:
                raise ValueError(f"{_TABLE}, {row['id']}: {name!r} stands there twice")
            found[name] = Called(row["fact"], row["form"])
    return found


def seen_of(comparables: Iterable[Comparable]) -> Mapping[str, Seen]:
    """Give what is noted of comparables, the names of most of them first."""
    from shutline.market.columns import noted, number_of

    counts: dict[str, Counter[str]] = {}
    for one in comparables:
        for name, text in noted(one).items():
            counts.setdefault(name, Counter())[text.strip()] += 1
    order = sorted(counts, key=lambda name: (-counts[name].total(), name))
    return {name: Seen(counts[name], all(number_of(text) is not None for text in counts[name])) for name in order}


def attributes_of(
    file: CarFile, said: PriceSaid | None, seen: Mapping[str, Seen], *, day: date
) -> tuple[AttributeShown, ...]:
    """Give all that comparables or people name, with what is known of it for a car.

    Parameters
    ----------
    file : CarFile
    said : PriceSaid or None
        What people said; it counts before what the file knows.
    seen : mapping of str to Seen
        What the comparables have.
    day : date
        On which the car is so old.
    """
    kept = {} if said is None else said.attributes
    found = []
    for name in dict.fromkeys((*seen, *kept)):
        there = seen.get(name, Seen({}, number=False))
        proposed, why = _proposed(file, name, there, day)
        often = sorted(there.counts, key=lambda text: (-there.counts[text], text))
        found.append(
            AttributeShown(
                name=name,
                value=kept.get(name, proposed),
                kept=name in kept,
                proposed=proposed,
                why=why,
                offered=() if there.number else tuple(often[:MOST_OFFERED]),
            )
        )
    return tuple(found)


def car_as_called(given: Mapping[str, str], *, where: str) -> Car:
    """Make the car that the market is asked about, of names and entries as text.

    Parameters
    ----------
    given : mapping of str to str
        Attributes by name; ``mileage`` (in miles, or as ``98000 km``), ``condition`` and ``where`` are those of a
        comparable. Empty ones are not noted.
    where : str
        What to call the place where a wrong one stands.

    Raises
    ------
    BadInputError
        The mileage is no whole number (slug ``fetch-asked``).
    """
    from shutline.market import Car, Mileage, Unit

    rest = {name: text.strip() for name, text in given.items() if text.strip()}
    told = rest.pop(_MILEAGE, "")
    mileage = None
    if told:
        figure, _, unit = told.replace(",", "").partition(" ")
        if not (figure.isdecimal() and figure.isascii() and len(figure) < 9) or unit.strip() not in {"", "miles", "km"}:
            raise BadInputError(
                Problem(
                    slug="fetch-asked",
                    where=where,
                    found=f"mileage {told[:40]!r}",
                    allowed="a whole number, as mileage=61000 or mileage=98000 km",
                    advice="Give it again so.",
                )
            )
        mileage = Mileage(float(figure), Unit.KM if unit.strip() == "km" else Unit.MILES)
    return Car(rest, mileage, rest.pop(_CONDITION, ""), rest.pop(_WHERE, ""))


def check_attributes(given: Mapping[str, str | None]) -> dict[str, str | None]:
    """Give attributes as they are kept: white space put in order, names as comparables have them, in small letters.

    Raises BadInputError for what cannot be kept (slugs ``price-refused``, ``fetch-asked``).
    """
    found = {
        " ".join(name.casefold().split()): None if text is None else " ".join(text.split())
        for name, text in given.items()
    }
    for name, text in found.items():
        if not 0 < len(name) <= LONGEST or len(text or "") > LONGEST or "=" in name:
            raise BadInputError(
                Problem(
                    slug="price-refused",
                    where=f"attribute {name[:40]!r}",
                    found=f"{len(name)} characters of name and {len(text or '')} of entry, or a sign of equality",
                    allowed=f"up to {LONGEST} characters each, and no = in the name",
                    advice="Say it in fewer words.",
                )
            )
    car_as_called({name: text or "" for name, text in found.items()}, where="mileage")
    return found


def _proposed(file: CarFile, name: str, seen: Seen, day: date) -> tuple[str, str]:
    """Give what the car file knows of a name, and where from or why not."""
    meant = called().get(name.casefold())
    if meant is None:
        return "", ""
    if meant.form == "title":
        found = in_title(file.title, seen.counts)
        return found, "as its title has it" if found else ""
    told = told_facts(file, meant.fact)
    if meant.form == "mileage":
        told = _latest(told)
    values = values_of(told)
    if len(values) != 1:
        several = ", ".join(str(one) for one in values)
        return "", f"the car file has several: {several}" if values else ""
    one = next(one for one in told if one.value == values[0])
    text = as_called(one, meant.form, seen, day)
    return text, _why(one) if text else ""


def _latest(told: Sequence[ToldFact]) -> tuple[ToldFact, ...]:
    """Give the mileage of the last day: the others were true once."""
    standing = [one for one in told if one.stands] or list(told)
    return tuple(sorted(standing, key=lambda one: (one.day is not None, str(one.day)))[-1:])


def _why(one: ToldFact) -> str:
    return one.how if one.stands else f"{one.how}, and nobody has let it stand"


def as_called(one: ToldFact, form: str, seen: Seen, day: date) -> str:
    """Give a fact as the comparables have it, by the form of its name; empty where it cannot be."""
    if form == "mileage":
        return f"{one.value} km" if one.unit == "km" else str(one.value)
    if form == "year":
        return str(one.value)[:4]
    if not isinstance(one.value, int) or form == "as it is":
        return str(one.value) if form == "as it is" else ""
    counted = {
        "age": day.year - one.value,
        "keepers": one.value + one.before,
        "before": max(0, one.value - (not one.before)),
        "engine": one.value,
    }[form]
    if form == "engine" and _in_litres(seen):
        return f"{one.value / 1000:.1f}"
    return str(counted)


def _in_litres(seen: Seen) -> bool:
    from shutline.market.columns import number_of

    return seen.number and bool(seen.counts) and max(number_of(text) or 0.0 for text in seen.counts) < _LITRES_BELOW


def in_title(title: str, counts: Mapping[str, int]) -> str:
    """Give the longest of the entries that stands in a title as whole words."""
    words = _plain(title)
    there = [text for text in counts if _plain(text).strip() and _plain(text) in words]
    return max(there, key=lambda text: (len(text), text), default="")


def _plain(text: str) -> str:
    return " ".join(["", *re.findall(r"\w+", text.casefold()), ""])
