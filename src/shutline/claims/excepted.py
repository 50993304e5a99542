"""What a sentence leaves out of its own claim: 'no rust, bar one blister on the arch'."""

from __future__ import annotations

import re
from collections.abc import Iterable

from shutline.claims.record import Known
from shutline.claims.relations import relations
from shutline.remarks.tokens import phrase_tokens, structure_words

_WORD = re.compile(r"[a-z']+")


def excepted(rest: str, against: Iterable[Known]) -> set[Known]:
    """Give the findings that the rest of a sentence names as exceptions.

    Parameters
    ----------
    rest : str
        The words of the sentence behind the claim.
    against : iterable of Known
        What speaks against the claim.

    Returns
    -------
    set of Known
        Those of which the exception says something: it shares a word of its own with their quotes.
    """
    named = {stem for _, stem in phrase_tokens(_exception(rest))} - structure_words()
    if not named:
        return set()
    return {
        known
        for known in against
        if named & {stem for footing in known.finding.footings for _, stem in phrase_tokens(footing.quote)}
    }


def _exception(rest: str) -> str:
    """Give the words from the first that brings in an exception."""
    tables, lower = relations(), rest.casefold()
    places = [m.start() for m in _WORD.finditer(lower) if m.group() in tables.exceptions]
    places += [lower.find(phrase) for phrase in tables.exception_phrases if phrase in lower]
    return rest[min(places) :] if places else ""
