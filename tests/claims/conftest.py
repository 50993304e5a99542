"""Cars for the tests of the check and the answers: a few findings each, said at known moments."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from shutline.car.findings import (
    Fact,
    Finding,
    Footing,
    FootingKind,
    Found,
    Position,
    Severity,
    Side,
)
from shutline.claims.record import Record, record


def finding(line: str, number: int) -> Finding:
    """Make a finding of 'part[:side][:position] condition found [severity] [# words]'.

    It is said at ten seconds times its number; without words, in those of the line itself.
    """
    line, _, words = line.partition(" # ")
    head, condition, found, *rest = line.split()
    part, *places = head.split(":")
    side = next((Side(p) for p in places if p in ("near", "off", "both")), None)
    position = next((Position(p) for p in places if p in ("front", "rear")), None)
    footing = Footing(FootingKind.SAID, "walk", 10.0 * number, 10.0 * number + 2, words or line)
    severity = Severity(rest[0]) if rest else None
    return Finding(part, condition, Found(found), side, position, severity, footings=(footing,))


@pytest.fixture
def known() -> Callable[..., Record]:
    """Make a record of lines for findings, and of facts by name."""

    def made(*lines: str, **facts: int | str | bool) -> Record:
        said = Footing(FootingKind.SAID, "walk", 1.0, 2.0, "as told")
        return record(
            ((f"f{number}", finding(line, number)) for number, line in enumerate(lines, start=1)),
            ((name, Fact(name, value, "mi" if name == "odometer" else None, (said,))) for name, value in facts.items()),
        )

    return made
