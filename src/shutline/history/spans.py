"""Dates that are known to a year, a month or a day, and times that lasted from one to another."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from shutline.gauge.limits import FirstUse
from shutline.history.mot_records import YEARS

Span = tuple[date, date]
"""The earliest and the latest day it may be, both included; one day twice where it is known."""


def span_of(text: str) -> Span | None:
    """Read a year, a month or a day; None where it is of a year that no car has.

    >>> span_of("1987-03")
    (datetime.date(1987, 3, 1), datetime.date(1987, 3, 31))

    Raises
    ------
    BadInputError
        It is none of them.
    """
    told = FirstUse.of(text)
    return (told.earliest, told.latest) if told.earliest.year in YEARS else None


def span_words(span: Span) -> str:
    """Say when: 'on 1987-03-14', 'in March 1987', 'in 1987', 'between 1987-03-14 and 1988-01-02'."""
    start, end = span
    words = span_plain(span)
    if start == end:
        return f"on {words}"
    return f"between {start.isoformat()} and {end.isoformat()}" if " to " in words else f"in {words}"


def span_plain(span: Span) -> str:
    """Say which day, month or year it is."""
    start, end = span
    if start == end:
        return start.isoformat()
    whole = start.day == 1 and (end + timedelta(days=1)).day == 1
    if whole and (start.year, start.month) == (end.year, end.month):
        return f"{start:%B} {start.year}"
    if (start.month, start.day, end.month, end.day) == (1, 1, 12, 31) and start.year == end.year:
        return str(start.year)
    return f"{start.isoformat()} to {end.isoformat()}"


@dataclass(frozen=True, slots=True)
class Period:
    """A time in which something of a car was so: who kept it, or in which country it was.

    `of` is the keeper's name, which may be empty, or the country's letters. `start` and `until` are None where nobody
    knows; `lasts` is True where it has not ended. `stands_on` says in words what it rests on.
    """

    of: str
    start: Span | None
    until: Span | None
    lasts: bool = False
    stands_on: str = ""

    @property
    def begun_by(self) -> date | None:
        """The latest day on which it began; by its end it had."""
        known = self.start or self.until
        return known[1] if known is not None else None

    def ended_from(self, day: date) -> date | None:
        """Give the earliest day on which it ended: `day` where it lasts, its beginning where no end is known."""
        if self.lasts:
            return day
        known = self.until or self.start
        return known[0] if known is not None else None

    def place(self) -> tuple[object, ...]:
        """Give what it is put in order by: its beginning, or its end where that alone is known."""
        last = (date.max, date.max)
        begin = self.start or self.until or last
        return (*begin, self.start is not None, self.until or last, self.lasts, self.of, self.stands_on)

    def words(self) -> str:
        """Say from when to when: 'from March 1987 to 1994', 'from 1987, end not known', 'days not known'."""
        begin = f"from {span_plain(self.start)}" if self.start is not None else ""
        if self.lasts:
            return f"{begin} to this day".strip()
        if self.until is not None:
            return f"{begin} to {span_plain(self.until)}".strip()
        return f"{begin}, end not known" if begin else "days not known"
