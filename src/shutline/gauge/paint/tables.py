"""The data beside this module: settings, panels, metals, limits, trade ranges and words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from shutline.car.findings import Found, Position
from shutline.car.vocabulary import vocabulary
from shutline.gauge.sections import read_sections, section
from shutline.gauge.tables import bad_row, shipped, table_rows
from shutline.gauge.usual import UsualSettings

_PACKAGE = "paint"


@dataclass(frozen=True, slots=True)
class SpotSettings:
    """How many readings make a spot, how many spots an area, and when a reading is dropped; see the data file."""

    readings: int
    area_spots: int
    unrepeatable: float
    agree: float


@dataclass(frozen=True, slots=True)
class ToldSettings:
    """From which sureness on something is told, and how."""

    level: float
    sure: float
    unlikely: float
    panels: int
    apart: float
    filler_ratio: float


@dataclass(frozen=True, slots=True)
class GradientSettings:
    """What is thought of the thirds of a panel before anything was measured."""

    share: float
    spread: float


@dataclass(frozen=True, slots=True)
class AgainstSettings:
    """When a measurement stands against what was said."""

    sure: float
    filler_ratio: float
    filler_alone_um: float


@dataclass(frozen=True, slots=True)
class HeatSettings:
    """Bands of the drawing, times the car's own finish."""

    bands: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class PaintSettings:
    """All settings, by what they are of."""

    spots: SpotSettings
    usual: UsualSettings
    told: ToldSettings
    gradient: GradientSettings
    against: AgainstSettings
    heat: HeatSettings


@dataclass(frozen=True, slots=True)
class PanelRow:
    """Whether a part carries the car's own finish, why not, and what to know of it."""

    part: str
    compared: bool
    why: str
    note: str


@dataclass(frozen=True, slots=True)
class Metal:
    """What a panel is made of, the kinds of gauge that read a film on it, and why no other does."""

    id: str
    label: str
    methods: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True)
class Material:
    """Words for what a body is made of; `whole` are the words behind them that make it the whole body."""

    id: str
    words: tuple[str, ...]
    metal: str
    whole: tuple[str, ...]
    example: str
    counter_example: str


@dataclass(frozen=True, slots=True)
class TradeRange:
    """What is common practice for a film, µm, of which cars, and who says so."""

    id: str
    what: str
    low_um: float
    high_um: float
    of: str
    source: str


@dataclass(frozen=True, slots=True)
class AcceptanceRule:
    """When a coat that was ordered is accepted: shares of the lower and upper limit that each spot must keep to.

    `spot_highest` is 0 where the rule has no upper limit; `readings_bound` is True where single readings are bound
    too.
    """

    id: str
    label: str
    spots: int
    spot_lowest: float
    spot_highest: float
    readings_bound: bool
    source: str
    seen: str
    words: str


@dataclass(frozen=True, slots=True)
class AgainstRow:
    """A finding that a measurement may stand against: `measured` is ``filler`` or ``more``."""

    id: str
    condition: str
    found: Found
    measured: str
    why: str


@cache
def settings() -> PaintSettings:
    """Read the shipped settings once; raises UserError where an entry is missing or unknown."""
    raw = read_sections(_PACKAGE, "settings.toml", ("spots", "usual", "told", "gradient", "against", "heat"))
    return PaintSettings(
        spots=section(SpotSettings, raw["spots"], "settings.toml [spots]"),
        usual=section(UsualSettings, raw["usual"], "settings.toml [usual]"),
        told=section(ToldSettings, raw["told"], "settings.toml [told]"),
        gradient=section(GradientSettings, raw["gradient"], "settings.toml [gradient]"),
        against=section(AgainstSettings, raw["against"], "settings.toml [against]"),
        heat=section(HeatSettings, raw["heat"], "settings.toml [heat]"),
    )


@cache
def panels() -> dict[str, PanelRow]:
    """Give what is known of parts that may be painted, by part; a part that is not listed carries no car finish."""
    rows = _rows("panels.csv", ("id", "part", "compared", "why", "note", "source"), may_be_empty=("why", "note"))
    found = {}
    for where, row in rows:
        _known_part(where, row["part"])
        if row["compared"] not in {"yes", "no"} or (row["compared"] == "no") is not bool(row["why"]):
            raise bad_row(where, f"compared {row['compared']!r}", "yes, or no with why")
        found[row["part"]] = PanelRow(row["part"], row["compared"] == "yes", row["why"], row["note"])
    return found


@cache
def neighbours() -> tuple[tuple[tuple[str, Position | None], tuple[str, Position | None]], ...]:
    """Give the pairs of parts that meet, each with its position or None; sided ones meet on the same side."""
    columns = ("id", "part", "position", "other", "other_position", "source")
    pairs = []
    for where, row in _rows("neighbours.csv", columns, may_be_empty=("position", "other_position")):
        _known_part(where, row["part"])
        _known_part(where, row["other"])
        one, other = (Position(row[key]) if row[key] else None for key in ("position", "other_position"))
        pairs.append(((row["part"], one), (row["other"], other)))
    return tuple(pairs)


@cache
def metals() -> dict[str, Metal]:
    """Give what bodies are made of, by id."""
    rows = _rows("metals.csv", ("id", "label", "methods", "why", "source"), may_be_empty=("methods",))
    return {row["id"]: Metal(row["id"], row["label"], tuple(row["methods"].split()), row["why"]) for _, row in rows}


@cache
def materials() -> tuple[Material, ...]:
    """Give the words for what a body is made of."""
    columns = ("id", "words", "metal", "whole", "source", "example", "counter_example")
    found = []
    for where, row in _rows("materials.csv", columns, may_be_empty=("whole",)):
        if row["metal"] not in metals():
            raise bad_row(where, f"metal {row['metal']!r}", f"{', '.join(metals())}")
        found.append(
            Material(
                row["id"],
                tuple(row["words"].split("|")),
                row["metal"],
                tuple(word for word in row["whole"].split("|") if word),
                row["example"],
                row["counter_example"],
            )
        )
    return tuple(found)


@cache
def trade_ranges() -> dict[str, TradeRange]:
    """Give what is common practice for a film, by id."""
    rows = _rows("trade_ranges.csv", ("id", "what", "low_um", "high_um", "of", "source"))
    return {
        row["id"]: TradeRange(
            row["id"], row["what"], float(row["low_um"]), float(row["high_um"]), row["of"], row["source"]
        )
        for _, row in rows
    }


@cache
def acceptance_rules() -> dict[str, AcceptanceRule]:
    """Give the rules of acceptance by id."""
    raw = read_sections(_PACKAGE, "acceptance.toml", ("rule",))
    rules = [section(AcceptanceRule, one, "acceptance.toml [[rule]]") for one in raw["rule"]]
    return {rule.id: rule for rule in rules}


@cache
def against_rows() -> tuple[AgainstRow, ...]:
    """Give the findings that a measurement may stand against."""
    found = []
    for where, row in _rows("against.csv", ("id", "condition", "found", "measured", "why", "source")):
        if row["condition"] not in vocabulary().conditions or row["measured"] not in {"filler", "more"}:
            raise bad_row(where, f"{row['condition']}, {row['measured']}", "a condition, filler or more")
        found.append(AgainstRow(row["id"], row["condition"], Found(row["found"]), row["measured"], row["why"]))
    return tuple(found)


@cache
def words() -> Mapping[str, Mapping[str, str]]:
    """Give what is said, by section and name."""
    raw: dict[str, Any] = read_sections(
        _PACKAGE, "words.toml", ("good_for", "decides", "cautions", "sentences", "zones", "relations")
    )
    return raw


def _rows(
    name: str, columns: tuple[str, ...], *, may_be_empty: tuple[str, ...] = ()
) -> Iterator[tuple[str, dict[str, str]]]:
    return table_rows(shipped(_PACKAGE, name), name=name, columns=columns, may_be_empty=frozenset(may_be_empty))


def _known_part(where: str, part: str) -> None:
    if part not in vocabulary().parts:
        raise bad_row(where, f"part {part!r}", "a part of the vocabulary")
