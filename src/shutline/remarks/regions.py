"""Where each part lies on the car, as the data has it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from tomllib import loads

from shutline.car.vocabulary import vocabulary


@dataclass(frozen=True, slots=True)
class Regions:
    """Region and end of each part; the parts whose naming says they are there; the group of each part."""

    region: dict[str, str]
    end: dict[str, str]
    named_is_present: frozenset[str]
    group: dict[str, str]
    sided: frozenset[str]
    ended: frozenset[str]
    defects: frozenset[str]
    unnamed_region: dict[str, list[str]]
    unnamed_condition: dict[str, list[str]]


@cache
def regions() -> Regions:
    """Read the shipped table once."""
    raw = loads(files("shutline.remarks").joinpath("data/walk.toml").read_text(encoding="utf-8"))
    words = vocabulary()
    return Regions(
        region={part: name for name, parts in raw["regions"].items() for part in parts},
        end=raw["ends"],
        named_is_present=frozenset(raw["named_is_present"]),
        group={part.id: part.group for part in words.parts.values()},
        sided=frozenset(p.id for p in words.parts.values() if p.sided),
        ended=frozenset(p.id for p in words.parts.values() if p.ended),
        defects=frozenset(c.id for c in words.conditions.values() if c.defect),
        unnamed_region=raw["unnamed"]["region"],
        unnamed_condition=raw["unnamed"]["condition"],
    )
