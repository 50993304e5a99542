"""What was said of a finding that a person struck: its words are left out of all text that goes out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from shutline.car.carfile import CarFile, KeptFact, KeptFinding, Recording
from shutline.car.findings import Footing, FootingKind, State
from shutline.car.speech import Stretch, Word, share_out
from shutline.publish.buyers.wording import say

Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Told:
    """One stretch of words that something stands on, seconds, and whether that was struck, or even replaced."""

    start_s: float
    end_s: float
    struck: bool
    replaced: bool = False

    def holds(self, word: Word) -> bool:
        """Tell whether a word lies in it, by its middle."""
        return self.start_s <= (word.start_s + word.end_s) / 2 <= self.end_s


def without_struck_words(car: CarFile) -> CarFile:
    """Give a car file in which the words of what was struck stand nowhere but in what was struck.

    A word that both something struck and something that stands rest on belongs to the shorter quote, and of two of one
    length to what stands: of 'the bonnet is straight, no dents', with 'straight' struck and 'no dents' standing, 'no
    dents' is left.

    Parameters
    ----------
    car : CarFile
        With what was struck still in it.

    Returns
    -------
    CarFile
        As it was but for the words of recordings and quotes; ``page.withdrawn`` of ``buyers_page.toml`` stands for each
        run that was left out, ``page.replaced`` where what was struck was `replaced`. The film is not touched: see
        `struck_spans`.
    """
    told = _told(car)
    if not any(one.struck for many in told.values() for one in many):
        return car
    recordings = {one.id: one for one in car.recordings}
    return replace(
        car,
        recordings=tuple(replace(one, stretches=_left(one, told.get(one.id, ()))) for one in car.recordings),
        findings=tuple(_finding(kept, recordings, told) for kept in car.findings),
        facts=tuple(_fact(kept, recordings, told) for kept in car.facts),
    )


def replaced(car: CarFile) -> Mapping[str, KeptFinding]:
    """Give by the id of a struck finding the one that replaced it.

    It was entered by whoever struck the other, after that, of the same part and side, and stands.
    """
    entered = [
        kept
        for kept in car.findings
        if kept.finding.state is State.STANDS and not kept.withdrawn and kept.changes[:1] and _is(kept, 0, "entered")
    ]
    found: dict[str, KeptFinding] = {}
    for kept in car.findings:
        if kept.finding.state is not State.STRUCK or not kept.changes or not _is(kept, -1, "struck"):
            continue
        struck = kept.changes[-1]
        there = (
            one
            for one in entered
            if (one.finding.part, one.finding.side) == (kept.finding.part, kept.finding.side)
            and one.changes[0].author == struck.author
            and one.changes[0].at >= struck.at
        )
        first = min(there, key=lambda one: one.changes[0].at, default=None)
        if first is not None:
            found[kept.id] = first
    return found


def _is(kept: KeptFinding, at: int, action: str) -> bool:
    return kept.changes[at].action == action


def replaced_spans(car: CarFile) -> Mapping[str, tuple[Span, ...]]:
    """Give those of `struck_spans` that only hold words of what was `replaced`."""
    return _spans(car, lambda told: told.replaced)


def withdrawn_spans(car: CarFile) -> Mapping[str, tuple[Span, ...]]:
    """Give those of `struck_spans` that hold words of what was struck and not `replaced`."""
    return _spans(car, lambda told: told.struck and not told.replaced)


def struck_spans(car: CarFile) -> Mapping[str, tuple[Span, ...]]:
    """Give when the words that `without_struck_words` leaves out are said, by recording, seconds, in order."""
    return _spans(car, lambda told: told.struck)


def _spans(car: CarFile, wanted: Callable[[_Told], bool]) -> Mapping[str, tuple[Span, ...]]:
    told = _told(car)
    found: dict[str, tuple[Span, ...]] = {}
    for recording in car.recordings:
        spans: list[Span] = []
        before = False
        for stretch in recording.stretches:
            for word in _words(stretch):
                rests_on = _rests_on(word, told.get(recording.id, ()))
                hidden = rests_on is not None and wanted(rests_on)
                if hidden and before:
                    spans[-1] = (spans[-1][0], max(spans[-1][1], word.end_s))
                elif hidden:
                    spans.append((word.start_s, word.end_s))
                before = hidden
        if spans:
            found[recording.id] = tuple(spans)
    return found


def _told(car: CarFile) -> Mapping[str, Sequence[_Told]]:
    told: dict[str, list[_Told]] = defaultdict(list)
    anew = replaced(car)
    for kept in car.findings:
        if kept.finding.state is not State.HEARD:
            struck = kept.finding.state is State.STRUCK
            _note(told, kept.finding.footings, struck=struck, replaced=kept.id in anew)
    for fact in car.facts:
        struck = fact.fact.state is State.STRUCK
        if struck or not fact.withdrawn:
            _note(told, fact.fact.footings, struck=struck)
    return told


def _note(told: dict[str, list[_Told]], footings: Sequence[Footing], *, struck: bool, replaced: bool = False) -> None:
    for one in footings:
        if one.kind is FootingKind.SAID and one.start_s is not None and one.end_s is not None:
            told[one.source].append(_Told(one.start_s, one.end_s, struck, replaced))


def _rests_on(word: Word, told: Sequence[_Told]) -> _Told | None:
    """Give what a word belongs to: of all that rest on it the shortest, and of two alike what was struck least."""
    over = [one for one in told if one.holds(word)]
    return min(
        over, key=lambda one: (one.end_s - one.start_s, one.struck, one.struck and not one.replaced), default=None
    )


def _mark(word: Word, told: Sequence[_Told]) -> str:
    """Give what stands for a word that is left out; nothing for one that is not."""
    rests_on = _rests_on(word, told)
    if rests_on is None or not rests_on.struck:
        return ""
    return say("page.replaced" if rests_on.replaced else "page.withdrawn")


def _words(stretch: Stretch) -> Sequence[Word]:
    return stretch.words or share_out(stretch.text, stretch.start_s, stretch.end_s)


def _left(recording: Recording, told: Sequence[_Told]) -> tuple[Stretch, ...]:
    return tuple(_without(stretch, told) for stretch in recording.stretches)


def _without(stretch: Stretch, told: Sequence[_Told]) -> Stretch:
    words = _words(stretch)
    marks = [_mark(word, told) for word in words]
    if not any(marks):
        return stretch
    left: list[Word] = []
    for at, word in enumerate(words):
        if not marks[at]:
            left.append(word)
        elif at and marks[at - 1] == marks[at]:
            left[-1] = replace(left[-1], end_s=word.end_s)
        else:
            left.append(replace(word, text=marks[at], sureness=None))
    return replace(stretch, text=" ".join(word.text for word in left), words=tuple(left))


def _finding(
    kept: KeptFinding, recordings: Mapping[str, Recording], told: Mapping[str, Sequence[_Told]]
) -> KeptFinding:
    if kept.finding.state is State.STRUCK:
        return kept
    footings = tuple(_footing(one, recordings, told) for one in kept.finding.footings)
    return (
        kept if footings == kept.finding.footings else replace(kept, finding=replace(kept.finding, footings=footings))
    )


def _fact(kept: KeptFact, recordings: Mapping[str, Recording], told: Mapping[str, Sequence[_Told]]) -> KeptFact:
    if kept.fact.state is State.STRUCK:
        return kept
    footings = tuple(_footing(one, recordings, told) for one in kept.fact.footings)
    return kept if footings == kept.fact.footings else replace(kept, fact=replace(kept.fact, footings=footings))


def _footing(one: Footing, recordings: Mapping[str, Recording], told: Mapping[str, Sequence[_Told]]) -> Footing:
    """Leave struck words out of a quote; a quote that is not the words at its time loses all of them."""
    recording = recordings.get(one.source)
    if recording is None or one.kind is not FootingKind.SAID or one.start_s is None or one.end_s is None:
        return one
    span = _Told(one.start_s, one.end_s, struck=False)
    words = [word for stretch in recording.stretches for word in _words(stretch) if span.holds(word)]
    marks = [_mark(word, told.get(one.source, ())) for word in words]
    if not any(marks):
        return one
    if _plain(" ".join(word.text for word in words)) != _plain(one.quote):
        return replace(one, quote=next(mark for mark in marks if mark))
    left: list[str] = []
    for word, mark in zip(words, marks, strict=True):
        if not mark:
            left.append(word.text)
        elif not left or left[-1] != mark:
            left.append(mark)
    return replace(one, quote=" ".join(left))


def _plain(text: str) -> str:
    return "".join(letter for letter in text.casefold() if letter.isalnum())
