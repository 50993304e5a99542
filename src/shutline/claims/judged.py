"""What came of holding a claim against the file: a verdict, what it stands on, and why there is none."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from shutline.claims.record import Known, KnownFact


class Verdict(StrEnum):
    """What the file makes of a claim."""

    BACKED = "backed"
    AT_ODDS = "at odds"
    UNBACKED = "unbacked"


class Doubt(StrEnum):
    """Why a claim is neither backed nor at odds."""

    SILENT = "nothing is known of it"
    OTHER_MATTER = "the part was spoken of, and not this"
    ONE_OF_SEVERAL = "known of one side or end, and claimed of more"
    UNSURE = "it was left open"
    PUT_RIGHT = "it was so, and was put right since"
    NOT_SURE = "it is not sure what the words come to beside what is known"
    NOT_NAMED = "it is stated of something that a car file has no name for"


@dataclass(frozen=True, slots=True)
class Judged:
    """What was found: the verdict, the findings or facts it stands on, and for an unbacked claim how much is silent.

    `known` are the findings that back it, or speak against it, or that left it open, the nearest first.
    """

    verdict: Verdict
    known: tuple[Known, ...] = ()
    facts: tuple[KnownFact, ...] = ()
    doubt: Doubt | None = None
