"""The data beside this module: settings, places and words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache

from shutline.car.findings import Found
from shutline.car.vocabulary import vocabulary
from shutline.gauge.sections import read_sections, section
from shutline.gauge.tables import bad_row, shipped, table_rows
from shutline.gauge.usual import UsualSettings

_PACKAGE = "damp"


@dataclass(frozen=True, slots=True)
class ToldSettings:
    """From which sureness on something is told, and how many places it takes."""

    level: float
    sure: float
    unlikely: float
    places: int
    against: float


@dataclass(frozen=True, slots=True)
class DrawingSettings:
    """How damp is drawn.

    `bands` are the upper bounds of the bands but the last, times the driest places; `views` those that are drawn;
    `shown_on` a part in whose place another is shaded; `about` how far the grain of a spot goes, cm.
    """

    bands: tuple[float, ...]
    views: tuple[str, ...]
    shown_on: Mapping[str, str]
    about: float


@dataclass(frozen=True, slots=True)
class _Relative:
    ground: tuple[float, float]


@dataclass(frozen=True, slots=True)
class DampSettings:
    """All settings; `relative` is the model for a meter with a scale of its own."""

    usual: UsualSettings
    relative: UsualSettings
    told: ToldSettings
    drawing: DrawingSettings


@dataclass(frozen=True, slots=True)
class PlaceRow:
    """What a place is made of, and what to do there."""

    part: str
    material: str
    note: str


@dataclass(frozen=True, slots=True)
class AgainstRow:
    """A finding that a wet place stands against."""

    id: str
    condition: str
    found: Found
    why: str


@cache
def settings() -> DampSettings:
    """Read the shipped settings once; raises UserError where an entry is missing or unknown."""
    raw = read_sections(_PACKAGE, "settings.toml", ("usual", "relative", "drawing", "told"))
    usual = section(UsualSettings, raw["usual"], "settings.toml [usual]")
    relative = section(_Relative, raw["relative"], "settings.toml [relative]")
    return DampSettings(
        usual,
        replace(usual, ground=relative.ground),
        section(ToldSettings, raw["told"], "settings.toml [told]"),
        section(DrawingSettings, raw["drawing"], "settings.toml [drawing]"),
    )


@cache
def places() -> dict[str, PlaceRow]:
    """Give what is known of places inside a car, by part."""
    columns = ("id", "material", "note", "source")
    found = {}
    empty = frozenset({"material", "note"})
    for where, row in table_rows(
        shipped(_PACKAGE, "places.csv"), name="places.csv", columns=columns, may_be_empty=empty
    ):
        if row["id"] not in vocabulary().parts:
            raise bad_row(where, f"part {row['id']!r}", "a part of the vocabulary")
        found[row["id"]] = PlaceRow(row["id"], row["material"], row["note"])
    return found


@cache
def against_rows() -> tuple[AgainstRow, ...]:
    """Give the findings that a wet place stands against."""
    found = []
    columns = ("id", "condition", "found", "why", "source")
    for where, row in table_rows(shipped(_PACKAGE, "against.csv"), name="against.csv", columns=columns):
        if row["condition"] not in vocabulary().conditions:
            raise bad_row(where, f"condition {row['condition']!r}", "a condition of the vocabulary")
        found.append(AgainstRow(row["id"], row["condition"], Found(row["found"]), row["why"]))
    return tuple(found)


@cache
def words() -> Mapping[str, Mapping[str, str]]:
    """Give what is said, by section and name."""
    return read_sections(_PACKAGE, "words.toml", ("good_for", "decides", "cautions", "sentences"))
