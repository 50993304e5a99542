from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from shutline.car.errors import UserError
from shutline.car.speech import Segment, WordTiming
from shutline.speech.heard import Heard, HeardWord, Sound
from shutline.speech.recognise import recognise
from shutline.speech.voice import Detector

RATE = 16_000


def loud(chunk: Sound) -> float:
    return float(np.abs(chunk).max() > 0.1)


@pytest.fixture(autouse=True)
def _plain_detector(monkeypatch: pytest.MonkeyPatch) -> None:
    """Speech is what is loud, so that made-up sound can stand for it; words are not laid along it."""
    from shutline.speech import align, split

    def detector() -> Detector:
        return loud

    monkeypatch.setattr(split, "voice_detector", detector)
    monkeypatch.setattr(align, "_aligner", lambda: None)


def talk(*lengths_s: float, pause_s: float = 2.0) -> Sound:
    """Tone bursts of the given lengths, each with its own loudness, with pauses between."""
    parts = [np.zeros(RATE, dtype=np.float32)]
    for at, length in enumerate(lengths_s):
        parts.append(np.full(int(length * RATE), 0.2 + at / 100, dtype=np.float32))
        parts.append(np.zeros(int(pause_s * RATE), dtype=np.float32))
    return np.concatenate(parts)


class Parrot:
    """Says which burst it heard; remembers what it was asked."""

    def __init__(self, *, told: Callable[[Sound], Heard] | None = None) -> None:
        self.asked: list[float] = []
        self.terms: list[tuple[str, ...]] = []
        self._told = told
        self._lock = threading.Lock()

    id = "parrot"
    longest_s = 16.0

    def words(self, sound: Sound, *, terms: Sequence[str] = ()) -> Heard:
        with self._lock:
            self.asked.append(round(float(sound.max()), 2))
            self.terms.append(tuple(terms))
        if self._told is not None:
            return self._told(sound)
        return Heard(
            (HeardWord(f"burst-{round(float(sound.max()) * 100) - 20}", sureness=0.9), HeardWord("is", sureness=0.9))
        )


def test_each_burst_becomes_a_stretch_with_its_times() -> None:
    stretches, problems = recognise(talk(3, 4), recogniser=Parrot(), terms=["sill"])
    assert problems == ()
    assert [stretch.text for stretch in stretches] == ["burst-0 is", "burst-1 is"]
    assert stretches[0].start_s == pytest.approx(0.8, abs=0.05)
    assert stretches[0].end_s == pytest.approx(4.2, abs=0.05)
    assert stretches[1].start_s == pytest.approx(5.8, abs=0.05)
    assert {word.timing for stretch in stretches for word in stretch.words} == {WordTiming.SHARED_OUT}
    assert {word.sureness for stretch in stretches for word in stretch.words} == {0.9}


def test_terms_reach_the_recogniser() -> None:
    parrot = Parrot()
    recognise(talk(3), recogniser=parrot, terms=["sill", "scuttle"])
    assert parrot.terms == [("sill", "scuttle")]


@hypothesis_settings(deadline=None, max_examples=15)
@given(threads=st.integers(1, 4), block=st.integers(100, 90_000))
def test_threads_and_blocks_change_nothing(threads: int, block: int) -> None:
    sound = talk(3, 4, 20, 1, pause_s=1.7)
    blocks = (sound[at : at + block] for at in range(0, len(sound), block))
    assert recognise(blocks, recogniser=Parrot(), threads=threads) == recognise(sound, recogniser=Parrot(), threads=1)


def test_segments_are_told_in_order_in_the_callers_thread() -> None:
    told: list[tuple[int, int]] = []
    recognise(
        talk(3, 3, 3, 3, 3),
        recogniser=Parrot(),
        on_segment=lambda segment: told.append((segment.index, threading.get_ident())),
        threads=3,
    )
    assert told == [(at, threading.get_ident()) for at in range(5)]


def test_a_stopped_run_goes_on_where_it_left_off() -> None:
    sound = talk(*([3.0] * 8))
    kept: dict[int, Segment] = {}

    def keep(segment: Segment) -> None:
        kept[segment.index] = segment

    some, problems = recognise(
        sound, recogniser=Parrot(), on_segment=keep, should_stop=lambda: len(kept) >= 3, threads=1
    )
    assert [problem.slug for problem in problems] == ["hearing-stopped"]
    assert 3 <= len(some) < 8
    assert f"{some[-1].end_s:.1f} s" in problems[0].found
    parrot = Parrot()
    before = len(kept)
    everything, problems = recognise(sound, recogniser=parrot, resume=dict(kept), on_segment=keep)
    assert problems == ()
    assert len(parrot.asked) == 8 - before
    assert sorted(kept) == list(range(8))
    assert everything == recognise(sound, recogniser=Parrot())[0]


def test_a_kept_segment_of_other_sound_is_heard_again() -> None:
    kept: dict[int, Segment] = {}
    recognise(talk(3, 3), recogniser=Parrot(), on_segment=lambda segment: kept.update({segment.index: segment}))
    parrot = Parrot()
    stretches, _ = recognise(talk(4, 4), recogniser=parrot, resume=kept)
    assert len(parrot.asked) == 2
    assert stretches[1].start_s > kept[1].stretch.start_s


def test_a_recogniser_that_fails_ends_the_run_with_its_own_error() -> None:
    def fail(sound: Sound) -> Heard:
        raise MemoryError

    with pytest.raises(MemoryError):
        recognise(talk(3, 3), recogniser=Parrot(told=fail))


@pytest.mark.parametrize("sound", [np.zeros(0, dtype=np.float32), np.zeros(5 * RATE, dtype=np.float32)])
def test_sound_without_speech_is_a_problem_and_no_good_news(sound: Sound) -> None:
    stretches, problems = recognise(sound, recogniser=Parrot(), where="walk.mov")
    assert stretches == ()
    assert [problem.slug for problem in problems] == ["no-speech"]
    assert problems[0].where == "walk.mov"


def test_what_sounds_like_speech_and_has_no_words_is_no_speech() -> None:
    told: list[Segment] = []
    stretches, problems = recognise(talk(3), recogniser=Parrot(told=lambda _: Heard(())), on_segment=told.append)
    assert stretches == ()
    assert [problem.slug for problem in problems] == ["no-speech"]
    assert [segment.stretch.text for segment in told] == [""]


def test_a_piece_in_which_the_recogniser_gets_lost_is_heard_in_halves() -> None:
    def told(sound: Sound) -> Heard:
        return Heard((HeardWord("is", 0.0, 1.0, 0.9),), broken_off=len(sound) > 8.5 * RATE)

    stretches, problems = recognise(talk(10), recogniser=Parrot(told=told))
    assert problems == ()
    assert stretches[0].text == "is is"
    assert stretches[0].words[1].start_s - stretches[0].words[0].start_s == pytest.approx(5, abs=2.6)
    assert {word.timing for word in stretches[0].words} == {WordTiming.RECOGNISER}


def test_words_lost_for_good_are_a_problem_with_its_seconds() -> None:
    _, problems = recognise(talk(5), recogniser=Parrot(told=lambda _: Heard((HeardWord("is"),), broken_off=True)))
    assert [problem.slug for problem in problems] == ["speech-broken-off"]
    assert "0.8-6.2 s" in problems[0].where


def test_samples_that_are_no_numbers_are_taken_as_silence_and_told() -> None:
    sound = talk(3)
    sound[100:110] = np.nan
    stretches, problems = recognise(sound, recogniser=Parrot())
    assert [problem.slug for problem in problems] == ["sound-not-finite"]
    assert "10 samples" in problems[0].found
    assert len(stretches) == 1


@pytest.mark.parametrize("sound", [np.zeros((2, 100), dtype=np.float32), np.zeros(100, dtype=np.int16)])
def test_sound_of_another_shape_or_type_is_refused(sound: Sound) -> None:
    with pytest.raises(UserError, match="one channel"):
        recognise(sound, recogniser=Parrot())
    with pytest.raises(UserError, match="one channel"):
        recognise(iter([sound]), recogniser=Parrot())


def test_no_threads_are_refused() -> None:
    with pytest.raises(UserError, match="at least 1"):
        recognise(talk(1), recogniser=Parrot(), threads=0)


def test_a_foreign_tongue_is_told() -> None:
    gibberish = "Bon jewel voice ill avoid your lay dose ale avant song tong bony tam may lay bar della port gosh"

    def told(sound: Sound) -> Heard:
        return Heard(tuple(HeardWord(word, sureness=0.4) for word in gibberish.split()))

    _, problems = recognise(talk(5, 5), recogniser=Parrot(told=told), where="film.mp4")
    assert [problem.slug for problem in problems] == ["not-english"]


def test_hours_of_sound_are_held_a_few_pieces_at_a_time() -> None:
    # One hour in blocks of a minute; no block is kept, only the pieces under way.
    import gc
    import weakref

    alive: list[weakref.ref[Sound]] = []
    most = 0

    def blocks() -> Iterator[Sound]:
        nonlocal most
        for _ in range(60):
            block = np.tile(talk(8, pause_s=4.0)[: 12 * RATE], 5)
            alive.append(weakref.ref(block))
            yield block
            del block
            gc.collect(1)
            most = max(most, sum(ref() is not None for ref in alive))

    stretches, _ = recognise(blocks(), recogniser=Parrot())
    assert len(stretches) == 300
    assert most <= 3
