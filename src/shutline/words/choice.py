"""What may be told: findings that stand, without praise that a standing fault contradicts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from shutline.car.carfile import CarFile, KeptFact, KeptFinding
from shutline.car.findings import Finding, Found, Position, Severity, Side, State
from shutline.car.prep_done import RENEWS
from shutline.car.vocabulary import vocabulary
from shutline.claims.judged import Verdict
from shutline.claims.record import record
from shutline.claims.sayings import Saying, Spot
from shutline.claims.verdict import judge
from shutline.publish.naming import place_name
from shutline.publish.statement import statement
from shutline.remarks.tokens import phrase_tokens
from shutline.survey.guides import shelf
from shutline.survey.odds import Odds
from shutline.words.model import Untold

SURE_ENOUGH = 0.6
"""A fact that nobody has let stand is told from this sureness on, the line below which a report calls it doubtful."""

_CORROSION = frozenset({"rust", "blister", "perforation"})


@dataclass(frozen=True, slots=True)
class Chosen:
    """What may be told of a car: findings and facts; what is not and why; how many findings wait to be looked at.

    `put_right` are those that were put right since, and of which no finding tells that something is renewed.
    """

    findings: tuple[KeptFinding, ...]
    facts: tuple[KeptFact, ...]
    untold: tuple[Untold, ...]
    waiting: int
    put_right: tuple[KeptFinding, ...] = ()


def is_fault(finding: Finding) -> bool:
    """Tell whether a finding tells of a fault: a defect that is there, or something good that is not."""
    return finding.found is (Found.YES if vocabulary().is_defect(finding.condition) else Found.NO)


def is_good(finding: Finding) -> bool:
    """Tell whether a finding is good news, a fault that is not there included; what is unsure is neither."""
    return finding.found is not Found.UNSURE and not is_fault(finding)


def choose(car_file: CarFile, *, odds: Sequence[Odds] = ()) -> Chosen:
    """Choose what may be told.

    Every fault and every doubt that stands is. Good news is not where something at odds with it stands, nor, of a
    whole ('the bodywork'), where a fault stands within it.

    Parameters
    ----------
    car_file : CarFile
    odds : sequence of Odds
        What cannot be true together and nobody has decided.
    """
    going_out = car_file.going_out()
    standing = [kept for kept in going_out if kept.finding.state is State.STANDS and kept.finding.footings]
    untold: list[Untold] = [
        _untold(kept, "it stands on nothing that is noted")
        for kept in going_out
        if kept.finding.state is State.STANDS and not kept.finding.footings
    ]
    bad = [kept.finding for kept in standing if not is_good(kept.finding)]
    bad += _of_both(bad)
    disputed = _disputed(odds)
    good = [kept.finding for kept in standing if is_good(kept.finding)]
    on = record([(kept.id, kept.finding) for kept in standing], [], drive=car_file.drive)
    told = []
    for kept in standing:
        why = ""
        if is_good(kept.finding):
            if (
                kept.id in disputed
                or _outdone(kept.finding, good)
                or judge(_claim(kept.finding), on).verdict is Verdict.AT_ODDS
            ):
                why = "something that stands is at odds with it"
            elif _contradicted(kept.finding, bad):
                why = "a fault stands within it"
        if why:
            untold.append(_untold(kept, why))
        else:
            told.append(kept)
    facts, unsaid = _facts(car_file)
    waiting = sum(kept.finding.state is State.HEARD for kept in going_out)
    done = tuple(one for one in car_file.put_right() if one.put_right and one.put_right.remedy not in RENEWS)
    return Chosen(tuple(told), facts, (*untold, *unsaid), waiting, done)


def _outdone(one: Finding, good: Iterable[Finding]) -> bool:
    """Tell whether 'original' was said of what was said to be renewed, too."""
    return one.condition == "original" and any(
        other.condition == "renewed" and (other.part, other.side, other.position) == (one.part, one.side, one.position)
        for other in good
    )


def _claim(good: Finding) -> Saying:
    """Give what a finding says as a claim that a written text would make."""
    spot = Spot(good.part, good.side, good.position, each=good.side is Side.BOTH or good.position is Position.BOTH)
    label = vocabulary().conditions[good.condition].label
    words = frozenset(stem for _, stem in phrase_tokens(label))
    return Saying(0, 0, label, spot, good.condition, good.found, words=words)


def _disputed(odds: Iterable[Odds]) -> set[str]:
    return {name for case in odds for told in case.told if told.finding is not None for name in told.struck_with}


def _contradicted(good: Finding, bad: Iterable[Finding]) -> bool:
    """Tell whether good news cannot go out beside a fault or a doubt that stands."""
    spoken_of_with = shelf().ground.spoken_of_with
    whole = vocabulary().parts[good.part].group == "whole"
    for fault in bad:
        within = good.part in spoken_of_with.get(fault.part, ())
        same = fault.part == good.part and fault.side is good.side and fault.position is good.position
        if _told_apart(good, fault):
            return True
        if not (within or same):
            continue
        if good.found is Found.NO:
            alike = fault.condition == good.condition or {fault.condition, good.condition} <= _CORROSION
            # Of one place, 'no rust' and 'rust' are two places within it; of a whole, one of them is not so.
            if alike and (within or fault.condition == good.condition):
                return True
        elif good.condition in {"sound", "works", "original", "present"}:
            grave = fault.severity is Severity.SEVERE or fault.condition == "perforation"
            against = {"original": {"nonoriginal"}, "present": {"missing"}}.get(good.condition)
            if within and (against is None or fault.condition in against):
                return True
            if same and (whole or (good.condition == "sound" and grave)):
                return True
            if same and good.condition == "original" and fault.condition == "nonoriginal":
                return True
    return False


def _of_both(bad: Sequence[Finding]) -> list[Finding]:
    """Give the like faults of the two sides as one of both, as they are told."""
    return [
        replace(one, side=Side.BOTH)
        for one in bad
        if one.side is Side.NEAR
        and any(
            (other.part, other.side, other.position, other.condition)
            == (one.part, Side.OFF, one.position, one.condition)
            for other in bad
        )
    ]


def _told_apart(good: Finding, fault: Finding) -> bool:
    """Tell whether praise of a place and a fault in it would stand in two breaths, so that they deny each other.

    'The nearside arch is sound' beside rust of both arches, 'the rear seat is sound' beside a torn offside one; not
    'both sills are sound, but the nearside one has rust'.
    """
    part = vocabulary().parts[good.part]
    if fault.part != good.part or not part.sided or good.found is not Found.YES:
        return False
    wider = fault.side is Side.BOTH and good.side in (Side.NEAR, Side.OFF)
    within = good.side is None and fault.side is not None
    there = fault.position in (good.position, Position.BOTH) or good.position is None
    against = good.condition == "sound" or (good.condition, fault.condition) == ("works", "fault")
    return (wider or within) and there and against


def _facts(car_file: CarFile) -> tuple[tuple[KeptFact, ...], list[Untold]]:
    told, untold = [], []
    for kept in car_file.facts:
        fact = kept.fact
        if fact.state is State.STRUCK or kept.withdrawn:
            continue
        if not fact.footings:
            untold.append(Untold(kept.id, fact.name, "it stands on nothing that is noted"))
        elif fact.state is State.HEARD and fact.sureness is not None and fact.sureness < SURE_ENOUGH:
            untold.append(Untold(kept.id, fact.name, "the program is itself unsure of it, and nobody has let it stand"))
        else:
            told.append(kept)
    return tuple(told), untold


def _untold(kept: KeptFinding, why: str) -> Untold:
    finding = kept.finding
    place = place_name(finding.part, finding.side, finding.position)
    return Untold(kept.id, f"{place}: {statement(finding)}", why)
