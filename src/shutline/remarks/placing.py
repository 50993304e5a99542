"""Which side and which end a remark is about: what was said with the part, near it, and where the walk has got to."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

from shutline.remarks.assertion import Cues
from shutline.remarks.candidates import Candidate
from shutline.remarks.grammar import grammar
from shutline.remarks.ground import Ground
from shutline.remarks.mentions import Mention
from shutline.remarks.regions import regions

SIDES = ("", "near", "off", "both")
POSITIONS = ("", "front", "rear", "both")
_OPPOSITE = {"near": "off", "off": "near"}
_ALONG = frozenset({"side", "wheels"})


@dataclass(slots=True)
class Stance:
    """Where the walk has got to at each mention.

    `said` is the last side said at all, `walk` the side being walked along, `since` the mentions since a side was
    said, `away` the mentions of parts that lie on no side since then, `end` the last end said or implied, `strong` the
    end of the last part on that side.
    """

    said: list[str]
    walk: list[str]
    since: list[int]
    away: list[int]
    end: list[str]
    own: list[str]
    strong: list[str]
    part_side: list[str]
    part_end: list[str]


def stance(named: list[Mention], at: Ground) -> Stance:
    """Follow the walk along the mentions."""
    table = regions()
    small = grammar()
    said = walk = ""
    since = away = 99
    strong = ""
    out = Stance([], [], [], [], [], [], [], [], [])
    side_of: dict[str, str] = {}
    end_of: dict[str, str] = {}
    for mention in named:
        own = mention.side
        part = mention.parts[0]
        region = table.region.get(part, "")
        if own == "this":
            own = walk or said
        elif own == "other":
            own = _OPPOSITE.get(walk or said, "")
            if (
                mention.kind == "back"
                and mention.lead not in small.comparing
                and own
                and mention.row == "places.other_side"
                and (mention.lead in small.moving or not mention.lead)
                and (mention.label or mention.head)
            ):
                walk = own
        if own in _OPPOSITE:
            if said != own or since:
                said = own
            if (
                (region in _ALONG or mention.kind == "back")
                and mention.side != "other"
                and mention.lead not in small.comparing
            ):
                walk = own
            since = away = 0
        else:
            since += 1
            if region not in _ALONG:
                away += 1
        if region == "side" or mention.position in ("front", "rear"):
            strong = mention.position if mention.position in ("front", "rear") else table.end.get(part, strong)
        out.said.append(said)
        out.walk.append(walk)
        out.since.append(since)
        out.away.append(away)
        out.own.append(own)
        out.strong.append(strong)
        out.part_side.append(side_of.get(part, ""))
        out.part_end.append(end_of.get(part, ""))
        if own:
            side_of[part] = own
        if mention.position:
            end_of[part] = mention.position
    out.end = at.end_at
    return out


def _one_or_both(side: str) -> str:
    return "one" if side in _OPPOSITE else side


def _age(count: int) -> str:
    return (
        "0"
        if not count
        else "2"
        if count <= 2
        else "5"
        if count <= 5
        else "9"
        if count <= 9
        else "20"
        if count <= 20
        else "99"
    )


def _nearby(candidate: Candidate, at: Ground, cues: Cues, *, position: bool) -> tuple[str, str]:
    """Give the side or end said in the candidate's clause and in its sentence, nearest first."""
    clause = (cues.clause[candidate.first], cues.clause_end[candidate.end - 1])
    sentence = (cues.start[candidate.first], cues.stop[candidate.end - 1])
    in_clause = in_sentence = ""
    best_clause = best_sentence = 1 << 30
    index = bisect_left(at.places, (sentence[0], "", "", ""))
    while index < len(at.places) and at.places[index][0] < sentence[1]:
        place = at.places[index]
        value = place[2] if position else place[1]
        if value:
            distance = abs(place[0] - candidate.first)
            if distance < best_sentence and distance < 20:
                best_sentence, in_sentence = distance, value
            if clause[0] <= place[0] < clause[1] and distance < best_clause and distance < 16:
                best_clause, in_clause = distance, value
        index += 1
    return in_clause, in_sentence


def side_options(
    candidate: Candidate, mention: int, part: str, *, at: Ground, cues: Cues, walked: Stance
) -> list[list[str]]:
    """Features of each of `SIDES`."""
    table = regions()
    region = table.region.get(part, "")
    clause, sentence = _nearby(candidate, at, cues, position=False)
    index = mention if mention >= 0 else min(len(at.named) - 1, bisect_left(at.firsts, candidate.first) - 1)
    if index < 0:
        own = walk = said = before = ""
        since = away = 99
        plural = False
        kind = ""
        raw = ""
    else:
        named = at.named[index]
        own = walked.own[index] if mention >= 0 else ""
        raw = named.side if mention >= 0 else ""
        walk, said = walked.walk[index], walked.said[index]
        since, away = walked.since[index], walked.away[index]
        before = walked.part_side[index]
        plural, kind = named.plural, named.kind
    after = (
        walked.own[index + 1]
        if index + 1 < len(at.named)
        and at.named[index + 1].kind == "back"
        and at.named[index + 1].first < candidate.end + 8
        else ""
    )

    def real(value: str) -> str:
        return walk or said if value == "this" else _OPPOSITE.get(walk or said, "") if value == "other" else value

    clause, sentence = real(clause), real(sentence)
    sided = part in table.sided
    what = f"{sided:d}{region}"
    has = f"{bool(own):d}{bool(clause):d}{bool(walk):d}"
    out = []
    for value in SIDES:
        if not value:
            features = [
                f"0:{part}",
                f"0:{what}",
                f"0:{has}:{sided:d}",
                f"0o{bool(own):d}{raw if raw not in _OPPOSITE else 'said'}:{part}",
                f"0p{plural:d}:{part}",
                f"0w{_age(away)}:{region}",
                f"0c{bool(clause):d}:{part}",
            ]
            out.append(features)
            continue
        label = "2" if value == "both" else "1"
        features = [f"{label}:{part}", f"{label}:{what}", f"{label}p{plural:d}:{part}", f"{label}p{plural:d}:{what}"]
        if own:
            features += [
                f"{label}own{own == value:d}{kind}",
                f"{label}own{own == value:d}:{part}",
                f"{label}raw{raw if raw in ('this', 'other') else ''}{own == value:d}",
            ]
        if clause:
            features += [
                f"{label}cl{clause == value:d}{bool(own):d}",
                f"{label}cl{clause == value:d}{bool(own):d}:{part}",
            ]
        if sentence:
            features.append(f"{label}se{sentence == value:d}{bool(own):d}{bool(clause):d}")
        if after:
            features.append(f"{label}af{after == value:d}{bool(own):d}")
        if walk:
            age = _age(away)
            features += [
                f"{label}wk{walk == value:d}{bool(own):d}",
                f"{label}wk{walk == value:d}{bool(own):d}:{what}",
                f"{label}wk{walk == value:d}{bool(own):d}:{age}:{region}",
                f"{label}wk{walk == value:d}{bool(own):d}:{part}",
            ]
        if said:
            features += [
                f"{label}sd{said == value:d}{bool(own):d}:{_age(since)}",
                f"{label}sd{said == value:d}{bool(own):d}:{what}:{_age(away)}",
            ]
        if before:
            features.append(f"{label}bf{before == value:d}{bool(own):d}:{region}")
        out.append(features)
    return out


def position_options(
    candidate: Candidate, mention: int, part: str, *, at: Ground, cues: Cues, walked: Stance
) -> list[list[str]]:
    """Features of each of `POSITIONS`."""
    table = regions()
    region = table.region.get(part, "")
    clause, sentence = _nearby(candidate, at, cues, position=True)
    index = mention if mention >= 0 else min(len(at.named) - 1, bisect_left(at.firsts, candidate.first) - 1)
    if index < 0:
        own = end = strong = before = side = ""
        plural = False
        kind = area = ""
    else:
        named = at.named[index]
        own = named.position if mention >= 0 else ""
        end, strong = walked.end[index], walked.strong[index]
        area = at.region_at[index]
        before = walked.part_end[index]
        plural, kind = named.plural, named.kind
        side = walked.own[index]
        if kind == "back" and not own:
            own = before
    ended = part in table.ended
    what = f"{ended:d}{region}"
    out = []
    for value in POSITIONS:
        if not value:
            out.append(
                [
                    f"0:{part}",
                    f"0:{what}",
                    f"0o{own}:{part}",
                    f"0p{plural:d}:{part}",
                    f"0o{bool(own):d}:{ended:d}",
                    f"0s{_one_or_both(side)}:{part}",
                ]
            )
            continue
        label = "2" if value == "both" else "1"
        features = [
            f"{label}:{part}",
            f"{value}:{part}",
            f"{label}:{what}",
            f"{label}p{plural:d}:{part}",
            f"{label}s{side == 'both':d}:{part}",
        ]
        if own:
            features += [
                f"{label}own{own == value:d}",
                f"{label}own{own == value:d}:{part}",
                f"{label}own{own == value:d}{kind}",
            ]
        if clause:
            features += [
                f"{label}cl{clause == value:d}{bool(own):d}",
                f"{label}cl{clause == value:d}{bool(own):d}:{part}",
            ]
        if sentence:
            features.append(f"{label}se{sentence == value:d}{bool(own):d}{bool(clause):d}")
        if end:
            features += [f"{label}en{end == value:d}{bool(own):d}", f"{label}en{end == value:d}{bool(own):d}:{part}"]
        if strong:
            features += [
                f"{label}st{strong == value:d}{bool(own):d}",
                f"{label}st{strong == value:d}{bool(own):d}:{part}",
            ]
        if area:
            features.append(f"{value}ar{area}{bool(own):d}:{part}")
        if before:
            features.append(f"{label}bf{before == value:d}{bool(own):d}:{part}")
        out.append(features)
    return out
