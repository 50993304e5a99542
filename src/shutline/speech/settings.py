"""Settings of the speech stage, read from its data folder."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True, slots=True)
class SplitSettings:
    """Where speech is cut into pieces; seconds and probabilities."""

    on: float
    off: float
    pad_s: float
    pause_s: float
    settled_s: float
    long_pause_s: float
    shortest_speech_s: float


@dataclass(frozen=True, slots=True)
class LoudnessSettings:
    """Speech by loudness: decibels above the floor, decibels full scale, seconds."""

    above_floor_db: float
    quietest_db: float
    memory_s: float


@dataclass(frozen=True, slots=True)
class BundledSettings:
    """The recogniser in the package."""

    name: str
    longest_s: float
    shortest_s: float
    beam: int
    term_worth: float
    term_reach: float
    company_worth: float
    patience: float
    pieces_per_s: float


@dataclass(frozen=True, slots=True)
class AccurateSettings:
    """The recogniser whose weights the user names."""

    longest_s: float
    beam: int
    most_compression: float


@dataclass(frozen=True, slots=True)
class LanguageSettings:
    """When heard text is doubted to be English; shares and probabilities in [0, 1]."""

    least_words: int
    least_function_share: float
    least_sureness: float
    most_broken_share: float


@dataclass(frozen=True, slots=True)
class TranscriptSettings:
    """How words without times are reckoned."""

    words_per_s: float


@dataclass(frozen=True, slots=True)
class SpeechSettings:
    """All of them."""

    split: SplitSettings
    loudness: LoudnessSettings
    bundled: BundledSettings
    accurate: AccurateSettings
    language: LanguageSettings
    transcript: TranscriptSettings


@cache
def settings() -> SpeechSettings:
    """Read the shipped settings once; raises TypeError for an unknown or a missing entry."""
    raw = tomllib.loads(files("shutline.speech").joinpath("data/settings.toml").read_text(encoding="utf-8"))
    return SpeechSettings(
        split=SplitSettings(**raw.pop("split")),
        loudness=LoudnessSettings(**raw.pop("loudness")),
        bundled=BundledSettings(**raw.pop("bundled")),
        accurate=AccurateSettings(**raw.pop("accurate")),
        language=LanguageSettings(**raw.pop("language")),
        transcript=TranscriptSettings(**raw.pop("transcript")),
        **raw,
    )
