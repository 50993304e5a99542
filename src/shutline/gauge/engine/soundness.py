"""Whether a sound can be listened to at all: long enough, not silent, not clipped flat, not full of wind."""

from __future__ import annotations

import numpy as np

from shutline.gauge.engine.features import Features, Sound
from shutline.gauge.engine.settings import SoundSettings


def why_unfit(sound: Sound, *, sound_hz: int, tuning: SoundSettings) -> str | None:
    """Say why nothing can be taken from a sound, as the id of a reason; None where something can."""
    if len(sound) < tuning.shortest_s * sound_hz:
        return "too-short"
    with np.errstate(invalid="ignore"):
        peak = float(np.max(np.abs(np.nan_to_num(sound, posinf=0.0, neginf=0.0))))
    return "silent" if peak < tuning.silence_peak else None


def clipped(sound: Sound, tuning: SoundSettings) -> bool:
    """Tell whether a sound was driven into the end of its scale."""
    peak = float(np.max(np.abs(sound), initial=0.0))
    if peak < tuning.clip_peak:
        return False
    return float(np.mean(np.abs(sound) >= tuning.full_scale * peak)) >= tuning.clipped_share


def windy(heard: Features, tuning: SoundSettings) -> bool:
    """Tell whether the lowest band, where wind rumbles, drowns all the others."""
    low, rest = np.median(heard.power[0]), np.median(heard.power[1:].sum(axis=0))
    return bool(10 * np.log10((low + 1e-12) / (rest + 1e-12)) >= tuning.wind_db)
