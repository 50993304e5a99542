"""Where somebody speaks in a sound, for a sound whose words nobody has read."""

from __future__ import annotations

import numpy as np

from shutline.gauge.engine.features import Sound
from shutline.gauge.engine.running import Span
from shutline.gauge.engine.settings import settings

_NO_VOICE, _VOICE = 0.15, 0.85
_HELD_NO_VOICE, _HELD_VOICE = 3, 2
"""An answer as clear as that is held for so many chunks, in which the detector is not asked (docs/engine.md)."""


def speech_spans(sound: Sound) -> tuple[Span, ...]:
    """Ask the voice detector where somebody speaks.

    Parameters
    ----------
    sound : ndarray of float32, shape (samples,)
        Mono, 16 kHz.

    Returns
    -------
    tuple of (float, float)
        Seconds from the start of the sound, in order; pauses within a sentence are within one.
    """
    from shutline.speech.settings import settings as speech_settings
    from shutline.speech.voice import CHUNK_S, CHUNK_SAMPLES, voice_detector

    detector = voice_detector()
    on, shortest_s = speech_settings().split.on, settings().sound.shortest_speech_s
    count = len(sound) // CHUNK_SAMPLES
    speaks = np.zeros(count, bool)
    at = 0
    while at < count:
        chunk = sound[at * CHUNK_SAMPLES : (at + 1) * CHUNK_SAMPLES]
        likely = detector(chunk) if chunk.any() else 0.0
        held = _HELD_NO_VOICE if likely < _NO_VOICE else _HELD_VOICE if likely > _VOICE else 1
        speaks[at : at + held] = likely >= on
        at += held
    index = np.flatnonzero(speaks)
    if not len(index):
        return ()
    groups = np.split(index, np.flatnonzero(np.diff(index) * CHUNK_S > 0.4) + 1)
    spans = ((float(group[0] * CHUNK_S), float((group[-1] + 1) * CHUNK_S)) for group in groups)
    return tuple((start, end) for start, end in spans if end - start >= shortest_s)
