"""How an engine is listened to, read once from `data/settings.toml`."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from functools import cache
from importlib.resources import files
from typing import Any, TypeVar


@dataclass(frozen=True, slots=True)
class FeatureSettings:
    """What of the sound is followed."""

    rate_hz: int
    bands_hz: tuple[tuple[float, float], ...]
    low_hz: tuple[float, float]


@dataclass(frozen=True, slots=True)
class SpeedSettings:
    """How the speed is sought."""

    lowest_rpm: float
    highest_rpm: float
    grid_step: float
    hop_s: float
    window_firings: float
    window_s: tuple[float, float]
    harmonics: int
    highest_line_hz: float
    free_change: float
    change_cost: float
    largest_change: float


@dataclass(frozen=True, slots=True)
class RunningSettings:
    """When an engine counts as heard."""

    fit: float
    fit_in_speech: float
    spread_in_speech: float
    speech_share: float
    over_s: float
    shortest_s: float
    longest_gap_s: float
    longest_unspoken_gap_s: float
    heard_share: float
    clear_fit: float
    clear_share: float
    rival_share: float
    rivals: tuple[float, ...]
    twin_floor_rpm: float
    hum_hz: tuple[float, ...]
    hum_share: float
    hum_spread: float
    unfit: float


@dataclass(frozen=True, slots=True)
class StartSettings:
    """How the starter is found."""

    look_back_s: float
    pause_s: float
    shortest_s: float
    above_db: float
    cranking_rpm: tuple[float, float]
    beats: float
    alike: float
    without_beats_s: float
    other_db: float
    same_db: float
    moment_s: float
    margin: float


@dataclass(frozen=True, slots=True)
class IdleSettings:
    """When a speed has settled."""

    band: float
    last_s: float
    over_s: float
    held_s: float
    drift: float
    slow_s: float
    margin: float


@dataclass(frozen=True, slots=True)
class BeatSettings:
    """How the beats of one cycle are compared."""

    longest_s: float
    cycles: float
    same_share: float
    block_cycles: float
    even_share: float


@dataclass(frozen=True, slots=True)
class ListenSettings:
    """What is offered to be listened to."""

    knock_db: float
    knock_band_hz: tuple[float, float]
    around_s: float
    merge_s: float
    squeal_db: float
    squeal_s: float
    squeal_band_hz: tuple[float, float]
    most: int


@dataclass(frozen=True, slots=True)
class SoundSettings:
    """What a sound must be."""

    clip_peak: float
    clipped_share: float
    full_scale: float
    shortest_s: float
    silence_peak: float
    shortest_speech_s: float
    wind_db: float


@dataclass(frozen=True, slots=True)
class EngineSettings:
    """All of them, by what they are of."""

    features: FeatureSettings
    speed: SpeedSettings
    running: RunningSettings
    start: StartSettings
    idle: IdleSettings
    beats: BeatSettings
    listen: ListenSettings
    sound: SoundSettings


_Section = TypeVar("_Section")
_KINDS: tuple[tuple[str, Any], ...] = (
    ("features", FeatureSettings),
    ("speed", SpeedSettings),
    ("running", RunningSettings),
    ("start", StartSettings),
    ("idle", IdleSettings),
    ("beats", BeatSettings),
    ("listen", ListenSettings),
    ("sound", SoundSettings),
)


@cache
def settings() -> EngineSettings:
    """Read the shipped settings once; raises ValueError where an entry is missing or unknown."""
    return parse_settings(files("shutline.gauge.engine").joinpath("data/settings.toml").read_text(encoding="utf-8"))


def parse_settings(text: str) -> EngineSettings:
    """Read settings from TOML; raises ValueError that names each missing or unknown entry."""
    raw = tomllib.loads(text)
    kinds = dict(_KINDS)
    if set(raw) != set(kinds):
        raise ValueError(f"settings.toml: sections {sorted(set(raw) ^ set(kinds))} missing or unknown")
    return EngineSettings(**{name: _section(kind, raw[name], name) for name, kind in kinds.items()})


def _section(kind: type[_Section], entries: dict[str, Any], name: str) -> _Section:
    known = {field.name for field in fields(kind)}  # type: ignore[arg-type]
    if set(entries) != known:
        raise ValueError(f"settings.toml [{name}]: {sorted(set(entries) ^ known)} missing or unknown")
    return kind(**{key: _frozen(value) for key, value in entries.items()})


def _frozen(value: Any) -> Any:
    return tuple(_frozen(item) for item in value) if isinstance(value, list) else value
