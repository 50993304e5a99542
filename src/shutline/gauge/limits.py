"""What a figure is held against: limits with value, source, date and who decides, and how near a figure lies to one.

A limit whose source was not seen, or whose sources disagree, has no value: it says where to look it up. The
uncertainty of the figure is carried: too near to a limit, it cannot be told on which side it lies (JCGM 106:2012).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from statistics import NormalDist

from shutline.car.errors import BadInputError, Problem
from shutline.gauge.readings.quantities import quantities
from shutline.gauge.tables import bad_row, table_rows

LEVEL = 0.95
"""The level of every interval of the gauges that says no other."""
_REACH = NormalDist().inv_cdf((1 + LEVEL) / 2)
_SHOWN = {"degC": "°C", "degC/min": "°C a minute", "Mohm": "MΩ", "kohm": "kΩ", "ohm/V": "Ω for each volt"}
_COLUMNS = (
    *("id", "of", "case", "from", "before", "sense", "value", "upper", "unit"),
    *("standing", "rule", "decides", "source", "seen"),
)
_DAY = re.compile(r"(?P<year>\d{4})(?:-(?P<month>\d{2})(?:-(?P<day>\d{2}))?)?\Z", re.ASCII)
# A count has no unit.
_MAY_BE_EMPTY = frozenset({"case", "from", "before", "value", "upper", "unit"})


class Standing(StrEnum):
    """What a limit is worth."""

    RULE = "rule"
    """Of a law, a test or a standard, whose words or a copy of them were seen."""
    PRACTICE = "common practice"
    """What the trade goes by; no rule."""
    LOOK_UP = "look it up"
    """There is a limit, and it was not seen well enough to be told: it has no value here."""
    NOT_ASKED = "not asked for"
    """No figure is asked for of such cars."""
    MAKER = "maker's figure"
    """Entered by the user out of the maker's book for this car; none is shipped."""


class Sense(StrEnum):
    """On which side of a limit a figure has to lie."""

    AT_LEAST = "at least"
    AT_MOST = "at most"
    BETWEEN = "between"


class Outcome(StrEnum):
    """How a figure lies to a limit."""

    WITHIN = "within"
    OUTSIDE = "outside"
    NEAR = "cannot be told"
    LOOK_UP = "look it up"
    NOT_ASKED = "not asked for"


_WITHOUT_VALUE = {Standing.LOOK_UP: Outcome.LOOK_UP, Standing.NOT_ASKED: Outcome.NOT_ASKED}


def shown_unit(unit: str) -> str:
    """Give a unit as it is written for people: ``degC`` is ``°C``."""
    return _SHOWN.get(unit, unit)


@dataclass(frozen=True, slots=True)
class Amount:
    """A figure with its standard uncertainty (JCGM 100:2008) and the interval from `low` to `high` at `LEVEL`."""

    value: float
    unit: str
    uncertainty: float
    low: float
    high: float

    def told(self, decimals: int = 1) -> str:
        """Give the figure and its interval as it is read: ``2.1 mm (1.9 to 2.3)``."""
        figure = f"{self.value:,.{decimals}f} {shown_unit(self.unit)}".rstrip()
        if self.low == self.high:
            return figure
        return f"{figure} ({self.low:,.{decimals}f} to {self.high:,.{decimals}f})"


def amount(
    value: float, unit: str, uncertainty: float = 0.0, *, floor: float = -math.inf, ceiling: float = math.inf
) -> Amount:
    """Make an amount; the interval is cut off where nothing can lie beyond `floor` or `ceiling`.

    >>> amount(12.4, "V", 0.05).told(2)
    '12.40 V (12.30 to 12.50)'

    Raises
    ------
    BadInputError
        The value or the uncertainty is no number, or the uncertainty is below nought (slug ``reading-unfit``).
    """
    if not math.isfinite(value) or not math.isfinite(uncertainty) or uncertainty < 0:
        raise unfit(
            "figure", f"{value!r} with uncertainty {uncertainty!r}", "a number, and nought or more", "Give both."
        )
    reach = _REACH * uncertainty
    return Amount(value, unit, uncertainty, max(floor, value - reach), min(ceiling, value + reach))


@dataclass(frozen=True, slots=True)
class FirstUse:
    """When a car was first used, from `earliest` to `latest`: one day where the day is known."""

    earliest: date
    latest: date

    @classmethod
    def of(cls, text: str) -> FirstUse:
        """Read a year, a month or a day: ``1968``, ``1968-03``, ``1968-03-12``.

        >>> FirstUse.of("1975-07")
        FirstUse(earliest=datetime.date(1975, 7, 1), latest=datetime.date(1975, 7, 31))

        Raises
        ------
        BadInputError
            It is none of them (slug ``reading-unfit``).
        """
        found = _DAY.match(text.strip())
        try:
            year, month, day = (int(found[part] or 1) if found else 0 for part in ("year", "month", "day"))
            start = date(year, month, day)
        except ValueError:
            raise unfit(
                "first use", f"{text!r}", "a year, a month or a day: 1968, 1968-03, 1968-03-12", "Write it so."
            ) from None
        if found is None or found["day"]:
            return cls(start, start)
        after = date(year + 1, 1, 1) if not found["month"] or month == 12 else date(year, month + 1, 1)
        return cls(start, after - timedelta(days=1))


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit of what `of` names, as it stands in a gauge's ``limits.csv``.

    It is for cars first used from `start` on and before `end`, None for no bound; and for one `case` of several, such
    as ``single`` circuit, where that is not empty. `value` is what the figure has to be at least or at most, in
    `unit`, or between it and `upper`; None where it is to be looked up. `rule` is it in words, or where to look;
    `decides` is who has the last word, `seen` the month or day in which the source was read.
    """

    id: str
    of: str
    case: str
    start: date | None
    end: date | None
    sense: Sense
    value: float | None
    upper: float | None
    unit: str
    standing: Standing
    rule: str
    decides: str
    source: str
    seen: str

    def told(self) -> str:
        """Give the limit with what it stands on."""
        return f"{self.rule} ({self.standing}; {self.source}; seen {self.seen}; {self.decides} decides)"


@dataclass(frozen=True, slots=True)
class Held:
    """A figure held against a limit.

    `probability` is how likely the figure lies within, in [0, 1], None where there is no value to hold it against.
    """

    limit: Limit
    figure: Amount
    outcome: Outcome
    probability: float | None
    sentence: str


def read_limits(text: str, *, name: str) -> tuple[Limit, ...]:
    """Read a table of limits; `name` is how messages call it.

    Raises
    ------
    UserError
        A row is not as it should be (slug ``gauge-row``): a limit to be looked up that has a value, a rule or
        practice that has none, a second figure where there is one bound, an end before the start.
    """
    found = []
    for where, row in table_rows(text, name=name, columns=_COLUMNS, may_be_empty=_MAY_BE_EMPTY):
        try:
            start, end = (date.fromisoformat(row[side]) if row[side] else None for side in ("from", "before"))
            value, upper = (float(row[side]) if row[side] else None for side in ("value", "upper"))
            sense, standing = Sense(row["sense"]), Standing(row["standing"])
        except ValueError as trouble:
            raise bad_row(where, str(trouble), "a day as 1968-01-01, a number, the words of the README") from trouble
        if standing is Standing.MAKER:
            raise bad_row(where, f"{standing}", "none: makers' figures are entered by the user")
        if (value is None) != (standing in _WITHOUT_VALUE):
            raise bad_row(where, f"{standing} with value {row['value']!r}", "a value for a rule or a practice alone")
        if (upper is not None) != (sense is Sense.BETWEEN and value is not None):
            raise bad_row(where, f"{sense} with upper {row['upper']!r}", "a second figure for 'between' only")
        if upper is not None and value is not None and upper <= value:
            raise bad_row(where, f"between {value:g} and {upper:g}", "a smaller and a larger figure")
        if start is not None and end is not None and end <= start:
            raise bad_row(where, f"from {start} before {end}", "a day and a later one")
        texts = {column: row[column] for column in ("id", "of", "case", "unit", "rule", "decides", "source", "seen")}
        found.append(Limit(start=start, end=end, sense=sense, value=value, upper=upper, standing=standing, **texts))
    return tuple(found)


def makers_limit(of: str, unit: str, *, least: float | None, most: float | None, source: str) -> Limit:
    """Make a limit of what the user read in the maker's book for this car.

    Parameters
    ----------
    of, unit : str
        What it is a limit of, and in which unit.
    least, most : float or None
        What the figure has to be at least and at most; one of them may be left out.
    source : str
        Where it was read: the book, the page.

    Raises
    ------
    BadInputError
        Both are left out, or the least is not below the most, or no source is told (slug ``reading-unfit``).
    """
    bounds = [one for one in (least, most) if one is not None]
    ordered = least is None or most is None or least < most
    if not bounds or not all(map(math.isfinite, bounds)) or not ordered or not source.strip():
        raise unfit(
            f"maker's figure, {of}",
            f"from {least} to {most} out of {source!r}",
            "a least, a most or both, the least below the most, and where it was read",
            "Copy it out of the maker's book for this very engine.",
        )
    value, upper = (least, most) if least is not None else (most, None)
    sense = Sense.AT_MOST if least is None else Sense.AT_LEAST if most is None else Sense.BETWEEN
    words = f"between {least:.4g} and {most:.4g}" if sense is Sense.BETWEEN else f"{sense} {value:.4g}"
    rule = f"{words} {shown_unit(unit)}".strip() + f", the maker's figure as entered out of {source.strip()}"
    return Limit(
        *("maker", of, "", None, None, sense, value, upper, unit, Standing.MAKER, rule, "a mechanic", source, "entered")
    )


def maker_in(limit: Limit, quantity: str, unit: str) -> Limit:
    """Give a maker's limit in another unit of its quantity, with the figures of the book beside; as it is where same.

    Raises
    ------
    BadInputError
        The quantity does not have one of the units (slug ``reading-unfit``).
    """
    of = quantities()[quantity]
    here, there = of.unit(unit), of.unit(limit.unit)
    if here is None or there is None:
        raise unfit(f"maker's figure, {limit.of}", f"units {limit.unit!r} and {unit!r}", of.label, "Give it anew.")
    if here == there or limit.value is None:
        return limit
    bounds = [one for one in (limit.value, limit.upper) if one is not None]
    values = [(one * there.factor + there.offset - here.offset) / here.factor for one in bounds]
    least = None if limit.sense is Sense.AT_MOST else values[0]
    most = None if limit.sense is Sense.AT_LEAST else values[-1]
    told = " to ".join(f"{one:g}" for one in bounds)
    return makers_limit(
        limit.of, here.id, least=least, most=most, source=f"{limit.source}, {told} {shown_unit(there.id)} there"
    )


def fitting(limits: Iterable[Limit], of: str, *, first_used: FirstUse | None, case: str = "") -> tuple[Limit, ...]:
    """Give the limits of something that are, or may be, for a car.

    Where the day of first use is not known, or not which case it is, each that may be for it is given.
    """
    return tuple(
        limit
        for limit in limits
        if limit.of == of
        and (not case or limit.case in {"", case})
        and (first_used is None or limit.start is None or first_used.latest >= limit.start)
        and (first_used is None or limit.end is None or first_used.earliest < limit.end)
    )


def share_within(figure: Amount, limit: Limit) -> float:
    """Give how likely a figure lies within a limit, its error taken as normal (JCGM 106:2012, 7.2).

    Raises
    ------
    ValueError
        The limit has no value.
    """
    if limit.value is None:
        raise ValueError(f"{limit.id} has no value: it is to be looked up")

    def below(bound: float) -> float:
        if figure.uncertainty == 0:
            return float(figure.value < bound)
        return NormalDist(figure.value, figure.uncertainty).cdf(bound)

    if limit.sense is Sense.AT_LEAST:
        return 1 - below(limit.value)
    top = limit.value if limit.upper is None else limit.upper
    up_to_top = float(figure.value <= top) if figure.uncertainty == 0 else below(top)
    return up_to_top if limit.sense is Sense.AT_MOST else max(0.0, up_to_top - below(limit.value))


def outcome_of(probability: float) -> Outcome:
    """Tell how a figure lies that is within with this probability: near unless 97.5 in a hundred are on one side."""
    if probability >= (1 + LEVEL) / 2:
        return Outcome.WITHIN
    return Outcome.OUTSIDE if probability <= (1 - LEVEL) / 2 else Outcome.NEAR


_WORDS = {
    Outcome.WITHIN: "it is within that",
    Outcome.OUTSIDE: "it is outside that",
    Outcome.NEAR: "too near to it to be told",
}


_WORST_FIRST = (Outcome.OUTSIDE, Outcome.NEAR, Outcome.LOOK_UP, Outcome.NOT_ASKED, Outcome.WITHIN)


def hold(
    figure: Amount,
    limit: Limit,
    *,
    what: str,
    decimals: int = 1,
    probability: float | None = None,
    counted: bool = False,
) -> Held:
    """Hold a figure against a limit.

    Parameters
    ----------
    figure : Amount
        In the unit of the limit.
    limit : Limit
        What it is held against.
    what : str
        What the figure is called in the sentence.
    decimals : int
        How many are told.
    probability : float, optional
        How likely it lies within, where that follows from more than this figure; else it follows from it.
    counted : bool
        `what` tells the figure already.

    Raises
    ------
    ValueError
        The figure has another unit than the limit.
    """
    told = what if counted else f"{what} {figure.told(decimals)}"
    if limit.value is None:
        return Held(limit, figure, _WITHOUT_VALUE[limit.standing], None, f"{told}: {limit.rule}.")
    if figure.unit != limit.unit:
        raise ValueError(f"{figure.unit!r} held against {limit.id}, which is in {limit.unit!r}")
    likely = share_within(figure, limit) if probability is None else probability
    outcome = outcome_of(likely)
    return Held(limit, figure, outcome, likely, f"{told}, held against {limit.rule}: {_WORDS[outcome]}.")


def joined(held: Sequence[Held]) -> Outcome | None:
    """Give one outcome of several limits; None for none.

    Limits of one thing (`Limit.of`) are there side by side where it is not known which is for the car: it is told
    only where they come out alike. Limits of several things hold together: outside one is outside.
    """
    by_thing: dict[str, set[Outcome]] = {}
    for one in held:
        by_thing.setdefault(one.limit.of, set()).add(one.outcome)
    outcomes = {next(iter(several)) if len(several) == 1 else Outcome.NEAR for several in by_thing.values()}
    return next((one for one in _WORST_FIRST if one in outcomes), None)


def is_open(held: Sequence[Held]) -> bool:
    """Tell whether it matters that it is not known which of several limits of one thing is for the car."""
    return any(one.limit.of == two.limit.of and one.outcome is not two.outcome for one in held for two in held)


def unfit(where: str, found: str, allowed: str, advice: str) -> BadInputError:
    """Make the refusal of figures that a gauge can tell nothing from."""
    return BadInputError(Problem(slug="reading-unfit", where=where, found=found, allowed=allowed, advice=advice))
