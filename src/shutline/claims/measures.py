"""Figures with a unit that words tell: praise of a battery does not bear out that it goes ninety miles."""

from __future__ import annotations

import re
from functools import cache, lru_cache

from shutline.car.findings import FootingKind
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.claims.judged import Doubt, Judged, Verdict
from shutline.claims.record import Record
from shutline.claims.relations import relations
from shutline.claims.sayings import Saying
from shutline.remarks.numbers import numbers
from shutline.remarks.tokens import tokens


@lru_cache(maxsize=4096)
def measured(words: str) -> frozenset[float]:
    """Give the figures that stand before a unit.

    >>> sorted(measured("about ninety miles to a charge, and 6mm of tread on two tyres"))
    [6.0, 90.0]
    """
    out = {float(found[1].replace(",", "")) for found in _figures().finditer(words)}
    text = tokens([stretch_of(words, 0.0, 1.0, origin=StretchOrigin.TRANSCRIPT)])
    units = relations().units
    out |= {float(one.value) for one in numbers(text) if units.intersection(text.norm[one.end : one.end + 1])}
    return frozenset(out)


@lru_cache(maxsize=4096)
def _all_numbers(words: str) -> frozenset[float]:
    text = tokens([stretch_of(words, 0.0, 1.0, origin=StretchOrigin.TRANSCRIPT)])
    return frozenset(float(one.value) for one in numbers(text))


@cache
def _figures() -> re.Pattern[str]:
    units = "|".join(sorted(map(re.escape, relations().units), key=len, reverse=True))
    return re.compile(rf"(?<![\d.,])(\d[\d,]*(?:\.\d+)?)[ \u00a0-]?(?:{units})\b", re.IGNORECASE)


def as_measured(saying: Saying, judged: Judged, on: Record) -> Judged:
    """Take the backing from words that tell a figure which nothing that backs them, and no fact of the car, has.

    What was measured, read off a picture or found in a paper keeps it: its figure stands in no words.
    """
    told = (
        measured(saying.quote) if judged.verdict is Verdict.BACKED and saying.spot is not None else frozenset[float]()
    )
    footings = [footing for one in judged.known for footing in one.finding.footings]
    if not told or any(footing.kind is not FootingKind.SAID for footing in footings):
        return judged
    known = {value for footing in footings for value in _all_numbers(footing.quote)}
    facts = (one.fact for rows in on.facts.values() for one in rows)
    known |= {float(fact.value) for fact in facts if fact.unit is not None and isinstance(fact.value, int | float)}
    return judged if told <= known else Judged(Verdict.UNBACKED, judged.known, doubt=Doubt.NOT_SURE)
