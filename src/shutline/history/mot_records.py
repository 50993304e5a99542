"""The open government's test history, old form and new: tests, mileages, and advisories that return."""

from __future__ import annotations

import json
import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from shutline.car.errors import BadInputError, Problem
from shutline.history.mileage import MileagePoint

NEW_RULES = date(2018, 5, 20)
"""From this day on defects are dangerous, major or minor; before it they are failures."""
YEARS = range(1885, 2200)
"""Years that a day of a car's life may be of: before the first of them there were no cars."""
_OLD_DAY = re.compile(r"(\d{4})\.(\d{2})\.(\d{2})(?: (\d{2}:\d{2}:\d{2}))?")
_SEVERITIES = ("DANGEROUS", "MAJOR", "MINOR", "FAIL", "PRS", "ADVISORY", "USER ENTERED")
_MOST_MILES = 9_999_999
_MANUAL = re.compile(r"\s*\((?:\d+[\w. ()]*)\)\s*$")


@dataclass(frozen=True, slots=True)
class MotDefect:
    """A defect or advice: its words, its severity as recorded, and whether it was called dangerous."""

    text: str
    severity: str
    dangerous: bool

    @property
    def about(self) -> str:
        """What it is about: the words without the manual's number at the end."""
        return _MANUAL.sub("", self.text).strip()


@dataclass(frozen=True, slots=True)
class MotTest:
    """One test. `mileage` is None where the odometer could not be read or there was none; `why` says which."""

    day: date
    passed: bool
    expires: date | None
    mileage: int | None
    unit: str
    why: str
    number: str
    defects: tuple[MotDefect, ...]
    mark: str = ""


@dataclass(frozen=True, slots=True)
class MotRecord:
    """The record of one car: its tests by day, the earliest first. `problems` are what could not be read of it."""

    mark: str
    make: str
    model: str
    first_used: date | None
    registered: date | None
    made: date | None
    tests: tuple[MotTest, ...]
    problems: tuple[Problem, ...] = ()

    def mileages(self) -> tuple[MileagePoint, ...]:
        """Give the readings of its odometer."""
        return tuple(
            MileagePoint(one.day, one.mileage, one.unit, "test") for one in self.tests if one.mileage is not None
        )

    def retests(self) -> tuple[tuple[MotTest, MotTest], ...]:
        """Give the tests within ten working days, taken as fourteen days, after one that failed, each with that one."""
        return tuple(
            (before, after)
            for before, after in zip(self.tests, self.tests[1:], strict=False)
            if not before.passed and (after.day - before.day).days <= 14
        )

    def returning(self) -> tuple[tuple[str, tuple[date, ...]], ...]:
        """Give what was noted at more than one test, near words taken as the same, with the days."""
        seen: dict[str, list[date]] = defaultdict(list)
        for test in self.tests:
            for about in dict.fromkeys(_plain(one.about) for one in test.defects):
                seen[about].append(test.day)
        return tuple((about, tuple(days)) for about, days in seen.items() if len(days) > 1)


def read_mot_history(data: bytes, *, name: str) -> tuple[MotRecord, ...]:
    """Read a file of test histories.

    Parameters
    ----------
    data : bytes
        JSON of the open test history, one car or a list; dates as ``2013.11.03`` or ISO 8601, defects as
        ``rfrAndComments`` or ``defects``, units in capitals or not.
    name : str
        How messages call the file.

    Raises
    ------
    BadInputError
        Slug ``mot-history``: it is no JSON, or holds no car. A test that cannot be read is told of beside the others.
    """
    try:
        raw = json.loads(data.decode("utf-8-sig"))
    except (UnicodeDecodeError, ValueError, RecursionError) as error:
        raise _bad(name, f"no JSON: {str(error)[:120]}", "the file as it was fetched", "Fetch it once more.") from None
    cars = raw if isinstance(raw, list) else [raw]
    found = [one for one in cars if isinstance(one, dict) and isinstance(one.get("registration"), str)]
    if not found:
        raise _bad(name, "no car with a registration", "a car, or a list of cars", "Look what the file holds.")
    return tuple(_record(one, name) for one in found)


def _record(raw: dict[str, Any], name: str) -> MotRecord:
    tests, problems = [], []
    listed = raw.get("motTests")
    for number, one in enumerate(listed if isinstance(listed, list) else [], 1):
        where = f"{name}, {raw['registration']}, test {number}"
        try:
            tests.append(_test(one))
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            problems.append(
                _bad(where, f"it cannot be read: {str(error)[:80]}", "date, result and mileage", "Left out.").problem
            )
    return MotRecord(
        mark=raw["registration"].replace(" ", "").upper(),
        make=_text(raw.get("make")),
        model=_text(raw.get("model")),
        first_used=_day(raw.get("firstUsedDate")),
        registered=_day(raw.get("registrationDate")),
        made=_day(raw.get("manufactureDate")),
        tests=tuple(sorted(tests, key=lambda one: (one.day, one.number))),
        problems=tuple(problems),
    )


def _test(raw: dict[str, Any]) -> MotTest:
    day = _day(raw["completedDate"])
    if day is None:
        raise ValueError(f"completedDate {raw['completedDate']!r}")
    result = raw["testResult"].upper()
    if result not in {"PASSED", "FAILED"}:
        raise ValueError(f"testResult {result!r}")
    kind = _text(raw.get("odometerResultType")) or "READ"
    value = raw.get("odometerValue")
    mileage = int(value) if kind == "READ" and value not in (None, "") else None
    if mileage is not None and not 0 <= mileage <= _MOST_MILES:
        raise ValueError(f"odometerValue {str(value)[:20]!r}")
    unit = _text(raw.get("odometerUnit")).lower() or "mi"
    if unit not in {"mi", "km"}:
        raise ValueError(f"odometerUnit {unit!r}")
    listed = raw.get("defects", raw.get("rfrAndComments")) or []
    return MotTest(
        day=day,
        passed=result == "PASSED",
        expires=_day(raw.get("expiryDate")),
        mileage=mileage,
        unit=unit,
        why={"READ": "", "UNREADABLE": "it could not be read", "NO_ODOMETER": "there was none"}.get(kind, kind.lower()),
        number=_text(raw.get("motTestNumber")),
        defects=tuple(_defect(one, day) for one in listed),
        mark=_text(raw.get("registrationAtTimeOfTest")),
    )


def _defect(raw: dict[str, Any], day: date) -> MotDefect:
    severity = raw["type"].upper()
    if severity not in _SEVERITIES:
        raise ValueError(f"type {severity!r}")
    # The flag means something before the new rules alone; since then the severity says it.
    dangerous = bool(raw.get("dangerous")) if day < NEW_RULES else severity == "DANGEROUS"
    return MotDefect(_text(raw["text"]), severity, dangerous)


def _day(value: object) -> date | None:
    if not isinstance(value, str) or not value.strip():
        return None
    try:
        found = _OLD_DAY.fullmatch(value.strip())
        day = (
            date(int(found[1]), int(found[2]), int(found[3])) if found else datetime.fromisoformat(value.strip()).date()
        )
    except ValueError:
        return None
    return day if day.year in YEARS else None


def _text(value: object) -> str:
    return " ".join(str(value).split()) if value is not None else ""


def _plain(text: str) -> str:
    return " ".join(re.findall(r"[a-z0-9]+", text.lower()))


def trend_words(about: str, days: Sequence[date]) -> str:
    """Say what returns: 'corrosion noted near rear: 2016, 2018, 2021'."""
    return f"{about}: {', '.join(str(year) for year in dict.fromkeys(day.year for day in days))}"


def _bad(where: str, found: str, allowed: str, advice: str) -> BadInputError:
    return BadInputError(Problem(slug="mot-history", where=where, found=found, allowed=allowed, advice=advice))
