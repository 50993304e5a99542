"""How sizes are read off a photograph, and what is said with them: read once from `data/`."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from shutline.gauge.settings_file import sections, words_of


@dataclass(frozen=True, slots=True)
class FindingSettings:
    """How a card is found."""

    longest_px: int
    least_markers: int
    least_side_px: float
    along: tuple[float, float]
    places: int
    reach_modules: float
    reach_px: float


@dataclass(frozen=True, slots=True)
class PlaneSettings:
    """When a card counts as flat."""

    flat_px: float
    flat_share: float
    refused_share: float
    finest_px: float
    level: float


@dataclass(frozen=True, slots=True)
class PickingSettings:
    """How surely something is picked, and the ruler measured."""

    point_px: float
    edge_px: float
    ruler_mm: float
    ruler_off: float


@dataclass(frozen=True, slots=True)
class SizeSettings:
    """All of them, by what they are of."""

    finding: FindingSettings
    plane: PlaneSettings
    picking: PickingSettings


@cache
def settings() -> SizeSettings:
    """Read the shipped settings once; raises ValueError where an entry is missing or unknown."""
    kinds = {"finding": FindingSettings, "plane": PlaneSettings, "picking": PickingSettings}
    return SizeSettings(**sections("shutline.gauge.size", "size.toml", kinds))


@cache
def words() -> dict[str, str]:
    """Give what is said, by its id."""
    return words_of("shutline.gauge.size")
