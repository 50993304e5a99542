"""What a person decided where statements of one car file cannot all be true."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class OddsAnswer(StrEnum):
    """What a person says of statements that are at odds."""

    ONE = "one holds"
    """One of them is so, and the others are not."""
    ALL = "all hold"
    """They can all be true after all; the reason says how."""
    NONE = "none holds"
    """None of them is so."""
    OPEN = "open again"
    """An earlier answer is taken back."""


@dataclass(frozen=True, slots=True)
class OddsDecision:
    """One answer to one case of statements at odds.

    `odds` is the id of the case, which the same statements always get. `holds` is the id of the statement that holds,
    empty unless `answer` is `OddsAnswer.ONE`. `reason` is the person's own words. `mark` changes with what the
    statements say: an answer given under another mark was given to something else. `told` is what they said then, in
    words, each with where it stands. `struck` are the statements that were struck with the answer. `at` is ISO 8601
    in UTC.
    """

    odds: str
    answer: OddsAnswer
    reason: str
    author: str
    at: str
    mark: str
    told: tuple[str, ...]
    holds: str = ""
    struck: tuple[str, ...] = ()
