"""What was said of a finding that a person struck: its words are left out of all text that goes out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from shutline.car.carfile import CarFile, KeptFact, KeptFinding, Recording
from shutline.car.findings import Footing, FootingKind, State
from shutline.car.speech import Stretch, Word, share_out
from shutline.publish.buyers.wording import say

Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Told:
    """One stretch of words that something stands on, seconds, and whether that was struck."""

    start_s: float
    end_s: float
    struck: bool

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
        run that was left out. The film is not touched: see `struck_spans`.
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


def struck_spans(car: CarFile) -> Mapping[str, tuple[Span, ...]]:
    """Give when the words that `without_struck_words` leaves out are said, by recording, seconds, in order."""
    told = _told(car)
    found: dict[str, tuple[Span, ...]] = {}
    for recording in car.recordings:
        spans: list[Span] = []
        before = False
        for stretch in recording.stretches:
            for word in _words(stretch):
                hidden = _is_struck(word, told.get(recording.id, ()))
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
    for kept in car.findings:
        if kept.finding.state is not State.HEARD:
            _note(told, kept.finding.footings, struck=kept.finding.state is State.STRUCK)
    for fact in car.facts:
        struck = fact.fact.state is State.STRUCK
        if struck or not fact.withdrawn:
            _note(told, fact.fact.footings, struck=struck)
    return told


def _note(told: dict[str, list[_Told]], footings: Sequence[Footing], *, struck: bool) -> None:
    for one in footings:
        if one.kind is FootingKind.SAID and one.start_s is not None and one.end_s is not None:
            told[one.source].append(_Told(one.start_s, one.end_s, struck))


def _is_struck(word: Word, told: Sequence[_Told]) -> bool:
    over = [one for one in told if one.holds(word)]
    return bool(over) and min(over, key=lambda one: (one.end_s - one.start_s, one.struck)).struck


def _words(stretch: Stretch) -> Sequence[Word]:
    return stretch.words or share_out(stretch.text, stretch.start_s, stretch.end_s)


def _left(recording: Recording, told: Sequence[_Told]) -> tuple[Stretch, ...]:
    return tuple(_without(stretch, told) for stretch in recording.stretches)


def _without(stretch: Stretch, told: Sequence[_Told]) -> Stretch:
    words = _words(stretch)
    hidden = [_is_struck(word, told) for word in words]
    if not any(hidden):
        return stretch
    left: list[Word] = []
    for at, word in enumerate(words):
        if not hidden[at]:
            left.append(word)
        elif at and hidden[at - 1]:
            left[-1] = replace(left[-1], end_s=word.end_s)
        else:
            left.append(replace(word, text=say("page.withdrawn"), sureness=None))
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
    hidden = [_is_struck(word, told.get(one.source, ())) for word in words]
    if not any(hidden):
        return one
    if _plain(" ".join(word.text for word in words)) != _plain(one.quote):
        return replace(one, quote=say("page.withdrawn"))
    left: list[str] = []
    for word, is_hidden in zip(words, hidden, strict=True):
        if not is_hidden:
            left.append(word.text)
        elif not left or left[-1] != say("page.withdrawn"):
            left.append(say("page.withdrawn"))
    return replace(one, quote=" ".join(left))


def _plain(text: str) -> str:
    return "".join(letter for letter in text.casefold() if letter.isalnum())
