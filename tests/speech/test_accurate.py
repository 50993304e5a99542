from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

import numpy as np
import pytest

from shutline.car.errors import UserError
from shutline.speech.accurate import accurate
from shutline.speech.heard import HeardWord
from shutline.speech.settings import settings


class FakeModel:
    """Takes and gives what faster-whisper 1.2.1 takes and gives, as its signatures say; hears nothing."""

    made_with: tuple[str, dict[str, Any]]
    asked: dict[str, Any]
    ratio = 1.3

    def __init__(self, folder: str, **options: Any) -> None:
        type(self).made_with = (folder, options)

    def transcribe(
        self,
        sound: np.ndarray,
        *,
        language: str,
        beam_size: int,
        temperature: float,
        word_timestamps: bool,
        hotwords: str | None,
        condition_on_previous_text: bool,
        vad_filter: bool,
    ) -> tuple[Iterator[Any], None]:
        type(self).asked = {
            "samples": len(sound),
            "language": language,
            "beam_size": beam_size,
            "temperature": temperature,
            "word_timestamps": word_timestamps,
            "hotwords": hotwords,
            "condition_on_previous_text": condition_on_previous_text,
            "vad_filter": vad_filter,
        }
        words = [SimpleNamespace(word=" The", start=0.0, end=0.2, probability=0.9)]
        more = [SimpleNamespace(word=" sill.", start=0.25, end=0.6, probability=0.8)]
        return iter(
            [
                SimpleNamespace(words=words, compression_ratio=1.1),
                SimpleNamespace(words=more, compression_ratio=self.ratio),
                SimpleNamespace(words=None, compression_ratio=1.0),
            ]
        ), None


@pytest.fixture
def model_folder(tmp_path: Path) -> Path:
    (tmp_path / "model.bin").write_bytes(b"weights")
    (tmp_path / "config.json").write_text("{}", encoding="utf-8")
    (tmp_path / "tokenizer.json").write_text("{}", encoding="utf-8")
    return tmp_path


@pytest.fixture
def library(monkeypatch: pytest.MonkeyPatch) -> type[FakeModel]:
    class Model(FakeModel):
        pass

    module = ModuleType("faster_whisper")
    module.WhisperModel = Model  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "faster_whisper", module)
    return Model


def test_words_come_with_the_times_and_sureness_of_the_model(library: type[FakeModel], model_folder: Path) -> None:
    heard = accurate(model_folder).words(np.zeros(16000, dtype=np.float32), terms=["sill", "scuttle"])
    assert heard.words == (HeardWord("The", 0.0, 0.2, 0.9), HeardWord("sill.", 0.25, 0.6, 0.8))
    assert not heard.broken_off
    assert library.asked == {
        "samples": 16000,
        "language": "en",
        "beam_size": 5,
        "temperature": 0.0,
        "word_timestamps": True,
        "hotwords": "sill, scuttle",
        "condition_on_previous_text": False,
        "vad_filter": True,
    }


def test_the_model_is_loaded_from_the_folder_alone(library: type[FakeModel], model_folder: Path) -> None:
    accurate(model_folder, threads=3)
    folder, options = library.made_with
    assert folder == str(model_folder)
    assert options == {"device": "cpu", "compute_type": "int8", "cpu_threads": 3, "local_files_only": True}


def test_without_terms_there_are_no_hotwords(library: type[FakeModel], model_folder: Path) -> None:
    accurate(model_folder).words(np.zeros(160, dtype=np.float32))
    assert library.asked["hotwords"] is None


def test_text_that_repeats_itself_is_broken_off(library: type[FakeModel], model_folder: Path) -> None:
    library.ratio = settings().accurate.most_compression + 0.1
    assert accurate(model_folder).words(np.zeros(160, dtype=np.float32)).broken_off


def test_other_weights_have_another_name(library: type[FakeModel], model_folder: Path) -> None:
    before = accurate(model_folder).id
    assert before == accurate(model_folder).id
    (model_folder / "model.bin").write_bytes(b"other weights")
    assert accurate(model_folder).id != before


def test_without_the_extra_the_error_says_how_to_install_it(
    monkeypatch: pytest.MonkeyPatch, model_folder: Path
) -> None:
    monkeypatch.setitem(sys.modules, "faster_whisper", None)
    with pytest.raises(UserError, match=r"pip install .shutline\[accurate-speech\]") as caught:
        accurate(model_folder)
    assert caught.value.problem.slug == "accurate-speech-missing"


def test_a_folder_without_a_model_is_told(library: type[FakeModel], tmp_path: Path) -> None:
    with pytest.raises(UserError, match=r"no model\.bin") as caught:
        accurate(tmp_path / "nowhere")
    assert caught.value.problem.slug == "speech-model-missing"


def test_a_missing_tokenizer_is_told_and_not_looked_for_elsewhere(library: type[FakeModel], model_folder: Path) -> None:
    (model_folder / "tokenizer.json").unlink()
    with pytest.raises(UserError, match=r"no tokenizer\.json"):
        accurate(model_folder)
    assert not hasattr(library, "made_with")


def test_a_model_that_cannot_be_loaded_is_told(
    monkeypatch: pytest.MonkeyPatch, library: type[FakeModel], model_folder: Path
) -> None:
    def fail(self: FakeModel, folder: str, **options: Any) -> None:
        message = "Unsupported model binary version"
        raise RuntimeError(message)

    monkeypatch.setattr(library, "__init__", fail)
    with pytest.raises(UserError, match="Unsupported model binary version"):
        accurate(model_folder)
