"""What is said to be so, not so, doubtful, or not said of this car at all: the cues around a candidate."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass

from shutline.remarks.candidates import Candidate, Ground, Option, shape
from shutline.remarks.phrases import Match
from shutline.remarks.regions import regions
from shutline.remarks.tokens import FULL_STOP, QUESTION, Text, structure_words

STATUSES = ("none", "base", "turned", "unsure")
"""Not an observation; as the words have it; the other way round; in doubt."""


@dataclass(slots=True)
class Cues:
    """The cues in the order of the words, and for each token where its sentence starts and ends."""

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
    )


_AUXILIARIES = frozenset(
    "is 's are 're was were be been has have 've had 'd got does do did will 'll would could can might may should must"
    " needs wants".split()
)
_PERSONS = frozenset("i you he she it they we people somebody someone nobody one this that these those there".split())
_SKIP = frozenset({"slight", "moderate", "severe"})


def _near(distance: int) -> str:
    return (
        "1" if distance <= 1 else "3" if distance <= 3 else "6" if distance <= 6 else "12" if distance <= 12 else "25"
    )


def status_features(
    candidate: Candidate,
    number: int,
    option: Option,
    chance: float,
    at: Ground,
    cues: Cues,
    found: list[Candidate],
) -> list[str]:
    """Name everything that may tell the status of a candidate, given the part and sense it is thought to be about."""
    text = at.text
    part, sense = option.part, option.sense
    stems, norm = text.stem, text.norm
    size = len(stems)
    first, end = candidate.first, candidate.end
    last = end - 1
    phrase = "_".join(stems[first:end])
    row = candidate.rows[0]
    table = regions()
    group = table.group.get(part, "")
    polarity = "n" if candidate.no else "d" if sense in table.defects else "g"
    begin = max(cues.start[first], first - 25)
    finish = min(cues.stop[last], end + 20)
    w1 = stems[first - 1] if first and not text.mark[first] else "^"
    w2 = stems[first - 2] if first > 1 and w1 != "^" and not text.mark[first - 1] else "^"
    v1 = stems[end] if end < size and not text.mark[end] else "$"
    v2 = stems[end + 1] if end + 1 < size and v1 != "$" and not text.mark[end + 1] else "$"
    m0 = min(text.mark[first], 3)
    m1 = min(text.mark[end], 3) if end < size else 3
    out = [
        "pol" + polarity,
        "ph:" + phrase,
        "row:" + row,
        "kind:" + candidate.kind,
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
        "c" + ("9" if chance > 0.9 else "7" if chance > 0.7 else "5" if chance > 0.5 else "3" if chance > 0.3 else "0"),
    ]
    if option.mention < 0:
        out += ["rel-", f"rel-{polarity}"]
    else:
        mention = at.named[option.mention]
        if mention.end <= first:
            stops = at.stops[first + 1] - at.stops[mention.end]
            commas = at.commas[first + 1] - at.commas[mention.end]
            gap = first - mention.end
            out += [
                f"rel<{_near(gap)}s{min(stops, 2)}{mention.kind}",
                f"rel<s{min(stops, 2)}m{min(commas, 2)}h{mention.head:d}l{mention.label:d}{polarity}",
            ]
            if gap <= 5:
                between = shape(norm, text.mark, mention.end, first)
                out += ["rels:" + between, f"rels:{between}:{polarity}"]
        else:
            gap = mention.first - end
            out.append(f"rel>{_near(max(gap, 0))}{mention.kind}{polarity}")
            if 0 <= gap <= 5:
                out.append("rela:" + shape(norm, text.mark, end, mention.first))
    opening_at = cues.clause[first]
    if first - opening_at <= 6:
        pattern = shape(norm, text.mark, opening_at + 1, first) if first > opening_at else ""
        start = norm[opening_at] if norm[opening_at] in structure_words() else "x"
        whole = f"{start}_{pattern}" if first > opening_at else "^"
        out += [f"pat:{whole}", f"pat:{whole}:{polarity}"]
    for back in range(first - 1, max(cues.clause[first], first - 9) - 1, -1):
        word = norm[back]
        if word in _AUXILIARIES:
            out += [f"aux:{word}", f"aux:{word}:{polarity}"]
            break
    for back in range(first - 1, max(cues.clause[first], first - 12) - 1, -1):
        word = norm[back]
        if word in _PERSONS:
            out += [f"who:{word}", f"who:{word}:{polarity}"]
            break
    if cues.asked[first]:
        out.append("asked" + polarity)
    if first in cues.remedy or last in cues.remedy:
        fix = cues.remedy.get(first) or cues.remedy[last]
        out += ["rem:" + fix, f"remw:{w1}:{fix}", f"remph:{phrase}"]
    seen: set[str] = set()
    denied = ""
    index = bisect_left(cues.firsts, first)
    crossing = ""
    for i in range(index - 1, -1, -1):
        cue = cues.firsts[i]
        if cue < begin:
            break
        kinds = cues.kinds[i]
        if cues.ends[i] > first:
            out.append("in:" + cues.ids[i])
            continue
        distance = first - cues.ends[i]
        marks = at.commas[first + 1] - at.commas[cues.ends[i]]
        for kind in kinds:
            if kind in _SKIP or kind in seen:
                continue
            seen.add(kind)
            if kind == "deny":
                between = bisect_left(cues.candidate_firsts, first) - bisect_left(cues.candidate_firsts, cue)
                joined = _joined(stems, cues.ends[i], first)
                denied = f"{_near(distance)}m{min(marks, 2)}{crossing}"
                out += [
                    "deny" + denied + polarity,
                    f"denyc{min(between, 2)}{crossing}m{min(marks, 2)}{polarity}",
                    f"denyj{joined:d}{crossing}m{min(marks, 1)}{polarity}",
                    f"denyw:{norm[cue]}:{_near(distance)}m{min(marks, 1)}{polarity}",
                ]
            else:
                out += [
                    f"<{kind}{_near(distance)}m{min(marks, 2)}{polarity}",
                    f"<{kind}m{min(marks, 1)}{polarity}",
                    f"<<{kind}",
                ]
            if kind in ("stop", "except", "contrast", "rest") and distance <= 14:
                crossing += kind[0]
                crossing = crossing[:2]
    out.append(f"dn:{denied[:1]}{polarity}")
    out.append(f"dnph:{bool(denied):d}:{phrase}")
    seen.clear()
    index = bisect_left(cues.firsts, first)
    crossed = False
    for i in range(index, len(cues.firsts)):
        cue = cues.firsts[i]
        if cue >= finish:
            break
        if cue < end:
            out.append("in:" + cues.ids[i])
            continue
        distance = cue - last
        marks = at.commas[cue + 1] - at.commas[end]
        for kind in cues.kinds[i]:
            if kind in _SKIP or kind in seen:
                continue
            seen.add(kind)
            out += [f">{kind}{_near(distance)}m{min(marks, 2)}{crossed:d}{polarity}", f">{kind}{polarity}"]
            crossed = crossed or kind in ("stop", "except")
    following = finish if finish < size and text.mark[finish] >= FULL_STOP else -1
    if following >= 0:
        i = bisect_right(cues.firsts, following - 1)
        if i < len(cues.firsts) and cues.firsts[i] <= following + 1:
            out.append(f"next:{cues.kinds[i][0]}{polarity}")
            if cues.kinds[i][0] == "correction":
                out.append("nextc:" + cues.ids[i])
        out.append("nw:" + norm[following])
    opening = norm[cues.start[first]]
    out += [f"op:{opening}", f"oc:{norm[cues.clause[first]]}:{polarity}"]
    for back in range(1, 4):
        if number - back < 0:
            break
        other = found[number - back]
        if first - other.first > 30:
            break
        if sense in other.senses and other.kind != "bare":
            out.append(f"dup{back}{polarity}{at.stops[first + 1] - at.stops[other.end] > 0:d}")
            out.append("dup")
            break
    for ahead in range(1, 4):
        if number + ahead >= len(found):
            break
        other = found[number + ahead]
        if other.first - first > 14:
            break
        if sense in other.senses and other.kind != "bare":
            out.append(f"pud{ahead}{polarity}{at.stops[other.first + 1] - at.stops[end] > 0:d}")
            break
    if candidate.kind == "bare":
        count = sum(
            1
            for o in found[max(0, number - 3) : number + 4]
            if o.kind == "word" and cues.clause[o.first] == cues.clause[first]
        )
        out.append(f"bare{min(count, 2)}")
        near = [
            o.senses[0]
            for o in found[max(0, number - 2) : number + 4]
            if o.kind == "word" and cues.start[o.first] == cues.start[first]
        ]
        out += [f"bn:{s}" for s in near[:3]]
    else:
        near = [
            o.senses[0]
            for o in found[max(0, number - 2) : number + 3]
            if o is not candidate and o.kind == "word" and cues.clause[o.first] == cues.clause[first]
        ]
        out += [f"nb:{s}:{polarity}" for s in near[:3]]
    return out


def _joined(stems: list[str], begin: int, end: int) -> bool:
    return "or" in stems[begin:end] or "nor" in stems[begin:end]
