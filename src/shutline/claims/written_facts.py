"""The facts that a written text tells: every value it gives, each where it stands."""

from __future__ import annotations

import re
from collections.abc import Sequence

from shutline.car.findings import Fact
from shutline.claims.lines import Sentence
from shutline.claims.sayings import Saying
from shutline.remarks.facts import candidates
from shutline.remarks.tokens import tokens

LEAST = 0.3
"""Sureness from which a fact is a claim; lower than in speech, for a text has no asides and no second thoughts."""

OPENING = 160
"""Letters in which an advertisement names its car."""
YEAR_SURENESS = 0.9
"""Set, not counted: the form is that of advertisements, which the counts are not of."""
_YEAR_AND_NAME = re.compile(r"(?<![\d,.])(?:19\d\d|20[0-2]\d)(?= [A-Z])")


def fact_sayings(text: str, parts: Sequence[Sentence]) -> tuple[Saying, ...]:
    """Give the facts told in a text, in the order of the words; the surest where two are read from the same words."""
    read = tokens([sentence.stretch() for sentence in parts])
    found = sorted(candidates(read), key=lambda f: -f.sureness)
    taken: list[tuple[int, int, Saying]] = []
    for fact in found:
        if fact.sureness < LEAST or any(fact.first < end and first < fact.end for first, end, _ in taken):
            continue
        first = int(read.starts[read.word[fact.first]])
        end = int(read.ends[read.word[fact.end - 1]])
        quote = text[first:end].rstrip(" .,;:!?")
        told = Fact(fact.name, fact.value, fact.unit, sureness=fact.sureness)
        taken.append((fact.first, fact.end, Saying(first, first + len(quote), quote, fact=told)))
    out = [saying for _, _, saying in sorted(taken, key=lambda row: row[0])]
    if not any(saying.fact is not None and saying.fact.name == "year" for saying in out):
        out += _opening_year(text, out)
    return tuple(sorted(out, key=lambda saying: saying.first))


def _opening_year(text: str, told: Sequence[Saying]) -> list[Saying]:
    """Read a year before a name in the first words: '1986 Ostrell Lido, finished in white'."""
    found = _YEAR_AND_NAME.search(text[:OPENING])
    if found is None or any(saying.first < found.end() and found.start() < saying.end for saying in told):
        return []
    fact = Fact("year", int(found.group()), sureness=YEAR_SURENESS)
    return [Saying(found.start(), found.end(), found.group(), fact=fact)]
