"""From a price that was asked to one that was paid, and from the prices of one day to those of another."""

from __future__ import annotations

import bisect
import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from shutline.car.comparables import Comparable
from shutline.market.settings import Prior


@dataclass(frozen=True, slots=True)
class Ratio:
    """What is paid of what is asked, as its natural logarithm: `mean` with its standard deviation `doubt`.

    `cars` were seen asked for and then sold; with none it is what was expected beforehand.
    """

    mean: float
    doubt: float
    cars: int

    def percent(self) -> tuple[float, float, float]:
        """Give it in per cent: the middle, and the ends of two standard deviations."""
        return tuple(100 * math.exp(self.mean + times * self.doubt) for times in (0, -2, 2))  # type: ignore[return-value]


def ratio_of(cars: Sequence[Comparable], prior: Prior) -> Ratio:
    """Learn from cars that were asked for and then sold, in the same currency; few of them say little.

    The scatter from car to car is that of the prior, worth `worth_cars` cars, and that of the cars.

    Parameters
    ----------
    cars : sequence of Comparable
        Each at most once as asked for and once as sold (`without_doubles`).
    prior : Prior
    """
    asked = {(*one.same_car(), one.currency): one for one in cars if not one.sold}
    found = []
    for one in cars:
        before = asked.get((*one.same_car(), one.currency)) if one.sold else None
        if before is not None and before.when <= one.when:
            found.append(math.log(float(one.price) / float(before.price)))
    if not found:
        return Ratio(prior.ratio, prior.ratio_doubt, 0)
    mean = math.fsum(found) / len(found)
    off = math.fsum((one - mean) ** 2 for one in found)
    variance = (prior.worth_cars * prior.ratio_spread**2 + off) / (prior.worth_cars + len(found) - 1)
    ours, theirs = 1 / prior.ratio_doubt**2, len(found) / variance
    return Ratio((ours * prior.ratio + theirs * mean) / (ours + theirs), (ours + theirs) ** -0.5, len(found))


def without_asked_of_sold(cars: Sequence[Comparable]) -> tuple[Comparable, ...]:
    """Leave out what was asked for a car that was sold as well: it has told its part in the ratio."""
    sold = {(*one.same_car(), one.currency) for one in cars if one.sold}
    return tuple(one for one in cars if one.sold or (*one.same_car(), one.currency) not in sold)


@dataclass(frozen=True, slots=True)
class Index:
    """Prices of such cars by day, in any unit; between two days it is read off a line of logarithms."""

    points: tuple[tuple[date, float], ...]
    source: str

    def __post_init__(self) -> None:
        days = [day for day, _ in self.points]
        if not days or days != sorted(set(days)):
            raise ValueError("an index needs days in order, each once")
        if not all(math.isfinite(value) and value > 0 for _, value in self.points):
            raise ValueError("values of an index are more than nought")

    def logarithm(self, day: date) -> float:
        """Give the logarithm of the index; before the first day and after the last it stays as it was there."""
        days = [one for one, _ in self.points]
        at = bisect.bisect_right(days, day)
        if at == 0:
            return math.log(self.points[0][1])
        if at == len(days):
            return math.log(self.points[-1][1])
        (first, low), (last, high) = self.points[at - 1], self.points[at]
        share = (day - first).days / (last - first).days
        return (1 - share) * math.log(low) + share * math.log(high)

    def covers(self, day: date) -> bool:
        """Tell whether a day lies between its first and its last."""
        return self.points[0][0] <= day <= self.points[-1][0]


@dataclass(frozen=True, slots=True)
class YearAgo:
    """Prices of `years` ago in per cent of today's, as estimated: the middle and the ends of the level asked for."""

    years: int
    percent: float
    low: float
    high: float
