"""Captions: the words of a recording cut into cues that can be read."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shutline.car.speech import Stretch, Word, share_out
from shutline.publish.plain import one_line
from shutline.publish.webvtt import Cue
from shutline.publish.wording import limits

_SENTENCE_ENDS = (".", "!", "?", "\N{HORIZONTAL ELLIPSIS}")


@dataclass(frozen=True, slots=True)
class _Piece:
    """A word, or part of one too long for a line."""

    text: str
    start_s: float
    end_s: float


def captions(stretches: Sequence[Stretch]) -> tuple[Cue, ...]:
    """Cut the words of a recording into captions.

    A caption has at most two lines of 42 letters and stands for 1 to 7 seconds (``data/chapters.toml``); it ends at a
    pause or the end of a sentence where it can, and never reaches into the next. Words that come faster than that are
    kept whole and their captions follow one another without a gap.

    Parameters
    ----------
    stretches : sequence of Stretch
        In any order; times may run backwards, as they do in some transcripts: the words are put in order.

    Returns
    -------
    tuple of Cue
        Lines separated by a line end; empty where nothing was said.
    """
    groups = _groups(_pieces(stretches))
    return _timed(_closed_up(groups))


def _pieces(stretches: Iterable[Stretch]) -> list[_Piece]:
    width = int(limits("captions")["line_letters"])
    pieces: list[_Piece] = []
    for stretch in stretches:
        words: Sequence[Word] = stretch.words or share_out(stretch.text, stretch.start_s, stretch.end_s)
        for word in words:
            text = one_line(word.text)
            if not text or not (math.isfinite(word.start_s) and math.isfinite(word.end_s)):
                continue
            parts = [text[i : i + width] for i in range(0, len(text), width)]
            start, end = max(word.start_s, 0.0), max(word.end_s, word.start_s, 0.0)
            step = (end - start) / len(parts)
            pieces.extend(_Piece(p, start + i * step, start + (i + 1) * step) for i, p in enumerate(parts))
    return sorted(pieces, key=lambda piece: piece.start_s)


def _groups(pieces: Sequence[_Piece]) -> list[list[_Piece]]:
    """Put words together as long as they fit, ending where a reader would."""
    rules = limits("captions")
    groups: list[list[_Piece]] = []
    for piece in pieces:
        group = groups[-1] if groups else []
        fits = group and _lines([*group, piece]) and piece.end_s - group[0].start_s <= rules["longest_s"]
        if fits and piece.start_s - group[-1].end_s < rules["pause_s"] and not _is_finished(group):
            group.append(piece)
        else:
            groups.append([piece])
    return groups


def _is_finished(group: Sequence[_Piece]) -> bool:
    """Tell whether a sentence ends here and what stands so far is enough to be shown by itself."""
    rules = limits("captions")
    long_enough = group[-1].end_s - group[0].start_s >= rules["shortest_s"]
    return long_enough and group[-1].text.endswith(_SENTENCE_ENDS)


def _closed_up(groups: list[list[_Piece]]) -> list[list[_Piece]]:
    """Join a caption that would be gone too soon with the one before or after it, where both fit as one."""
    rules = limits("captions")
    kept: list[list[_Piece]] = []
    for group in groups:
        room = group[0].start_s - kept[-1][0].start_s if kept else math.inf
        long = group[-1].end_s - kept[-1][0].start_s if kept else math.inf
        short = room < rules["shortest_s"] or (
            group[-1].end_s - group[0].start_s < rules["shortest_s"] / 2
            and group[0].start_s - kept[-1][-1].end_s < rules["pause_s"]
            if kept
            else False
        )
        if kept and short and long <= rules["longest_s"] and _lines([*kept[-1], *group]):
            kept[-1] = [*kept[-1], *group]
        else:
            kept.append(group)
    return kept


def _timed(groups: Sequence[Sequence[_Piece]]) -> tuple[Cue, ...]:
    rules = limits("captions")
    shortest, longest = round(rules["shortest_s"] * 1000), round(rules["longest_s"] * 1000)
    cues: list[Cue] = []
    free = 0
    for index, group in enumerate(groups):
        start = max(round(group[0].start_s * 1000), free)
        end = min(max(round(group[-1].end_s * 1000), start + shortest), start + longest)
        if index + 1 < len(groups):
            following = round(groups[index + 1][0].start_s * 1000)
            # Where the next words come at once, this caption makes way for them; where they are already
            # past, it stands for its least time and they wait.
            end = min(end, following) if following > start else start + shortest
        free = end
        lines = _lines(group)
        cues.append(Cue(start, end, "\n".join(lines)))
    return tuple(cues)


def _lines(pieces: Sequence[_Piece]) -> tuple[str, ...]:
    """Set words in as few lines as hold them, two lines as even as can be; nothing when they do not fit."""
    width = int(limits("captions")["line_letters"])
    words = [piece.text for piece in pieces]
    whole = " ".join(words)
    if len(whole) <= width:
        return (whole,)
    if len(whole) > 2 * width + 1:
        return ()
    halves = [(" ".join(words[:cut]), " ".join(words[cut:])) for cut in range(1, len(words))]
    fitting = [pair for pair in halves if max(len(pair[0]), len(pair[1])) <= width]
    return min(fitting, key=lambda pair: abs(len(pair[0]) - len(pair[1])), default=())
