"""What a car will fetch: an estimate from comparables with its interval, and how it comes about."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from shutline.car.comparables import Comparable
from shutline.car.errors import Problem
from shutline.market.bridge import Bridge, bridge_of
from shutline.market.columns import ASKED, LEVELS, MILEAGE, YEARS, Car, dummies, noted, number_of
from shutline.market.conditions import ConditionWorth, conditions_of
from shutline.market.fitted import Fitted, fitted_of
from shutline.market.interval import Interval, jackknife_plus, student
from shutline.market.linear import Dependence, dependences
from shutline.market.model import percent_of, with_constant
from shutline.market.moving import Index, Ratio, YearAgo
from shutline.market.settings import MarketSettings, market_settings

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

NOTE = "These are the firm's own figures worked out; nothing here is advice, and the choice is the user's."
_OWN = "what this one car fetched beside what was expected of it"
_OF_NO_ATTRIBUTE = (ASKED, YEARS)


@dataclass(frozen=True, slots=True)
class Effect:
    """What one column is worth: per cent of the price, for `per`, with the interval of the level asked for."""

    name: str
    per: str
    percent: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Fetch:
    """What a car will fetch, in whole units of `currency`.

    `middle` is as likely to be too high as too low; `low` and `high` are the interval, whose `promise` says what it is
    worth; `tested` tells whether it was made from how far off the model had been. `outside` says where the car lies
    beyond those seen, `unsaid` what is noted of them and not of it. `conditions` are the others that were seen, with
    what each is worth. `same` are columns that others say already, told where there are more cars than columns;
    `together` are numbers that move together. `ratio` is None where nothing was asked only. `prices` draws from
    `log_middle`, `log_low`, `log_high` and `freedom`.
    """

    currency: str
    today: date
    middle: int
    low: int
    high: int
    level: float
    tested: bool
    promise: str
    cars: int
    bridges: tuple[Bridge, ...]
    effects: tuple[Effect, ...]
    conditions: tuple[ConditionWorth, ...]
    outside: tuple[str, ...]
    unsaid: tuple[str, ...]
    same: tuple[Dependence, ...]
    together: tuple[tuple[str, str, float], ...]
    ratio: Ratio | None
    years: tuple[YearAgo, ...]
    log_middle: float
    log_low: float
    log_high: float
    freedom: float
    note: str = NOTE

    def prices(self, chances: Array) -> Array:
        """Give the price that is not reached with each of these chances, in (0, 1).

        A Student t about the middle, each side stretched so that the ends of the interval are where it has them.
        """
        import numpy as np
        from scipy import stats

        at = stats.t.ppf(chances, self.freedom)
        end = float(stats.t.ppf((1 + self.level) / 2, self.freedom))
        stretch = np.where(at < 0, self.log_middle - self.log_low, self.log_high - self.log_middle) / end
        return np.asarray(np.exp(self.log_middle + at * stretch))


@dataclass(frozen=True, slots=True)
class Fetched:
    """One answer for each car asked about, in their order, None where nothing was seen to go by; and what was told."""

    cars: tuple[Fetch | None, ...]
    problems: tuple[Problem, ...]


def fetch_of(
    comparables: Iterable[Comparable],
    cars: Sequence[Car],
    *,
    today: date,
    currency: str = "GBP",
    index: Index | None = None,
    level: float | None = None,
    settings: MarketSettings | None = None,
) -> Fetched:
    """Estimate what cars will fetch.

    Parameters
    ----------
    comparables : iterable of Comparable
        In any order; doubles and other currencies are set aside and told.
    cars : sequence of Car
        Asked about together: they share one model.
    today : date
        Prices are moved to this day: by the index, else by what the data say of each year.
    currency : str
    index : Index, optional
        Prices of such cars by day, as the user has them.
    level : float, optional
        Of the interval, from 0.5 to 0.99; by default that of the settings.
    settings : MarketSettings, optional

    Returns
    -------
    Fetched
        Problems have the slugs ``fetch-nothing``, ``fetch-index-ends``, ``comparable-twice`` and
        ``comparable-currency``.

    Raises
    ------
    ValueError
        The level is not between its ends.
    """
    known = settings or market_settings()
    level = known.told.level if level is None else level
    if not 0.5 <= level <= 0.99:
        raise ValueError(f"level {level}: from 0.5 to 0.99 is needed")
    fitted, problems = fitted_of(comparables, cars, today=today, currency=currency, index=index, settings=known)
    if fitted is None:
        return Fetched((None,) * len(cars), problems)
    asked = with_constant(fitted.table.asked)
    enough = len(fitted.used) >= max(known.fitting.conformal_from, math.ceil(level / (1 - level)))
    interval = (jackknife_plus if enough else student)(fitted.model, asked, level=level)
    work = _Work(fitted, interval, known, level, today, currency)
    shared = work.shared()
    return Fetched(tuple(work.one(at, car, shared) for at, car in enumerate(cars)), problems)


@dataclass(frozen=True, slots=True)
class _Shared:
    effects: tuple[Effect, ...]
    same: tuple[Dependence, ...]
    together: tuple[tuple[str, str, float], ...]
    years: tuple[YearAgo, ...]
    seen: Mapping[str, frozenset[str]]
    ends: Mapping[str, tuple[float, float]]
    farthest: float


@dataclass(frozen=True, slots=True)
class _Work:
    """All that the answers are made of."""

    fitted: Fitted
    interval: Interval
    known: MarketSettings
    level: float
    today: date
    currency: str

    def shared(self) -> _Shared:
        rows, names = dummies(self.fitted.table)
        seen: dict[str, set[str]] = {}
        for one in self.fitted.used:
            for name, text in noted(one).items():
                seen.setdefault(name, set()).add(text.strip().casefold())
        return _Shared(
            effects=self._effects(),
            same=dependences(rows, names) if len(rows) > len(names) else (),
            together=self._together(),
            years=self._years(),
            seen={name: frozenset(entries) for name, entries in sorted(seen.items())},
            ends={name: ends for name, entries in seen.items() if (ends := _ends(name, entries)) is not None},
            farthest=float(self.fitted.model.leverage(self.fitted.model.rows).max()),
        )

    def one(self, at: int, car: Car, shared: _Shared) -> Fetch:
        row = with_constant(self.fitted.table.asked)[at]
        middle = float(self.fitted.model.middle(row[None, :])[0])
        low, high = float(self.interval.low[at]), float(self.interval.high[at])
        asked = any(not one.sold for one in self.fitted.used)
        return Fetch(
            currency=self.currency,
            today=self.today,
            middle=round(math.exp(middle)),
            low=math.floor(math.exp(low)),
            high=math.ceil(math.exp(high)),
            level=self.level,
            tested=self.interval.tested,
            promise=self.interval.promise,
            cars=len(self.fitted.used),
            bridges=self._bridges(row, car, middle),
            effects=shared.effects,
            conditions=conditions_of(
                self.fitted,
                row,
                here=car.condition,
                level=self.level,
                told_from=self.known.fitting.told_from,
            ),
            outside=self._outside(row, car, shared),
            unsaid=self._unsaid(car, shared),
            same=shared.same,
            together=shared.together,
            ratio=self.fitted.ratio if asked else None,
            years=shared.years,
            log_middle=middle,
            log_low=low,
            log_high=high,
            freedom=self.fitted.model.tails,
        )

    def _bridges(self, row: Array, car: Car, middle: float) -> tuple[Bridge, ...]:
        import numpy as np

        priors = np.array([0.0, *(one.prior for one in self.fitted.table.columns)])
        apart = np.sqrt(np.sum(((self.fitted.model.rows - row) * priors) ** 2, axis=1))
        # Of equals the first by their keys: that is the order they are in.
        order = np.argsort(np.round(apart, 9), kind="stable")[: self.known.told.nearest]
        return tuple(self._bridge(int(at), row, car, middle) for at in order)

    def _bridge(self, at: int, row: Array, car: Car, middle: float) -> Bridge:
        import numpy as np

        from_row, one = self.fitted.model.rows[at], self.fitted.used[at]
        before, after = noted(one), noted(car)
        change = row - from_row
        names = ["", *(column.of for column in self.fitted.table.columns)]
        steps: dict[str, tuple[float, float]] = {}
        for name in sorted(set(names) - {""}, key=lambda of: (of not in _OF_NO_ATTRIBUTE, of)):
            part = np.where([of == name for of in names], change, 0.0)
            extra = self.fitted.corrections[at] if name == ASKED else 0.0
            if not np.any(part):
                continue
            effect, doubt = float(part @ self.fitted.model.effects) + float(extra), self.fitted.model.doubt(part)
            told = f"{name}: {_shown(name, before)} → {_shown(name, after)}"
            steps[name if name in _OF_NO_ATTRIBUTE else told] = (effect, doubt)
        if self.fitted.moves[at]:
            steps["since then, by the index"] = (float(self.fitted.moves[at]), 0.0)
        start = float(one.price)
        own = middle - math.log(start) - math.fsum(effect for effect, _ in steps.values())
        steps[_OWN] = (own, self.fitted.model.doubt(from_row))
        return bridge_of(_told(one), start, math.exp(middle), steps)

    def _effects(self) -> tuple[Effect, ...]:
        import numpy as np
        from scipy import stats

        reach = float(stats.t.ppf((1 + self.level) / 2, self.fitted.model.freedom))
        found = []
        for at, column in enumerate(self.fitted.table.columns, start=1):
            if column.kind in {"asked", "years"}:
                continue
            unit = np.zeros(len(self.fitted.model.effects))
            step, per = 1.0, "against the whole"
            if column.kind == "number":
                step = 10.0 ** math.floor(math.log10(column.width)) / column.width
                per = f"{step * column.width:,g} more"
            unit[at] = step
            middle, doubt = float(unit @ self.fitted.model.effects), reach * self.fitted.model.doubt(unit)
            ends = (percent_of(middle - doubt), percent_of(middle + doubt))
            found.append(Effect(column.name, per, percent_of(middle), *ends))
        return tuple(found)

    def _together(self) -> tuple[tuple[str, str, float], ...]:
        import numpy as np

        columns = self.fitted.table.columns
        numbers = [at for at, one in enumerate(columns) if one.kind == "number"]
        told = []
        for place, first in enumerate(numbers):
            for second in numbers[place + 1 :]:
                pair = self.fitted.table.rows[:, [first, second]]
                if len(pair) < 3 or not np.all(pair.std(axis=0) > 0):
                    continue
                close = float(np.asarray(np.corrcoef(pair.T))[0, 1])
                if abs(close) >= self.known.fitting.together:
                    told.append(
                        (self.fitted.table.columns[first].name, self.fitted.table.columns[second].name, round(close, 3))
                    )
        return tuple(told)

    def _years(self) -> tuple[YearAgo, ...]:
        import numpy as np
        from scipy import stats

        reach = float(stats.t.ppf((1 + self.level) / 2, self.fitted.model.freedom))
        unit = np.zeros(len(self.fitted.model.effects))
        found: list[YearAgo] = []
        for at, column in enumerate(self.fitted.table.columns, start=1):
            if column.kind != "years":
                continue
            unit[at] = 1.0
            middle, doubt = float(unit @ self.fitted.model.effects), reach * self.fitted.model.doubt(unit)
            ends = (100 * math.exp(middle - doubt), 100 * math.exp(middle + doubt))
            found.append(YearAgo(len(found) + 1, 100 * math.exp(middle), *ends))
        return tuple(found)

    def _outside(self, row: Array, car: Car, shared: _Shared) -> tuple[str, ...]:
        told, mine = [], noted(car)
        for name, given in sorted(mine.items()):
            entries = shared.seen.get(name, frozenset())
            value, ends = number_of(given), shared.ends.get(name)
            if ends is not None and value is not None:
                if not ends[0] <= value <= ends[1]:
                    told_ends = [_amount(name, one) for one in sorted(set(ends))]
                    told.append(f"{name}: {_amount(name, value)}; those seen have {' to '.join(told_ends)}")
            elif given.strip().casefold() not in entries:
                told.append(f"{name}: {given!r} was not seen")
        leverage = float(self.fitted.model.leverage(row[None, :])[0])
        if not told and not shared.seen.keys() - mine.keys() and leverage > shared.farthest:
            told.append("each figure was seen, but not together: no car seen lies so far from the others")
        return tuple(told)

    def _unsaid(self, car: Car, shared: _Shared) -> tuple[str, ...]:
        mine = noted(car)
        return tuple(name for name in shared.seen if not mine.get(name))


def _ends(name: str, entries: Iterable[str]) -> tuple[float, float] | None:
    """Give the least and the most of an attribute whose entries are all numbers."""
    numbers = [number_of(one) for one in entries]
    there = [one for one in numbers if one is not None]
    return None if name in LEVELS or len(there) < len(numbers) else (min(there), max(there))


def _told(one: Comparable) -> str:
    """Say which car it is, and where it stands."""
    words = one.words()
    return f"{words} ({one.line})" if words and one.line else words or one.called()


def _amount(name: str, value: float) -> str:
    """Give a number; only of a mileage it is known that its thousands may be set apart."""
    return f"{value:,.0f}" if name == MILEAGE else f"{value:.10g}"


def _shown(name: str, entries: Mapping[str, str]) -> str:
    text = entries.get(name, "")
    return _amount(name, float(text)) if name == MILEAGE and text else text or "not noted"
