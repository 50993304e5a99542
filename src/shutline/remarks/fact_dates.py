"""Facts that are dates: test until, last service, first registered."""

from __future__ import annotations

from shutline.remarks.fact_look import NO_END, Look, fact_data
from shutline.remarks.numbers import Number

_TESTS = frozenset({"mot", "test", "ticket", "mot'd", "tested"})
_SERVICES = frozenset({"service", "serviced", "stamp", "stamped"})


class DateFacts(Look):
    """Reads day, month and year round a month word, and what the date is of."""

    def date(self, at: int) -> None:
        """Note what the date round a month word tells; a month without a year tells nothing."""
        month = fact_data()["months"].get(self.norm[at])
        if month is None or (self.norm[at] == "may" and not self._month_of_may(at)):
            return
        day, first = self._day(at)
        year, end, later_day = self._year_after(at, wants_day=day is None)
        day = later_day if day is None else day
        if year is None:
            return
        if year > 2029 and "registered" in self.before(first, 14):
            year -= 100
        value = f"{year:04d}-{month:02d}" + (f"-{day:02d}" if day is not None else "")
        name = self._subject(first, end, year)
        if name:
            self.add(name, value, (first, end), "date")

    def _month_of_may(self, at: int) -> bool:
        before = self.norm[at - 1] if at and not self.mark[at] else ""
        if not before or before in self.cues["may_after"] or before.isdecimal() or before.startswith("ninth"):
            return True
        number = self.by_first.get(at + 1)
        return number is not None and number.value >= 1900

    def _day(self, at: int) -> tuple[int | None, int]:
        back = at - 1
        if back >= 0 and self.norm[back] == "of":
            back -= 1
        for n in self.numbers:
            if n.end == back + 1 and n.manner in ("ordinal", "figures") and 0 < n.value < 32:
                return int(n.value), n.first
        return None, at

    def _year_after(self, at: int, *, wants_day: bool) -> tuple[int | None, int, int | None]:
        day = None
        end = at + 1
        number: Number | None = self.by_first.get(at + 1)
        if number is None and self.follows(at) in ("of", "the", "in"):
            number = self.by_first.get(at + 2)
        if number is not None and number.manner == "ordinal" and wants_day and 0 < number.value < 32:
            day, end = int(number.value), number.end
            number = self.by_first.get(end)
        if number is None or number.manner == "ordinal":
            return None, end, day
        value = int(number.value)
        if 1900 <= value <= 2099:
            return value, number.end, day
        if 0 <= value <= 99 and number.manner in ("cardinal", "figures"):
            return value + (2000 if value < 40 else 1900), number.end, day
        return None, end, day

    def _subject(self, first: int, end: int, year: int) -> str:
        """Name the fact that a date belongs to; empty when nothing near says."""
        sentence, after = self.before(first, 14), self.after(end, 6)
        before = set(self.before(first, 14, cross=NO_END))
        if "registered" in sentence or "registered" in after or ({"on", "road"} <= set(sentence) and year < 2005):
            return "first_registered"
        if _SERVICES & {*sentence, *after[:4]} and not {"mot", "test"} & set(sentence[:6]):
            return "last_service"
        if _TESTS & before and self.cues["until"] & set(sentence[:5]):
            return "mot_until"
        if {"service", "serviced"} & before:
            return "last_service"
        return "mot_until" if {"mot", "test", "ticket"} & before else ""
