"""The more accurate recogniser: faster-whisper with weights in a folder that the user names."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from shutline.car.errors import Problem, UserError
from shutline.speech.heard import Heard, HeardWord, Sound
from shutline.speech.settings import AccurateSettings, settings

_WEIGHTS: Final = "model.bin"
# Without the other two that library would look for them on the network.
_NEEDED: Final = (_WEIGHTS, "config.json", "tokenizer.json")


class AccurateRecogniser:
    """English speech to words with times by a larger model.

    Parameters
    ----------
    model : object
        A ``faster_whisper.WhisperModel`` or what behaves like one.
    mark : str
        What tells these weights from others.
    tuning : AccurateSettings
        Breadth of the search and longest piece.
    """

    def __init__(self, model: Any, *, mark: str, tuning: AccurateSettings) -> None:
        self._model = model
        self._mark = mark
        self._tuning = tuning

    @property
    def id(self) -> str:
        """Name, weights and settings."""
        return f"faster-whisper/{self._mark}/beam{self._tuning.beam}"

    @property
    def longest_s(self) -> float:
        """The longest piece it takes well, seconds."""
        return self._tuning.longest_s

    def words(self, sound: Sound, *, terms: Sequence[str] = ()) -> Heard:
        """Hear one piece of sound; see `Recogniser.words`."""
        segments, _ = self._model.transcribe(
            sound,
            language="en",
            beam_size=self._tuning.beam,
            temperature=0.0,
            word_timestamps=True,
            hotwords=", ".join(terms) or None,
            # Without these two, help for terms makes it invent text (measured: 20 % of words wrong).
            condition_on_previous_text=False,
            vad_filter=True,
        )
        words: list[HeardWord] = []
        broken = False
        for segment in segments:
            broken = broken or segment.compression_ratio > self._tuning.most_compression
            for word in segment.words or ():
                words.extend(
                    HeardWord(part, float(word.start), float(word.end), float(word.probability))
                    for part in word.word.split()
                )
        return Heard(tuple(words), broken)


def accurate(folder: Path, *, threads: int = 2) -> AccurateRecogniser:
    """Load the more accurate recogniser.

    Parameters
    ----------
    folder : Path
        A folder with ``model.bin``, ``config.json`` and the tokenizer, as faster-whisper takes it.
    threads : int
        Threads that it uses.

    Raises
    ------
    UserError
        The extra is not installed, or the folder holds no such model.
    """
    weights = folder / _WEIGHTS
    missing = [name for name in _NEEDED if not (folder / name).is_file()]
    if missing:
        raise UserError(
            Problem(
                slug="speech-model-missing",
                where=str(folder),
                found=f"no {', '.join(missing)}",
                allowed="the folder of a speech model in CTranslate2 form is needed",
                advice="Name such a folder, or leave the option out to use the recogniser in the package.",
            )
        )
    try:
        from faster_whisper import WhisperModel
    except ImportError as error:
        raise UserError(
            Problem(
                slug="accurate-speech-missing",
                where="speech model",
                found="the library that runs it is not installed",
                allowed="it is an extra of the package",
                advice='Install it with: pip install "shutline[accurate-speech]". Or leave the option out.',
            )
        ) from error
    try:
        model = WhisperModel(str(folder), device="cpu", compute_type="int8", cpu_threads=threads, local_files_only=True)
    except (RuntimeError, ValueError, OSError) as error:
        raise UserError(
            Problem(
                slug="speech-model-missing",
                where=str(folder),
                found=f"a model that cannot be loaded ({str(error)[:200]})",
                allowed="the folder of a speech model in CTranslate2 form is needed",
                advice="Get the model again, or leave the option out to use the recogniser in the package.",
            )
        ) from error
    return AccurateRecogniser(model, mark=_mark(weights), tuning=settings().accurate)


def _mark(weights: Path) -> str:
    """Tell weights apart by their size and both their ends: hashing gigabytes at each start would be slow."""
    size = weights.stat().st_size
    with weights.open("rb") as file:
        ends = file.read(1 << 20)
        file.seek(max(0, size - (1 << 20)))
        ends += file.read()
    return f"{weights.parent.name}-{hashlib.sha256(size.to_bytes(8, 'big') + ends).hexdigest()[:12]}"
