"""Which of the values told for a fact to believe, and when two of them are at odds."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from functools import cache

from shutline.remarks.fact_data import fact_cues, fact_data, fact_sureness
from shutline.remarks.fact_look import FoundFact
from shutline.remarks.numbers import Number
from shutline.remarks.tokens import Text

COMPANY_REACH = 18
"""Tokens to either side in which other facts make a fact likelier: cars are introduced in one breath."""

INTRODUCTION = 150
"""Tokens at the start in which a car is introduced."""

_FIRM = 0.7
"""A rule this often right, whatever stands near, makes company for others."""

_COUNTED = frozenset({"odometer", "year", "engine_cc", "doors", "seats", "gears", "keys", "keepers"})


def kind_of(rule: str, company: int) -> str:
    """Name what sureness is counted by: a rule, and how many other facts stand beside.

    >>> kind_of("colour-in", 5)
    'colour-in+2'
    """
    return f"{rule}+{min(company, 2)}"


@cache
def _share(name: str, rule: str) -> float:
    """Give the share of right ones among all that a rule drew."""
    table = fact_sureness().get(name, {})
    every = [v for k, v in table.items() if k.rpartition("+")[0] == rule]
    return (sum(v[0] for v in every) + 1) / (sum(v[1] for v in every) + 2)


@cache
def _sureness(name: str, rule: str, kind: str) -> float:
    """Give the share of right ones among those drawn alike, leaning on the share of the rule where few were seen."""
    table = fact_sureness().get(name, {})
    right, told = table.get(kind, (0, 0))
    return round((right + 4 * _share(name, rule)) / (told + 4), 3)


def weigh(found: Sequence[FoundFact]) -> list[FoundFact]:
    """Give each fact its sureness, from its rule and the other facts near it; in the order they were said."""
    ordered = sorted(found, key=lambda f: (f.first, f.end, f.name))
    firm = [f for f in ordered if _share(f.name, f.rule) >= _FIRM]
    out = []
    begin = 0
    for fact in ordered:
        while begin < len(firm) and firm[begin].first < fact.first - COMPANY_REACH:
            begin += 1
        kind = kind_of(fact.rule, _company(fact, firm, begin))
        out.append(replace(fact, kind=kind, sureness=_sureness(fact.name, fact.rule, kind)))
    return out


def _company(fact: FoundFact, firm: Sequence[FoundFact], begin: int) -> int:
    """Count the other facts told near one; the first words of a walk introduce the car and count as one."""
    names = {fact.name}
    for at in range(begin, len(firm)):
        if firm[at].first > fact.end + COMPANY_REACH:
            break
        names.add(firm[at].name)
    return len(names) - 1 + (fact.first < INTRODUCTION)


def choose(weighed: Sequence[FoundFact], text: Text, numbers: Sequence[Number]) -> list[FoundFact]:
    """Keep of each fact the surest value, and a second one where both are told as true.

    A value that the speaker takes back ('two keys, no, three') is dropped for the one after it. A round figure and the
    exact one behind it are the same fact. Anything below even chances is not told at all.
    """
    named: dict[str, list[FoundFact]] = defaultdict(list)
    for fact in weighed:
        named[fact.name].append(fact)
    out: list[FoundFact] = []
    for name, told in named.items():
        mended = _mend(told, text, numbers) if name in _COUNTED else told
        best = max(mended, key=lambda f: (f.sureness, -f.first))
        best = _exact(best, mended)
        limits: dict[str, float] = fact_data()["limits"]
        if best.sureness < limits["told"]:
            continue
        out.append(best)
        other = _at_odds(best, mended)
        if other is not None:
            out.append(other)
    return sorted(out, key=lambda f: (f.first, f.name))


def _mend(told: list[FoundFact], text: Text, numbers: Sequence[Number]) -> list[FoundFact]:
    """Put what was said last in the place of what was taken back."""
    out: list[FoundFact] = []
    for fact in told:
        at = _taken_back(fact, text)
        later = None
        if at:
            later = next((n for n in numbers if at <= n.first <= at + 5 and _fits(fact, n)), None)
        if later is not None:
            value = int(later.value)
            out.append(replace(fact, value=value, first=later.first, end=later.end, rule=f"{fact.rule}-mended"))
        else:
            out.append(fact)
    return out


def _taken_back(fact: FoundFact, text: Text) -> int:
    """Give the token behind a word that takes a fact back, within a few words of it; 0 when there is none."""
    cues = fact_cues()
    size = len(text.norm)
    for at in range(fact.end, min(fact.end + 5, size)):
        word = text.norm[at]
        if word in cues["taking_back"] or (word == "no" and at + 1 < size and text.norm[at + 1] in cues["after_no"]):
            return at + 1
        if word == "no" and at + 1 < size and (text.mark[at + 1] or text.norm[at + 1] in ("it", "its")):
            return at + 1
    return 0


def _fits(fact: FoundFact, number: Number) -> bool:
    if number.value != int(number.value) or number.manner in ("ordinal", "point", "part", "short"):
        return False
    size = len(str(int(number.value)))
    return abs(size - len(str(fact.value))) <= (1 if fact.name == "odometer" else 0)


def _exact(best: FoundFact, told: Sequence[FoundFact]) -> FoundFact:
    """Give the exact figure of which the best is the round one: 'two litre … nineteen seventy'."""
    for fact in told:
        if fact.value != best.value and fact.sureness >= 0.2 and _round_of(best, fact):
            return fact
    return best


def _round_of(rough: FoundFact, fine: FoundFact) -> bool:
    return rough.name == fine.name and is_round_figure(rough.name, rough.value, fine.value)


def is_round_figure(name: str, rough: object, fine: object) -> bool:
    """Tell whether one value of a fact is the round figure of another: 'two litre' of 1,970 cc.

    >>> is_round_figure("engine_cc", 2000, 1970), is_round_figure("engine_cc", 1970, 2000)
    (True, False)
    """
    if not isinstance(rough, int) or not isinstance(fine, int):
        return False
    step = {"engine_cc": 100, "odometer": 1000}.get(name, 0)
    if not step or rough % step or not fine % step:
        return False
    return abs(rough - fine) < step * (2 if name == "odometer" else 1)


def _at_odds(best: FoundFact, told: Sequence[FoundFact]) -> FoundFact | None:
    """Find a second value told as plainly as the best, that cannot be the same fact in other words."""
    limits = fact_data()["limits"]
    rivals = [
        f
        for f in told
        if f.value != best.value
        and min(f.sureness, best.sureness) >= limits["at_odds_exact" if _both_exact(f, best) else "at_odds"]
        and not _round_of(f, best)
        and not _round_of(best, f)
        and f.name not in limits["single"]
        and f.rule not in limits["leaning"]
    ]
    return max(rivals, key=lambda f: (f.sureness, -f.first), default=None)


def _both_exact(first: FoundFact, second: FoundFact) -> bool:
    """Tell whether two values are exact figures, each told in one piece."""
    limits = fact_data()["limits"]
    step = limits["exact_step"].get(first.name)
    return step is not None and all(
        isinstance(f.value, int) and f.value % step != 0 and f.rule not in limits["in_pieces"] for f in (first, second)
    )


def forget() -> None:
    """Drop what was read of the table of sureness; for the tool that writes it."""
    for kept in (fact_sureness, _share, _sureness):
        kept.cache_clear()
