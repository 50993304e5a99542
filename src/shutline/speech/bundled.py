"""The recogniser that ships with the package: small English weights run by onnxruntime, on this machine alone."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any, Final, Protocol

import numpy as np
import onnxruntime
from numpy.typing import NDArray

from shutline.car.errors import BrokenWorldError, Problem
from shutline.speech.boost import Boost, Place
from shutline.speech.heard import SAMPLES_PER_S, Heard, HeardWord, Sound
from shutline.speech.settings import BundledSettings, settings
from shutline.speech.tokens import Pieces, read_pieces

# The shape of these weights.
LAYERS: Final = 6
HEADS: Final = 8
HEAD_SIZE: Final = 36
START: Final = 1
END: Final = 2

Array = NDArray[Any]
Said = tuple[str, ...]
"""What a `Company` knows of the words before, empty at the start of a piece."""


class Company(Protocol):
    """Tells how well words go together in the talk that is heard."""

    @property
    def id(self) -> str:
        """What tells it from others."""

    def after(self, said: Said, word: str) -> tuple[Said, float]:
        """Give what was said last once a word more is said, and how well that word goes with what came before.

        The second is a natural logarithm about nought: what is usual is worth nothing.
        """


@dataclass(frozen=True, slots=True)
class _Text:
    """A text being written: its pieces, each one's log probability, its score, its place among the terms.

    `word` are the pieces of the word that is not finished, `said` what was said before it.
    """

    numbers: tuple[int, ...]
    logs: tuple[float, ...]
    score: float
    place: Place
    word: tuple[int, ...] = ()
    said: Said = ()

    def per_piece(self) -> float:
        return self.score / (len(self.numbers) + 1)


class BundledRecogniser:
    """English speech to words with the weights in this package.

    Parameters
    ----------
    folder : Path
        Where encoder, decoder and table lie.
    threads : int
        Threads inside one piece of work; the caller usually runs several pieces at once and leaves this at 1.
    tuning : BundledSettings
        Breadth of the search, worth of terms and of company, and limits.
    company : Company, optional
        How words go together in the talk that is heard; without it, only the recogniser's own sense of English counts.

    Raises
    ------
    BrokenWorldError
        The files are missing or damaged.
    """

    def __init__(self, folder: Path, *, threads: int, tuning: BundledSettings, company: Company | None = None) -> None:
        self._tuning = tuning
        self._company = company
        self._pieces: Pieces = read_pieces(folder / "tokenizer.bin")
        self._encoder = _session(folder / "encoder_model.ort", threads=threads)
        self._decoder = _session(folder / "decoder_model_merged.ort", threads=threads)
        self._present = [output.name for output in self._decoder.get_outputs()][1:]
        self._boosts: dict[tuple[str, ...], Boost] = {}
        self._lock = threading.Lock()
        self._id = f"{tuning.name}/{_digest(_sums(folder))}/{_digest(repr(tuning).encode())}"
        if company is not None:
            self._id += f"/{company.id}"

    @property
    def id(self) -> str:
        """Name, weights and settings."""
        return self._id

    @property
    def longest_s(self) -> float:
        """The longest piece it takes well, seconds."""
        return self._tuning.longest_s

    def words(self, sound: Sound, *, terms: Sequence[str] = ()) -> Heard:
        """Hear one piece of sound.

        Parameters
        ----------
        sound : ndarray of float32, shape (samples,)
            16 kHz, one channel, at most about `longest_s` seconds.
        terms : sequence of str
            Trade words to lend an ear to.

        Returns
        -------
        Heard
            Words without times, each with its sureness: the geometric mean of its pieces' probabilities.
        """
        tuning = self._tuning
        if len(sound) < int(tuning.shortest_s * SAMPLES_PER_S):
            sound = np.pad(sound, (0, int(tuning.shortest_s * SAMPLES_PER_S) - len(sound)))
        mask = np.ones((1, len(sound)), dtype=np.int64)
        hidden = self._encoder.run(None, {"input_values": sound[None, :], "attention_mask": mask})[0]
        limit = int(len(sound) / SAMPLES_PER_S * tuning.pieces_per_s) + 8
        best, ended = self._search(hidden, mask, limit, self._boost(tuple(terms)))
        numbers, logs, looped = _without_loop(best.numbers, best.logs)
        return Heard(self._gather(numbers, logs), broken_off=looped or not ended)

    def _boost(self, terms: tuple[str, ...]) -> Boost:
        with self._lock:
            if terms not in self._boosts:
                self._boosts[terms] = Boost(self._pieces, terms, worth=self._tuning.term_worth)
            return self._boosts[terms]

    def _search(self, hidden: Array, mask: NDArray[np.int64], limit: int, boost: Boost) -> tuple[_Text, bool]:
        """Write the likeliest text, keeping the best few at every step."""
        beam = self._tuning.beam
        width = hidden.shape[1]
        past = {
            f"past_key_values.{layer}.{side}.{what}": np.zeros(
                (1, HEADS, 0 if side == "decoder" else width, HEAD_SIZE), dtype=np.float32
            )
            for layer in range(LAYERS)
            for side in ("decoder", "encoder")
            for what in ("key", "value")
        }
        texts = [_Text((), (), 0.0, Place())]
        finished: list[_Text] = []
        for step in range(limit):
            rows = len(texts)
            feed = {
                "encoder_attention_mask": np.repeat(mask, rows, axis=0),
                "encoder_hidden_states": np.repeat(hidden, rows, axis=0),
                "input_ids": np.array([[t.numbers[-1] if t.numbers else START] for t in texts], dtype=np.int64),
                "use_cache_branch": np.array([step > 0]),
                **past,
            }
            outputs = self._decoder.run(None, feed)
            likely = _log_softmax(outputs[0][:, -1, :])
            grown = self._grow(texts, likely, boost)
            parents: list[int] = []
            texts = []
            for parent, text in grown:
                if text.numbers[-1] == END:
                    finished.append(
                        _Text(text.numbers[:-1], text.logs[:-1], text.score + boost.settle(text.place), text.place)
                    )
                    continue
                parents.append(parent)
                texts.append(text)
                if len(texts) == beam:
                    break
            best = max(finished, key=_Text.per_piece, default=None)
            if best is not None and (
                len(finished) >= beam or not texts or texts[0].per_piece() < best.per_piece() - self._tuning.patience
            ):
                return best, True
            if not texts or all(_loops(text.numbers) for text in texts):
                break
            past = self._reordered(past, outputs[1:], parents, first=step == 0)
        if finished:
            return max(finished, key=_Text.per_piece), True
        return max(texts, key=_Text.per_piece), False

    def _grow(self, texts: list[_Text], likely: NDArray[np.float32], boost: Boost) -> list[tuple[int, _Text]]:
        beam = self._tuning.beam
        grown: list[tuple[float, int, int, _Text]] = []
        for row, text in enumerate(texts):
            logs = likely[row]
            top = np.argpartition(logs, -2 * beam)[-2 * beam :]
            floor = float(logs.max()) - self._tuning.term_reach
            helped = [number for number in boost.favoured(text.place) if logs[number] > floor]
            over: tuple[Said, float] | None = None
            for number in {*top.tolist(), *helped}:
                place, change = boost.step(text.place, number)
                score = text.score + float(logs[number]) + change
                word, said = (*text.word, number), text.said
                if number == END or self._pieces.starts_word(number):
                    # The word before is finished; what it is worth is the same whatever follows.
                    over = over or self._finished(text)
                    word, said, score = (number,), over[0], score + over[1]
                new = _Text((*text.numbers, number), (*text.logs, float(logs[number])), score, place, word, said)
                grown.append((score, row, number, new))
        grown.sort(key=lambda one: (-one[0], one[1], one[2]))
        return [(row, text) for _, row, _, text in grown[: 2 * beam]]

    def _finished(self, text: _Text) -> tuple[Said, float]:
        """Give what was said once the word begun is finished, and what the company of that word is worth."""
        if self._company is None or not text.word:
            return text.said, 0.0
        said, fit = self._company.after(text.said, self._pieces.text(list(text.word)))
        return said, self._tuning.company_worth * fit

    def _reordered(
        self, past: dict[str, Array], present: list[Array], parents: list[int], *, first: bool
    ) -> dict[str, Array]:
        rows = np.array(parents)
        kept: dict[str, Array] = {}
        for name, array in zip(self._present, present, strict=True):
            key = name.replace("present", "past_key_values")
            if ".encoder." not in key:
                kept[key] = array[rows]
            elif first:
                kept[key] = np.repeat(array[:1], len(parents), axis=0)
            else:
                # What looks at the sound is the same for every text, and does not come back after the first step.
                kept[key] = _rows(past[key], len(parents))
        return kept

    def _gather(self, numbers: tuple[int, ...], logs: tuple[float, ...]) -> tuple[HeardWord, ...]:
        words: list[HeardWord] = []
        run: list[int] = []
        sums: list[float] = []
        for number, log in zip(numbers, logs, strict=True):
            if run and self._pieces.starts_word(number):
                words.extend(self._word(run, sums))
                run, sums = [], []
            run.append(number)
            sums.append(log)
        words.extend(self._word(run, sums))
        return tuple(words)

    def _word(self, run: list[int], logs: list[float]) -> list[HeardWord]:
        text = self._pieces.text(run)
        sureness = float(np.exp(np.mean(logs))) if logs else None
        return [HeardWord(part, sureness=sureness) for part in text.split()]


def _sums(folder: Path) -> bytes:
    try:
        return (folder / "SHA256SUMS").read_bytes()
    except OSError as error:
        raise _damaged("SHA256SUMS", f"not readable ({error.strerror})") from error


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:12]


def _rows(array: Array, count: int) -> Array:
    if len(array) >= count:
        return array[:count]
    return np.concatenate([array, np.repeat(array[:1], count - len(array), axis=0)])


def _log_softmax(logits: NDArray[np.float32]) -> NDArray[np.float32]:
    shifted = logits - logits.max(axis=-1, keepdims=True)
    result: NDArray[np.float32] = shifted - np.log(np.exp(shifted).sum(axis=-1, keepdims=True))
    return result


def _loop(numbers: tuple[int, ...]) -> tuple[int, int] | None:
    """Find a run of pieces at the end that comes over and over: its length and how often; None where there is none."""
    for length in range(1, 17):
        times = 1
        while (
            len(numbers) >= (times + 1) * length
            and numbers[-(times + 1) * length : len(numbers) - times * length] == numbers[-length:]
        ):
            times += 1
        # A person may say a word three or four times ('no, no, no'); nobody says a clause four times over.
        if times >= (8 if length <= 2 else 4):
            return length, times
    return None


def _loops(numbers: tuple[int, ...]) -> bool:
    return _loop(numbers) is not None


def _without_loop(numbers: tuple[int, ...], logs: tuple[float, ...]) -> tuple[tuple[int, ...], tuple[float, ...], bool]:
    """Keep the first round of a loop at the end of the text."""
    found = _loop(numbers)
    if found is None:
        return numbers, logs, False
    length, times = found
    keep = len(numbers) - length * (times - 1)
    return numbers[:keep], logs[:keep], True


def _session(path: Path, *, threads: int) -> Any:
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = threads
    options.inter_op_num_threads = 1
    options.log_severity_level = 3
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")
    try:
        return onnxruntime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])
    except Exception as error:
        raise _damaged(path.name, f"not loadable ({str(error)[:200]})") from error


def _damaged(name: str, found: str) -> BrokenWorldError:
    return BrokenWorldError(
        Problem(
            slug="recogniser-files-damaged",
            where=name,
            found=found,
            allowed="the recogniser needs all of its files as they were installed",
            advice="Install the package again.",
        )
    )


def bundled(*, threads: int = 1, company: Company | None = None) -> BundledRecogniser:
    """Load the recogniser that ships with the package.

    Parameters
    ----------
    threads : int
        Threads inside one piece of work, at least 1.
    company : Company, optional
        How words go together in the talk that is heard.

    Raises
    ------
    BrokenWorldError
        Its files are missing or damaged.
    """
    with ExitStack() as stack:
        folder = stack.enter_context(as_file(files("shutline.speech").joinpath("weights/tiny-en")))
        return BundledRecogniser(folder, threads=threads, tuning=settings().bundled, company=company)
