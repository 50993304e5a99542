"""How tasks and cost are worked out where a caller says nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from shutline.gauge.settings_file import sections


@dataclass(frozen=True, slots=True)
class TaskSettings:
    """`unsaid_severity` is what a finding is taken for where nobody said how bad it is.

    `on_request` are conditions that are put right only where somebody asked for it, or where it is severe.
    """

    unsaid_severity: str
    on_request: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CostSettings:
    """`seed` of the draws and how many; `enough`, the standard error aimed at as a share; `look_minutes`, one look."""

    seed: int
    draws: int
    enough: float
    look_minutes: float


@dataclass(frozen=True, slots=True)
class PrepSettings:
    """The sections of ``data/settings.toml``."""

    tasks: TaskSettings
    cost: CostSettings


@cache
def prep_settings() -> PrepSettings:
    """Read the settings once."""
    return PrepSettings(**sections("shutline.prep", "settings.toml", {"tasks": TaskSettings, "cost": CostSettings}))
