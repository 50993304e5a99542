"""The facts that a written text tells: every value it gives, each where it stands."""

from __future__ import annotations

import re
from collections.abc import Sequence

from shutline.car.findings import Fact
from shutline.claims.advert_forms import advert_forms
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
_NEAR = 24
"""Letters beside a number that are looked at."""
_CALL = re.compile(
    r"\b(?:tel|telephone|phone|call|ring|mobile|mob|text|whatsapp|fax|t|m)\b[\w .:,()+'/-]*$", re.IGNORECASE
)
_FIGURES_BEFORE = re.compile(r"(?:\b0\d{2,5}|\+\d{2,4}(?: \d{2,5})?|\(0\d+\))[ ()/-]*$")
_FIGURES_BEHIND = re.compile(r" ?\d{2,}\b(?! *(?:cc|miles|mls|km|kms))")
_UNIT = re.compile(r"\s*(?:miles?|mls|mi|kms?|kilomet|k)\b", re.IGNORECASE)
_DONE_AT = re.compile(
    r"\b(?:stamp\w*|servic\w+|done|changed|replaced|renewed|fitted|rebuilt|belt|clutch)\s+(?:up\s+)?(?:to|until|at)\s+$",
    re.IGNORECASE,
)
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
    out = [saying for saying in out if not _no_mileage(text, saying)]
    out += _of_forms(text, out)
    if not any(saying.fact is not None and saying.fact.name == "year" for saying in out):
        out += _opening_year(text, out)
    return tuple(sorted(out, key=lambda saying: saying.first))


def _no_mileage(text: str, saying: Saying) -> bool:
    """Tell whether a mileage is none: a telephone number, or the mileage at which something was done.

    A number is led by one, or by 'tel', or has one more run of figures beside it.
    """
    if saying.fact is None or saying.fact.name != "odometer":
        return False
    before, after = text[max(0, saying.first - _NEAR) : saying.first], text[saying.end : saying.end + _NEAR]
    if _DONE_AT.search(before):
        return True
    if _UNIT.match(after):
        return False
    return bool(
        _CALL.search(before)
        or _FIGURES_BEFORE.search(before)
        or _FIGURES_BEHIND.match(after)
        or saying.quote.lstrip("+(").startswith("0")
    )


def _of_forms(text: str, told: Sequence[Saying]) -> list[Saying]:
    """Read the forms of advertisements that speech has not: '2.0', '1300', '5 spd', '86 Garrow'."""
    out: list[Saying] = []
    for form in advert_forms():
        if any(s.fact is not None and s.fact.name == form.fact for s in (*told, *out)):
            continue
        for found in form.pattern.finditer(text, 0, OPENING if form.opening else len(text)):
            first, end = found.span(1)
            if any(s.first < end and first < s.end for s in (*told, *out)):
                continue
            value = form.value(found.group(1))
            if value is not None:
                fact = Fact(form.fact, value, sureness=YEAR_SURENESS)
                out.append(Saying(first, end, text[first:end], fact=fact))
                break
    return out


def _opening_year(text: str, told: Sequence[Saying]) -> list[Saying]:
    """Read a year before a name in the first words: '1986 Ostrell Lido, finished in white'."""
    found = _YEAR_AND_NAME.search(text[:OPENING])
    if found is None or any(saying.first < found.end() and found.start() < saying.end for saying in told):
        return []
    fact = Fact("year", int(found.group()), sureness=YEAR_SURENESS)
    return [Saying(found.start(), found.end(), found.group(), fact=fact)]
