"""Facts that are dates: test until, last service, first registered."""

from __future__ import annotations

from shutline.remarks.fact_data import fact_data
from shutline.remarks.fact_look import NO_END, Look
from shutline.remarks.numbers import Number

_TESTS = frozenset({"mot", "nct", "test", "ticket", "mot'd", "motd", "tested", "certificate"})
_SERVICES = frozenset({"service", "serviced", "servicing", "stamp", "stamped"})
_REGISTERED = frozenset({"registered", "reg", "reg'd", "registration"})
_NEXT_CENTURY = 2035
"""A year of two figures up to here is of this century: tests lie a year ahead."""


class DateFacts(Look):
    """Reads day, month and year round a month word, and what the date is of."""

    def month(self, at: int) -> None:
        """Note what the date round a month word tells; a month without a year waits for the year of the car."""
        month = fact_data()["months"][self.norm[at]]
        if self.norm[at] == "may" and not self._is_month(at):
            return
        day, first = self._day(at)
        year, end, later_day = self._year_after(at, wants_day=day is None)
        day = later_day if day is None else day
        if year is None:
            if _REGISTERED & {*self.before(first, 7), *self.after(end, 5)}:
                self.add("first_registered", f"-{month:02d}" + _of_day(day), (first, end), "registered-month")
            return
        name, rule = self._subject(first, end, year)
        if name == "first_registered" and year > 2029:
            year -= 100
        value = f"{year:04d}-{month:02d}" + _of_day(day)
        if name:
            self.add(name, value, (first, end), rule)
        if {"made", "built", "manufactured"} & set(self.before(first, 3)):
            self.add("year", year, (first, end), "year-made")

    def year_only(self, n: Number) -> None:
        """Note a year that a service or the first registration is told by: 'last serviced in 2019'."""
        value = int(n.value)
        if not 1900 <= value <= 2099 or (n.manner == "cardinal" and value < 2001):
            return
        before = self.before(n.first, 10)
        if set(before[:2]) & fact_data()["months"].keys():
            return
        near = set(before[:6])
        between = before[: before.index("registered")] if "registered" in near else []
        if "registered" in near and "so" not in between and ("not" not in near or near & {"till", "until"}):
            letter = len(before) > 1 and before[before.index("registered") + 1 : before.index("registered") + 2]
            if not (letter and len(letter[0]) == 1):
                self.add("first_registered", f"{value:04d}", (n.first, n.end), "registered-year")
        elif {"road", "on"} <= near and "first" in near:
            self.add("first_registered", f"{value:04d}", (n.first, n.end), "registered-year")
        elif (_SERVICES | {"stamps"}) & set(before):
            stamped = {"to", "till", "until"} & set(before[:2]) and {"stamps", "stamped"} & set(before)
            rule = "service-last" if {"last", "latest"} & set(before[:4]) else "stamped-to" if stamped else ""
            if rule:
                self.add("last_service", f"{value:04d}", (n.first, n.end), rule)

    def _is_month(self, at: int) -> bool:
        before = self.norm[at - 1] if at and not self.mark[at] else ""
        if (
            not before
            or before in self.cues["may_after"]
            or before.isdecimal()
            or before.endswith(("th", "st", "nd", "rd"))
        ):
            return True
        number = self.by_first.get(at + 1)
        return number is not None and number.value >= 1900

    def _day(self, at: int) -> tuple[int | None, int]:
        back = at
        while back > 0 and self.norm[back - 1] in ("of", "o", "the", "in"):
            back -= 1
        for n in self.ending.get(back, ()):
            near = n.manner in ("ordinal", "figures") or (
                n.manner == "cardinal" and back == at and not self.mark[at] and self.norm[n.first] != "one"
            )
            if near and 0 < n.value < 32:
                return int(n.value), n.first
        return None, at

    def _year_after(self, at: int, *, wants_day: bool) -> tuple[int | None, int, int | None]:
        day = None
        end = at + 1
        number = self._number_past(end)
        if number is not None and number.manner == "ordinal" and wants_day and 0 < number.value < 32:
            day, end = int(number.value), number.end
            number = self._number_past(end)
        if number is None or number.manner == "ordinal":
            return None, end, day
        value = int(number.value)
        if 1900 <= value <= 2099:
            return value, number.end, day
        if 0 <= value <= 99 and number.manner in ("cardinal", "figures") and number.value == value:
            follows = self.after(number.end, 1)
            if self.cues["units"] & set(follows):
                return None, end, day
            return value + (2000 if value + 2000 <= _NEXT_CENTURY else 1900), number.end, day
        return None, end, day

    def _number_past(self, at: int) -> Number | None:
        """Give the number at a token, or behind words like 'of', 'next', 'next year'."""
        for past in range(4):
            number = self.by_first.get(at + past)
            if number is not None:
                return number
            if at + past >= self.size or self.norm[at + past] not in self.cues["before_year"]:
                return None
        return None

    def _subject(self, first: int, end: int, year: int) -> tuple[str, str]:
        """Name the fact that a date belongs to, and the rule; both empty when nothing near says."""
        sentence, after = self.before(first, 16), self.after(end, 6)
        for word in sentence:
            if word in _REGISTERED or (word == "road" and "on" in sentence and year < 2005):
                return "first_registered", "registered-date"
            if word in _SERVICES:
                return "last_service", "service-date"
            if word in _TESTS:
                return "mot_until", "test-until" if self.cues["until"] & set(sentence[:5]) else "test-date"
        if "registered" in after:
            return "first_registered", "registered-date"
        if _SERVICES & set(after[:4]):
            return "last_service", "service-date"
        return self._told_before(first, end, year)

    def _told_before(self, first: int, end: int, year: int) -> tuple[str, str]:
        """Name the fact of a date by the sentence before, or an early date that stands alone as registration."""
        until = self.cues["until"] & set(self.before(first, 5))
        for word in self.before(first, 20, cross=NO_END):
            if word in ("mot", "test", "ticket") or (word in _TESTS and until):
                return "mot_until", "test-before"
            if word in ("service", "serviced"):
                return "last_service", "service-before"
        listed = year < 2005 and self.stand(first, end) == "listed"
        return ("first_registered", "date-listed") if listed else ("", "")


def _of_day(day: int | None) -> str:
    return f"-{day:02d}" if day is not None else ""
