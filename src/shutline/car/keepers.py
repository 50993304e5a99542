"""How a number of keepers was counted: with the present one, or those before."""

from __future__ import annotations

from shutline.car.findings import Fact

_BEFORE = "before"
"""Ends the name of the rules that count keepers before the present one."""


def keepers_before(fact: Fact) -> bool:
    """Tell whether a number of keepers counts those before the present one only: 'two owners before me'."""
    return any(rule.endswith(_BEFORE) for footing in fact.footings for rule in footing.rules)
