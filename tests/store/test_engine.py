"""Notes of engines: the latest is in force, the earlier ones stay with who asked for them."""

import pytest

from shutline.car.carfile import Recording
from shutline.car.engine import (
    Burst,
    ColdReadings,
    EngineFigure,
    EngineNote,
    Hearing,
    KeptEngineNote,
    Sound,
    Spectrogram,
    Trace,
    Untold,
)
from shutline.car.errors import NotFoundError
from shutline.store import Store


def kept(recording: str, *, idle: float = 850.0, author: str = "program") -> KeptEngineNote:
    note = EngineNote(
        recording=recording,
        start_s=0.0,
        end_s=30.0,
        marked=False,
        cylinders=4,
        strokes=4,
        hearing=Hearing.CLEAR,
        first_turn_s=2.0,
        fires_s=3.5,
        figures=(EngineFigure("idle_rpm", idle, idle - 9, idle + 9, "rpm"),),
        untold=(Untold("settling_s", "not-settled"),),
        bursts=(Burst(Sound.KNOCK, 9.0, 9.1, 12.5),),
        trace=Trace((4.0, 4.1), (850.0, None)),
        spectrogram=Spectrogram(1.0, 0.1, (400.0, 800.0), ("0123", "4567")),
    )
    return KeptEngineNote(note, "'the flat four \ud800'", ColdReadings(coolant_c=11.5), "ab" * 16, author)


def test_a_note_comes_back_as_it_was_with_its_time(store: Store, recording: Recording) -> None:
    assert store.engine_notes([recording.id]) == ()
    one = store.put_engine_note(kept(recording.id))
    assert one.at.startswith("2026-03-01T09:")
    assert store.engine_notes([recording.id, recording.id]) == (one,)


def test_a_later_note_takes_its_place_and_the_earlier_stays_as_past(store: Store, recording: Recording) -> None:
    first = store.put_engine_note(kept(recording.id))
    second = store.put_engine_note(kept(recording.id, idle=900.0, author="Nora Vale"))
    assert store.engine_notes([recording.id]) == (second,)
    assert store.engine_notes([recording.id], past=True) == (first,)


def test_a_note_of_an_unknown_recording_is_refused(store: Store) -> None:
    with pytest.raises(NotFoundError):
        store.put_engine_note(kept("nowhere"))
