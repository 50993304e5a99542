"""What a written statement means of the part it is said of, where the words alone leave it open."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from shutline.claims.relations import relations
from shutline.claims.written_data import small_words
from shutline.remarks.candidates import Candidate
from shutline.remarks.regions import regions
from shutline.remarks.scope import Standing
from shutline.remarks.tokens import FULL_STOP, Text

_EVEN = "even"
_IN_PART = frozenset({"quite", "entirely", "fully", "wholly", "altogether"})
"""Between a denial and what it denies: 'not quite right'."""


def of_stuff(condition: str, part: str, words: Sequence[str]) -> str:
    """Give what a hole, a split, a crack or a lost shape is called in cloth, in rubber and in metal."""
    tables = relations()
    soft, metal = part in tables.soft, _of_metal(part)
    split = any(word.startswith("split") for word in words)
    holed = any(word.startswith("hole") for word in words)
    cases = {
        "crack": (part in tables.rubber and "perished") or (soft and split and "tear"),
        "perforation": soft and "tear",
        "tear": (not soft and split and "crack") or (not soft and metal and holed and "perforation"),
        "sag": metal and "shape" in words and "dent",
        # An exhaust that leaks can be heard.
        "leak": part == "exhaust" and "noise",
        # Rubber that is hard has perished, and metal that is hard is sound.
        "perished": metal and "hard" in words and part not in tables.rubber and "sound",
        # What is wrong with what works is no wrong part.
        "nonoriginal": "wrong" in words and part in tables.workings and "fault",
    }
    return cases.get(condition) or condition


def _of_metal(part: str) -> bool:
    return regions().group.get(part) in ("body", "underneath")


def praised_as_flat(text: Text, candidate: Candidate, part: str) -> bool:
    """Tell whether 'flat' praises a panel, and does not speak of dull paint or an empty battery."""
    norm, first = text.norm, candidate.first
    tables = relations()
    gone = first > 0 and norm[first - 1] in tables.gone
    return norm[first : candidate.end] == ["flat"] and part not in tables.flat and not gone


def denied_behind(text: Text, candidate: Candidate) -> bool:
    """Tell whether a word behind denies what is good: 'functions not'."""
    norm, mark, end = text.norm, text.mark, candidate.end
    last = end + 1 >= len(norm) or bool(mark[end + 1])
    return end < len(norm) and norm[end] == "not" and last


def ruled_out_behind(text: Text, end: int, said: Collection[int]) -> bool:
    """Tell whether a defect is denied by a word behind it, or behind the list it stands in: 'rust and filler: none'.

    `end` is the token behind it, and `said` those of the other statements.
    """
    norm, mark, tables = text.norm, [*text.mark, 1], relations()
    at = end
    while at < len(norm) and (at in said or norm[at] in ("and", "or")):
        at += 1
    if at >= len(norm) or norm[at] not in tables.denied_behind or any(m >= FULL_STOP for m in mark[end : at + 1]):
        return False
    return bool(mark[at + 1]) or norm[at + 1] in tables.denial_goes_on


def denies_itself(standing: Standing, candidate: Candidate) -> bool:
    """Tell whether the only denial is in the words that rule the defect out: 'shows no yellowing'."""
    denials = [scope for scope in standing.by if scope.kind == "deny"]
    return bool(denials) and all(scope.first < candidate.end and candidate.first < scope.end for scope in denials)


def denied_twice(text: Text, standing: Standing) -> bool:
    """Tell whether the words that rule a defect out are denied themselves: 'not free of rust', 'not without a dent'."""
    small = small_words()
    for scope in standing.by:
        before = text.norm[max(0, scope.first - 2) : scope.first]
        denied = before[-1:] if before[-1:] and before[-1] in small.denials else before[:1]
        rules_out = small.ruling_out.intersection(text.norm[scope.first : scope.end])
        if scope.kind == "deny" and rules_out and small.denials.intersection(denied):
            return len(before) < 2 or before[-1] in small.denials or before[-1] in small.how_far
    return False


def goes_on_with_a_verb(text: Text, standing: Standing, candidate: Candidate) -> bool:
    """Tell whether a verb behind 'and' says something of its own: the leaks of 'is not original and leaks oil'."""
    at, word = candidate.first, text.norm[candidate.first]
    denials = [scope for scope in standing.by if scope.kind == "deny"]
    verb = word.endswith("s") and not word.endswith("ss") and text.norm[max(0, at - 1) : at] == ["and"]
    return verb and bool(denials) and all(text.norm[scope.end - 1] in ("not", "n't") for scope in denials)


def begins_anew(text: Text, standing: Standing, clause: int, part: int, candidate: Candidate) -> bool:
    """Tell whether a part of its own stands behind the comma that a denial ran on over: 'no blows, paint faded'.

    `clause` and `part` are the first tokens of the clause and of the part.
    """
    denials = [scope for scope in standing.by if scope.kind == "deny"]
    return (
        bool(text.mark[clause])
        and text.norm[clause] not in small_words().joins
        and clause <= part < candidate.first
        and bool(denials)
        and all(scope.end <= clause for scope in denials)
    )


def denied_at_once(text: Text, standing: Standing, candidate: Candidate) -> bool:
    """Tell whether a good condition itself is denied, and not a list before it: 'no leaks, good pressure'."""
    norm, mark = text.norm, text.mark
    before = norm[max(0, candidate.first - 2) : candidate.first]
    if before and before[0] in ("not", "n't") and (len(before) == 1 or before[1] in _IN_PART):
        return True
    if before[-1:] == ["not"] and norm[candidate.first : candidate.end] == [_EVEN]:
        # The cue 'not even' ends with it, and reaches no further.
        return True
    return any(
        scope.kind == "deny"
        and (
            scope.first >= candidate.first
            or not any(mark[at] or norm[at] in small_words().joins for at in range(scope.end, candidate.first + 1))
        )
        for scope in standing.by
    )
