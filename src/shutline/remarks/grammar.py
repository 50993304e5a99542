"""The small words that show how things hang together, as the data has them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from tomllib import loads


@dataclass(frozen=True, slots=True)
class Grammar:
    """Sets of small words; what each is for stands in the file."""

    determiners: frozenset[str]
    links: frozenset[str]
    leads: frozenset[str]
    moving: frozenset[str]
    comparing: frozenset[str]
    auxiliaries: frozenset[str]
    persons: frozenset[str]
    side_before: frozenset[str]
    side_after: frozenset[str]
    side_alone: frozenset[str]
    steps: frozenset[str]
    counting: frozenset[str]
    anywhere: frozenset[str]
    alone: frozenset[str]
    wholes: frozenset[str]
    between: frozenset[str]
    within: frozenset[str]
    placed: frozenset[str]
    after: frozenset[str]
    front_ones: frozenset[str]
    sits_in_front: frozenset[str]


@cache
def grammar() -> Grammar:
    """Read the shipped sets once."""
    raw = loads(files("shutline.remarks").joinpath("data/grammar.toml").read_text(encoding="utf-8"))
    return Grammar(**{name: frozenset(words) for name, words in raw.items()})
