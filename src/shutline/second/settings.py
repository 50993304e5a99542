"""Settings of the second reader, read from its data folder."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True, slots=True)
class PieceSettings:
    """In what sizes words are sent; all are counts of words."""

    words: int
    before: int
    after: int
    longest_line: int


@dataclass(frozen=True, slots=True)
class Limits:
    """How long and how often a service is asked, and how much it may say.

    Seconds, bytes, counts; quotes in letters and digits.
    """

    connect_s: float
    answer_s: float
    answer_bytes: int
    tries: int
    wait_s: float
    longest_wait_s: float
    failures_in_a_row: int
    statements: int
    shortest_quote: int
    longest_quote: int


@dataclass(frozen=True, slots=True)
class CompareSettings:
    """What is near, seconds, and what an agreement weighs: a factor of odds, and a probability it never passes."""

    near_s: float
    agreement_odds: float
    highest_sureness: float


@dataclass(frozen=True, slots=True)
class SecondSettings:
    """All of them."""

    pieces: PieceSettings
    limits: Limits
    compare: CompareSettings


@cache
def settings() -> SecondSettings:
    """Read the shipped settings once; raises TypeError for an unknown or a missing entry."""
    raw = tomllib.loads(files("shutline.second").joinpath("data/settings.toml").read_text(encoding="utf-8"))
    return SecondSettings(
        pieces=PieceSettings(**raw.pop("pieces")),
        limits=Limits(**raw.pop("limits")),
        compare=CompareSettings(**raw.pop("compare")),
        **raw,
    )


@cache
def kindred() -> dict[str, frozenset[str]]:
    """Give, for each condition, those that are news of the same thing, itself among them.

    Raises
    ------
    ValueError
        A family names a condition that is not in the vocabulary.
    """
    from shutline.car.vocabulary import vocabulary

    raw = tomllib.loads(files("shutline.second").joinpath("data/kindred.toml").read_text(encoding="utf-8"))
    known = vocabulary().conditions
    kin: dict[str, set[str]] = {condition: {condition} for condition in known}
    for family in raw["family"]:
        for condition in family["conditions"]:
            if condition not in known:
                raise ValueError(f"data/kindred.toml, family {family['id']!r}: {condition!r} is no condition")
            kin[condition] |= set(family["conditions"])
    return {condition: frozenset(others) for condition, others in kin.items()}
