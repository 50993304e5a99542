"""Walk from a cue over the words round it until another statement begins; used by `scope`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files
from tomllib import loads

from shutline.remarks.phrases import Match
from shutline.remarks.tokens import FULL_STOP, QUESTION, Text


class Ending(StrEnum):
    """Why a cue reaches no further."""

    NOWHERE = "the row reaches the other way"
    ANSWER = "it is an answer by itself"
    SENTENCE = "the sentence ends"
    COMMA = "a comma that is no list"
    CUE = "another cue"
    CLAUSE = "a new clause"
    THING = "something else is named"
    LIMIT = "far enough"


@dataclass(frozen=True, slots=True)
class Kind:
    """How cues of one kind reach; the fields are told in the data file."""

    ahead: int
    back: int
    clauses: int
    comma: str
    things: bool
    ended_by: frozenset[str]


@dataclass(frozen=True, slots=True)
class Words:
    """Sets of small words; what each is for stands in the data file."""

    alternatives: frozenset[str]
    coordinators: frozenset[str]
    answers: frozenset[str]
    only_of: frozenset[str]
    negative_subjects: frozenset[str]
    halves: frozenset[str]
    anything: frozenset[str]
    also_things: frozenset[str]
    subordinators: frozenset[str]
    verbal: frozenset[str]
    people: frozenset[str]
    subjects: frozenset[str]
    adverbs: frozenset[str]
    definites: frozenset[str]
    indefinites: frozenset[str]
    governors: frozenset[str]
    finites: frozenset[str]
    owners: frozenset[str]
    loose_stops: frozenset[str]
    fresh: frozenset[str]
    no_item: frozenset[str]
    small: frozenset[str]


@cache
def settings() -> tuple[dict[str, Kind], Words]:
    """Read the kinds and the small words once."""
    raw = loads(files("shutline.remarks").joinpath("data/scope.toml").read_text(encoding="utf-8"))
    kinds = {name: Kind(**{**row, "ended_by": frozenset(row["ended_by"])}) for name, row in raw["kinds"].items()}
    sets = {name: frozenset(words) for name, words in raw["words"].items()}
    fresh = sets["definites"] | sets["indefinites"]
    no_item = fresh | sets["people"] | sets["subjects"] | sets["finites"]
    small = frozenset().union(*sets.values())
    return kinds, Words(**sets, fresh=fresh, no_item=no_item, small=small)


_ITEM = 6
"""Tokens that a thing in a list may have."""
_THING = 5
"""Words that the name of one thing may have, where no small word stands between."""
_CLAUSE = 4
"""Tokens after a word of subordination within which its verb must come."""
_ANSWER = 3
"""Tokens of an answer that may stand before its denial: 'it is not'."""
_QUESTION = 14
"""Tokens of a question that its answer is about."""
_SUBJECT = 6
"""Tokens within which the verb of a new subject must come."""


class Walk:
    """Walks from the cues of one text."""

    def __init__(self, text: Text, cues: Sequence[Match], parts: Sequence[Match], conditions: Sequence[Match]) -> None:
        self.norm, self.marks = text.norm, text.mark
        self.size = len(text.norm)
        self.kinds, self.words = settings()
        self.starts = {cue.first: cue for cue in cues}
        self.ends = {cue.end: cue for cue in cues}
        self.parts = {part.first for part in parts}
        self.conditions = {match.first for match in conditions}

    def verb_follows(self, at: int, within: int) -> bool:
        """Tell whether a verb that carries a statement comes before the thing that starts at `at` is over."""
        words, norm, marks = self.words, self.norm, self.marks
        for here in range(at, min(at + within, self.size)):
            word = norm[here]
            if (here > at and marks[here]) or word in words.alternatives:
                return False
            if word in words.finites and not (word == "'s" and norm[here - 1] in words.owners):
                return True
        return False

    def verb_at(self, at: int) -> bool:
        """Tell whether a verb that carries a statement stands at a token, or right after the adverb there."""
        words, norm, marks = self.words, self.norm, self.marks
        if at < self.size and norm[at] in words.adverbs and not marks[at]:
            at += 1
        return at < self.size and norm[at] in words.finites and not marks[at]

    def opens(self, at: int) -> Ending | None:
        """Tell whether a new statement begins at a token, and by what it is known."""
        words, norm = self.words, self.norm
        joined = norm[at] in words.coordinators
        here = at + 1 if joined else at
        if here >= self.size or (not joined and at > 0 and not self.marks[at] and self.governs(at - 1)):
            return None
        word = norm[here]
        if word in words.people or (joined and word in words.finites):
            return Ending.CLAUSE
        if word in words.subjects and self.verb_at(here + 1):
            return Ending.CLAUSE
        if word not in words.fresh or (word == "that" and not joined and not self.marks[at]):
            return None
        if not joined or word in words.indefinites:
            return Ending.THING
        return Ending.CLAUSE if self.verb_follows(here + 1, _SUBJECT) else None

    def governs(self, at: int) -> bool:
        """Tell whether what follows a token belongs to it: a preposition, a verb, a word of subordination, an 'and'."""
        word, words = self.norm[at], self.words
        if word in words.governors or word in words.fresh or word in words.coordinators:
            return True
        return word.endswith("ing") and len(word) > 5

    def listed(self, at: int, *, closing: bool) -> str:
        """Tell whether a list goes on after the comma before `at`; `closing` where an 'and' here would close none.

        Returns
        -------
        str
            ``firm`` where the list comes to an 'or', ``loose`` where it goes on in bare things only, or nothing.
        """
        words, norm, marks = self.words, self.norm, self.marks
        begin, here = at, at
        if closing and norm[at] in words.coordinators:
            return ""
        while here < self.size:
            word = norm[here]
            if here > begin and marks[here]:
                if marks[here] >= FULL_STOP:
                    break
                begin = here
            if word in words.alternatives:
                return "firm"
            if word in words.no_item or here - begin >= _ITEM or self.ends_list(here):
                return "loose" if begin > at else ""
            if word in words.coordinators:
                return "" if self.opens(here) else "loose"
            here += 1
        return "loose"

    def ends_list(self, at: int) -> bool:
        """Tell whether a cue that no list holds starts at a token."""
        cue = self.starts.get(at)
        return cue is not None and any(row.kind in ("stop", "correction", "deny", "rest", "except") for row in cue.rows)

    def names_thing(self, cue: Match) -> bool:
        """Tell whether a cue is the name of a thing here: 'two bars bent'."""
        words, norm, first = self.words, self.norm, cue.first
        if norm[first] not in words.also_things or cue.end - first > 1 or first == 0 or self.marks[first]:
            return False
        return norm[first - 1] in words.fresh or norm[first - 1] in words.governors

    def ender(self, at: int, ended_by: frozenset[str]) -> bool:
        """Tell whether a cue that ends the reach starts at a token."""
        cue = self.starts.get(at)
        if cue is None:
            return False
        kinds = {row.kind for row in cue.rows} & ended_by
        if not kinds or self.names_thing(cue):
            return False
        if kinds == {"stop"} and cue.end - cue.first == 1 and self.norm[at] in self.words.loose_stops:
            after = cue.end
            seam = after >= self.size or self.marks[at] or self.marks[after] or self.opens(after)
            return bool(seam)
        return True

    def answers(self, cue: Match) -> bool:
        """Tell whether a denial is a whole answer and reaches nothing: 'no, it is fine', 'I have not, the …'."""
        words, norm, at = self.words, self.norm, cue.end
        if at >= self.size or norm[at] in words.people:
            return True
        last = norm[at - 1]
        if cue.end - cue.first == 1 and last in words.only_of:
            return norm[at] != "of"
        if last in words.answers:
            return bool(self.marks[at]) or norm[at] in words.definites or norm[at] in words.subjects
        if last in words.verbal:
            return bool(self.marks[at]) or (norm[at] in words.subjects and self.verb_at(at + 1))
        return False

    def denies_too(self, cue: Match, kind: str) -> bool:
        """Tell whether a cue of another kind denies what follows: 'no no rust', 'this one does not leak'.

        So does a denial that mostly stands after its thing, where the thing follows: 'not found any'.
        """
        words, norm = self.words, self.norm
        if kind == "deny":
            return cue.end < self.size and norm[cue.end] in words.anything and not self.marks[cue.end]
        if kind not in ("correction", "contrast"):
            return False
        denies = norm[cue.end - 1] in words.answers or norm[cue.end - 1] in words.verbal
        return (denies or norm[cue.first] in words.only_of) and not self.answers(cue)

    def bare_after(self, at: int) -> bool:
        """Tell whether a word follows another one that does not take it in."""
        words, before = self.words, self.norm[at - 1]
        return not (before in words.governors or before in words.fresh or before in words.coordinators)

    def names_more(self, at: int) -> bool:
        """Tell whether a word of degree brings in something else: 'no dents bit of a scratch'."""
        cue = self.starts.get(at)
        if cue is None or not any(row.reach == "near" for row in cue.rows):
            return False
        return self.bare_after(at) and at not in self.ends

    def back(self, cue: Match, kind: str) -> tuple[int, Ending]:
        """Walk back from a cue to the start of its clause, or of the list that is its subject."""
        rule, words, norm, marks = self.kinds[kind], self.words, self.norm, self.marks
        at = seam = cue.first
        while at > 0:
            if cue.first - at >= rule.back:
                return at, Ending.LIMIT
            if marks[at] >= FULL_STOP:
                return at, Ending.SENTENCE
            before = norm[at - 1]
            other = self.ends.get(at)
            if other is not None and any(row.kind in rule.ended_by for row in other.rows):
                return seam if seam < cue.first else at, Ending.CUE
            # The verb right before the cue is the cue's own: 'rust is absent', 'rust has been ruled out'.
            if before in words.finites and at < cue.first - 1:
                return seam if seam < cue.first else at, Ending.CLAUSE
            if (marks[at] and at < cue.first) or before in words.coordinators:
                if rule.comma != "list":
                    return at, Ending.COMMA if marks[at] else Ending.CLAUSE
                seam = at
            at -= 1
        return at, Ending.SENTENCE

    def taken_back(self, cue: Match) -> tuple[int, Ending]:
        """Walk back from a denial that is said after what it denies: 'Dents, none.', 'Rust? Not a spot.'."""
        start = cue.first
        while start > 0 and self.marks[start] < FULL_STOP and cue.first - start < _ANSWER:
            start -= 1
        if start > 0 and self.marks[start] == QUESTION:
            first = start - 1
            while first > 0 and self.marks[first] < FULL_STOP and start - first < _QUESTION:
                first -= 1
            return first, Ending.SENTENCE
        alone = cue.end - cue.first == 1 and self.norm[cue.first] in self.words.only_of
        if alone and (cue.end >= self.size or self.marks[cue.end]):
            return self.back(cue, "deny")
        return cue.first, Ending.NOWHERE


class Onward:
    """One walk on from a cue."""

    def __init__(self, walk: Walk, cue: Match, kind: str) -> None:
        self.walk, self.kind, self.cue = walk, kind, cue
        self.rule, self.words = walk.kinds[kind], walk.words
        self.norm, self.marks = walk.norm, walk.marks
        self.begin = cue.end
        self.last = self.norm[cue.end - 1]
        self.limit = cue.end + self.rule.ahead
        self.clauses = self.rule.clauses
        self.loose = self.commas = self.bare = 0
        self.named = False
        # A verb that comes up to here is no new one: 'none of the leaves is cracked', 'I do not think it is'.
        first = self.norm[self.begin] if self.begin < walk.size else ""
        self.owned = 0
        if first in self.words.subordinators:
            self.owned = self.begin + _CLAUSE
        elif self.last in self.words.halves or (first == "of" and self.last in self.words.negative_subjects):
            self.owned = self.begin + _SUBJECT

    def run(self) -> tuple[int, int, Ending]:
        """Give where the reach stops, from where it is loose, and why it stops."""
        at = self.begin
        if self.kind == "deny" and self.walk.answers(self.cue):
            return at, at, Ending.ANSWER
        words, norm, marks, starts = self.words, self.norm, self.marks, self.walk.starts
        parts, conditions = self.walk.parts, self.walk.conditions
        longest = _THING if self.rule.things else self.walk.size
        while at < self.walk.size:
            word = norm[at]
            # Only marks, cues and small words can end a reach, but for what is too long.
            if at >= self.limit or self.bare >= longest or marks[at] or word in words.small or at in starts:
                why = self.stops(at)
                if why is not None:
                    return at, self.loose or at, why
                kept = not marks[at] and word not in words.governors and word not in words.coordinators
                self.bare = self.bare + 1 if kept else 0
            elif self.named and at in parts and self.rule.things and self.walk.bare_after(at):
                return at, self.loose or at, Ending.THING
            else:
                self.bare += 1
            self.named = self.named or at in conditions
            at += 1
        return at, self.loose or at, Ending.SENTENCE

    def stops(self, at: int) -> Ending | None:
        """Tell whether the reach stops before a token, and why."""
        mark = self.marks[at]
        if mark >= FULL_STOP:
            return Ending.SENTENCE
        if at >= self.limit:
            return Ending.LIMIT
        if mark and at > self.begin and not self.carries(at):
            return Ending.COMMA
        if self.walk.ender(at, self.rule.ended_by):
            return Ending.CUE
        if self.norm[at] in self.words.alternatives:
            if self.rule.comma == "list":
                self.limit = at + self.rule.ahead
            return None
        return self.another(at) if at > self.begin else None

    def carries(self, at: int) -> bool:
        """Tell whether the reach goes on over the comma before a token: 'no dents, chips', but 'not loose, gone'."""
        if self.rule.comma == "over":
            return True
        going = self.walk.listed(at, closing=not self.commas) if self.rule.comma == "list" else ""
        if going == "loose" and self.last in self.words.verbal:
            return False
        if going == "loose" and not self.loose:
            self.loose = at
        self.commas += 1
        self.limit = at + self.rule.ahead
        return bool(going)

    def another(self, at: int) -> Ending | None:
        """Tell whether another statement begins at a token that this kind of cue does not reach into."""
        opening = self.walk.opens(at)
        if opening is None and self.rule.things:
            opening = self.other_thing(at)
        if opening is not None and self.clauses:
            self.clauses -= 1
            return None
        return opening

    def other_thing(self, at: int) -> Ending | None:
        """Tell whether the things that are reached end at a token: at a verb, a word of degree, or a long name."""
        word = self.norm[at]
        if word in self.words.finites and self.norm[at - 1] not in self.words.owners:
            own = at <= self.owned or (at == self.begin + 1 and word != "'s" and self.last not in self.words.verbal)
            self.owned = 0
            return None if own else Ending.CLAUSE
        if word in self.words.subordinators:
            self.owned = at + _CLAUSE
            return None
        if self.walk.names_more(at):
            return Ending.THING
        return Ending.LIMIT if self.bare >= _THING else None
