"""When a car needs no vehicle tax and no test for its age: two rules that differ, and the keeper declares both."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any

from shutline.history.tables import text_of


@dataclass(frozen=True, slots=True)
class Exemption:
    """One exemption of a car on a day.

    `of` is ``tax`` or ``test``. `free` is True or False where the dates tell it, None where they do not reach;
    `earliest` and `latest` are the first days on which it may hold, by the earliest and the latest day that the car may
    have been made.
    """

    of: str
    free: bool | None
    earliest: date
    latest: date
    sentence: str
    ask: str
    source: str


def exemptions(
    day: date,
    *,
    made: tuple[date, date] | None = None,
    registered: tuple[date, date] | None = None,
    never_historic: bool = False,
) -> tuple[Exemption, ...]:
    """Tell whether a car needs tax and a test on a day, by its age alone.

    Parameters
    ----------
    day : date
        The day it is asked for.
    made : (date, date), optional
        Between which days it was made, both included.
    registered : (date, date), optional
        Between which days it was first registered.
    never_historic : bool
        It has a Q mark, or is a kit car, a conversion of one or a reconstructed classic.

    Returns
    -------
    tuple of Exemption
        Tax, then test; none where neither date is known.
    """
    found = []
    for of, spans in (("tax", _built(made, registered)), ("test", made or registered)):
        if spans is None:
            continue
        rule = _rules()[of]
        first = _tax_day if of == "tax" else _test_day
        earliest, latest = (first(one) for one in spans)
        free = None if earliest <= day < latest else day >= latest
        ask = rule["ask"]
        if of == "test" and never_historic:
            free, ask = False, rule["never"]
        told = _sentence(of, free, (earliest, latest), day, rule["rule"])
        found.append(Exemption(of, free, earliest, latest, told, ask, rule["source"]))
    return tuple(found)


def _built(made: tuple[date, date] | None, registered: tuple[date, date] | None) -> tuple[date, date] | None:
    """Give between which days a car counts as built for the tax: registered before 8 January, the year before."""
    if made is not None or registered is None:
        return made
    month, day = (int(part) for part in _rules()["tax"]["told_by"].split("-"))

    def counts(one: date) -> date:
        return date(one.year - 1, 12, 31) if (one.month, one.day) < (month, day) else one

    return counts(registered[0]), counts(registered[1])


def _tax_day(built: date) -> date:
    """Give the first 1 April on which a car built on a day is free of tax."""
    rule = _rules()["tax"]
    month, day = (int(part) for part in rule["day"].split("-"))
    return date(built.year + rule["years"] + 1, month, day)


def _test_day(made: date) -> date:
    rule = _rules()["test"]
    try:
        forty = made.replace(year=made.year + rule["years"])
    except ValueError:
        forty = date(made.year + rule["years"], 3, 1)
    return max(forty, date.fromisoformat(rule["since"]))


def _sentence(of: str, free: bool | None, span: tuple[date, date], day: date, rule: str) -> str:  # noqa: FBT001
    earliest, latest = span
    what = "vehicle tax" if of == "tax" else "test"
    when = earliest.isoformat() if earliest == latest else f"between {earliest.isoformat()} and {latest.isoformat()}"
    if free is None:
        return f"Whether it needs a {what} on {day.isoformat()} cannot be told: its age frees it {when} ({rule})."
    state = "frees it of" if free else "does not free it of"
    return f"On {day.isoformat()} its age {state} the {what} (from {when}: {rule})."


@cache
def _rules() -> dict[str, dict[str, Any]]:
    return tomllib.loads(text_of("exemptions.toml"))
