"""What the parts of a history are told from: facts with their days, tests put together, and the dates of the car."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from shutline.car.errors import UserError
from shutline.history.mot_records import YEARS
from shutline.usecases.told_facts import ToldFact, told_facts, values_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shutline.car.carfile import CarFile
    from shutline.history.mot_records import MotRecord, MotTest

Span = tuple[date, date]
_NAMES = (
    "registration_mark",
    "chassis_number",
    "year",
    "first_registered",
    "odometer",
    "keepers",
    "last_service",
)


@dataclass(frozen=True, slots=True)
class Known:
    """All that a history is told from.

    `tests` are those of all records that count, each once, by day. `registered` and `made` are between which days;
    `registrations` and `years` every value of them with how it is known; `dates` say it in sentences.
    """

    car: CarFile
    facts: tuple[ToldFact, ...]
    records: tuple[MotRecord, ...]
    tests: tuple[MotTest, ...]
    registered: Span | None
    made: Span | None
    registrations: tuple[tuple[Span, str], ...]
    years: tuple[tuple[Span, str], ...]
    dates: tuple[str, ...]

    def of(self, name: str) -> tuple[ToldFact, ...]:
        """Give what is known of one fact, what nobody has looked at aside."""
        return tuple(one for one in self.facts if one.name == name and "nobody has looked at" not in one.how)


def known_of(car: CarFile, records: Sequence[MotRecord]) -> Known:
    """Put together what a history is told from."""
    facts = told_facts(car, *_NAMES)
    registrations = [*_spans(facts, "first_registered"), *_of_records(records, "registered")]
    years = [*_spans(facts, "year"), *_of_records(records, "made")]
    registered = registrations[0][0] if registrations else None
    # A day of making that a test history has is closer than a year.
    made = min((span for span, _ in years), key=lambda span: (span[1] - span[0], span), default=None)
    if made is not None and registered is not None and made[0] <= registered[1] < made[1]:
        # It was made before it was registered.
        made = (made[0], registered[1])
    dates = [f"First registered {_words(span)} ({how})." for span, how in registrations]
    dates += [f"Made {_words(span)} ({how})." for span, how in years]
    return Known(
        car=car,
        facts=facts,
        records=tuple(records),
        tests=_tests(records),
        registered=registered,
        made=made,
        registrations=tuple(registrations),
        years=tuple(years),
        dates=tuple(dict.fromkeys(dates)),
    )


def _tests(records: Sequence[MotRecord]) -> tuple[MotTest, ...]:
    """Give the tests of several records, each once: a file that was fetched later has the earlier ones again."""
    found: dict[tuple[object, ...], MotTest] = {}
    for record in records:
        for test in record.tests:
            key = (test.number,) if test.number else (test.day, test.passed, test.mileage)
            found.setdefault(key, test)
    return tuple(sorted(found.values(), key=lambda one: (one.day, one.passed, one.number)))


def _spans(facts: Sequence[ToldFact], name: str) -> list[tuple[Span, str]]:
    from shutline.gauge.limits import FirstUse

    named = [one for one in facts if one.name == name]
    counted = values_of(named)
    found = []
    for one in named:
        if one.value not in counted:
            continue
        try:
            span = FirstUse.of(str(one.value))
        except UserError:
            continue
        if span.earliest.year in YEARS:
            found.append(((span.earliest, span.latest), one.how))
    return found


def _of_records(records: Sequence[MotRecord], name: str) -> list[tuple[Span, str]]:
    days = [getattr(record, name) for record in records]
    return [((day, day), "test history") for day in dict.fromkeys(days) if day is not None]


def _words(span: Span) -> str:
    start, end = span
    if start == end:
        return f"on {start.isoformat()}"
    if (start.month, start.day, end.month, end.day) == (1, 1, 12, 31) and start.year == end.year:
        return f"in {start.year}"
    return f"between {start.isoformat()} and {end.isoformat()}"
