"""Faults that weigh so much that no description, however short, is without them."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from shutline.car.carfile import KeptFinding
from shutline.car.findings import Finding, Severity
from shutline.survey import Coverage
from shutline.words.checks import shipped_text
from shutline.words.choice import is_fault, is_good


@dataclass(frozen=True, slots=True)
class _Rules:
    anywhere: frozenset[str]
    of_safety: frozenset[str]
    in_a_line: int


def grave_ids(kept: Iterable[KeptFinding], found: Coverage) -> frozenset[str]:
    """Give the ids of the faults that weigh so much.

    These are what was called severe, a hole wherever it is, and of a part that the guides mark as a matter of safety
    what was not called slight: 'the brakes do not work', not 'the headlights are dirty'.
    """
    safety = frozenset(one.asked.check.part for one in found.checks if one.asked.check.safety)
    return frozenset(one.id for one in kept if not is_good(one.finding) and _is_grave(one.finding, safety))


def most_in_a_line() -> int:
    """Give how many of them a line names."""
    return _rules().in_a_line


def _is_grave(finding: Finding, safety: frozenset[str]) -> bool:
    if finding.severity is Severity.SEVERE or finding.condition in _rules().anywhere:
        return True
    unsafe = finding.part in safety and finding.condition in _rules().of_safety
    return unsafe and is_fault(finding) and finding.severity is not Severity.SLIGHT


@cache
def _rules() -> _Rules:
    raw = tomllib.loads(shipped_text("grave.toml"))
    return _Rules(frozenset(raw["anywhere"]), frozenset(raw["of_safety"]), raw["in_a_line"])
