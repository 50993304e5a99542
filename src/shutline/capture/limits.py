"""The bounds and settings of capture, read once from `data/limits.toml`."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from functools import cache
from importlib.resources import files
from typing import Any, TypeVar


@dataclass(frozen=True, slots=True)
class PictureLimits:
    """What a picture may claim."""

    max_megapixels: float


@dataclass(frozen=True, slots=True)
class FilmLimits:
    """What a film may claim, and how its soundness is judged."""

    max_megapixels: float
    cut_tolerance_s: float
    probe_packets: int
    variable_rate_share: float


@dataclass(frozen=True, slots=True)
class TranscriptLimits:
    """How far a text is read to tell what it is."""

    sniff_bytes: int
    max_json_bytes: int


@dataclass(frozen=True, slots=True)
class SoundLimits:
    """How sound is laid along time, and how its track is chosen."""

    silence_peak: float
    time_slack_s: float
    clock_restart_s: float
    past_end_s: float
    told_gap_s: float
    longest_gap_s: float
    listen_pieces: int
    listen_s: float
    speech_band_hz: tuple[float, float]
    syllable_band_hz: tuple[float, float]


@dataclass(frozen=True, slots=True)
class StillLimits:
    """Where stills are sought and by what they are chosen."""

    before_s: float
    after_s: float
    longest_s: float
    join_gap_s: float
    longest_group_s: float
    most_in_group: int
    frames_at_key: int
    most_workers: int
    keys_per_moment: int
    steady_enough: float
    half_steady_widths_per_s: float
    edge_weight: float
    measure_px: int
    movement_px: int
    exposed_levels: tuple[int, int]
    dark_levels: tuple[float, float]
    bright_levels: tuple[float, float]
    exposed_enough: float
    poor_below: float
    copy_below_bits: int
    copy_within_s: float
    most_choices: int
    choice_share: float
    longest_side_px: int
    jpeg_quality: int


@dataclass(frozen=True, slots=True)
class ClipLimits:
    """How clips and copies of films are made where their picture is coded anew."""

    longest_side_px: int
    quality: int
    preset: str
    piece_s: float
    told_early_s: float


@dataclass(frozen=True, slots=True)
class LightLimits:
    """How the small copy of a film is made, for a stranger's telephone."""

    longest_side_px: int
    frames_per_s: float
    quality: int
    preset: str
    profile: str
    key_every_s: float
    sound_bits_per_s: int


@dataclass(frozen=True, slots=True)
class PaperLimits:
    """What a paper may claim, and how its pages are drawn and kept; see the data file."""

    max_bytes: int
    max_pages: int
    drawn_px: int
    least_letters: int
    scanned_letters: int
    scanned_share: float
    joined_em: float
    jpeg_quality: int


@dataclass(frozen=True, slots=True)
class Limits:
    """All bounds and settings, by what they bound."""

    picture: PictureLimits
    film: FilmLimits
    transcript: TranscriptLimits
    sound: SoundLimits
    stills: StillLimits
    clips: ClipLimits
    light: LightLimits
    papers: PaperLimits


_Section = TypeVar(
    "_Section",
    PictureLimits,
    FilmLimits,
    TranscriptLimits,
    SoundLimits,
    StillLimits,
    ClipLimits,
    LightLimits,
    PaperLimits,
)


@cache
def limits() -> Limits:
    """Read the shipped limits once.

    Raises
    ------
    ValueError
        An entry is missing or unknown.
    """
    return parse_limits(files("shutline.capture").joinpath("data/limits.toml").read_text(encoding="utf-8"))


def parse_limits(text: str) -> Limits:
    """Read limits from TOML; raises ValueError that names each missing or unknown entry."""
    raw = tomllib.loads(text)
    known = {field.name for field in fields(Limits)}
    if set(raw) != known:
        raise ValueError(
            f"limits.toml: sections {sorted(set(raw) ^ known)} missing or unknown; allowed: {sorted(known)}"
        )
    return Limits(
        picture=_section(PictureLimits, raw, "picture"),
        film=_section(FilmLimits, raw, "film"),
        transcript=_section(TranscriptLimits, raw, "transcript"),
        sound=_section(SoundLimits, raw, "sound"),
        stills=_section(StillLimits, raw, "stills"),
        clips=_section(ClipLimits, raw, "clips"),
        light=_section(LightLimits, raw, "light"),
        papers=_section(PaperLimits, raw, "papers"),
    )


def _section(kind: type[_Section], raw: dict[str, Any], name: str) -> _Section:
    entries = raw[name]
    known = {field.name for field in fields(kind)}
    if set(entries) != known:
        raise ValueError(f"limits.toml [{name}]: {sorted(set(entries) ^ known)} missing or unknown")
    values: dict[str, Any] = {key: tuple(value) if isinstance(value, list) else value for key, value in entries.items()}
    return kind(**values)
