"""Why each task is left out of a choice, and what is in the way where the musts cannot be done."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from shutline.prep.curve import Curve
from shutline.prep.limits import Deadline, Limits, most_of, over
from shutline.prep.programme import Programme, Solved
from shutline.prep.sure import best_of


class Why(StrEnum):
    """Why a task is left out."""

    DOES_NOT_PAY = "does not pay"
    NO_MONEY = "no money"
    NO_TIME = "no time"
    NO_BAY = "no bay"
    REFUSED = "refused"
    OTHER_CURE = "another cure was chosen"
    NEEDS = "what it needs is left out"
    UNSETTLED = "it was not settled"


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A task that is left out: why, and in words; `gain_pence` is what it would add to the choice, without limits."""

    task: str
    why: Why
    words: str
    gain_pence: int


@dataclass(frozen=True, slots=True)
class InTheWay:
    """What keeps the musts from being done: a limit or a refusal, and what would do in its place."""

    what: str
    words: str


@dataclass(frozen=True, slots=True)
class Wishes:
    """What people decided: task ids that are in, or out, each with the reason; and what a task cannot do without."""

    musts: Mapping[str, str] = field(default_factory=dict)
    refused: Mapping[str, str] = field(default_factory=dict)
    needs: Mapping[str, Sequence[str]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Asked:
    """What was asked of a choice."""

    programme: Programme
    limits: Limits
    wishes: Wishes
    ready: Deadline | None
    time_limit_s: float
    line: Curve | None = None
    """With a quantile, the sets that were tried."""


_WHY = {"money": Why.NO_MONEY, "hours": Why.NO_TIME, "bay": Why.NO_BAY}


def left_out(asked: Asked, best: Solved) -> tuple[LeftOut, ...]:
    """Tell of each task that was not chosen why, in the order of their ids."""
    programme, chosen = asked.programme, best.chosen or frozenset()
    free = programme.solve(Limits(), time_limit_s=asked.time_limit_s).chosen or frozenset()
    return tuple(_left(asked, best, chosen, free, one) for one in programme.by_id if one not in chosen)


def _left(asked: Asked, best: Solved, chosen: frozenset[str], free: frozenset[str], one: str) -> LeftOut:
    programme = asked.programme
    gain, bundle = _added(programme, chosen, one)
    findings = set(programme.by_id[one].findings)
    others = [other for other in sorted(chosen) if findings & set(programme.by_id[other].findings)]
    cured = {finding for other in others for finding in programme.by_id[other].findings}
    if one in programme.refused:
        why, words = Why.REFUSED, asked.wishes.refused[one]
    elif findings and findings <= cured:
        why, words = Why.OTHER_CURE, f"cured by {', '.join(others)}"
    elif missing := sorted(bundle & programme.refused):
        why, words = Why.NEEDS, f"it needs {', '.join(missing)}, which is refused"
    elif displaced := sorted(programme.bare_musts - bundle):
        why, words = Why.OTHER_CURE, f"{', '.join(displaced)}, which is a must, has its place"
    elif gain <= 0 and one not in free:
        why, words = Why.OTHER_CURE if chosen - bundle else Why.DOES_NOT_PAY, _loss(gain, chosen - bundle)
    else:
        # What pays beside others that share its set-up is counted with them.
        job = programme.by_id[one].job.id
        more = frozenset(other for other in free if gain <= 0 and programme.by_id[other].job.id == job)
        why, words = _beyond_limits(asked, bundle | more)
        if not words:
            why = Why.DOES_NOT_PAY if best.proved else Why.UNSETTLED
            words = _loss(gain, chosen - bundle) if best.proved else _unsettled(asked)
    return LeftOut(one, why, words, gain)


def _beyond_limits(asked: Asked, bundle: frozenset[str]) -> tuple[Why, str]:
    """Tell which limits a set goes beyond; no words where it goes beyond none."""
    used = asked.programme.used(bundle, asked.limits)
    broken = over(used, asked.limits)
    if broken:
        words = "; ".join(f"{_amount(one, used[one])} of {_amount(one, most_of(asked.limits, one))}" for one in broken)
        return _WHY[broken[0].partition(" ")[0]], f"with what is chosen it would take {words}"
    if asked.ready is not None and not asked.ready.fits(bundle):
        return Why.NO_TIME, "with what is chosen it would not be ready by the date"
    return Why.UNSETTLED, ""


def _added(programme: Programme, chosen: frozenset[str], one: str) -> tuple[int, frozenset[str]]:
    """Give what a task would add to a choice, and the choice with it: with what it needs, without what it covers."""
    bundle = set(chosen)
    waiting = [one]
    while waiting:
        task = waiting.pop()
        bundle.add(task)
        waiting += [other for other in programme.needs.get(task, ()) if other not in bundle]
    added = bundle - chosen
    bundle -= {first for first, second in programme.rivals if second in added and first in chosen}
    return programme.gain(frozenset(bundle)) - programme.gain(chosen), frozenset(bundle)


def _loss(gain: int, given_up: frozenset[str]) -> str:
    instead = f" in place of {', '.join(sorted(given_up))}" if given_up else ""
    if gain >= 0:
        return f"it would gain nothing{instead}"
    # What is expected is not known to the penny.
    return f"it would lose about \N{POUND SIGN}{max(1, round(-gain / 100)):,}{instead}"


def _unsettled(asked: Asked) -> str:
    return "the search was stopped before it was settled" if asked.line is None else "no set with it was tried"


def _amount(name: str, much: float) -> str:
    kind, _, of = name.partition(" ")
    if kind == "money":
        return _pounds(round(much))
    return f"{much / 60:.1f} hours of {of}" if kind == "hours" else f"{much:.1f} days of {of}"


def _pounds(pence: int) -> str:
    return f"\N{POUND SIGN}{pence / 100:,.2f}"


def in_the_way(asked: Asked, best: Solved) -> tuple[InTheWay, ...]:
    """Tell what keeps the musts from being done."""
    programme, limits = asked.programme, asked.limits
    if not best.proved:
        return (InTheWay("time of the search", "no choice was found before the search was stopped: give it longer"),)
    if programme.least("money", Limits()) is None:
        return _contradictions(asked)
    found = [
        InTheWay(name, _least(asked, name, limits.without(name)))
        for name in limits.names()
        if best_of(programme, limits.without(name), ready=asked.ready, time_limit_s=asked.time_limit_s).chosen
        is not None
    ]
    if asked.ready is not None and best_of(programme, limits, time_limit_s=asked.time_limit_s).chosen is not None:
        found.append(InTheWay("date", "the musts cannot be done by the date"))
    if found:
        return tuple(found)
    each = [(name, programme.least(name, Limits())) for name in limits.names()]
    return tuple(
        InTheWay(name, _least(asked, name, Limits()))
        for name, chosen in each
        if chosen is not None and name in programme.broken(chosen, limits)
    ) or (
        InTheWay(
            "several limits", f"the musts need more than is allowed of these together: {', '.join(limits.names())}"
        ),
    )


def _least(asked: Asked, name: str, limits: Limits) -> str:
    if name == "money" and asked.line is not None and asked.line.points:
        used: float = asked.line.points[0].money_pence
    else:
        used = asked.programme.used(asked.programme.least(name, limits) or frozenset(), asked.limits)[name]
    return f"the musts take {_amount(name, used)}; allowed are {_amount(name, most_of(asked.limits, name))}"


def _contradictions(asked: Asked) -> tuple[InTheWay, ...]:
    programme, wishes = asked.programme, asked.wishes
    found = [
        InTheWay(one, f"it is a must and is refused: {wishes.refused[one]}")
        for one in sorted(programme.bare_musts & programme.refused)
    ]
    for finding in programme.must_findings:
        cures = programme.cures[finding]
        if set(cures) <= programme.refused:
            found.append(InTheWay(finding, f"it has to be cured, and every cure is refused: {', '.join(cures)}"))
    for one, other in programme.rivals:
        if {one, other} <= programme.bare_musts:
            found.append(InTheWay(one, f"it is a must and has nothing left to cure where {other} is done, a must too"))
    for one in sorted(programme.bare_musts):
        lacking = sorted(_added(programme, frozenset(), one)[1] & programme.refused - {one})
        if lacking:
            found.append(InTheWay(one, f"it is a must and needs {', '.join(lacking)}, which is refused"))
    return tuple(found) or (InTheWay("musts", "the musts contradict one another through what they need and cure"),)
