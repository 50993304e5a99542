"""Cars that were sold or offered: what is noted of each, and what is kept of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum

from shutline.car.changes import Change

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

    def words(self) -> str:
        """Give what is noted of the car itself; a model goes without its name."""
        mileage = "" if self.mileage is None else f"{self.mileage.value:,.0f} {self.mileage.unit}"
        attributes = (text if name == "model" else f"{name} {text}" for name, text in self.attributes.items())
        return ", ".join(filter(None, (self.car, *attributes, mileage, self.condition)))

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


def sale_id(entry: int) -> str:
    """Give the id of the comparable that a sale of the ledger is, by the number of its entry."""
    return f"sale-{entry}"


@dataclass(frozen=True, slots=True)
class KeptComparable:
    """A comparable in the store; one that was taken back is kept and does not hold.

    `sale` is the number of the entry of the ledger that it was taken from, None for any other. Its `line` tells the
    file and the line it came from, where it came from a file.
    """

    id: str
    comparable: Comparable
    holds: bool
    sale: int | None
    kept_at: str
    kept_by: str
    version: int = 1
    changes: tuple[Change, ...] = ()


@dataclass(frozen=True, slots=True)
class KeptColumns:
    """Which column of files with these `headings` is what, as it was said last; `columns` as `market.Columns`."""

    id: str
    headings: tuple[str, ...]
    columns: dict[str, object]
    version: int = 1
    changes: tuple[Change, ...] = ()


@dataclass(frozen=True, slots=True)
class Apart:
    """A row that could not be read: its line, its text as it came, and why."""

    line: int
    text: str
    found: str
    allowed: str


@dataclass(frozen=True, slots=True)
class ComparableFile:
    """A file of comparables as it was taken in: its name, the SHA-256 of its text, when, by whom, what stayed apart."""

    id: str
    name: str
    sha256: str
    columns: dict[str, object]
    apart: tuple[Apart, ...]
    at: str
    author: str
