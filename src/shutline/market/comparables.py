"""Cars that were sold or offered: what was noted of each, and which of them were noted twice."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum
from itertools import pairwise

from shutline.car.errors import Problem

MILES_IN_A_KM = 1 / 1.609344
"""By definition of the mile of 1959."""


class Unit(StrEnum):
    """What a mileage is counted in."""

    MILES = "miles"
    KM = "km"


@dataclass(frozen=True, slots=True)
class Mileage:
    """A mileage as it was noted."""

    value: float
    unit: Unit = Unit.MILES

    def miles(self) -> float:
        """Give it in miles."""
        return self.value if self.unit is Unit.MILES else self.value * MILES_IN_A_KM


@dataclass(frozen=True, slots=True)
class Comparable:
    """One price of one car.

    `sold` is False for a price that was asked. `car` is what tells it from others (a registration mark, a stock
    number), empty where that was not noted: a car seen asked for and then sold tells the firm's own ratio.
    `attributes` are free: ``model``, ``kind``, ``age``, ``body``; one whose entries are all numbers counts as a number.
    `condition` is in the firm's own words. `days` is how long it stood until it was sold, or until `when` where it is
    still there. `source` is who says so; `line` where it was read.
    """

    when: date
    price: Decimal
    currency: str = "GBP"
    sold: bool = True
    car: str = ""
    attributes: Mapping[str, str] = field(default_factory=dict)
    mileage: Mileage | None = None
    condition: str = ""
    where: str = ""
    days: int | None = None
    source: str = ""
    line: str = ""

    def __post_init__(self) -> None:
        if not self.price.is_finite() or self.price <= 0:
            raise ValueError(f"price {self.price}: more than nought is needed")

    def called(self) -> str:
        """Give what to call it."""
        return self.car or self.line or f"{self.when.isoformat()}, {self.price}"

    def key(self) -> tuple[str, ...]:
        """Give all that was noted as text, so that cars can be put in an order that is theirs alone."""
        miles = "" if self.mileage is None else repr(self.mileage.miles())
        return (
            *(self.when.isoformat(), str(self.price), self.currency, str(self.sold), self.car, miles),
            *(self.condition, self.where, str(self.days), self.source),
            *(f"{name}={self.attributes[name]}" for name in sorted(self.attributes)),
        )

    def same_car(self) -> tuple[str, ...]:
        """Give what two prices of one car share: its name, else all that is noted of the car itself."""
        if self.car:
            return ("car", self.car.casefold())
        miles = "" if self.mileage is None else repr(round(self.mileage.miles()))
        return (
            *("like", self.where.casefold(), miles),
            *(f"{name}={self.attributes[name].casefold()}" for name in sorted(self.attributes)),
        )


@dataclass(frozen=True, slots=True)
class Sorted:
    """`kept` count, in an order of their own; `set_aside` do not, and `problems` say why."""

    kept: tuple[Comparable, ...]
    set_aside: tuple[Comparable, ...]
    problems: tuple[Problem, ...]


def without_doubles(cars: Iterable[Comparable]) -> Sorted:
    """Let each car count once as asked for and once as sold, the last of each; cars seen twice are told.

    Cars without a name are taken as one where mileage, place and all attributes agree, and only if a mileage is noted.

    Parameters
    ----------
    cars : iterable of Comparable

    Returns
    -------
    Sorted
        With a Problem (slug ``comparable-twice``) for each that was set aside.
    """
    groups: dict[tuple[object, ...], list[Comparable]] = {}
    for number, one in enumerate(sorted(cars, key=Comparable.key)):
        alone = (number,) if not one.car and one.mileage is None else ()
        groups.setdefault((*one.same_car(), one.sold, one.currency, alone), []).append(one)
    kept, aside, problems = [], [], []
    for group in groups.values():
        kept.append(group[-1])
        for before, after in pairwise(group):
            aside.append(before)
            what = "sold" if before.sold else "asked for"
            problems.append(
                Problem(
                    slug="comparable-twice",
                    where=before.called() if not before.line else before.line,
                    found=f"{what} at {before.price} on {before.when}, and at {after.price} on {after.when}",
                    allowed="a car counts once as asked for and once as sold, the last of each",
                    advice="If they are two cars, give each its mark or stock number.",
                )
            )
    return Sorted(tuple(sorted(kept, key=Comparable.key)), tuple(aside), tuple(problems))


def of_one_currency(cars: Iterable[Comparable], currency: str) -> Sorted:
    """Keep the prices in one currency; the others are set aside and told (slug ``comparable-currency``)."""
    kept, aside, problems = [], [], []
    for one in cars:
        if one.currency == currency:
            kept.append(one)
            continue
        aside.append(one)
        problems.append(
            Problem(
                slug="comparable-currency",
                where=one.called(),
                found=f"a price in {one.currency}",
                allowed=f"prices in {currency}: no rates of exchange are kept here",
                advice="Turn it into that currency at the rate of its day, and say so in its source.",
            )
        )
    return Sorted(tuple(kept), tuple(aside), tuple(problems))
