"""The tables of tyres, read once."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache

from shutline.gauge.against import AgainstRow, read_against
from shutline.gauge.limits import Limit, read_limits
from shutline.gauge.results import Meaning, Use, read_meanings, read_uses
from shutline.gauge.tables import bad_row, shipped, table_rows


@dataclass(frozen=True, slots=True)
class Aspect:
    """How high a tyre is whose marking gives no ratio, in per cent of its width, and who says so."""

    pct: float
    who: str


@dataclass(frozen=True, slots=True)
class Decade:
    """A decade that a date code of three figures may mean; `marked` with a triangle; `seen` in the guides."""

    first_year: int
    marked: bool
    seen: bool


@dataclass(frozen=True, slots=True)
class Rolling:
    """The rolling circumference as a multiple of the diameter, within `half_width` of it either way, a share."""

    factor: float
    half_width: float


@dataclass(frozen=True, slots=True)
class Wear:
    """From which difference on, mm, uneven wear is told, and words of spots outside the central three quarters."""

    uneven_mm: float
    outside_band: tuple[str, ...]


@cache
def limits() -> tuple[Limit, ...]:
    """Give the limits of tyres."""
    return read_limits(shipped("tyres", "limits.csv"), name="tyres/limits.csv")


@cache
def uses() -> dict[str, Use]:
    """Give what results are good for, by id."""
    return read_uses(shipped("tyres", "uses.csv"), name="tyres/uses.csv")


@cache
def meanings() -> dict[str, Meaning]:
    """Give what wear may mean, by id."""
    return read_meanings(shipped("tyres", "meanings.csv"), name="tyres/meanings.csv")


@cache
def tyres_against() -> tuple[AgainstRow, ...]:
    """Give the findings that the tread of a tyre stands against."""
    return read_against(shipped("tyres", "against.csv"), name="tyres/against.csv")


@cache
def loads() -> dict[int, int]:
    """Give the kilograms that a tyre carries, by load index."""
    return {int(row["load_index"]): int(row["kg"]) for row in _rows("load_index.csv", "load_index", "kg")}


@cache
def speeds() -> dict[str, int]:
    """Give the speeds, km/h, by symbol."""
    return {row["symbol"]: int(row["max_km_h"]) for row in _rows("speed_symbols.csv", "symbol", "max_km_h")}


@cache
def speeds_in_size() -> dict[str, tuple[int, bool]]:
    """Give the speed, km/h, by a letter within a size, and whether it meant over that."""
    rows = _rows("speed_in_size.csv", "id", "km_h", "over")
    return {row["id"]: (int(row["km_h"]), row["over"] == "yes") for row in rows}


@cache
def aspects() -> tuple[Aspect, ...]:
    """Give the ratios that are taken where a marking gives none."""
    return tuple(Aspect(float(row["pct"]), row["who"]) for row in _rows("aspects.csv", "id", "pct", "who"))


@cache
def decades() -> tuple[Decade, ...]:
    """Give the decades of codes of three figures."""
    rows = _rows("decades.csv", "id", "first_year", "triangle", "seen_in_guides")
    return tuple(Decade(int(r["first_year"]), r["triangle"] == "yes", r["seen_in_guides"] == "yes") for r in rows)


@cache
def rolling() -> dict[str, Rolling]:
    """Give the rolling circumference by construction."""
    rows = _rows("rolling.csv", "id", "factor", "half_width_share")
    return {row["id"]: Rolling(float(row["factor"]), float(row["half_width_share"])) for row in rows}


@cache
def wear() -> Wear:
    """Give when uneven wear is told."""
    raw = tomllib.loads(shipped("tyres", "wear.toml"))
    known = set(Wear.__dataclass_fields__)
    if set(raw) != known:
        raise bad_row("tyres/wear.toml", f"{sorted(set(raw) ^ known)} missing or unknown", ", ".join(sorted(known)))
    return Wear(float(raw["uneven_mm"]), tuple(raw["outside_band"]))


def _rows(name: str, key: str, *others: str) -> list[dict[str, str]]:
    rows = table_rows(shipped("tyres", name), name=f"tyres/{name}", columns=(key, *others, "source"), key=key)
    return [row for _, row in rows]
