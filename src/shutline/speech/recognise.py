"""Sound to stretches of timed words, piece by piece, so that a run can be stopped and go on."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Final

import numpy as np

from shutline.car.errors import Problem, UserError
from shutline.car.speech import Segment, Stretch, StretchOrigin
from shutline.speech.align import timed
from shutline.speech.heard import SAMPLES_PER_S, Heard, HeardWord, Recogniser, Sound
from shutline.speech.language import doubt_english
from shutline.speech.split import Piece, split

_BLOCK: Final = 10 * SAMPLES_PER_S
_SHORTEST_HALF: Final = 2 * SAMPLES_PER_S


def recognise(
    sound: Sound | Iterable[Sound],
    *,
    recogniser: Recogniser,
    terms: Sequence[str] = (),
    resume: Mapping[int, Segment] | None = None,
    on_segment: Callable[[Segment], None] | None = None,
    should_stop: Callable[[], bool] | None = None,
    threads: int = 2,
    where: str = "sound",
) -> tuple[tuple[Stretch, ...], tuple[Problem, ...]]:
    """Hear what is said in a recording.

    The result is the same whatever the number of threads, the blocks, and the stops on the way.

    Parameters
    ----------
    sound : ndarray of float32, shape (samples,), or iterable of such
        16 kHz, one channel, in [-1, 1]; whole, or block after block. Of blocks no more than a few pieces are held.
    recogniser : Recogniser
        What turns a piece into words.
    terms : sequence of str
        Trade words to lend an ear to.
    resume : mapping of int to Segment, optional
        Segments that `on_segment` got in an earlier run over the same sound with the same recogniser and terms (keep
        them under `Recogniser.id`). They are not heard again; one whose times do not fit its piece is.
    on_segment : callable, optional
        Called in this thread, in order, once for each segment that was heard in this run.
    should_stop : callable, optional
        Asked before each piece; True ends the run with what was heard so far and the problem ``hearing-stopped``.
    threads : int
        Pieces worked on at a time, at least 1.
    where : str
        Name of the recording, for problems.

    Returns
    -------
    stretches : tuple of Stretch
        In order, those with words only.
    problems : tuple of Problem
        ``no-speech``, ``not-english``, ``speech-broken-off``, ``sound-not-finite``, ``hearing-stopped``.

    Raises
    ------
    UserError
        The sound has another shape or type, or `threads` is under 1.
    """
    if threads < 1:
        raise _misused("threads", f"{threads}", "at least 1 thread is needed", "Give 1 or more.")
    known = resume or {}
    blocks = _Blocks(sound)
    segments: list[Segment] = []
    stopped = False

    def deliver(piece: Piece, work: Future[Segment] | None) -> None:
        segment = known[piece.index] if work is None else work.result()
        segments.append(segment)
        if work is not None and on_segment is not None:
            on_segment(segment)

    pool = ThreadPoolExecutor(max_workers=threads, thread_name_prefix="hearing")
    waiting: deque[tuple[Piece, Future[Segment] | None]] = deque()
    try:
        for piece in split(blocks, longest_s=recogniser.longest_s):
            if should_stop is not None and should_stop():
                stopped = True
                break
            waiting.append(
                (
                    piece,
                    None if _fits(known, piece) else pool.submit(_segment, piece, recogniser=recogniser, terms=terms),
                )
            )
            while waiting and (len(waiting) > 2 * threads or waiting[0][1] is None or waiting[0][1].done()):
                deliver(*waiting.popleft())
        while waiting and not stopped:
            stopped = should_stop is not None and should_stop()
            if not stopped:
                deliver(*waiting.popleft())
        # What is under way when the run is stopped is finished and kept; what has not begun is let go.
        while waiting and (waiting[0][1] is None or not waiting[0][1].cancel()):
            deliver(*waiting.popleft())
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
    stretches = tuple(segment.stretch for segment in segments if segment.stretch.words)
    problems = (*blocks.problems(where), *_problems(segments, stopped=stopped, where=where))
    return stretches, problems


def _fits(known: Mapping[int, Segment], piece: Piece) -> bool:
    if piece.index not in known:
        return False
    stretch = known[piece.index].stretch
    return abs(stretch.start_s - piece.start_s) < 0.001 and abs(stretch.end_s - piece.end_s) < 0.001


def _segment(piece: Piece, *, recogniser: Recogniser, terms: Sequence[str]) -> Segment:
    heard = _hear(piece.sound, recogniser=recogniser, terms=terms)
    words = timed(heard, piece.sound, piece.start_s)
    stretch = Stretch(piece.start_s, piece.end_s, heard.text, words, StretchOrigin.HEARD)
    return Segment(piece.index, stretch, heard.broken_off)


def _hear(sound: Sound, *, recogniser: Recogniser, terms: Sequence[str]) -> Heard:
    """Hear a piece; where the recogniser loses its way, hear the two halves by themselves."""
    whole = recogniser.words(sound, terms=terms)
    if not whole.broken_off or len(sound) < 2 * _SHORTEST_HALF:
        return whole
    at = _quietest(sound)
    first = _hear(sound[:at], recogniser=recogniser, terms=terms)
    second = _hear(sound[at:], recogniser=recogniser, terms=terms)
    return Heard(
        first.words + tuple(_later(word, at / SAMPLES_PER_S) for word in second.words),
        first.broken_off or second.broken_off,
    )


def _later(word: HeardWord, by_s: float) -> HeardWord:
    if word.start_s is None or word.end_s is None:
        return word
    return HeardWord(word.text, word.start_s + by_s, word.end_s + by_s, word.sureness)


def _quietest(sound: Sound) -> int:
    """Find the quietest fifth of a second in the middle half, as a sample number."""
    window = SAMPLES_PER_S // 5
    low, high = len(sound) // 4, 3 * len(sound) // 4
    starts = range(low, high - window, window // 4)
    best = min(starts, key=lambda at: float(np.sum(np.square(sound[at : at + window]))), default=len(sound) // 2)
    return best + window // 2


class _Blocks:
    """Sound in blocks, checked on the way; remembers how much had to be mended."""

    def __init__(self, sound: Sound | Iterable[Sound]) -> None:
        self._sound = sound
        self._mended = 0

    def __iter__(self) -> Iterator[Sound]:
        if isinstance(self._sound, np.ndarray):
            whole = self._sound
            blocks: Iterable[Sound] = (whole[at : at + _BLOCK] for at in range(0, len(_checked(whole)), _BLOCK))
        else:
            blocks = self._sound
        for block in blocks:
            good = np.isfinite(_checked(block))
            if good.all():
                yield block
            else:
                self._mended += int(np.count_nonzero(~good))
                yield np.where(good, block, np.float32(0.0))

    def problems(self, where: str) -> tuple[Problem, ...]:
        if not self._mended:
            return ()
        return (
            Problem(
                slug="sound-not-finite",
                where=where,
                found=f"{self._mended} samples that are no numbers",
                allowed="they were taken as silence",
                advice="Check the file with another player; words may be missing there.",
            ),
        )


def _checked(block: Sound) -> Sound:
    if not isinstance(block, np.ndarray) or block.dtype != np.float32 or block.ndim != 1:
        shape = getattr(block, "shape", None)
        kind = getattr(block, "dtype", type(block).__name__)
        raise _misused(
            "sound",
            f"{kind} of shape {shape}",
            "float32 at 16 kHz with one channel, shape (samples,), is needed",
            "Read the recording through the capture stage.",
        )
    return block


def _misused(where: str, found: str, allowed: str, advice: str) -> UserError:
    return UserError(Problem(slug="speech-misused", where=where, found=found, allowed=allowed, advice=advice))


def _problems(segments: Sequence[Segment], *, stopped: bool, where: str) -> tuple[Problem, ...]:
    problems: list[Problem] = []
    if stopped:
        reached = segments[-1].stretch.end_s if segments else 0.0
        problems.append(
            Problem(
                slug="hearing-stopped",
                where=where,
                found=f"the run was stopped; speech is read up to {reached:.1f} s",
                allowed="what comes after it has not been listened to",
                advice="Run it again: it goes on from there.",
            )
        )
    elif not any(segment.stretch.words for segment in segments):
        problems.append(
            Problem(
                slug="no-speech",
                where=where,
                found="sound, but no speech that can be understood",
                allowed="nothing that was said can be read, and no part of the car counts as looked at",
                advice="Film again with the microphone near the speaker, or add a transcript or notes.",
            )
        )
    problems.extend(
        Problem(
            slug="speech-broken-off",
            where=f"{where}, {segment.stretch.start_s:.1f}-{segment.stretch.end_s:.1f} s",
            found="the recogniser lost its way here",
            allowed="words may be missing or wrong",
            advice="Listen to this part, and add what it says by hand.",
        )
        for segment in segments
        if segment.broken_off
    )
    problems.extend(doubt_english([_as_heard(segment) for segment in segments], where=where))
    return tuple(problems)


def _as_heard(segment: Segment) -> Heard:
    words = tuple(HeardWord(word.text, sureness=word.sureness) for word in segment.stretch.words)
    return Heard(words, segment.broken_off)
