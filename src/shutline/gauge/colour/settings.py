"""How colours are compared, and what is said with it: read once from `data/`."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from shutline.gauge.settings_file import sections, words_of


@dataclass(frozen=True, slots=True)
class PatchSettings:
    """How a patch is parted."""

    tiles: int
    least_tiles: int
    least_tile_px: int
    glare: int
    dark: int
    most_left_out: float


@dataclass(frozen=True, slots=True)
class BootstrapSettings:
    """How often a patch is drawn anew, and the level of its intervals."""

    replicates: int
    level: float
    seed: int
    finest: float


@dataclass(frozen=True, slots=True)
class ShadingSettings:
    """When a difference may be shading."""

    left: float


@dataclass(frozen=True, slots=True)
class BalanceSettings:
    """What a grey card and a chart must be."""

    grey_card_lightness: float
    darkest: float
    brightest: float
    most_uneven: float
    least_fields: int
    chart_leaves: float


@dataclass(frozen=True, slots=True)
class ColourSettings:
    """All of them, by what they are of."""

    patches: PatchSettings
    bootstrap: BootstrapSettings
    shading: ShadingSettings
    balance: BalanceSettings


@cache
def settings() -> ColourSettings:
    """Read the shipped settings once; raises ValueError where an entry is missing or unknown."""
    kinds = {
        "patches": PatchSettings,
        "bootstrap": BootstrapSettings,
        "shading": ShadingSettings,
        "balance": BalanceSettings,
    }
    return ColourSettings(**sections("shutline.gauge.colour", "colour.toml", kinds))


@cache
def words() -> dict[str, str]:
    """Give what is said, by its id."""
    return words_of("shutline.gauge.colour")
