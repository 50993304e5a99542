"""Mileages on one line: what goes on, what does not, and which explanation is likeliest, with its odds."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from functools import cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from shutline.history.tables import text_of

KM_PER_MILE = 1.609344
_YEAR = 365.2425
_FIVE_FIGURES = 100_000


class Explained(StrEnum):
    """What a reading is taken for."""

    AS_READ = "as read"
    OTHER_UNIT = "in the other unit"
    SLIP = "a slip of a figure"
    ROLLED_OVER = "five figures rolled over"
    BROKEN_OFF = "the line breaks off"
    """Another instrument, one that was set, or a wrong reading: it cannot be told which."""


class Verdict(StrEnum):
    """How all of it hangs together."""

    CONSISTENT = "consistent"
    NOT_CONSISTENT = "not consistent"
    CANNOT_BE_TOLD = "cannot be told"


@dataclass(frozen=True, slots=True)
class MileagePoint:
    """A reading: when, the figure, ``mi`` or ``km``, and what it stands on, in words (a test, an invoice, the dial)."""

    day: date
    value: int
    unit: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class PointTold:
    """A point as it is taken: `explained`, the miles that it comes to, and the odds against the next explanation.

    `miles` is None after the line broke off: nobody knows how far the car had been.
    """

    point: MileagePoint
    explained: Explained
    miles: int | None
    odds: float
    sentence: str


@dataclass(frozen=True, slots=True)
class MileageTold:
    """All points in the order of their days, what hangs together, and what is to be expected on a day.

    `expected` is low, likely, high miles at 90 %, None where the line breaks off or there is one point alone.
    """

    points: tuple[PointTold, ...]
    verdict: Verdict
    expected: tuple[int, int, int] | None
    day: date
    sentence: str


@dataclass(frozen=True, slots=True)
class _Way:
    """One way to take a reading: what for, the miles, by how often it rolled over, and its log chance."""

    explained: Explained
    miles: float
    turns: int
    chance: float


@dataclass(frozen=True, slots=True)
class _Settings:
    median: float
    spread: float
    short_days: float
    short_miles: float
    slack: float
    chances: dict[Explained, float]
    odds: float


def mileage_told(points: Sequence[MileagePoint], *, day: date) -> MileageTold:
    """Weigh all readings of a car together.

    Each reading may be as read, in the other unit, a slip of one figure, or rolled over; each step may break the line
    off. Every way has a chance (`data/mileage.toml`), every step the likelihood of its pace, and the likeliest way for
    all readings together is told, with odds for each reading against the best way in which it is taken otherwise.

    Parameters
    ----------
    points : sequence of MileagePoint
        In any order; the order changes nothing.
    day : date
        On which the expected reading is asked for; not before the last of them.
    """
    ordered = sorted(points, key=lambda one: (one.day, one.value, one.unit, one.source))
    if not ordered:
        return MileageTold((), Verdict.CANNOT_BE_TOLD, None, day, "No mileage is known.")
    line = _Line(ordered)
    total, best = line.best()
    told: list[PointTold] = []
    sure = True
    for number, way in enumerate(best):
        other, _ = line.best(without=(number, way.explained))
        odds = math.exp(min(50.0, total - other))
        sure = sure and (way.explained is Explained.AS_READ or odds >= _settings().odds)
        told.append(_told(ordered[number], way, odds, told))
    plain = all(one.explained is Explained.AS_READ for one in told)
    broken = any(one.explained is Explained.BROKEN_OFF for one in told)
    if len(told) < 2:
        verdict = Verdict.CANNOT_BE_TOLD
    elif plain:
        verdict = Verdict.CONSISTENT
    else:
        verdict = Verdict.NOT_CONSISTENT if broken and sure else Verdict.CANNOT_BE_TOLD
    expected = None if broken else _expected(told, day)
    return MileageTold(tuple(told), verdict, expected, day, _all_told(told, verdict, expected, day))


# Ways -----------------------------------------------------------------------------------------------------------------


def _ways(point: MileagePoint) -> Iterator[_Way]:
    chances = _settings().chances
    miles = _in_miles(point.value, point.unit)
    yield _Way(Explained.AS_READ, miles, 0, math.log(chances[Explained.AS_READ]))
    other = "km" if point.unit == "mi" else "mi"
    yield _Way(Explained.OTHER_UNIT, _in_miles(point.value, other), 0, math.log(chances[Explained.OTHER_UNIT]))
    for turns in (1, 2):
        if point.value < _FIVE_FIGURES:
            turned = _in_miles(point.value + turns * _FIVE_FIGURES, point.unit)
            yield _Way(Explained.ROLLED_OVER, turned, turns, math.log(chances[Explained.AS_READ]))
    slips = sorted(_slips(point.value))
    each = math.log(chances[Explained.SLIP] / max(1, len(slips)))
    for value in slips:
        yield _Way(Explained.SLIP, _in_miles(value, point.unit), 0, each)
    yield _Way(Explained.BROKEN_OFF, miles, 0, math.log(chances[Explained.AS_READ]))


def _slips(value: int) -> set[int]:
    """Give the figures that one slip makes this one of: two neighbours swapped, a figure left out, one too many."""
    text = str(value)
    found = {int(text[:k] + text[k + 1] + text[k] + text[k + 2 :]) for k in range(len(text) - 1)}
    found |= {int(text[:k] + figure + text[k:]) for k in range(len(text) + 1) for figure in "0123456789"}
    found |= {int(text[:k] + text[k + 1 :]) for k in range(len(text)) if len(text) > 1}
    return {one for one in found if one != value and one < 10 * _FIVE_FIGURES}


def _in_miles(value: float, unit: str) -> float:
    return value if unit == "mi" else value / KM_PER_MILE


# The likeliest line ---------------------------------------------------------------------------------------------------


class _Line:
    """All ways to take all readings, and the log chance of each step between two of them."""

    def __init__(self, points: Sequence[MileagePoint]) -> None:
        self.ways = [tuple(_ways(point)) for point in points]
        self._chances = [np.array([way.chance for way in here]) for here in self.ways]
        self._chances[0] = self._chances[0] + [_first(way) for way in self.ways[0]]
        self._steps = [
            _steps(before, after, (points[number + 1].day - points[number].day).days)
            for number, (before, after) in enumerate(zip(self.ways, self.ways[1:], strict=False))
        ]

    def best(self, *, without: tuple[int, Explained] | None = None) -> tuple[float, list[_Way]]:
        """Give the log chance of the likeliest line, and how each reading is taken in it."""
        scores = self._allowed(0, without)
        froms = []
        for number, steps in enumerate(self._steps, 1):
            through = scores[:, None] + steps
            froms.append(through.argmax(axis=0))
            scores = through.max(axis=0) + self._allowed(number, without)
        at = int(scores.argmax())
        total = float(scores[at])
        line = [self.ways[-1][at]]
        for number in range(len(froms) - 1, -1, -1):
            at = int(froms[number][at])
            line.append(self.ways[number][at])
        return total, line[::-1]

    def _allowed(self, number: int, without: tuple[int, Explained] | None) -> NDArray[np.float64]:
        chances = self._chances[number]
        if without is None or without[0] != number:
            return chances
        barred = np.array([way.explained is without[1] for way in self.ways[number]])
        return np.where(barred, -np.inf, chances)


def _first(way: _Way) -> float:
    """Give what is added to the chance of a way of the first reading: nothing breaks off before it."""
    if way.explained is Explained.BROKEN_OFF:
        return -math.inf
    return way.turns * math.log(_settings().chances[Explained.ROLLED_OVER])


def _steps(before: Sequence[_Way], after: Sequence[_Way], days: int) -> NDArray[np.float64]:
    """Give the log chance of each step, ways before by ways after."""
    chances = _settings().chances
    miles = np.array([way.miles for way in after])[None, :] - np.array([way.miles for way in before])[:, None]
    turns = np.array([way.turns for way in after])[None, :] - np.array([way.turns for way in before])[:, None]
    found = _pace(miles, days) + np.where(turns > 0, turns * math.log(chances[Explained.ROLLED_OVER]), 0.0)
    found = np.where(turns < 0, -np.inf, found)
    # Where the line breaks off, nothing is known of where it goes on: any figure of six is as likely.
    broken = np.array([way.explained is Explained.BROKEN_OFF for way in after])
    anywhere = math.log(chances[Explained.BROKEN_OFF]) - math.log(2 * _FIVE_FIGURES)
    return np.where(broken[None, :], anywhere, found)


def _pace(miles: NDArray[np.float64], days: int) -> NDArray[np.float64]:
    """Give the log likelihood of driving so many miles in so many days: density for each mile."""
    settings = _settings()
    ahead = np.maximum(0.0, miles)
    # A car driven to a test and back, or standing: some miles whatever the days.
    short = -math.log(settings.short_miles) - ahead / settings.short_miles
    if days > 0:
        driven = np.maximum(1.0, miles)
        usual = math.log(settings.median * days / _YEAR)
        spread = math.hypot(settings.spread, 0.25 * math.sqrt(settings.short_days / days))
        z = (np.log(driven) - usual) / spread
        long = -0.5 * z * z - np.log(driven * spread * math.sqrt(2 * math.pi))
        share = 0.9 if days < settings.short_days else 0.15
        short = np.logaddexp(math.log(share) + short, math.log(1 - share) + long)
    return np.where(miles < -settings.slack, -np.inf, short)


# Words ----------------------------------------------------------------------------------------------------------------


def _told(point: MileagePoint, way: _Way, odds: float, before: Sequence[PointTold]) -> PointTold:
    broken = way.explained is Explained.BROKEN_OFF or any(one.explained is Explained.BROKEN_OFF for one in before)
    figure = _figure(point)
    other = "km" if point.unit == "mi" else "mi"
    words = {
        Explained.AS_READ: "goes on",
        Explained.OTHER_UNIT: f"would go on if it were {other}",
        Explained.SLIP: f"would go on as {way.miles:,.0f} mi: two figures swapped, one left out, or one too many",
        Explained.ROLLED_OVER: f"would go on at {way.miles:,.0f} mi if its five figures had rolled over",
        Explained.BROKEN_OFF: "does not go on from the readings before: another instrument, one that was set, or a "
        "wrong reading; which of them cannot be told from figures",
    }[way.explained]
    if way.explained is not Explained.AS_READ:
        words += f" (odds {min(odds, 999):.0f} to 1 against the next explanation)"
    return PointTold(point, way.explained, None if broken else round(way.miles), odds, f"{figure}: {words}.")


def _figure(point: MileagePoint) -> str:
    figure = f"{point.value:,} {point.unit} on {point.day.isoformat()}"
    return f"{figure} ({point.source})" if point.source else figure


def _expected(told: Sequence[PointTold], day: date) -> tuple[int, int, int] | None:
    """Give low, likely and high miles on a day at 90 %, from the car's own pace and the usual one."""
    known = [(one.point.day, one.miles) for one in told if one.miles is not None]
    if len(known) < 2:
        return None
    settings = _settings()
    (first, start), (last, end) = known[0], known[-1]
    years = max((last - first).days, 1) / _YEAR
    # The car's own pace counts more the longer it is known: a mean of two logarithms, weighed by the years.
    own = math.log(max(end - start, 1) / years)
    weight = years / (years + 3.0)
    centre = weight * own + (1 - weight) * math.log(settings.median)
    spread = settings.spread * math.sqrt(1 - 0.8 * weight)
    ahead = max((day - last).days, 0) / _YEAR
    reach = NormalDist().inv_cdf(0.95) * spread
    low, likely, high = (math.exp(centre + z) * ahead for z in (-reach, 0.0, reach))
    return round(end + low), round(end + likely), round(end + high)


def _all_told(told: Sequence[PointTold], verdict: Verdict, expected: tuple[int, int, int] | None, day: date) -> str:
    if len(told) == 1:
        return f"One mileage is known: {_figure(told[0].point)}. There is no other to hold it against."
    words = {
        Verdict.CONSISTENT: "The mileages are consistent with one another.",
        Verdict.NOT_CONSISTENT: "The mileages are not consistent with one another.",
        Verdict.CANNOT_BE_TOLD: "Whether the mileages are consistent cannot be told.",
    }[verdict]
    odd = [one.sentence for one in told if one.explained is not Explained.AS_READ]
    ahead = ""
    if expected is not None:
        low, likely, high = expected
        ahead = f"On {day.isoformat()} about {likely:,} mi would be expected ({low:,} to {high:,})."
    return " ".join(part for part in (words, *odd, ahead, "It proves nothing of the years nobody wrote down.") if part)


@cache
def _settings() -> _Settings:
    raw = tomllib.loads(text_of("mileage.toml"))
    pace, chances, sure = raw["pace"], raw["chances"], raw["sure"]
    return _Settings(
        median=pace["median"],
        spread=pace["spread"],
        short_days=pace["short_days"],
        short_miles=pace["short_miles"],
        slack=pace["slack_miles"],
        chances={Explained[key.upper()]: value for key, value in chances.items()},
        odds=sure["odds"],
    )
