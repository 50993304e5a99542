"""Listen to the sound of a recording for an engine's start."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from shutline.car.carfile import Recording
from shutline.car.engine import EngineNote
from shutline.car.speech import StretchOrigin
from shutline.usecases.progress import Step, Stop, Tell

if TYPE_CHECKING:
    from shutline.gauge.engine import Sound
    from shutline.store import Store

EDITION = 2
"""Raised whenever the same sound would give another note."""

LONGEST_S = 1_800.0
"""The longest sound that is listened to in one go, seconds; of a longer film a person marks the part."""

BEFORE_S = 15.0
"""How long before an engine runs the voice detector is asked whether what was heard there were words, seconds."""

Span = tuple[float, float]


def hear_note(
    store: Store, recording: Recording, marks: Span | None, engine: tuple[int, int], *, tell: Tell, stop: Stop
) -> EngineNote:
    """Listen between the marks, or for a start that the program finds; `engine` is its cylinders and strokes."""
    from shutline.gauge.engine import note_engine, speech_spans

    sound, start_s = _sound(store, recording, marks, tell, stop)

    def hear(speech: tuple[Span, ...]) -> EngineNote:
        stop.heed(recording.original.name)
        return note_engine(
            sound,
            cylinders=engine[0],
            strokes=engine[1],
            speech=speech,
            offset_s=start_s,
            recording=recording.id,
            marked=marks is not None,
        )

    if any(stretch.origin is StretchOrigin.HEARD for stretch in recording.stretches):
        words = [word for stretch in recording.stretches for word in stretch.words]
        speech = tuple((word.start_s - start_s - 0.1, word.end_s - start_s + 0.1) for word in words)
        note = hear(speech)
        if note.runs_from_s is not None and any(one.why == "covered-start" for one in note.untold):
            # A recogniser hears words in the noise of a starter: there the voice detector has the last word.
            note = hear(_asked_again(sound, speech, note.runs_from_s - start_s))
    else:
        note = hear(speech_spans(sound))
    tell(Step(recording.original.name, "engine", 1.0))
    return note


def _asked_again(sound: Sound, speech: tuple[Span, ...], runs_from_s: float) -> tuple[Span, ...]:
    """Put what the voice detector hears about a start in the place of the words there."""
    from shutline.gauge.engine import SOUND_HZ, speech_spans

    begin_s, end_s = max(0.0, runs_from_s - BEFORE_S), runs_from_s + 1.0
    heard = speech_spans(sound[round(begin_s * SOUND_HZ) : round(end_s * SOUND_HZ)])
    outside = ((start, end) for start, end in speech if end <= begin_s or start >= end_s)
    return (*outside, *((start + begin_s, end + begin_s) for start, end in heard))


def _sound(store: Store, recording: Recording, marks: Span | None, tell: Tell, stop: Stop) -> tuple[Sound, float]:
    """Read the sound between the marks; no more of the film is decoded than up to the later one."""
    import numpy as np

    from shutline.capture.originals import original_path
    from shutline.capture.sound import sound_blocks
    from shutline.gauge.engine import SOUND_HZ

    sha256 = recording.original.sha256
    path = store.linked_path(sha256) or original_path(store.originals, sha256)
    start_s, end_s = marks or (0.0, LONGEST_S)
    pieces = []
    tell(Step(recording.original.name, "engine", 0.0))
    for block in sound_blocks(path, rate_hz=SOUND_HZ, block_s=10.0, should_stop=stop.asked):
        begin = max(0, round((start_s - block.start_s) * SOUND_HZ))
        pieces.append(block.samples[begin : max(0, round((end_s - block.start_s) * SOUND_HZ))])
        tell(Step(recording.original.name, "engine", min(0.8, 0.8 * block.start_s / max(end_s, 1.0))))
        if block.start_s + 10.0 >= end_s:
            break
    return (np.concatenate(pieces) if pieces else np.zeros(0, np.float32)), start_s


def note_key(recording: Recording, marks: Span | None, cylinders: int, strokes: int) -> str:
    """Name all that a note depends on."""
    words = [f"{w.start_s:.2f}-{w.end_s:.2f}" for s in recording.stretches for w in s.words]
    parts = (str(EDITION), recording.original.sha256, repr(marks), str(cylinders), str(strokes), *words)
    return hashlib.sha256("\x1f".join(parts).encode()).hexdigest()[:32]
