"""Moments, lengths, days and sizes in words."""

from __future__ import annotations

import math
import re
from datetime import UTC, date, datetime

from shutline.car.errors import Problem, UserError

_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
_ISO_DAY = re.compile(r"(?<![\w-])\d{4}-\d{2}-\d{2}(?![\w-])")


def moment(seconds: float) -> str:
    """Write a moment of a recording as ``m:ss``, or ``h:mm:ss`` from an hour on.

    >>> moment(83.9), moment(3725)
    ('1:23', '1:02:05')
    """
    whole = max(int(seconds), 0) if math.isfinite(seconds) else 0
    minutes, left = divmod(whole, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02d}:{left:02d}" if hours else f"{minutes}:{left:02d}"


def day(text: str) -> str:
    """Write an ISO date, month or year as people do; anything else is given back as it is.

    >>> day("2026-03"), day("2026-05-09"), day("soon")
    ('March 2026', '9 May 2026', 'soon')
    """
    try:
        if len(text) == len("2026-03"):
            year, month = text.split("-")
            return f"{_MONTHS[int(month) - 1]} {int(year)}" if int(month) else text
        found = date.fromisoformat(text[: len("2026-03-01")]) if len(text) >= len("2026-03-01") else None
    except (ValueError, IndexError):
        return text
    return f"{found.day} {_MONTHS[found.month - 1]} {found.year}" if found else text


def plain_days(text: str) -> str:
    """Write the ISO dates in a text as people do.

    >>> plain_days("63,418 mi on 2026-11-27; paper of 2019-13-02")
    '63,418 mi on 27 November 2026; paper of 2019-13-02'
    """
    return _ISO_DAY.sub(lambda found: day(found[0]), text)


def instant(text: str) -> datetime:
    """Read the time at which a report is made; without an offset it is UTC.

    Raises
    ------
    UserError
        It is not ISO 8601.
    """
    try:
        found = datetime.fromisoformat(text)
    except ValueError as error:
        problem = Problem(
            "made-at-not-a-time", "made_at", f"'{text}'", "ISO 8601, as 2026-11-25T10:00:00+00:00", "Give such a time."
        )
        raise UserError(problem) from error
    return found if found.tzinfo else found.replace(tzinfo=UTC)


def size(byte_size: int) -> str:
    """Write the size of a file in decimal units.

    >>> size(999), size(7_340_000)
    ('999 bytes', '7.3 MB')
    """
    for unit, worth in (("GB", 10**9), ("MB", 10**6), ("kB", 10**3)):
        if byte_size >= worth:
            return f"{byte_size / worth:,.1f} {unit}"
    return f"{byte_size} bytes"


def ranges(numbers: list[int]) -> str:
    """Write numbers closed up: ``1-3, 5`` with an en rule.

    >>> ranges([5, 1, 2, 3])
    '1\N{EN DASH}3, 5'
    """
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(
        str(run[0]) if len(run) == 1 else f"{run[0]}{', ' if len(run) == 2 else chr(0x2013)}{run[-1]}" for run in runs
    )
