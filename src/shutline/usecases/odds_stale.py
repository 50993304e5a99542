"""An answer to statements at odds that came too late, with both versions; and answers in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.errors import Problem, UserError
from shutline.car.odds import OddsAnswer
from shutline.usecases.odds import OddsCase, PastCase

if TYPE_CHECKING:
    from shutline.car.odds import OddsDecision


@dataclass(frozen=True, slots=True)
class OddsWanted:
    """An answer that came too late, as it was given."""

    odds: str
    holds: str
    reason: str


class OddsStaleError(UserError):
    """An answer was given to a case whose statements, or whose answers, have changed since it was looked at.

    `present` is the case as it is now, None where its statements are at odds no more; `wanted` the answer that was
    given, and `said` both in words. `expected_version` counts the answers that were seen. Nothing was decided.
    """

    def __init__(self, car: str, present: OddsCase | PastCase | None, wanted: OddsWanted, seen: int) -> None:
        super().__init__(
            Problem(
                slug="odds-changed",
                where=f"{car}, case {wanted.odds}",
                found=_since(present),
                allowed="an answer to what stands now; nothing was decided",
                advice="Look at the case again.",
            )
        )
        self.present = present
        self.wanted = wanted
        self.expected_version = seen
        self.said = {"present": _present_words(present), "wanted": _wanted_words(present, wanted)}


def answer_words(decision: OddsDecision, holds: int | None, sides: int = 2) -> str:
    """Say what was decided of so many sides: ``number 2 stands, because …``."""
    said = {
        OddsAnswer.ONE: f"number {holds} stands" if holds else "one stands",
        OddsAnswer.ALL: "both can stand" if sides == 2 else "all can stand",
        OddsAnswer.NONE: "neither stands" if sides == 2 else "none stands",
        OddsAnswer.OPEN: "taken back",
    }[decision.answer]
    return f"{said}, because {decision.reason}" if decision.reason else said


def holds_number(case: OddsCase, decision: OddsDecision) -> int | None:
    """Give the number of the side that an answer says holds; None where none or all do, or it is none of them now."""
    names = case.odds.side_names
    return names.index(decision.holds) + 1 if decision.holds in names else None


def _since(present: OddsCase | PastCase | None) -> str:
    if isinstance(present, PastCase):
        return f"{present.decisions[-1].author} has answered since it was looked at, and it is at odds no more"
    if present is None:
        return "its statements were changed since they were looked at, and are at odds no more"
    return "its statements were changed, or somebody has answered, since it was looked at"


def _present_words(present: OddsCase | PastCase | None) -> str:
    if present is None:
        return "at odds no more"
    told = " / ".join(present.told if isinstance(present, PastCase) else present.words)
    if not present.decisions:
        return f"{told}: open"
    last = present.decisions[-1]
    number = present.holds if isinstance(present, PastCase) else holds_number(present, last)
    sides = len(present.told if isinstance(present, PastCase) else present.words)
    return f"{told}: {answer_words(last, number, sides)} ({last.author})"


def _wanted_words(present: OddsCase | PastCase | None, wanted: OddsWanted) -> str:
    told = () if present is None else present.told if isinstance(present, PastCase) else present.words
    number = int(wanted.holds) if wanted.holds.isascii() and wanted.holds.isdigit() and len(wanted.holds) < 4 else 0
    two = len(told) == 2
    named = {
        "all": "both can stand" if two else "all can stand",
        "none": "neither stands" if two else "none stands",
        "open": "take the last answer back",
    }
    said = told[number - 1] if 0 < number <= len(told) else named.get(wanted.holds, f"number {wanted.holds[:9]}")
    stands = f"{said} stands" if number else said
    return f"{stands}, because {wanted.reason}" if wanted.reason else stands
