"""A car that is brought in: what is to be done by when, which relief may apply, and what it would come to."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum
from functools import cache
from typing import Any

from shutline.car.errors import BadInputError
from shutline.ledger.checking import FieldProblem
from shutline.ledger.money import NOUGHT, Money, nearest_penny
from shutline.ledger.rules import Rules, Said, rules_of
from shutline.ledger.stock import years_after
from shutline.ledger.tables import text_of


class Met(StrEnum):
    """Whether a condition is met."""

    YES = "met"
    NO = "not met"
    NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Brought:
    """What is known of a car that is brought in.

    Parameters
    ----------
    arrived : date
        The day on which the customs entry was accepted.
    value : Money
        Its value for customs.
    on_the_way : Money
        Costs up to the first place it goes to, which VAT is owed on as well.
    made : date, optional
        When it was made; the last day it may have been, where only the year is known.
    taken_out : date, optional
        When it was taken out of the United Kingdom, for goods that come back.
    answers : mapping of str to Said
        Answers to the conditions, by their id; what is missing is not known.
    """

    arrived: date
    value: Money
    on_the_way: Money
    made: date | None = None
    taken_out: date | None = None
    answers: Mapping[str, Said] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Condition:
    """A condition, whether it is met, and its source."""

    id: str
    question: str
    met: Met
    source: str


@dataclass(frozen=True, slots=True)
class WayIn:
    """One way to bring it in: whether its conditions are met, and what it comes to if they are."""

    id: str
    name: str
    met: Met
    conditions: tuple[Condition, ...]
    duty: Money
    vat: Money
    sentence: str
    source: str


@dataclass(frozen=True, slots=True)
class ImportTold:
    """What is to be told by when, the ways in, and what is to be asked."""

    tell_by: date
    tell: str
    ways: tuple[WayIn, ...]
    scheme: str
    caution: str


@dataclass(frozen=True, slots=True)
class Asked:
    """A condition that somebody has to answer, of which of the ways in it is, and its source."""

    id: str
    way: str
    question: str
    source: str


def conditions() -> tuple[Asked, ...]:
    """Give the conditions that are asked about; the others follow from days."""
    raw = _raw()
    return tuple(
        Asked(one["id"], raw[way]["name"], one["question"], one["source"])
        for way in ("collectors", "returned")
        for one in raw[way]["conditions"]
    )


def import_told(brought: Brought, rules: Rules | None = None) -> ImportTold:
    """Tell what bringing a car into the United Kingdom asks for.

    Every way is worked out, whether its conditions are met or not; none is chosen.

    Raises
    ------
    BadInputError
        An answer is to no condition, or an amount is not in pounds or below nought (slug ``ledger-import``).
    """
    raw = _raw()
    rules = rules or rules_of()
    _check(brought, rules)
    arrival, ordinary, collectors, returned = (raw[name] for name in ("arrival", "ordinary", "collectors", "returned"))
    by = brought.arrived + timedelta(days=arrival["days"])
    value, landed = brought.value.amount, brought.value.amount + brought.on_the_way.amount
    percent = rules.rate_on(brought.arrived).percent
    duty = _share(value, Decimal(ordinary["duty_percent"]))
    vat = _share(landed + duty, percent)
    less_duty = _share(value, Decimal(collectors["duty_percent"]))
    # The share is taken of what VAT would be owed on, then the rate of that.
    part = nearest_penny((landed + less_duty) * Decimal(collectors["share_percent"]), times=(1, 100))
    ways = (
        _way("ordinary", ordinary, (), duty, vat),
        _way("collectors", collectors, _collectors(brought, collectors), less_duty, _share(part, percent)),
        _way("returned", returned, _returned(brought, returned), NOUGHT, NOUGHT),
    )
    tell = f"{arrival['name']}: by {by.isoformat()}. {arrival['sentence']} ({arrival['source']})"
    scheme = f"{raw['scheme']['sentence']} ({raw['scheme']['source']})"
    return ImportTold(by, tell, ways, scheme, raw["caution"])


def _way(id_: str, raw: dict[str, Any], conditions: tuple[Condition, ...], duty: Decimal, vat: Decimal) -> WayIn:
    every = {one.met for one in conditions}
    met = Met.NO if Met.NO in every else Met.NOT_KNOWN if Met.NOT_KNOWN in every else Met.YES
    return WayIn(id_, raw["name"], met, conditions, Money(duty), Money(vat), raw["sentence"], raw["source"])


def _collectors(brought: Brought, raw: dict[str, Any]) -> tuple[Condition, ...]:
    age = raw["age"]
    old = Met.NOT_KNOWN
    if brought.made is not None:
        old = Met.YES if years_after(brought.made, age["years"]) <= brought.arrived else Met.NO
    return (*_answered(brought, raw), Condition("age", age["question"], old, age["source"]))


def _returned(brought: Brought, raw: dict[str, Any]) -> tuple[Condition, ...]:
    within, question = Met.NOT_KNOWN, f"It comes back within {raw['years']} years of being taken out."
    if brought.taken_out is not None:
        last = years_after(brought.taken_out, raw["years"])
        within = Met.YES if brought.taken_out <= brought.arrived <= last else Met.NO
    return (*_answered(brought, raw), Condition("years", question, within, raw["source"]))


def _answered(brought: Brought, raw: dict[str, Any]) -> tuple[Condition, ...]:
    found = []
    for one in raw["conditions"]:
        said = brought.answers.get(one["id"], Said.NOT_KNOWN)
        met = Met.NOT_KNOWN if said is Said.NOT_KNOWN else Met.YES if said.value == one["wanted"] else Met.NO
        found.append(Condition(one["id"], one["question"], met, one["source"]))
    return tuple(found)


def _share(amount: Decimal, percent: Decimal) -> Decimal:
    return nearest_penny(amount * percent, times=(1, 100))


def _check(brought: Brought, rules: Rules) -> None:
    known = {one.id for one in conditions()}
    odd = sorted(set(brought.answers) - known)
    if odd:
        raise _refused(f"an answer to {odd[0][:40]!r}", ", ".join(sorted(known)))
    for name, amount in (("value", brought.value), ("costs", brought.on_the_way)):
        if amount.currency != "GBP" or amount.amount < 0:
            raise _refused(amount.told(), "pounds, and nought or more", name)
    if brought.made is not None and brought.made > brought.arrived:
        raise _refused(brought.made.isoformat(), f"a day before it came, {brought.arrived.isoformat()}", "made")
    if rules.country != "gb":
        raise _refused(f"the rules of {rules.name}", "those of the United Kingdom")


def _refused(found: str, allowed: str, field: str = "") -> BadInputError:
    return BadInputError(FieldProblem("ledger-import", "import", found, allowed, "Mend it, and ask again.", field))


@cache
def _raw() -> dict[str, Any]:
    return tomllib.loads(text_of("imports.toml"))
