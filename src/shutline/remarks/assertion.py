"""What is said to be so, not so, doubtful, or not said of this car at all: the cues around a candidate."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass

from shutline.remarks.attachment import Option
from shutline.remarks.candidates import Candidate
from shutline.remarks.grammar import grammar
from shutline.remarks.ground import Ground, shape
from shutline.remarks.phrases import Match
from shutline.remarks.regions import regions
from shutline.remarks.scope import Reach, scopes
from shutline.remarks.tokens import FULL_STOP, QUESTION, Text, structure_words

STATUSES = ("none", "base", "turned", "unsure")
"""Not an observation; as the words have it; the other way round; in doubt."""


@dataclass(slots=True)
class Cues:
    """The cues in the order of the words, how far they reach, and for each token where its sentence starts and ends."""

    firsts: list[int]
    ends: list[int]
    kinds: list[tuple[str, ...]]
    ids: list[str]
    start: list[int]
    stop: list[int]
    asked: list[bool]
    remedy: dict[int, str]
    candidate_firsts: list[int]
    clause: list[int]
    clause_end: list[int]
    reach: Reach


def cues_of(text: Text, matches: dict[str, list[Match]], found: list[Candidate]) -> Cues:
    """Index the cues and the sentences."""
    size = len(text.mark)
    start, clause = [0] * size, [0] * size
    begin = opening = 0
    for at, mark in enumerate(text.mark):
        if mark >= FULL_STOP:
            begin = at
        if mark:
            opening = at
        start[at] = begin
        clause[at] = opening
    stop, clause_end = [size] * size, [size] * size
    asked = [False] * size
    ending = closing = size
    question = False
    for at in range(size - 1, -1, -1):
        stop[at], clause_end[at], asked[at] = ending, closing, question
        if text.mark[at] >= FULL_STOP:
            ending = at
            question = text.mark[at] == QUESTION
        if text.mark[at]:
            closing = at
    cues = matches["cues"]
    remedy: dict[int, str] = {}
    for match in matches["remedies"]:
        for at in range(match.first, match.end):
            remedy[at] = match.rows[0].id
    return Cues(
        [m.first for m in cues],
        [m.end for m in cues],
        [tuple(dict.fromkeys(r.kind for r in m.rows)) for m in cues],
        [m.rows[0].id for m in cues],
        start,
        stop,
        asked,
        remedy,
        [c.first for c in found],
        clause,
        clause_end,
        Reach(scopes(text, cues, parts=matches["parts"], conditions=matches["conditions"])),
    )


_DEGREES = frozenset({"slight", "moderate", "severe"})
_SHAPED = 5
_BEFORE_TOKENS, _AFTER_TOKENS = 25, 20


def _near(distance: int) -> str:
    for limit in (1, 3, 6, 12):
        if distance <= limit:
            return str(limit)
    return "25"


class _Namer:
    """Names the features of one candidate."""

    def __init__(
        self, candidate: Candidate, number: int, option: Option, *, at: Ground, cues: Cues, found: list[Candidate]
    ) -> None:
        self.candidate, self.number, self.option = candidate, number, option
        self.at, self.cues, self.found = at, cues, found
        self.text = at.text
        self.first, self.end = candidate.first, candidate.end
        self.phrase = "_".join(at.text.stem[self.first : self.end])
        defects = regions().defects
        sense = option.sense
        self.polarity = "n" if sense in candidate.no else "d" if sense in defects else "g"
        self.finish = min(cues.stop[self.end - 1], self.end + _AFTER_TOKENS)
        self.out: list[str] = []

    def words(self, chance: float) -> None:
        """Name the phrase itself, its neighbours, and how sure the part is."""
        stems, marks = self.text.stem, self.text.mark
        first, end, size = self.first, self.end, len(self.text.stem)
        part, sense, phrase, polarity = self.option.part, self.option.sense, self.phrase, self.polarity
        group = regions().group.get(part, "")
        w1 = stems[first - 1] if first and not marks[first] else "^"
        w2 = stems[first - 2] if first > 1 and w1 != "^" and not marks[first - 1] else "^"
        v1 = stems[end] if end < size and not marks[end] else "$"
        v2 = stems[end + 1] if end + 1 < size and v1 != "$" and not marks[end + 1] else "$"
        m0 = min(marks[first], FULL_STOP)
        m1 = min(marks[end], FULL_STOP) if end < size else FULL_STOP
        level = next((name for name, least in _LEVELS if chance > least), "0")
        self.out += [
            "pol" + polarity,
            "ph:" + phrase,
            "row:" + self.candidate.rows[0],
            "kind:" + self.candidate.kind,
            f"sp:{sense}:{part}",
            f"sg:{sense}:{group}",
            f"php:{phrase}:{group}",
            "w1:" + w1,
            f"w21:{w2}_{w1}",
            f"w1r:{w1}:{polarity}",
            "v1:" + v1,
            f"v12:{v1}_{v2}",
            f"w1ph:{w1}:{phrase}",
            f"phv1:{phrase}:{v1}",
            f"m{m0}{m1}{polarity}",
            f"m{m0}{m1}:{phrase}",
            "c" + level,
        ]
        remedy = self.cues.remedy
        if first in remedy or end - 1 in remedy:
            fix = remedy.get(first) or remedy[end - 1]
            self.out += ["rem:" + fix, f"remw:{w1}:{fix}", f"remph:{phrase}"]

    def relation(self) -> None:
        """Tell how the candidate stands to the part it is thought to be about."""
        at, first, end, polarity = self.at, self.first, self.end, self.polarity
        if self.option.mention < 0:
            self.out += ["rel-", f"rel-{polarity}"]
            return
        mention = at.named[self.option.mention]
        norm, marks = self.text.norm, self.text.mark
        if mention.end <= first:
            stops = min(at.stops[first + 1] - at.stops[mention.end], 2)
            commas = min(at.commas[first + 1] - at.commas[mention.end], 2)
            gap = first - mention.end
            self.out += [
                f"rel<{_near(gap)}s{stops}{mention.kind}",
                f"rel<s{stops}m{commas}h{mention.head:d}l{mention.label:d}{polarity}",
            ]
            if gap <= _SHAPED:
                between = shape(norm, marks, mention.end, first)
                self.out += ["rels:" + between, f"rels:{between}:{polarity}"]
        else:
            gap = mention.first - end
            self.out.append(f"rel>{_near(max(gap, 0))}{mention.kind}{polarity}")
            if 0 <= gap <= _SHAPED:
                self.out.append("rela:" + shape(norm, marks, end, mention.first))

    def opening(self) -> None:
        """Tell how the clause begins, and the nearest auxiliary and person before the candidate."""
        norm, first, polarity = self.text.norm, self.first, self.polarity
        clause = self.cues.clause[first]
        small = grammar()
        if first - clause <= _SHAPED + 1:
            start = norm[clause] if norm[clause] in structure_words() else "x"
            whole = f"{start}_{shape(norm, self.text.mark, clause + 1, first)}" if first > clause else "^"
            self.out += [f"pat:{whole}", f"pat:{whole}:{polarity}"]
        for name, wanted, reach in (("aux", small.auxiliaries, 9), ("who", small.persons, 12)):
            for back in range(first - 1, max(clause, first - reach) - 1, -1):
                if norm[back] in wanted:
                    self.out += [f"{name}:{norm[back]}", f"{name}:{norm[back]}:{polarity}"]
                    break
        if self.cues.asked[first]:
            self.out.append("asked" + polarity)
        self.out += [f"op:{norm[self.cues.start[first]]}", f"oc:{norm[clause]}:{polarity}"]

    def reached(self) -> None:
        """Name what the cues that reach it make of it."""
        standing = self.cues.reach.over(self.first, self.end)
        polarity = self.polarity
        sort = "d" if standing.denied else "e" if standing.excepted else "-"
        self.out += [f"sc{sort}{polarity}", f"sc{sort}:{self.phrase}"]
        kinds = sorted(standing.kinds - _DEGREES - {"deny"})
        if kinds:
            self.out += [f"sk:{kind}{sort}{polarity}" for kind in kinds]
            self.out.append(f"sa:{'+'.join(kinds)}{sort}{polarity}")

    def before(self) -> None:
        """Name the cues before it in its sentence, nearest of each kind, and whether it is denied."""
        at, cues, first, polarity = self.at, self.cues, self.first, self.polarity
        begin = max(cues.start[first], first - _BEFORE_TOKENS)
        seen: set[str] = set()
        denied = crossing = ""
        for i in range(bisect_left(cues.firsts, first) - 1, -1, -1):
            if cues.firsts[i] < begin:
                break
            if cues.ends[i] > first:
                self.out.append("in:" + cues.ids[i])
                continue
            distance = first - cues.ends[i]
            marks = at.commas[first + 1] - at.commas[cues.ends[i]]
            for kind in cues.kinds[i]:
                if kind in _DEGREES or kind in seen:
                    continue
                seen.add(kind)
                if kind == "deny":
                    denied = f"{_near(distance)}m{min(marks, 2)}{crossing}"
                    self._denied(i, distance, marks, crossing)
                else:
                    self.out += [
                        f"<{kind}{_near(distance)}m{min(marks, 2)}{polarity}",
                        f"<{kind}m{min(marks, 1)}{polarity}",
                        f"<<{kind}",
                    ]
                if kind in ("stop", "except", "contrast", "rest") and distance <= 14:
                    crossing = (crossing + kind[0])[:2]
        self.out += [f"dn:{denied[:1]}{polarity}", f"dnph:{bool(denied):d}:{self.phrase}"]

    def _denied(self, i: int, distance: int, marks: int, crossing: str) -> None:
        cues, first, polarity = self.cues, self.first, self.polarity
        cue, stems = cues.firsts[i], self.text.stem
        between = bisect_left(cues.candidate_firsts, first) - bisect_left(cues.candidate_firsts, cue)
        run = stems[cues.ends[i] : first]
        joined = "or" in run or "nor" in run
        self.out += [
            f"deny{_near(distance)}m{min(marks, 2)}{crossing}{polarity}",
            f"denyc{min(between, 2)}{crossing}m{min(marks, 2)}{polarity}",
            f"denyj{joined:d}{crossing}m{min(marks, 1)}{polarity}",
            f"denyw:{self.text.norm[cue]}:{_near(distance)}m{min(marks, 1)}{polarity}",
        ]

    def after(self) -> None:
        """Name the cues after it in its sentence, and how the next sentence begins."""
        at, cues, end, polarity = self.at, self.cues, self.end, self.polarity
        seen: set[str] = set()
        crossed = False
        for i in range(bisect_left(cues.firsts, self.first), len(cues.firsts)):
            cue = cues.firsts[i]
            if cue >= self.finish:
                break
            if cue < end:
                self.out.append("in:" + cues.ids[i])
                continue
            marks = min(at.commas[cue + 1] - at.commas[end], 2)
            for kind in cues.kinds[i]:
                if kind in _DEGREES or kind in seen:
                    continue
                seen.add(kind)
                self.out += [f">{kind}{_near(cue - end + 1)}m{marks}{crossed:d}{polarity}", f">{kind}{polarity}"]
                crossed = crossed or kind in ("stop", "except")
        following = self.finish
        if following < len(self.text.mark) and self.text.mark[following] >= FULL_STOP:
            i = bisect_right(cues.firsts, following - 1)
            if i < len(cues.firsts) and cues.firsts[i] <= following + 1:
                self.out.append(f"next:{cues.kinds[i][0]}{polarity}")
                if cues.kinds[i][0] == "correction":
                    self.out.append("nextc:" + cues.ids[i])
            self.out.append("nw:" + self.text.norm[following])

    def neighbours(self) -> None:
        """Name the candidates round this one: the same said again, and what else the clause says."""
        at, cues, found, number = self.at, self.cues, self.found, self.number
        first, end, sense, polarity = self.first, self.end, self.option.sense, self.polarity
        for back in range(1, min(3, number) + 1):
            other = found[number - back]
            if first - other.first > 30:
                break
            if sense in other.senses and other.kind != "bare":
                parted = at.stops[first + 1] - at.stops[other.end] > 0
                self.out += [f"dup{back}{polarity}{parted:d}", "dup"]
                break
        for forward in range(1, min(3, len(found) - number - 1) + 1):
            other = found[number + forward]
            if other.first - first > 14:
                break
            if sense in other.senses and other.kind != "bare":
                parted = at.stops[other.first + 1] - at.stops[end] > 0
                self.out.append(f"pud{forward}{polarity}{parted:d}")
                break
        clause, start = cues.clause[first], cues.start[first]
        if self.candidate.kind == "bare":
            window = found[max(0, number - 3) : number + 4]
            count = sum(1 for o in window if o.kind == "word" and cues.clause[o.first] == clause)
            self.out.append(f"bare{min(count, 2)}")
            window = found[max(0, number - 2) : number + 4]
            near = [o.senses[0] for o in window if o.kind == "word" and cues.start[o.first] == start]
            self.out += [f"bn:{s}" for s in near[:3]]
            return
        near = [
            o.senses[0]
            for o in found[max(0, number - 2) : number + 3]
            if o is not self.candidate and o.kind == "word" and cues.clause[o.first] == clause
        ]
        self.out += [f"nb:{s}:{polarity}" for s in near[:3]]


_LEVELS = (("9", 0.9), ("7", 0.7), ("5", 0.5), ("3", 0.3))


def status_features(
    candidate: Candidate, number: int, option: Option, chance: float, *, at: Ground, cues: Cues, found: list[Candidate]
) -> list[str]:
    """Name everything that may tell the status of a candidate, given the part and sense it is thought to be about.

    `number` is its place among the candidates `found`; `chance` that of the option, in [0, 1].
    """
    namer = _Namer(candidate, number, option, at=at, cues=cues, found=found)
    namer.words(chance)
    namer.relation()
    namer.opening()
    namer.reached()
    namer.before()
    namer.after()
    namer.neighbours()
    return namer.out
