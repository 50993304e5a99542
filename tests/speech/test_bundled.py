from __future__ import annotations

import shutil
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from shutline.car.errors import BrokenWorldError
from shutline.speech.bundled import BundledRecogniser, _loop, _without_loop
from shutline.speech.heard import Sound
from shutline.speech.settings import settings

WEIGHTS = Path(str(files("shutline.speech").joinpath("weights/tiny-en")))


def test_a_clause_is_heard_the_same_every_time(reading: Sound, recogniser: BundledRecogniser) -> None:
    clause = reading[16000 : int(4.8 * 16000)]
    first = recogniser.words(clause)
    assert first.text.lower().replace(".", "").replace(",", "") == "it was the best of times it was the worst of times"
    assert recogniser.words(clause) == first
    assert not first.broken_off
    assert all(word.start_s is None and 0 < (word.sureness or 0) <= 1 for word in first.words)


@pytest.mark.parametrize("samples", [1, 160, 4000])
def test_very_short_sound_is_taken(recogniser: BundledRecogniser, samples: int) -> None:
    assert len(recogniser.words(np.zeros(samples, dtype=np.float32)).words) <= 4


@pytest.mark.parametrize(
    ("numbers", "loop"),
    [
        ((5, 6, 7), None),
        ((1, 9, 9, 9, 9), None),
        ((1, *[9] * 8), (1, 8)),
        ((1, 4, *[5, 6, 7] * 3), None),
        ((1, 4, *[5, 6, 7] * 4), (3, 4)),
    ],
)
def test_a_loop_is_what_nobody_would_say_so_often(numbers: tuple[int, ...], loop: tuple[int, int] | None) -> None:
    assert _loop(numbers) == loop


def test_of_a_loop_the_first_round_is_kept() -> None:
    numbers = (1, 4, *[5, 6, 7] * 5)
    logs = tuple(float(at) for at in range(len(numbers)))
    assert _without_loop(numbers, logs) == ((1, 4, 5, 6, 7), logs[:5], True)


@pytest.mark.parametrize("name", ["encoder_model.ort", "tokenizer.bin", "SHA256SUMS"])
def test_a_missing_file_is_named(tmp_path: Path, name: str) -> None:
    for path in WEIGHTS.iterdir():
        if path.name not in {name, "decoder_model_merged.ort"}:
            shutil.copy(path, tmp_path)
    if name == "SHA256SUMS":
        shutil.copy(WEIGHTS / "decoder_model_merged.ort", tmp_path)
    with pytest.raises(BrokenWorldError, match=name):
        BundledRecogniser(tmp_path, threads=1, tuning=settings().bundled)
