"""Word times: words that are already known are laid along their sound."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from shutline.car.speech import Word, WordTiming, share_out
from shutline.speech.heard import Heard, Sound
from shutline.speech.pronounce import PHONES, sounds_of, spoken_forms

FRAMES_PER_S: Final = 100

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
    length_s = len(sound) / 16_000
    if heard.words and all(word.start_s is not None and word.end_s is not None for word in heard.words):
        return _from_recogniser(heard, start_s, length_s)
    spans = align([word.text for word in heard.words], sound)
    shared = share_out(heard.text, start_s, start_s + length_s)
    if spans is None:
        return tuple(
            Word(word.text, word.start_s, word.end_s, word.timing, told.sureness)
            for word, told in zip(shared, heard.words, strict=True)
        )
    return tuple(
        Word(word.text, start_s + start, start_s + end, WordTiming.ALIGNED, word.sureness)
        for word, (start, end) in zip(heard.words, spans, strict=True)
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


def align(words: Sequence[str], sound: Sound) -> list[tuple[float, float]] | None:
    """Lay words along their sound.

    Parameters
    ----------
    words : sequence of str
        As written: marks and figures are taken care of.
    sound : ndarray of float32, shape (samples,)
        16 kHz, one channel.

    Returns
    -------
    list of (start_s, end_s), or None
        One for each word, seconds from the start of the sound, in order; a written word without any sound of its own
        (a dash) stands at the end of the one before. None where the aligner is not installed, a word cannot be
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
    if not spoken:
        return None
    frames = _run(aligner, spoken, sound)
    if frames is None:
        return None
    spans: list[tuple[float, float]] = []
    at = 0
    for owner in range(len(words)):
        mine = []
        while at < len(owners) and owners[at] == owner:
            mine.append(frames[at])
            at += 1
        if mine:
            spans.append((mine[0][0] / FRAMES_PER_S, (mine[-1][1] + 1) / FRAMES_PER_S))
        else:
            end = spans[-1][1] if spans else 0.0
            spans.append((end, end))
    return spans


def _known(aligner: Any, form: str) -> bool:
    if aligner.lookup_word(form) is not None:
        return True
    phones = [phone for phone in sounds_of(form) if phone in PHONES]
    if not phones:
        return False
    aligner.add_word(form, " ".join(phones), True)  # noqa: FBT003 - the library takes it by place only
    return True


def _run(aligner: Any, spoken: Sequence[str], sound: Sound) -> list[tuple[int, int]] | None:
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
        return None
    found = [(part.word.split("(")[0], part.start_frame, part.end_frame) for part in parts if part.word[0] not in "<[+"]
    if [word for word, _, _ in found] != list(spoken):
        return None
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
