"""What a speaker takes back at once: 'there's a scratch on the bonnet. No, it's only dust' tells of no scratch."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from tomllib import loads

from shutline.car.errors import Problem
from shutline.car.findings import Position, Side
from shutline.car.plan import spoken_name
from shutline.car.vocabulary import vocabulary
from shutline.remarks.analysis import Analysis
from shutline.remarks.decisions import Decision
from shutline.remarks.regions import regions
from shutline.remarks.tokens import FULL_STOP, Text, phrase_tokens

_AT_ONCE = 12
"""Tokens between what was said and what takes it back, at most."""

_SAID_ON = 12
"""Tokens after it in which the same, said again, lets it stand."""

Phrases = tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class TakenBack:
    """What was told at token `told` is taken back in the tokens from `first` up to `end`.

    `decisions` are what was read there; none where the weights had left it out by themselves. `what` names it.
    """

    what: str
    told: int
    first: int
    end: int
    decisions: tuple[Decision, ...] = ()


@dataclass(frozen=True, slots=True)
class _Words:
    """The phrases of `data/taken_back.toml`, as tokens and the longest first."""

    openings: Phrases
    subjects: Phrases
    before: Phrases
    harmless: Phrases
    withdrawn: Phrases
    wiped: Phrases
    wiped_subjects: Phrases
    takes_back: frozenset[str]
    not_before: frozenset[str]
    on_surface: frozenset[str]
    never: frozenset[str]


@cache
def _words() -> _Words:
    raw = loads(files("shutline.remarks").joinpath("data/taken_back.toml").read_text(encoding="utf-8"))

    def phrases(name: str) -> Phrases:
        cut = {tuple(token for token, _ in phrase_tokens(line)) for line in raw[name]}
        return tuple(sorted(cut, key=lambda one: (-len(one), one)))

    return _Words(
        openings=phrases("openings"),
        subjects=phrases("subjects"),
        before=phrases("before"),
        harmless=phrases("harmless"),
        withdrawn=phrases("withdrawn"),
        wiped=phrases("wiped"),
        wiped_subjects=phrases("wiped_subjects"),
        takes_back=frozenset(raw["takes_back"]),
        not_before=frozenset(raw["not_before"]),
        on_surface=frozenset(raw["on_surface"]),
        never=frozenset(raw["never"]),
    )


def taken_back(analysis: Analysis, decisions: Sequence[Decision]) -> list[TakenBack]:
    """Find what is taken back right after it was said.

    Three ways are known: it is said to be something harmless ('no, it's only dust'), it is withdrawn in so many words
    ('my mistake, ignore that'), or it wipes off. What is put right with another fault ('no, that is rust') is left to
    the weights, and a fault that is only made little of ('ignore that') stands.

    Parameters
    ----------
    analysis : Analysis
        With the words.
    decisions : sequence of Decision
        What was read, in the order of the words.
    """
    out: list[TakenBack] = []
    gone: set[int] = set()
    begins = {phrase[0] for phrase in (*_words().openings, *_words().withdrawn, *_words().wiped)}
    begins |= {phrase[0] for phrase in _words().wiped_subjects}
    at = 0
    norm = analysis.text.norm
    while at < len(norm):
        end = at
        if norm[at] in begins:
            for way, conditions in ((_harmless, _faults()), (_withdrawn, _statements()), (_wiped, _words().on_surface)):
                end = way(analysis.text, at)
                if end > at:
                    of = [one for one in _said_before(analysis, decisions, at, conditions) if id(one) not in gone]
                    if of and not _said_again(analysis, decisions, of, end):
                        out.append(TakenBack(_named(of[0]), of[0].candidate.first, at, end, tuple(of)))
                        gone |= {id(one) for one in of}
                    elif not of and conditions <= _faults():
                        out += _left_out(analysis, decisions, (at, end), conditions)
                    break
        at = max(end, at + 1)
    return out


def left(decisions: Iterable[Decision], backs: Iterable[TakenBack]) -> list[Decision]:
    """Give the decisions that were not taken back."""
    gone = {id(one) for back in backs for one in back.decisions}
    return [one for one in decisions if id(one) not in gone]


def told(analysis: Analysis, backs: Iterable[TakenBack]) -> tuple[Problem, ...]:
    """Tell what was taken back, with both moments: nothing that was said is dropped without a word."""
    return tuple(
        Problem(
            slug="taken-back",
            where=f"at {_moment(analysis.text, back.told)}",
            found=f"{back.what} was told here and taken back at {_moment(analysis.text, back.first)}",
            allowed="only what stands at the end is read",
            advice="Look at both moments; enter it if it is so.",
        )
        for back in backs
    )


def why(analysis: Analysis, backs: Iterable[TakenBack], decision: Decision) -> tuple[str, ...]:
    """Say of a decision that stands in what takes another back, what that was and when it was told."""
    return tuple(
        f"It takes back what was told at {_moment(analysis.text, back.told)}: {back.what}."
        for back in backs
        if back.first <= decision.candidate.first < back.end
    )


def _named(decision: Decision) -> str:
    side, end = (decision.side or None, decision.position or None)
    of = spoken_name(decision.option.part, Side(side) if side else None, Position(end) if end else None)
    return f"{of}: {vocabulary().conditions[decision.condition].label}"


def _moment(text: Text, token: int) -> str:
    seconds = int(text.starts[text.first_word(token)])
    return f"{seconds // 60}:{seconds % 60:02d}"


@cache
def _faults() -> frozenset[str]:
    """Give what may turn out to be something harmless."""
    return frozenset(regions().defects) - _words().never


@cache
def _statements() -> frozenset[str]:
    """Give what can be withdrawn, praise too; where dirt was named last, it is that for which a fault is withdrawn."""
    return frozenset(vocabulary().conditions) - {"dirt"}


def _phrase(text: Text, at: int, phrases: Phrases) -> int:
    """Give the end of the longest phrase that begins at a token; `at` where none does."""
    norm = text.norm
    return next((at + len(one) for one in phrases if tuple(norm[at : at + len(one)]) == one), at)


def _run(text: Text, at: int, phrases: Phrases) -> int:
    """Give the end of as many phrases as stand in a row."""
    end = _phrase(text, at, phrases)
    while end > at:
        at, end = end, _phrase(text, end, phrases)
    return end


def _ends(text: Text, at: int) -> bool:
    return at >= len(text.mark) or bool(text.mark[at])


def _harmless(text: Text, at: int) -> int:
    """Give the end of 'no, it's only dust'; `at` where nothing of the kind stands.

    It does not fit 'no, it's only surface rust', 'no, only a dust cap', nor 'oh, it's dusty'.
    """
    words = _words()
    opened = _run(text, at, words.openings)
    if not words.takes_back & set(text.norm[at:opened]):
        return at
    at_words = [_phrase(text, opened, words.subjects)]
    while (further := _phrase(text, at_words[-1], words.before)) > at_words[-1]:
        at_words.append(further)
    # 'No dirt' denies dirt: something must say that it is that.
    ends = [_phrase(text, start, words.harmless) for start in at_words if start > opened]
    end = max(ends, default=at)
    if end <= at_words[-1] or (not _ends(text, end) and text.norm[end] in words.not_before):
        return at
    return end


def _withdrawn(text: Text, at: int) -> int:
    """Give the end of 'my mistake, ignore that'; `at` where it is not said, or something goes on from it."""
    for start in (at, _run(text, at, _words().openings)):
        end = _phrase(text, start, _words().withdrawn)
        if end > start and _ends(text, end):
            return end
    return at


def _wiped(text: Text, at: int) -> int:
    """Give the end of 'that wipes off'; `at` where it is not said. It does not fit 'that will wipe off'."""
    start = _phrase(text, _run(text, at, _words().openings), _words().wiped_subjects)
    end = _phrase(text, start, _words().wiped)
    return end if end > start and _ends(text, end) else at


def _said_before(
    analysis: Analysis, decisions: Sequence[Decision], at: int, conditions: frozenset[str]
) -> list[Decision]:
    """Give what was told right before a token, in its sentence or the one before; nothing where it is no such thing."""
    earlier = [one for one in decisions if one.candidate.end <= at]
    last = max(earlier, key=lambda one: one.candidate.end, default=None)
    if last is None or at - last.candidate.end > _AT_ONCE or last.condition not in conditions:
        return []
    # What is said not to be there cannot turn out to be dust; but it can be withdrawn.
    if last.found == "no" and conditions <= _faults():
        return []
    if any(mark >= FULL_STOP for mark in analysis.text.mark[last.candidate.end : at]):
        return []
    start = analysis.cues.start[last.candidate.first]
    return [
        one
        for one in earlier
        if (one.option.part, one.condition, one.found) == (last.option.part, last.condition, last.found)
        and one.candidate.first >= max(start, at - 2 * _AT_ONCE)
    ]


def _left_out(
    analysis: Analysis, decisions: Sequence[Decision], span: tuple[int, int], conditions: frozenset[str]
) -> list[TakenBack]:
    """Give a fault that was named right before and that the weights left out, so that it is told all the same."""
    at, end = span
    read = {one.candidate.first for one in decisions}
    named = [one for one in analysis.found if one.kind == "word" and one.end <= at]
    last = max(named, key=lambda one: one.end, default=None)
    if last is None or last.first in read or at - last.end > _AT_ONCE:
        return []
    sense = next((one for one in last.senses if one in conditions and one not in last.no), None)
    parted = any(mark >= FULL_STOP for mark in analysis.text.mark[last.end : at])
    if sense is None or parted or any(end <= one.candidate.first < end + _SAID_ON for one in decisions):
        return []
    return [TakenBack(vocabulary().conditions[sense].label, last.first, at, end)]


def _said_again(analysis: Analysis, decisions: Sequence[Decision], of: Sequence[Decision], end: int) -> bool:
    """Tell whether the same is named right after, and not denied: 'and a second, no, that's a hair, so one crack'."""
    # A denial that is withdrawn is withdrawn for what is told next: 'dry, I take that back, that's a puddle'.
    if of[0].found == "no":
        return False
    denied = {one.candidate.first for one in decisions if one.found == "no"}
    return any(
        end <= one.first < end + _SAID_ON and of[0].condition in one.senses and one.first not in denied
        for one in analysis.found
        if one.kind == "word" and of[0].condition not in one.no
    )
