"""The check: every claim of a text with its verdict, and beside it what it stands on or what speaks against it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from shutline.car.findings import Found
from shutline.car.vocabulary import vocabulary
from shutline.claims.claimed import LONGEST, claimed
from shutline.claims.record import Record
from shutline.claims.relations import relations
from shutline.claims.sayings import Saying
from shutline.claims.verdict import Judged, Verdict, judge
from shutline.claims.written_data import WrittenWords
from shutline.survey.coverage import Coverage


@dataclass(frozen=True, slots=True)
class Claim:
    """One claim of a text.

    `not_looked_at` are, for a claim about the whole car or a whole region, the parts in it that the survey asks for and
    that have no footing: silence that the claim speaks over.
    """

    saying: Saying
    judged: Judged
    not_looked_at: tuple[str, ...] = ()

    @property
    def verdict(self) -> Verdict:
        """Backed, at odds, or unbacked."""
        return self.judged.verdict


@dataclass(frozen=True, slots=True)
class Checked:
    """A text that was checked: its claims in the order of the words, and how many letters were left unread."""

    text: str
    claims: tuple[Claim, ...]
    unread: int = 0

    def count(self, verdict: Verdict) -> int:
        """Count the claims with a verdict."""
        return Counter(claim.verdict for claim in self.claims)[verdict]


def check(text: str, on: Record, *, looked_at: Coverage | None = None, words: WrittenWords | None = None) -> Checked:
    """Hold a text against what is known of a car.

    Parameters
    ----------
    text : str
        Any words about the car. They are data: nothing in them is done.
    on : Record
        What is known, from `record_of`.
    looked_at : Coverage, optional
        The car file held against its guide; without it no claim names what was never looked at.
    words : WrittenWords, optional
        The phrases to look for.

    Returns
    -------
    Checked
        The same text over the same record always gives the same. No text makes it raise.
    """
    open_parts = () if looked_at is None else tuple(dict.fromkeys(one.asked.check.part for one in looked_at.open))
    claims = tuple(
        Claim(saying, judge(saying, on), _silent(saying, open_parts))
        for saying in claimed(text, drive=on.drive, words=words)
    )
    return Checked(text, claims, max(0, len(text) - LONGEST))


def is_broad(saying: Saying) -> bool:
    """Tell whether a saying is about the whole car or a whole region of it."""
    return saying.spot is not None and saying.spot.part in relations().whole


def _silent(saying: Saying, open_parts: Sequence[str]) -> tuple[str, ...]:
    if (
        not is_broad(saying)
        or saying.spot is None
        or (vocabulary().is_defect(saying.condition) and saying.found is not Found.NO)
    ):
        return ()
    wide = relations().whole[saying.spot.part]
    return tuple(part for part in open_parts if part in wide or part == saying.spot.part)
