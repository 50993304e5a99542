"""What the reader of remarks finds in a written sentence, for words that the rules of written text passed over.

The rules know what stands beside what in writing; the reader knows more idiom. Its finding is taken only where no rule
has read any of its words.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from shutline.car.findings import Drive, Found, Position, Side
from shutline.car.vocabulary import vocabulary
from shutline.claims.gathered import WHOLE
from shutline.claims.lines import Sentence
from shutline.claims.sayings import Saying, Spot
from shutline.claims.written_data import WrittenWords, shipped_words, small_words
from shutline.remarks.analysis import Analysis, analyse
from shutline.remarks.context import shipped_network, understand
from shutline.remarks.decisions import Decision, decide
from shutline.remarks.tokens import FULL_STOP
from shutline.remarks.weights import shipped_weights

_WITHIN = 60
"""The most letters between what is said and what names the part, for both to be quoted together."""

_PRAISE = frozenset({"sound", "present"})

_LONGEST = 600
"""Letters of a sentence before that are read with one, for what it is about."""


@dataclass(frozen=True, slots=True)
class _Read:
    """One finding as a saying, and the letters of the very words that tell it."""

    saying: Saying
    first: int
    end: int


def passed_over(
    text: str,
    parts: Sequence[Sentence],
    have: Sequence[Saying],
    *,
    drive: Drive,
    words: WrittenWords | None = None,
    settled: Sequence[tuple[int, int]] = (),
) -> list[Saying]:
    """Give what the reader finds told in words that no saying rests on.

    Parameters
    ----------
    text : str
        The whole text.
    parts : sequence of Sentence
        Its sentences.
    have : sequence of Saying
        What the rules have read.
    drive : Drive
        Which side the wheel is on.
    words : WrittenWords, optional
        The phrases to look for; the shipped ones unless given.
    settled : sequence of (int, int)
        First letter and end of other words that the rules have understood.

    Returns
    -------
    list of Saying
        In the order of the words.
    """
    out: list[Saying] = []
    before: Sentence | None = None
    for sentence in parts:
        for read in _read(before, replace(sentence, first=0), drive, words or shipped_words()):
            first, end = read.first + sentence.first, read.end + sentence.first
            if any(begin < end and first < finish for begin, finish in settled) or any(
                (one.first < end and first < one.end) or _qualifies(read.saying, one, sentence) for one in (*have, *out)
            ):
                continue
            longer = read.saying.first + sentence.first, read.saying.end + sentence.first
            if not any(one.first < longer[1] and longer[0] < one.end for one in (*have, *out)):
                first, end = longer
            out.append(replace(read.saying, first=first, end=end, quote=text[first:end]))
        before = replace(sentence, first=0) if len(sentence.text) <= _LONGEST else None
    return out


def _qualifies(saying: Saying, other: Saying, sentence: Sentence) -> bool:
    """Tell whether a fault only qualifies what its sentence says works: 'works but comes up a bit high'."""
    return (
        saying.condition == "fault"
        and other.condition == "works"
        and saying.spot is not None
        and other.spot is not None
        and saying.spot.part == other.spot.part
        and sentence.first <= other.first < sentence.first + len(sentence.text)
    )


@lru_cache(maxsize=4096)
def _read(before: Sentence | None, sentence: Sentence, drive: Drive, words: WrittenWords) -> tuple[_Read, ...]:
    """Read one sentence with the one before it; letters are counted from its own first."""
    start = 0 if before is None else len(before.text) + 1
    both = [replace(sentence, first=start)] if before is None else [before, replace(sentence, first=start)]
    analysis = analyse([one.stretch() for one in both], drive=drive, lexicon=words.lexicon)
    context = understand(analysis, shipped_network())
    if context is None:
        return ()
    decisions = decide(analysis, shipped_weights(), context=context)
    return tuple(_sayings(analysis, decisions, sentence, start))


def _sayings(analysis: Analysis, decisions: Sequence[Decision], sentence: Sentence, start: int) -> Iterator[_Read]:
    for decision in decisions:
        first, end = _letters(analysis, decision.candidate.first, decision.candidate.end, start)
        if first < 0 or _is_puff(decision) or _not_of_this_car(analysis, decision):
            continue
        begin, finish = first, end
        if decision.option.mention >= 0:
            named = analysis.named[decision.option.mention]
            of = _letters(analysis, named.first, named.end, start)
            if of[0] >= 0 and abs(of[0] - first) < _WITHIN:
                begin, finish = min(of[0], first), max(of[1], end)
        begin, finish = _bare(sentence.text, begin, finish)
        first, end = _bare(sentence.text, first, end)
        saying = Saying(
            begin,
            finish,
            sentence.text[begin:finish],
            Spot(
                decision.option.part,
                Side(decision.side) if decision.side else None,
                Position(decision.position) if decision.position else None,
            ),
            decision.condition,
            Found(decision.found),
            words=frozenset(analysis.text.stem[decision.candidate.first : decision.candidate.end]),
        )
        yield _Read(saying, first, end)


def _is_puff(decision: Decision) -> bool:
    """Tell whether the whole car is only praised: that states nothing which could be looked at."""
    return decision.option.part == WHOLE and decision.condition in _PRAISE


def _not_of_this_car(analysis: Analysis, decision: Decision) -> bool:
    """Tell whether it is said of such cars or of somebody's word, or something good is only wished for."""
    small, candidate = small_words(), decision.candidate
    if analysis.cues.reach.over(candidate.first, candidate.end).kinds & small.elsewhere_kinds:
        return True
    if vocabulary().is_defect(decision.condition):
        return False
    marks = analysis.text.mark
    begin = next((at for at in range(candidate.first, 0, -1) if marks[at] >= FULL_STOP), 0)
    return any(word in small.wishes for word in analysis.text.norm[begin : candidate.first])


def _letters(analysis: Analysis, first: int, end: int, start: int) -> tuple[int, int]:
    text = analysis.text
    return int(text.starts[text.word[first]]) - start, int(text.ends[text.word[end - 1]]) - start


def _bare(text: str, first: int, end: int) -> tuple[int, int]:
    """Leave out marks and spaces at the end."""
    return first, first + len(text[first:end].rstrip(" .,;:!?"))
