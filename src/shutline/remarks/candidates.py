"""Gather what might be an observation: each condition word, each 'same again', each paper that is named."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

from shutline.remarks.mentions import Mention
from shutline.remarks.phrases import Match
from shutline.remarks.regions import regions
from shutline.remarks.tokens import FULL_STOP, Text, structure_words

_BACK = 9
_AHEAD_TOKENS = 12


@dataclass(slots=True)
class Candidate:
    """A place in the words that may say something of a part.

    Tokens `first` up to and without `end`. `senses` are the conditions it may mean; `no` is True for a phrase that
    rules its defect out by itself ('bone dry'). `kind` is ``word``, ``bare`` (a part named, nothing said) or ``same``.
    """

    first: int
    end: int
    senses: tuple[str, ...]
    no: bool
    severity: str
    implied: tuple[str, ...]
    rows: tuple[str, ...]
    kind: str


@dataclass(slots=True)
class Option:
    """A part and a sense that a candidate may be about; `mention` is -1 where no part word stands for it."""

    mention: int
    part: str
    sense: str
    features: list[str]


def candidates(text: Text, matches: dict[str, list[Match]], named: list[Mention]) -> list[Candidate]:
    """Gather the candidates in the order of the words."""
    where = regions()
    inside: set[int] = set()
    for match in matches["parts"]:
        if match.end - match.first > 1:
            inside.update(range(match.first, match.end))
    out: list[Candidate] = []
    for match in matches["conditions"]:
        if match.end - match.first <= 1 and match.first in inside:
            continue
        if all(at in inside for at in range(match.first, match.end)):
            continue
        rows = match.rows
        senses = tuple(dict.fromkeys(s for row in rows for s in row.senses))
        out.append(
            Candidate(
                match.first,
                match.end,
                senses,
                rows[0].found == "no",
                rows[0].severity,
                tuple(part for row in rows for part in row.implied),
                tuple(row.id for row in rows),
                "word",
            )
        )
    for match in matches["cues"]:
        kind = match.rows[0].kind
        if kind in ("same", "contrast"):
            out.append(Candidate(match.first, match.end, (), False, "", (), (match.rows[0].id,), "same"))
    for mention in named:
        if mention.kind == "noun" and mention.parts[0] in where.named_is_present:
            out.append(
                Candidate(
                    mention.first,
                    mention.end,
                    ("present",),
                    False,
                    "",
                    (mention.parts[0],),
                    ("bare." + mention.parts[0],),
                    "bare",
                )
            )
    out.sort(key=lambda c: (c.first, c.end))
    recent: list[str] = []
    for candidate in out:
        if candidate.kind == "same":
            candidate.senses = tuple(dict.fromkeys(["sound", "works", *reversed(recent[-4:])]))
        elif candidate.kind == "word":
            recent.append(candidate.senses[0])
    return [candidate for candidate in out if candidate.senses]


def shape(norm: list[str], marks: list[int], first: int, end: int) -> str:
    """Write the shape of a stretch of tokens: its structure words and marks, other words as x.

    >>> shape(["door", "is", "badly"], [3, 0, 0], 1, 3)
    'is_x'
    """
    words = structure_words()
    out = []
    for at in range(first, end):
        if marks[at]:
            out.append(".," [marks[at] < FULL_STOP])
        out.append(norm[at] if norm[at] in words else "x")
    if end < len(marks) and marks[end] and end > first - 1:
        out.append(".,"[marks[end] < FULL_STOP])
    return "_".join(out)


def _bucket(distance: int) -> str:
    if distance <= 3:
        return str(distance)
    if distance <= 5:
        return "5"
    if distance <= 8:
        return "8"
    if distance <= 14:
        return "14"
    return "25" if distance <= 25 else "99"


@dataclass(slots=True)
class Ground:
    """What the option finder looks up again and again: token counts of marks, and the ends said so far."""

    text: Text
    named: list[Mention]
    firsts: list[int]
    commas: list[int]
    stops: list[int]
    end_at: list[str]
    region_at: list[str]
    places: list[tuple[int, str, str, str]]
    last_region: str


def ground(text: Text, named: list[Mention], places: list[tuple[int, str, str, str]]) -> Ground:
    """Count the marks before each token, and note the end and region last spoken of at each mention."""
    commas, stops = [0], [0]
    for mark in text.mark:
        commas.append(commas[-1] + (1 if mark and mark < FULL_STOP else 0))
        stops.append(stops[-1] + (1 if mark >= FULL_STOP else 0))
    where = regions()
    end, region = "", ""
    said = iter([*places, (1 << 30, "", "", "")])
    place = next(said)
    end_at, region_at = [], []
    for mention in named:
        while place[0] <= mention.first:
            if place[3]:
                region = place[3]
                if place[3] in ("front", "rear"):
                    end = place[3]
            place = next(said)
        end_at.append(end)
        region_at.append(region)
        if mention.kind == "noun" and len(mention.parts) == 1:
            own = where.end.get(mention.parts[0], "")
            if mention.position in ("front", "rear"):
                own = mention.position
            if own:
                end = own
            region = where.region.get(mention.parts[0], region)
    return Ground(text, named, [m.first for m in named], commas, stops, end_at, region_at, places, region)


def options(candidate: Candidate, at: Ground) -> list[Option]:
    """List the parts and senses a candidate may be about, each with its features."""
    named, text = at.named, at.text
    if candidate.kind == "bare":
        mention = bisect_left(at.firsts, candidate.first)
        return [Option(mention, candidate.implied[0], "present", ["bare"])]
    first, end = candidate.first, candidate.end
    where = regions()
    position = bisect_left(at.firsts, first)
    row = candidate.rows[0]
    phrase = " ".join(text.stem[first:end])
    out: list[Option] = []
    seen: set[tuple[str, str]] = set()
    rank = 0
    norm = text.norm
    nearest = ""
    around = at.region_at[position] if position < len(at.region_at) else at.last_region
    topic = -1
    for index in range(position - 1, max(-1, position - 1 - _BACK), -1):
        mention = named[index]
        gap = first - mention.end
        if gap < 0:
            if mention.end > first:
                gap = 0
        stops = at.stops[first + 1] - at.stops[mention.end if mention.end <= first else first + 1]
        commas = at.commas[first + 1] - at.commas[mention.end if mention.end <= first else first + 1]
        if stops > 6 or gap > 110:
            break
        lead = mention.lead if mention.lead in _LEADS else ""
        crossed = f"{min(stops, 3)}{min(commas, 2)}"
        base = [
            f"k{rank if rank < 4 else 4}",
            f"k{rank if rank < 4 else 4}s{min(stops, 2)}",
            "d" + _bucket(gap),
            "x" + crossed,
            "lead" + lead,
            f"lead{lead}k{min(rank, 2)}",
            f"h{mention.head:d}l{mention.label:d}{mention.kind}",
            f"h{mention.head:d}s{min(stops, 2)}k{min(rank, 2)}",
        ]
        if gap <= 5:
            base.append("b:" + shape(norm, text.mark, mention.end, first))
        elif not stops:
            base.append("bf:" + norm[mention.end])
        if rank == 0:
            nearest = mention.row if mention.kind == "noun" else "back"
        else:
            base += [f"over:{nearest}", f"over:{nearest}:{lead}", f"over:{nearest}:s{min(stops, 1)}"]
        if topic < 0 and mention.head:
            topic = index
            base += [f"topic{min(rank, 3)}", f"topic{min(rank, 3)}s{min(stops, 2)}"]
        base.append(f"w:{mention.row}:k{min(rank, 2)}")
        _add(out, seen, candidate, index, mention, base, at, where, row, phrase, rank, around)
        rank += 1
    seen = set()
    for index in range(position, min(len(named), position + 2)):
        mention = named[index]
        if mention.first >= end + _AHEAD_TOKENS:
            break
        until = max(mention.first, end)
        stops = at.stops[until + 1] - at.stops[end] if until >= end else 0
        if stops:
            break
        commas = at.commas[until + 1] - at.commas[end]
        gap = max(0, mention.first - end)
        lead = mention.lead if mention.lead in _LEADS else ("-" if gap == 0 else "?")
        head = "" if end >= len(norm) else norm[end]
        base = [
            f"a{index - position}",
            "ad" + _bucket(gap),
            f"ax{min(commas, 2)}",
            "alead" + lead,
            f"alead{lead}{min(commas, 1)}",
            "ah" + head if head in _LEADS else "ah?",
            f"arow{row}{min(commas, 1)}",
        ]
        if 0 < gap <= 5:
            base.append("ab:" + shape(norm, text.mark, end, mention.first))
        _add(out, seen, candidate, index, mention, base, at, where, row, phrase, 9, around)
    named_parts = {option.part for option in out}
    for part in candidate.implied:
        for sense in candidate.senses:
            if part not in named_parts:
                out.append(
                    Option(-1, part, sense, ["implied", "imp:" + row, f"pc:{part}:{sense}", f"rs:{phrase}:{sense}"])
                )
    offered = {option.part for option in out}
    region = at.region_at[position] if position < len(at.region_at) else at.last_region
    for part in where.unnamed_region.get(region, ()):
        if part not in offered:
            offered.add(part)
            for number, sense in enumerate(candidate.senses):
                out.append(
                    Option(-1, part, sense, ["ur", f"ur:{part}", f"ur:{part}:{row}", f"pc:{part}:{sense}", f"rs:{phrase}:{sense}", f"s{number}"])
                )
    for number, sense in enumerate(candidate.senses):
        for part in where.unnamed_condition.get(sense, ()):
            if part not in offered:
                offered.add(part)
                out.append(
                    Option(-1, part, sense, ["uc", f"uc:{part}", f"uc:{part}:{row}", f"uc:{part}:{region}", f"pc:{part}:{sense}", f"rs:{phrase}:{sense}", f"s{number}"])
                )
    return out


_LEADS = frozenset(
    "on in by round around behind under along off of from at across inside near above below over to with down into through than for between against like as out up and or about where".split()
)


def _add(
    out: list[Option],
    seen: set[tuple[str, str]],
    candidate: Candidate,
    index: int,
    mention: Mention,
    base: list[str],
    at: Ground,
    where: object,
    row: str,
    phrase: str,
    rank: int,
    around: str,
) -> None:
    table = regions()
    many = len(mention.parts) > 1
    for which, part in enumerate(mention.parts):
        group = table.group[part]
        region = table.region.get(part, "")
        shared = [*base, f"p:{part}", f"pr:{part}:{row}", f"gr:{region}:{row}", f"pp:{part}:{phrase}", f"ag:{around}:{region}", f"ag{around == region:d}k{min(rank, 3)}"]
        if many:
            shared += [
                f"m:{mention.row}:{part}",
                f"me:{part}:{at.end_at[index]}",
                f"mr:{part}:{at.region_at[index]}",
                f"mp:{part}:{mention.position}",
                f"m{which}",
            ]
        for number, sense in enumerate(candidate.senses):
            if (part, sense) in seen:
                continue
            seen.add((part, sense))
            features = [*shared, f"pc:{part}:{sense}", f"gc:{group}:{sense}", f"rc:{region}:{sense}"]
            if len(candidate.senses) > 1:
                features += [
                    f"s{number}:{candidate.kind}",
                    f"rs:{phrase}:{sense}",
                    f"rws:{row}:{sense}",
                    f"sg:{phrase}:{sense}:{group}",
                ]
            out.append(Option(index, part, sense, features))
