"""What tells two remarks apart that sound at odds: a correction, an exception, another place, degree, sort or time."""

from __future__ import annotations

from bisect import bisect_left
from functools import cache

from shutline.car.carfile import CarFile
from shutline.car.findings import Finding, Footing, FootingKind, Found, Severity
from shutline.car.vocabulary import vocabulary
from shutline.survey.occasions import moments, of_one_occasion
from shutline.survey.odds_data import Cue, CueKind, OddsTables
from shutline.survey.tables import holds_phrase, words_of

_SORTS = {"leak": CueKind.SORT_FLUID, "noise": CueKind.SORT_NOISE, "smoke": CueKind.SORT_SMOKE}
_STOPS = (".", "?", "!")
_STEM = 4
"""Letters by which two words count as one: leak, leaks, leaking."""


class Apart:
    """Tells remarks apart by what was said in them, beside them and between them."""

    def __init__(self, car_file: CarFile, tables: OddsTables) -> None:
        self._tables = tables
        self._made = moments(car_file)
        self._order = {recording.id: number for number, recording in enumerate(car_file.recordings)}
        self._starts: dict[str, list[float]] = {}
        self._words: dict[str, list[str]] = {}
        for recording in car_file.recordings:
            spoken = [word for stretch in recording.stretches for word in stretch.words]
            self._starts[recording.id] = [word.start_s for word in spoken]
            self._words[recording.id] = [word.text for word in spoken]
        self._cues: dict[CueKind, tuple[Cue, ...]] = {
            kind: tuple(cue for cue in tables.cues if cue.kind is kind) for kind in CueKind
        }

    def tells(self, first: Finding, second: Finding) -> bool:
        """Tell whether two findings that exclude each other can both be true after all.

        `first` is the one that says more (a defect that is there), `second` may be of a whole that it lies within.
        """
        within_h = self._tables.limits.same_occasion_h
        if not of_one_occasion(first.footings, second.footings, self._made, within_h=within_h):
            return True
        return (
            self._has(CueKind.HISTORY, first) != self._has(CueKind.HISTORY, second)
            or self._has(CueKind.REST, second)
            or (self._has(CueKind.OF_DEGREE, second) and first.severity is not Severity.SEVERE)
            or self._of_another_thing(first, second)
            or self._of_another_sort(first, second)
            or self._of_another_place(first, second)
            or self._of_the_other_one(first, second)
            or self._excepted(first, second)
            or self._taken_back(first, second)
        )

    def _taken_back(self, first: Finding, second: Finding) -> bool:
        """Tell whether the later remark corrects or refines the earlier."""
        one, other = _spoken(first), _spoken(second)
        if one is None or other is None:
            return False
        earlier, later = sorted((one, other), key=lambda footing: (self._place(footing), footing.start_s or 0.0))
        said = self._beside(later)[0] + words_of(later.quote)
        if self._any(CueKind.CORRECTS, said) or self._any(CueKind.TAKES_BACK, said):
            return True
        if any(self._any(CueKind.TAKES_BACK, self._beside(footing)[1]) for footing in (one, other)):
            return True
        if earlier.source != later.source:
            return False
        end_s = earlier.end_s if earlier.end_s is not None else earlier.start_s or 0.0
        pause_s = (later.start_s or 0.0) - end_s
        limits = self._tables.limits
        surprised = self._any(CueKind.CORRECTS_SOON, self._beside(later)[0][-3:] + words_of(later.quote)[:3])
        return pause_s <= (limits.surprise_s if surprised else limits.breath_s)

    def _excepted(self, first: Finding, second: Finding) -> bool:
        """Tell whether 'no dents apart from …' names the place of what was found, or names no part at all."""
        for footing in second.footings:
            words = words_of(footing.quote) + self._beside(footing, sentence=True)[1]
            phrases = (phrase for cue in self._cues[CueKind.EXCEPTS] for phrase in cue.phrases)
            ends = [end for phrase in phrases if (end := _end_of(words, phrase))]
            if ends:
                named = {_singular(word) for word in words[min(ends) :]}
                return bool(named & _names(first.part)) or not named & _all_names()
        return False

    def _place(self, footing: Footing) -> int:
        return self._order.get(footing.source, len(self._order))

    def _beside(self, footing: Footing, *, sentence: bool = False) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """Give the words right before and right after a remark, or only those of its sentence; none without a time."""
        if footing.start_s is None or footing.source not in self._starts:
            return (), ()
        starts, words = self._starts[footing.source], self._words[footing.source]
        count = self._tables.limits.words_beside
        at = bisect_left(starts, footing.start_s)
        end = bisect_left(starts, footing.end_s if footing.end_s is not None else footing.start_s)
        before, after = words[max(0, at - count) : at], words[end : end + count]
        if sentence:
            before = before[max((n for n, word in enumerate(before, start=1) if word.endswith(_STOPS)), default=0) :]
            ends = (n for n, word in enumerate(words[end - 1 : end + count]) if word.endswith(_STOPS))
            after = after[: next(ends, count)] if end else after
        return words_of(" ".join(before)), words_of(" ".join(after))

    def _any(self, kind: CueKind, words: tuple[str, ...]) -> bool:
        return any(holds_phrase(words, cue.phrases) for cue in self._cues[kind])

    def _has(self, kind: CueKind, finding: Finding) -> bool:
        """Tell whether the remark has such a cue in its own words or right before them."""
        said = (self._beside(one, sentence=True)[0][-3:] + words_of(one.quote) for one in finding.footings)
        return any(self._any(kind, words) for words in said)

    def _named(self, kind: CueKind, finding: Finding) -> frozenset[str]:
        words = [words_of(footing.quote) for footing in finding.footings]
        return frozenset(cue.id for cue in self._cues[kind] if any(holds_phrase(one, cue.phrases) for one in words))

    def _of_another_thing(self, first: Finding, second: Finding) -> bool:
        """Tell whether two remarks about a part that stands for several things name no thing in common.

        'No leaks from the engine' names none, and is of all of them.
        """
        if first.part != second.part or first.part not in self._tables.several:
            return False
        one, other = self._things(first), self._things(second)
        # What names no thing is of the part as a whole.
        if not one or (not other and second.found is Found.NO):
            return False
        return not one & other

    def _things(self, finding: Finding) -> frozenset[str]:
        words = {word for footing in finding.footings for word in words_of(footing.quote)} - self._tables.plain
        label = words_of(f"{vocabulary().parts[finding.part].label} {vocabulary().conditions[finding.condition].label}")
        known = {word[:_STEM] for word in label}
        return frozenset(word[:_STEM] for word in words if len(word) >= _STEM) - known

    def _of_another_sort(self, first: Finding, second: Finding) -> bool:
        kind = _SORTS.get(first.condition)
        if kind is None or first.condition != second.condition:
            return False
        one, other = self._named(kind, first), self._named(kind, second)
        return bool(other) and bool(one) and not one & other

    def _of_another_place(self, first: Finding, second: Finding) -> bool:
        """Tell whether what was denied is a place within the part, and what was found is not known to lie there."""
        narrow = self._named(CueKind.PLACE, second)
        return bool(narrow) and not narrow & self._named(CueKind.PLACE, first)

    def _of_the_other_one(self, first: Finding, second: Finding) -> bool:
        """Tell whether a remark of 'this side' or 'the other one' may be of the other of a pair.

        Where neither names its side, the side of both is where the walk was taken to have got to, and may be wrong.
        """
        if first.part != second.part or not vocabulary().parts[first.part].sided:
            return False
        if _spoken(first) is None or _spoken(second) is None:
            return False
        paired = any(self._in_sentence(CueKind.OF_A_PAIR, one) for one in (first, second))
        return paired and not any(self._in_sentence(CueKind.SIDE_NAMED, one) for one in (first, second))

    def _in_sentence(self, kind: CueKind, finding: Finding) -> bool:
        for footing in finding.footings:
            before, after = self._beside(footing, sentence=True)
            if self._any(kind, before + words_of(footing.quote) + after):
                return True
        return False


def _spoken(finding: Finding) -> Footing | None:
    return next((one for one in finding.footings if one.kind is FootingKind.SAID and one.start_s is not None), None)


def _end_of(words: tuple[str, ...], phrase: tuple[str, ...]) -> int:
    """Give where a phrase ends in the words; 0 where it does not stand in them."""
    size = len(phrase)
    return next((at + size for at in range(len(words) - size + 1) if words[at : at + size] == phrase), 0)


def _singular(word: str) -> str:
    return word[:-1] if word.endswith("s") and len(word) > 3 else word


@cache
def _names(part: str) -> frozenset[str]:
    """Give the word that a part is called by in haste: wing, sill, lid."""
    return frozenset({_singular(words_of(vocabulary().parts[part].label)[-1])})


@cache
def _all_names() -> frozenset[str]:
    return frozenset(name for part in vocabulary().parts for name in _names(part))
