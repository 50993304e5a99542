"""When a tyre was made, by its date code, and how old it is on a day: a range, for the code tells a week at best."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from shutline.gauge.limits import Amount, Held, hold, unfit
from shutline.gauge.results import Place, Result, result
from shutline.gauge.tyres.rules import decades, limits, uses

# A triangle that points left or up, or a sign keyed for one.
_TRIANGLE = re.compile("[\u25c0\u25c1\u25c4\u25c5\u25b2\u25b3<]\\Z")
_YEAR_DAYS = 365.2425
_TEN_YEARS = (
    "The MOT test refuses tyres over ten years old only in front on vehicles with more than eight passenger seats: not"
    " of cars (pages that quote the rule: garagewire, wildcamping)."
)


@dataclass(frozen=True, slots=True)
class MadeIn:
    """A week in which a tyre may have been made: the ISO week and year. `seen` where the guides tell of that decade."""

    week: int
    year: int
    seen: bool = True

    @property
    def days(self) -> tuple[date, date]:
        """The first and the last day of the week; of a week 53 in a year of 52, the last of that year."""
        last = date(self.year, 12, 28).isocalendar().week
        start = date.fromisocalendar(self.year, min(self.week, last), 1)
        return start, start + timedelta(days=6)


@dataclass(frozen=True, slots=True)
class DateCode:
    """A date code with the weeks it may mean, the latest first; `triangle` where one stands behind it."""

    code: str
    triangle: bool
    weeks: tuple[MadeIn, ...]

    def told(self) -> str:
        """Give the weeks in words: ``week 34 of 1986 or 1996``."""
        years = [str(one.year) for one in reversed(self.weeks) if one.seen]
        return f"week {self.weeks[0].week} of {' or '.join(years)}"


def tyre_date(code: str) -> str | None:
    """Read the date code of a tyre; None where there is no such week.

    Four figures are week and year since 2000, three are week and last figure of the year before.

    >>> tyre_date("4308"), tyre_date("346"), tyre_date("5408")
    ('week 43 of 2008', 'week 34 of 1986 or 1996', None)
    """
    found = _weeks(code, triangle=False)
    return DateCode(code, triangle=False, weeks=found).told() if found else None


def date_code(text: str, *, triangle: bool = False) -> DateCode:
    """Read a date code as somebody gives it: the figures, the whole line that begins with DOT, a triangle behind.

    Parameters
    ----------
    text : str
        ``4308``, ``346``, ``176◁``, ``DOT XY12 ABCD 4308``.
    triangle : bool
        A triangle stands behind a code of three figures, which makes it of the nineties.

    Raises
    ------
    BadInputError
        It is no week and year that a tyre can have (slug ``reading-unfit``).
    """
    plain = text.strip()
    marked = triangle or _TRIANGLE.search(plain) is not None
    pieces = _TRIANGLE.sub("", plain).split()
    code = pieces[-1] if pieces else ""
    found = _weeks(code, triangle=marked)
    if not found or (len(code) == 4 and marked):
        raise unfit(
            "tyre date code",
            f"{text!r}",
            "week and year in four figures since 2000, in three before, perhaps with a triangle behind",
            "Read the last group of the line that begins with DOT; it may stand on the inner side of the tyre.",
        )
    return DateCode(code, marked, found)


def age_on(code: DateCode, day: date) -> Amount:
    """Give how old a tyre is on a day, years: in the middle of what is possible, which `low` and `high` bound whole.

    The weeks of which the guides tell count; for one that could not have been yet, the tyre's code is refused.

    Raises
    ------
    BadInputError
        The code is of a week after that day (slug ``reading-unfit``).
    """
    possible = [one for one in code.weeks if one.seen and one.days[0] <= day]
    if not possible:
        raise unfit(
            "tyre date code",
            f"{code.code!r}: {code.told()}",
            f"a week that has been by {day.isoformat()}",
            "Read the code once more, and look at the day.",
        )
    low = max(0.0, min((day - one.days[1]).days for one in possible) / _YEAR_DAYS)
    high = max((day - one.days[0]).days for one in possible) / _YEAR_DAYS
    # Even between its bounds (JCGM 100:2008, 4.3.7).
    return Amount((low + high) / 2, "years", (high - low) / 12**0.5, low, high)


def tyre_age(code: DateCode, day: date, *, place: Place | None = None) -> Result:
    """Tell how old a tyre is on a day, held against what the trade advises.

    Raises
    ------
    BadInputError
        The code is of a week after that day (slug ``reading-unfit``).
    """
    age = age_on(code, day)
    held = tuple(_held(code, age, day, limit_of) for limit_of in ("age-10", "age-6"))
    where = place or Place("tyre")
    told = f"{where.told()} tyre made in {code.told()}: {_years(age)} old on {day.isoformat()}.".strip()
    notes = [_TEN_YEARS]
    old = [one.year for one in code.weeks if not one.seen]
    if old:
        years = " or ".join(str(year) for year in old)
        notes.append(f"Guides tell of the decades above; {years} is possible as well (from memory), and older still.")
    if code.weeks[0].week > code.weeks[0].days[0].isocalendar().week:
        notes.append("That year had 52 weeks; its last was taken.")
    return result("tyre_age", uses()["age"], where, figure=age, told=told, held=held, notes=notes)


def _held(code: DateCode, age: Amount, day: date, limit_id: str) -> Held:
    """Hold an age against a limit: by all the weeks that are possible, of which none is likelier than another."""
    limit = next(one for one in limits() if one.id == limit_id)
    bound = limit.value or 0.0
    weeks = [one.days for one in code.weeks if one.seen and one.days[0] <= day]
    ages = [(day - edge).days / _YEAR_DAYS for days in weeks for edge in days]
    share = sum(one <= bound for one in ages) / len(ages)
    return hold(age, limit, what=_years(age), probability=share, counted=True)


def _years(age: Amount) -> str:
    low, high = f"{age.low:.1f}", f"{age.high:.1f}"
    return f"{low} years" if low == high else f"{low} to {high} years"


def _weeks(code: str, *, triangle: bool) -> tuple[MadeIn, ...]:
    if not (code.isascii() and code.isdigit() and len(code) in {3, 4} and 1 <= int(code[:2]) <= 53):
        return ()
    week = int(code[:2])
    if len(code) == 4:
        return (MadeIn(week, 2000 + int(code[2:])),)
    return tuple(_of_decades(week, int(code[2]), triangle=triangle))


def _of_decades(week: int, figure: int, *, triangle: bool) -> Sequence[MadeIn]:
    rows = [one for one in decades() if one.marked == triangle]
    years = sorted(((row.first_year + figure, row.seen) for row in rows), reverse=True)
    return [MadeIn(week, year, seen) for year, seen in years]
