"""On which side words say that something is, of whatever part: 'cracked at its offside end' of a bumper.

A part that there is one of has no side in the car file; the words of a remark may tell one all the same.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache

from shutline.car.findings import Drive, Side
from shutline.claims.record import Known
from shutline.claims.relations import relations
from shutline.claims.sayings import Saying
from shutline.claims.written_data import any_of

_ONE_SIDE = (Side.NEAR, Side.OFF)
_GOES_ON = "and|but|is|has|was|are|at|by|near|of the car"
"""Behind 'the right' these go on with a sentence; 'the right colour' is no side."""


def told_apart(saying: Saying, known: Known, drive: Drive) -> bool:
    """Tell whether a statement is of one side, and what is known of the other, by the words where no side is kept.

    Examples
    --------
    >>> sides_told("cracked at its offside end", Drive.RHD)
    frozenset({<Side.OFF: 'off'>})
    >>> sides_told("right through, on the driver's side", Drive.LHD)
    frozenset({<Side.NEAR: 'near'>})
    """
    assert saying.spot is not None  # noqa: S101 - facts lie nowhere
    if saying.spot.side is not None and known.finding.side is not None:
        return False
    said = " ".join(footing.quote for footing in known.finding.footings)
    claimed, other = _side(saying.spot.side, saying.quote, drive), _side(known.finding.side, said, drive)
    return {claimed, other} == set(_ONE_SIDE)


def _side(kept: Side | None, words: str, drive: Drive) -> Side | None:
    """Give the one side that is kept, or else told in words."""
    if kept is not None:
        return kept if kept in _ONE_SIDE else None
    told = sides_told(words, drive)
    return next(iter(told)) if len(told) == 1 else None


@lru_cache(maxsize=4096)
def sides_told(words: str, drive: Drive) -> frozenset[Side]:
    """Give the sides that words tell, near or off."""
    drivers = Side.OFF if drive is Drive.RHD else Side.NEAR
    others = Side.NEAR if drive is Drive.RHD else Side.OFF
    sides = {"near": Side.NEAR, "off": Side.OFF, "passenger": others, "driver": drivers}
    return frozenset(sides[name] for name in (m.lastgroup for m in _pattern().finditer(words)) if name)


@cache
def _pattern() -> re.Pattern[str]:
    told = relations().told_sides
    plain = "|".join(rf"(?P<{name}>\b{any_of(told[name])}(?!\w)" + ")" for name in ("passenger", "driver"))
    near, off = (
        rf"(?P<{name}>\b{any_of(told[name])}(?!\w)|\b{word}[ -]{any_of(told['hands'])}\b"
        rf"|\b{any_of(told['leading'])} {word}\b(?=\W*$|[.,;:)]| (?:{_GOES_ON})\b))"
        for name, word in (("near", "left"), ("off", "right"))
    )
    return re.compile(f"{near}|{off}|{plain}", re.IGNORECASE)
