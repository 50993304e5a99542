"""Word times: words that are already known are laid along their sound."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from shutline.car.speech import Word, WordTiming, share_out
from shutline.speech.heard import SAMPLES_PER_S, Heard, Sound
from shutline.speech.pronounce import sounds_of, spoken_forms

FRAMES_PER_S: Final = 100
# Of the words, this share must have been laid before the rest may be shared out behind them.
_LEAST_LAID: Final = 0.8

_local = threading.local()


def timed(heard: Heard, sound: Sound, start_s: float) -> tuple[Word, ...]:
    """Give each heard word its time in the recording.

    Parameters
    ----------
    heard : Heard
        The words of one piece.
    sound : ndarray of float32, shape (samples,)
        The piece, 16 kHz.
    start_s : float
        Where the piece starts in the recording, seconds.

    Returns
    -------
    tuple of Word
        One for each heard word. Times come from the recogniser where it gave them for every word, else by laying the
        words along the sound, else by sharing out the time; each word says which.
    """
    length_s = len(sound) / SAMPLES_PER_S
    if heard.words and all(word.start_s is not None and word.end_s is not None for word in heard.words):
        return _from_recogniser(heard, start_s, length_s)
    laid = align([word.text for word in heard.words], sound)
    if laid is None:
        laid = share_out(heard.text, 0.0, length_s)
    return tuple(
        Word(told.text, start_s + word.start_s, start_s + word.end_s, word.timing, told.sureness)
        for word, told in zip(laid, heard.words, strict=True)
    )


def _from_recogniser(heard: Heard, start_s: float, length_s: float) -> tuple[Word, ...]:
    words = []
    latest = 0.0
    for word in heard.words:
        start = min(max(latest, word.start_s or 0.0), length_s)
        end = min(max(start, word.end_s or 0.0), length_s)
        words.append(Word(word.text, start_s + start, start_s + end, WordTiming.RECOGNISER, word.sureness))
        latest = start
    return tuple(words)


def align(words: Sequence[str], sound: Sound) -> tuple[Word, ...] | None:
    """Lay words along their sound.

    Parameters
    ----------
    words : sequence of str
        As written: marks and figures are taken care of.
    sound : ndarray of float32, shape (samples,)
        16 kHz, one channel.

    Returns
    -------
    tuple of Word, or None
        One for each word, seconds from the start of the sound, in order; a written word without any sound of its own
        (a dash) stands at the end of the one before. Where the last few words could not be laid, the time that is left
        is shared out among them, and they say so. None where the aligner is not installed, a word cannot be
        pronounced, or the words do not fit the sound.
    """
    aligner = _aligner()
    if aligner is None or not words:
        return None
    spoken: list[str] = []
    owners: list[int] = []
    for at, word in enumerate(words):
        for form in spoken_forms(word):
            if not _known(aligner, form):
                return None
            spoken.append(form)
            owners.append(at)
    frames = _lay(aligner, spoken, sound)
    whole = _whole_words(owners, len(frames), len(words))
    if not spoken or whole < _LEAST_LAID * len(words):
        return None
    laid: list[Word] = []
    at = 0
    for owner in range(whole):
        start = end = laid[-1].end_s if laid else 0.0
        if at < len(owners) and owners[at] == owner:
            start = frames[at][0] / FRAMES_PER_S
        while at < len(owners) and owners[at] == owner:
            end = (frames[at][1] + 1) / FRAMES_PER_S
            at += 1
        laid.append(Word(words[owner], start, end, WordTiming.ALIGNED))
    rest = " ".join(words[whole:])
    after = laid[-1].end_s if laid else 0.0
    return (*laid, *share_out(rest, after, max(after, len(sound) / SAMPLES_PER_S)))


def _whole_words(owners: Sequence[int], found: int, count: int) -> int:
    """Count the written words that can be relied on, given how many spoken ones were laid."""
    if found == len(owners):
        return count
    # The last one laid before the rest went missing has swallowed their time.
    return owners[found - 1] if found else 0


def _known(aligner: Any, form: str) -> bool:
    if aligner.lookup_word(form) is not None:
        return True
    phones = _compound(aligner, form) or " ".join(sounds_of(form))
    if not phones:
        return False
    aligner.add_word(form, phones, True)  # noqa: FBT003 - the library takes it by place only
    return True


def _compound(aligner: Any, form: str) -> str | None:
    """Say a word that is two known ones written together: nearside, quarterlight."""
    for at in range(len(form) - 3, 2, -1):
        first, second = aligner.lookup_word(form[:at]), aligner.lookup_word(form[at:])
        if first and second:
            return f"{first} {second}"
    return None


def _lay(aligner: Any, spoken: Sequence[str], sound: Sound) -> list[tuple[int, int]]:
    """Give first and last frame of the words from the front that were laid; empty where they do not fit at all."""
    samples = (np.clip(sound, -1.0, 1.0) * 32767).astype("<i2").tobytes()
    try:
        # Otherwise what it has learnt of the noise in one piece goes into the times of the next.
        aligner.reinit_feat()
        aligner.set_align_text(" ".join(spoken))
        aligner.start_utt()
        aligner.process_raw(samples, full_utt=True)
        aligner.end_utt()
        parts = list(aligner.seg() or ())
    except RuntimeError:
        # The library's word for 'does not fit'.
        return []
    found = [(part.word.split("(")[0], part.start_frame, part.end_frame) for part in parts if part.word[0] not in "<[+"]
    if [word for word, _, _ in found] != list(spoken[: len(found)]):
        return []
    return [(start, end) for _, start, end in found]


def _aligner() -> Any | None:
    """Give this thread's aligner; it is no thing to share."""
    if not hasattr(_local, "aligner"):
        try:
            from pocketsphinx import Decoder  # not to be had everywhere

            _local.aligner = Decoder(lm=None, loglevel="FATAL", cmn="batch")
        except (ImportError, RuntimeError):
            _local.aligner = None
    return _local.aligner
