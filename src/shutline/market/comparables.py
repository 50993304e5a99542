"""Which of the prices that were noted are of one car, and which are in another currency."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from shutline.car.comparables import Comparable
from shutline.car.errors import Problem


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
