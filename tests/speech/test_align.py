from __future__ import annotations

import sys
from itertools import pairwise

import numpy as np
import pytest

from shutline.car.speech import WordTiming
from shutline.speech import align as module
from shutline.speech.align import align, timed
from shutline.speech.heard import Heard, HeardWord, Sound

OPENING = "It was the best of times,"


@pytest.fixture
def opening(reading: Sound) -> Sound:
    return reading[16000 : int(2.92 * 16000)]


def test_words_are_laid_along_their_sound_in_order(opening: Sound) -> None:
    pytest.importorskip("pocketsphinx")
    words = align(OPENING.split(), opening)
    assert words is not None
    assert " ".join(word.text for word in words) == OPENING
    assert {word.timing for word in words} == {WordTiming.ALIGNED}
    assert all(a.start_s <= a.end_s <= b.start_s + 1e-9 for a, b in pairwise(words))
    # 'times' is the long one at the end.
    assert words[-1].end_s - words[-1].start_s > 0.3


def test_the_same_piece_gets_the_same_times_whatever_came_before(reading: Sound, opening: Sound) -> None:
    pytest.importorskip("pocketsphinx")
    first = align(OPENING.split(), opening)
    align(["it", "was", "the", "worst", "of", "times"], reading[int(2.92 * 16000) : int(4.8 * 16000)])
    assert align(OPENING.split(), opening) == first


def test_marks_without_a_sound_and_unknown_words_keep_their_place(opening: Sound) -> None:
    pytest.importorskip("pocketsphinx")
    words = align(["It", "was", "—", "the", "best", "of", "tymez,"], opening)
    assert words is not None
    assert [word.text for word in words] == ["It", "was", "—", "the", "best", "of", "tymez,"]
    assert words[2].start_s == words[2].end_s == words[1].end_s


def test_words_that_do_not_fit_the_sound_share_out_its_time(opening: Sound) -> None:
    heard = Heard(tuple(HeardWord(word, sureness=0.5) for word in ["carburettor"] * 60))
    words = timed(heard, opening, 100.0)
    assert {word.timing for word in words} == {WordTiming.SHARED_OUT}
    assert len(words) == 60
    assert words[0].start_s == 100.0
    assert words[-1].end_s == pytest.approx(100.0 + len(opening) / 16000)
    assert {word.sureness for word in words} == {0.5}


def test_nothing_said_gives_no_words(opening: Sound) -> None:
    assert timed(Heard(()), opening, 5.0) == ()
    assert align(["—"], opening) is None


def test_without_the_aligner_the_time_is_shared_out(monkeypatch: pytest.MonkeyPatch, opening: Sound) -> None:
    monkeypatch.setitem(sys.modules, "pocketsphinx", None)
    monkeypatch.delattr(module._local, "aligner", raising=False)
    words = timed(Heard((HeardWord("best"), HeardWord("times"))), opening, 0.0)
    monkeypatch.delattr(module._local, "aligner", raising=False)
    assert {word.timing for word in words} == {WordTiming.SHARED_OUT}


def test_times_of_the_recogniser_are_kept_within_the_piece_and_in_order() -> None:
    heard = Heard((HeardWord("a", -0.1, 0.2), HeardWord("b", 0.1, 0.05), HeardWord("c", 0.9, 1.4)))
    words = timed(heard, np.zeros(16000, dtype=np.float32), 10.0)
    assert [(word.start_s, word.end_s) for word in words] == [(10.0, 10.2), (10.1, 10.1), (10.9, 11.0)]
    assert {word.timing for word in words} == {WordTiming.RECOGNISER}


class Dropper:
    """An aligner that loses the last word, as the real one does where a word does not fit."""

    def __init__(self, lost: int) -> None:
        self.lost = lost
        self.text: list[str] = []

    def lookup_word(self, word: str) -> str:
        return "AH" * len(word)

    def reinit_feat(self) -> None: ...

    def set_align_text(self, text: str) -> None:
        self.text = text.split()

    def start_utt(self) -> None: ...

    def end_utt(self) -> None: ...

    def process_raw(self, raw: bytes, *, full_utt: bool) -> None: ...

    def seg(self) -> list[object]:
        class Part:
            def __init__(self, word: str, at: int) -> None:
                self.word, self.start_frame, self.end_frame = word, 10 * at, 10 * at + 9

        kept = self.text[: len(self.text) - self.lost]
        return [Part("<s>", 0), *[Part(word + ("(2)" if at else ""), at) for at, word in enumerate(kept)]]


def test_a_lost_ending_is_shared_out_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "_aligner", lambda: Dropper(1))
    sound = np.zeros(32000, dtype=np.float32)
    words = align(["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven"], sound)
    assert words is not None
    assert [word.timing for word in words] == [WordTiming.ALIGNED] * 9 + [WordTiming.SHARED_OUT] * 2
    assert words[9].start_s == pytest.approx(0.9)
    assert words[10].end_s == pytest.approx(2.0)


def test_too_much_lost_is_no_alignment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "_aligner", lambda: Dropper(5))
    assert (
        align(
            ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"],
            np.zeros(32000, dtype=np.float32),
        )
        is None
    )
