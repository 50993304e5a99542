"""Speeds against engines whose speed is known, and against another pitch tracker."""

from __future__ import annotations

from types import ModuleType

import numpy as np
import pytest
from numpy.typing import NDArray

from shutline.car.engine import EngineNote, Hearing
from shutline.gauge.engine import SOUND_HZ, note_engine, speech_spans
from shutline.gauge.engine.running import firings_per_rpm

Sound = NDArray[np.float64]


def worst_error(note: EngineNote, made_one: object) -> tuple[float, float]:
    """Give the error of the speed at the end, and the middle error of the whole course, as shares."""
    times, rpm = made_one.times_s, made_one.rpm  # type: ignore[attr-defined]
    last = (times > note.runs_to_s - 4) & (times <= note.runs_to_s)
    idle = note.figure("idle_rpm")
    assert idle is not None
    course = [
        abs(told / np.interp(at, times, rpm) - 1)
        for at, told in zip(note.trace.times_s, note.trace.rpm, strict=True)
        if told is not None and at > made_one.fires_s + 1  # type: ignore[attr-defined]
    ]
    return abs(idle.value / float(np.median(rpm[last])) - 1), float(np.median(course))


@pytest.mark.parametrize(
    ("cylinders", "strokes", "rpm", "hertz"),
    # check_values 12: makers' pages, firing frequency = speed x cylinders / 120 (four-stroke), / 60 (two-stroke).
    [(4, 4, 800, 26.667), (4, 4, 1000, 33.333), (8, 4, 2000, 133.333), (6, 4, 750, 37.5), (4, 2, 1000, 66.667)],
)
def test_firing_frequency_is_that_of_the_handbooks(cylinders: int, strokes: int, rpm: float, hertz: float) -> None:
    assert rpm * firings_per_rpm(cylinders, strokes) == pytest.approx(hertz, abs=0.001)


@pytest.mark.slow
@pytest.mark.parametrize("ratio_db", [20, 10, 5])
@pytest.mark.parametrize("cylinders", [2, 3, 4, 6, 8])
def test_speed_in_noise_is_within_two_in_a_hundred(made: ModuleType, cylinders: int, ratio_db: int) -> None:
    for seed in range(2):
        one = made.make(
            made.Plan(cylinders=cylinders, seed=10 * cylinders + seed, idle_rpm=780 + 100 * seed, run_s=14, settle_s=6)
        )
        note = note_engine(made.at_db(one, made.hiss(one.sound.size, seed), ratio_db), cylinders=cylinders)
        assert note.hearing is not Hearing.NOT_HEARD
        end, course = worst_error(note, one)
        assert end <= 0.02
        assert course <= 0.01


@pytest.mark.slow
@pytest.mark.parametrize("ratio_db", [10, 5, 0, -5, -10])
@pytest.mark.parametrize("cylinders", [2, 3, 4, 6, 8])
def test_speed_under_a_voice_is_right_or_refused(made: ModuleType, voice: Sound, cylinders: int, ratio_db: int) -> None:
    one = made.make(made.Plan(cylinders=cylinders, seed=cylinders, run_s=16, settle_s=6))
    sound = made.at_db(one, np.resize(voice, one.sound.size), ratio_db).astype(np.float32)
    note = note_engine(sound, cylinders=cylinders, speech=speech_spans(sound))
    if ratio_db == 10:
        assert note.hearing is not Hearing.NOT_HEARD
    if note.hearing is Hearing.NOT_HEARD:
        assert note.figure("idle_rpm") is None
        assert {one.why for one in note.untold} & {"speech", "no-engine", "rival", "twin", "wind"}
    else:
        end, course = worst_error(note, one)
        assert end <= 0.02
        assert course <= 0.02


@pytest.mark.slow
@pytest.mark.parametrize("cylinders", [2, 4, 8])
def test_deep_in_noise_or_wind_a_speed_is_right_or_refused(made: ModuleType, cylinders: int) -> None:
    refused = 0
    for ratio_db in (0, -6, -12, -20):
        for kind in (made.hiss, made.wind):
            one = made.make(made.Plan(cylinders=cylinders, seed=cylinders + ratio_db + 50, run_s=12, settle_s=5))
            note = note_engine(made.at_db(one, kind(one.sound.size, 5), ratio_db), cylinders=cylinders)
            if note.hearing is Hearing.NOT_HEARD:
                refused += 1
                assert note.figure("idle_rpm") is None
            else:
                end, _ = worst_error(note, one)
                assert end <= 0.02
    assert refused >= 2


@pytest.mark.parametrize("cylinders", [1, 2, 4, 8, 12])
def test_where_no_engine_runs_none_is_heard(made: ModuleType, voice: Sound, cylinders: int) -> None:
    speech = voice.astype(np.float32)
    hum = 0.1 * np.sin(2 * np.pi * 100.0 * np.arange(SOUND_HZ * 12) / SOUND_HZ) + 0.001 * made.hiss(SOUND_HZ * 12, 1)
    for sound, spans in (
        (speech, speech_spans(speech)),
        (made.hiss(SOUND_HZ * 15, 3), ()),
        (made.wind(SOUND_HZ * 15, 4), ()),
        (hum, ()),
    ):
        note = note_engine(np.asarray(sound, np.float32) * 0.2, cylinders=cylinders, speech=spans)
        assert note.hearing is Hearing.NOT_HEARD
        assert note.figure("idle_rpm") is None


@pytest.mark.slow
@pytest.mark.parametrize("cylinders", [4, 6, 8])
def test_speed_agrees_with_the_pitch_tracker_of_a_library_for_sound(made: ModuleType, cylinders: int) -> None:
    # librosa's YIN (de Cheveigne and Kawahara 2002), on the same sound in the same run.
    import librosa

    plan = made.Plan(cylinders=cylinders, seed=3, run_s=14, settle_s=5, spread=0.0, strength_jitter=0.03)
    one = made.make(plan)
    sound = made.at_db(one, made.hiss(one.sound.size, 8), 20)
    note = note_engine(sound, cylinders=cylinders)
    idle = note.figure("idle_rpm")
    assert idle is not None
    low = sound[int((note.runs_to_s - 4) * SOUND_HZ) : int(note.runs_to_s * SOUND_HZ)]
    # It is told no more than that an idle lies between 400 and 1600 turns a minute.
    floor, ceiling = 400 * cylinders / 120, 1600 * cylinders / 120
    hertz = librosa.yin(np.asarray(low, float), fmin=floor, fmax=ceiling, sr=SOUND_HZ, frame_length=4096)
    assert idle.value == pytest.approx(np.median(hertz) * 120 / cylinders, rel=0.02)


def test_a_twin_that_turns_slowly_is_not_told(made: ModuleType) -> None:
    one = made.make(made.Plan(cylinders=2, seed=2, run_s=12, weak=(0.05,)))
    note = note_engine(one.sound, cylinders=2)
    assert note.hearing is Hearing.NOT_HEARD
    assert {u.why for u in note.untold if u.name == "idle_rpm"} == {"twin"}
