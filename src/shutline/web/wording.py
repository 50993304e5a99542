"""Moments, days and findings in words for the pages."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shutline.car.findings import Finding


def moment(seconds: float | None) -> str:
    """Give a moment of a film as ``m:ss`` or ``h:mm:ss``; nothing where there is none.

    >>> moment(65.9), moment(3_725), moment(None)
    ('1:05', '1:02:05', '')
    """
    if seconds is None:
        return ""
    whole = int(seconds)
    hours, rest = divmod(whole, 3600)
    return f"{hours}:{rest // 60:02d}:{rest % 60:02d}" if hours else f"{rest // 60}:{rest % 60:02d}"


def day(at: str) -> str:
    """Give the day of a time in ISO 8601 as it is written on paper.

    >>> day("2026-03-01T09:00:00.000Z")
    '1 March 2026'
    """
    there = datetime.fromisoformat(at)
    return f"{there.day} {there:%B %Y}"


def when(at: str) -> str:
    """Give a time in ISO 8601 as day and minute, by this machine's own clock."""
    there = datetime.fromisoformat(at).astimezone()
    return f"{there.day} {there:%B %Y, %H:%M}"


def said(finding: Finding) -> str:
    """Give a finding as one short line: place and statement."""
    from shutline.publish.naming import place_name
    from shutline.publish.statement import statement

    return f"{place_name(finding.part, finding.side, finding.position)}: {statement(finding)}"
