"""A finding in the few words that a list has room for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shutline.car.findings import Found
from shutline.car.vocabulary import vocabulary
from shutline.publish.wording import condition_words

if TYPE_CHECKING:
    from shutline.car.findings import Finding
    from shutline.car.second import SecondView


def statement(finding: Finding | SecondView) -> str:
    """Say what a finding says: 'rust, slight, to treat', 'no dent', 'not worn', 'unsure: filler'."""
    condition = vocabulary().conditions[finding.condition]
    words = condition.label
    if finding.found is Found.NO:
        short = condition_words()[finding.condition, Found.NO][0].lower()
        words = f"no {words}" if short.startswith(f"no {words}") else short
    elif finding.found is Found.UNSURE:
        words = f"unsure: {words}"
    if finding.severity:
        words += f", {finding.severity}"
    if finding.remedy:
        words += f", to {finding.remedy}"
    return words
