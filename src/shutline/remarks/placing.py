"""Which side and which end a remark is about: what was said with the part, near it, and where the walk has got to."""

# What is kept for the same circumstances is called with flags, one after another.
# ruff: noqa: FBT001, PLR0917

from __future__ import annotations

from bisect import bisect_left
from functools import lru_cache

from shutline.remarks.assertion import Cues
from shutline.remarks.candidates import Candidate
from shutline.remarks.grammar import grammar
from shutline.remarks.ground import Ground
from shutline.remarks.regions import regions
from shutline.remarks.stance import OPPOSITE, Stance

SIDES = ("", "near", "off", "both")
POSITIONS = ("", "front", "rear", "both")
_COUNTED = 8
"""Tokens either way of the words in which what tells the number is looked for."""
_KEPT = 1 << 15

Names = tuple[str, ...]


def _one_or_both(side: str) -> str:
    return "one" if side in OPPOSITE else side


def _age(count: int) -> str:
    if not count:
        return "0"
    return "2" if count <= 2 else "5" if count <= 5 else "9" if count <= 9 else "20" if count <= 20 else "99"


def _nearby(candidate: Candidate, at: Ground, cues: Cues, *, position: bool) -> tuple[str, str, str]:
    """Give the side or end said in the candidate's clause and in its sentence, nearest first, and where the last is."""
    clause = (cues.clause[candidate.first], cues.clause_end[candidate.end - 1])
    sentence = (cues.start[candidate.first], cues.stop[candidate.end - 1])
    in_clause = in_sentence = far = ""
    best_clause = best_sentence = 1 << 30
    index = bisect_left(at.places, (sentence[0], "", "", ""))
    while index < len(at.places) and at.places[index][0] < sentence[1]:
        place = at.places[index]
        value = place[2] if position else place[1]
        if value:
            distance = abs(place[0] - candidate.first)
            if distance < best_sentence and distance < 20:
                best_sentence, in_sentence = distance, value
                far = ("<" if place[0] < candidate.first else ">") + _age(distance)
            if clause[0] <= place[0] < clause[1] and distance < best_clause and distance < 16:
                best_clause, in_clause = distance, value
        index += 1
    return in_clause, in_sentence, far


def _counts(candidate: Candidate, at: Ground, cues: Cues) -> list[str]:
    """Give the words of the clause that tell how many are meant."""
    first = max(cues.clause[candidate.first], candidate.first - _COUNTED)
    end = min(cues.clause_end[candidate.end - 1], candidate.end + _COUNTED)
    return sorted(grammar().counting.intersection(at.text.norm[first:end]))


@lru_cache(_KEPT)
def _no_side(
    part: str,
    what: str,
    sided: bool,
    has: str,
    raw: str,
    own: bool,
    plural: bool,
    age: str,
    region: str,
    clause: bool,
) -> Names:
    return (
        f"0:{part}",
        f"0:{what}",
        f"0:{has}:{sided:d}",
        f"0o{own:d}{raw}:{part}",
        f"0p{plural:d}:{part}",
        f"0w{age}:{region}",
        f"0c{clause:d}:{part}",
    )


@lru_cache(_KEPT)
def _alone(label: str, part: str, what: str, plural: bool) -> Names:
    return (
        f"{label}:{part}",
        f"{label}:{what}",
        f"{label}p{plural:d}:{part}",
        f"{label}p{plural:d}:{what}",
    )


@lru_cache(_KEPT)
def _counted(label: str, words: Names, several: bool) -> Names:
    return tuple(f"{label}t{word}:{several:d}" for word in words)


@lru_cache(_KEPT)
def _said_with(label: str, same: bool, kind: str, part: str, raw: str) -> Names:
    return (f"{label}own{same:d}{kind}", f"{label}own{same:d}:{part}", f"{label}raw{raw}{same:d}")


@lru_cache(_KEPT)
def _in_clause(label: str, same: bool, own: bool, part: str) -> Names:
    return (f"{label}cl{same:d}{own:d}", f"{label}cl{same:d}{own:d}:{part}")


@lru_cache(_KEPT)
def _in_sentence(label: str, same: bool, own: bool, clause: bool, far: str, several: bool) -> Names:
    return (f"{label}se{same:d}{own:d}{clause:d}", f"{label}sf{same:d}{own:d}{far}{several:d}")


@lru_cache(_KEPT)
def _walked(label: str, same: bool, own: bool, what: str, age: str, region: str, part: str) -> Names:
    return (
        f"{label}wk{same:d}{own:d}",
        f"{label}wk{same:d}{own:d}:{what}",
        f"{label}wk{same:d}{own:d}:{age}:{region}",
        f"{label}wk{same:d}{own:d}:{part}",
    )


@lru_cache(_KEPT)
def _said_last(label: str, same: bool, own: bool, what: str, since: str, away: str) -> Names:
    return (
        f"{label}sd{same:d}{own:d}:{since}",
        f"{label}sd{same:d}{own:d}:{what}:{away}",
    )


def side_options(
    candidate: Candidate, mention: int, part: str, *, at: Ground, cues: Cues, walked: Stance
) -> list[list[str]]:
    """Features of each of `SIDES`."""
    table = regions()
    region = table.region.get(part, "")
    clause, sentence, far = _nearby(candidate, at, cues, position=False)
    index = mention if mention >= 0 else min(len(at.named) - 1, bisect_left(at.firsts, candidate.first) - 1)
    own = walk = said = before = raw = kind = ""
    since = away = 99
    plural = False
    if index >= 0:
        named = at.named[index]
        if mention >= 0:
            own, raw = walked.own[index], named.side
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
        return walk or said if value == "this" else OPPOSITE.get(walk or said, "") if value == "other" else value

    clause, sentence = real(clause), real(sentence)
    sided = part in table.sided
    what = f"{sided:d}{region}"
    words = tuple(_counts(candidate, at, cues))
    since_age, away_age = _age(since), _age(away)
    has_own, has_clause = bool(own), bool(clause)
    has = f"{has_own:d}{has_clause:d}{bool(walk):d}"
    how = raw if raw not in OPPOSITE else "said"
    pointed = raw if raw in ("this", "other") else ""
    out = [
        [
            *_no_side(part, what, sided, has, how, has_own, plural, away_age, region, has_clause),
            *_counted("0", words, sided),
        ]
    ]
    for value in SIDES[1:]:
        label = "2" if value == "both" else "1"
        features = [*_alone(label, part, what, plural), *_counted(label, words, sided)]
        if own:
            features += _said_with(label, own == value, kind, part, pointed)
        if clause:
            features += _in_clause(label, clause == value, has_own, part)
        if sentence:
            features += _in_sentence(label, sentence == value, has_own, has_clause, far, sided)
        if after:
            features.append(f"{label}af{after == value:d}{has_own:d}")
        if walk:
            features += _walked(label, walk == value, has_own, what, away_age, region, part)
        if said:
            features += _said_last(label, said == value, has_own, what, since_age, away_age)
        if before:
            features.append(f"{label}bf{before == value:d}{has_own:d}:{region}")
        out.append(features)
    return out


@lru_cache(_KEPT)
def _no_end(part: str, what: str, ended: bool, own: str, plural: bool, side: str, doors: str) -> Names:
    return (
        f"0:{part}",
        f"0:{what}",
        f"0o{own}:{part}",
        f"0p{plural:d}:{part}",
        f"0o{bool(own):d}:{ended:d}",
        f"0s{side}:{part}",
        f"0dr{doors}:{part}",
    )


@lru_cache(_KEPT)
def _end_alone(label: str, value: str, part: str, what: str, plural: bool, both: bool, doors: str) -> Names:
    return (
        f"{label}:{part}",
        f"{value}:{part}",
        f"{label}:{what}",
        f"{label}p{plural:d}:{part}",
        f"{label}s{both:d}:{part}",
        f"{value}dr{doors}:{part}",
    )


@lru_cache(_KEPT)
def _end_said(label: str, same: bool, kind: str, part: str) -> Names:
    return (f"{label}own{same:d}", f"{label}own{same:d}:{part}", f"{label}own{same:d}{kind}")


@lru_cache(_KEPT)
def _end_walked(name: str, same: bool, own: bool, part: str) -> Names:
    return (f"{name}{same:d}{own:d}", f"{name}{same:d}{own:d}:{part}")


def position_options(
    candidate: Candidate, mention: int, part: str, *, at: Ground, cues: Cues, walked: Stance
) -> list[list[str]]:
    """Features of each of `POSITIONS`."""
    table = regions()
    region = table.region.get(part, "")
    clause, sentence, far = _nearby(candidate, at, cues, position=True)
    index = mention if mention >= 0 else min(len(at.named) - 1, bisect_left(at.firsts, candidate.first) - 1)
    own = end = strong = before = side = kind = area = ""
    plural = False
    if index >= 0:
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
    doors = walked.ends_said.get("door", "")
    words = tuple(_counts(candidate, at, cues))
    has_own, has_clause = bool(own), bool(clause)
    out = [
        [
            *_no_end(part, what, ended, own, plural, _one_or_both(side), doors),
            *_counted("0", words, ended),
        ]
    ]
    for value in POSITIONS[1:]:
        label = "2" if value == "both" else "1"
        features = [
            *_end_alone(label, value, part, what, plural, side == "both", doors),
            *_counted(label, words, ended),
        ]
        if own:
            features += _end_said(label, own == value, kind, part)
        if clause:
            features += _in_clause(label, clause == value, has_own, part)
        if sentence:
            features += _in_sentence(label, sentence == value, has_own, has_clause, far, ended)
        if end:
            features += _end_walked(f"{label}en", end == value, has_own, part)
        if strong:
            features += _end_walked(f"{label}st", strong == value, has_own, part)
        if area:
            features.append(f"{value}ar{area}{has_own:d}:{part}")
        if before:
            features.append(f"{label}bf{before == value:d}{has_own:d}:{part}")
        out.append(features)
    return out
