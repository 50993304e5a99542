"""What does not add up in a car's history: each with its rule, where that is from, and whom to ask."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache

from shutline.history.tables import text_of


@dataclass(frozen=True, slots=True)
class Doubt:
    """Something that does not add up.

    `id` names its rule. `sentence` tells it with its values, `plain` without any mark, number or name. `stands_on`
    says where the values are from, `source` where the rule is; `ask` what to do.
    """

    id: str
    sentence: str
    plain: str
    rule: str
    source: str
    stands_on: str
    ask: str


def doubt(id_: str, sentence: str, *, stands_on: str = "") -> Doubt:
    """Make a doubt by its rule; raises KeyError for one that is not in ``data/doubts.toml``."""
    rule = _rules()[id_]
    return Doubt(id_, sentence, rule["plain"], rule["rule"], rule["source"], stands_on, rule["ask"])


@cache
def _rules() -> dict[str, dict[str, str]]:
    return tomllib.loads(text_of("doubts.toml"))
