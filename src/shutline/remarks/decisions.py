"""Choose among the options with the learnt weights: part and sense, status, side, end, severity, remedy."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.remarks.analysis import OPPOSITES, Analysis
from shutline.remarks.assertion import STATUSES, status_features
from shutline.remarks.attachment import Option, options
from shutline.remarks.candidates import Candidate
from shutline.remarks.degree import SEVERITIES, remedy_options, severity_features
from shutline.remarks.placing import POSITIONS, SIDES, position_options, side_options
from shutline.remarks.regions import regions
from shutline.remarks.weights import Weights, chances, score, sort_scores

_ONE_PRAISE = frozenset({"sound", "works"})
_ONE_BREATH = 12
"""Tokens within which two words of praise are one."""


@dataclass(slots=True)
class Decision:
    """What a candidate was taken to say; `chance` is the product of the chances of its choices."""

    candidate: Candidate
    option: Option
    condition: str
    found: str
    side: str
    position: str
    severity: str
    remedy: str
    chance: float
    status: str
    remedy_match: int


def outcome(sense: str, status: str, *, no: bool) -> tuple[str, str]:
    """Give condition and found for a sense of the words and its status.

    >>> outcome("works", "turned", no=False)
    ('fault', 'yes')
    >>> outcome("leak", "base", no=True)
    ('leak', 'no')
    """
    defect = sense in regions().defects
    if status == "unsure":
        return (sense, "unsure") if defect else (OPPOSITES[sense], "unsure")
    if not defect:
        return (sense, "yes") if status == "base" else (OPPOSITES[sense], "yes")
    return sense, "no" if (status == "base") == no else "yes"


def choose_part(listed: list[Option], weights: Weights) -> tuple[int, list[float]]:
    """Give the index of the likeliest option, and for each option the chance of its part and sense."""
    table = weights.choosers["part"]
    given = chances(
        [option.score + score(table, option.features) if option.features else option.score for option in listed]
    )
    best = max(range(len(given)), key=given.__getitem__)
    by_part: dict[tuple[str, str], float] = {}
    for option, chance in zip(listed, given, strict=True):
        key = (option.part, option.sense)
        by_part[key] = by_part.get(key, 0.0) + chance
    return best, [by_part[(option.part, option.sense)] for option in listed]


def decide(analysis: Analysis, weights: Weights, *, keen: float = 0.45) -> list[Decision]:
    """Read every candidate; keep those that are more likely than not to be an observation.

    `keen` is the chance, of status and part together, from which an observation is kept, in (0, 1).
    """
    out: list[Decision] = []
    at, cues, found = analysis.at, analysis.cues, analysis.found
    for number, candidate in enumerate(found):
        listed = options(candidate, at, sums=weights.sums["part"])
        if not listed:
            continue
        best, given = choose_part(listed, weights)
        option = listed[best]
        features = status_features(candidate, number, option, given[best], at=at, cues=cues, found=found)
        given_status = chances(sort_scores(weights.sorters["status"], features, len(STATUSES)))
        real = 1.0 - given_status[0]
        if real < 0.5:
            continue
        which = max(range(1, len(STATUSES)), key=given_status.__getitem__)
        status = STATUSES[which]
        chosen = [option]
        for index, other in enumerate(listed):
            if index != best and given[index] > 0.3 and other.part != option.part and other.sense == option.sense:
                chosen.append(other)
        for taken in chosen:
            chance = given[listed.index(taken)] * given_status[which]
            if chance < keen:
                continue
            condition, verdict = outcome(taken.sense, status, no=taken.sense in candidate.no)
            side = _pick(
                SIDES,
                side_options(candidate, taken.mention, taken.part, at=at, cues=cues, walked=analysis.walked),
                weights,
                "side",
            )
            end = _pick(
                POSITIONS,
                position_options(candidate, taken.mention, taken.part, at=at, cues=cues, walked=analysis.walked),
                weights,
                "position",
            )
            severity = remedy = ""
            remedy_match = -1
            if condition in regions().defects and verdict != "no":
                grades = sort_scores(
                    weights.sorters["severity"],
                    severity_features(candidate, taken.sense, at, cues),
                    len(SEVERITIES),
                )
                severity = SEVERITIES[max(range(len(SEVERITIES)), key=grades.__getitem__)]
                fixes = remedy_options(
                    candidate,
                    taken.sense,
                    taken.part,
                    at=at,
                    cues=cues,
                    matches=analysis.matches["remedies"],
                    firsts=analysis.remedy_firsts,
                )
                if len(fixes) > 1:
                    scores = [score(weights.choosers["remedy"], f) for _, f, _ in fixes]
                    top = max(range(len(scores)), key=scores.__getitem__)
                    remedy, remedy_match = fixes[top][0], fixes[top][2]
            out.append(
                Decision(
                    candidate, taken, condition, verdict, side, end, severity, remedy, chance, status, remedy_match
                )
            )
    return settled(out)


def settled(decisions: list[Decision]) -> list[Decision]:
    """Of 'sound' and 'works' said of one part in one breath keep the likelier: 'pulls up nice and straight' is one."""
    out: list[Decision] = []
    for decision in decisions:
        if decision.condition in _ONE_PRAISE:
            twin = next(
                (
                    d
                    for d in reversed(out)
                    if d.option.part == decision.option.part
                    and d.condition in _ONE_PRAISE
                    and d.condition != decision.condition
                    and decision.candidate.first - d.candidate.first <= _ONE_BREATH
                ),
                None,
            )
            if twin is not None:
                if twin.chance >= decision.chance:
                    continue
                out.remove(twin)
        out.append(decision)
    return out


def _pick(names: tuple[str, ...], listed: list[list[str]], weights: Weights, chooser: str) -> str:
    table = weights.choosers[chooser]
    scores = [score(table, features) for features in listed]
    best = max(range(len(scores)), key=scores.__getitem__)
    if names is SIDES and scores[SIDES.index("near")] == scores[SIDES.index("off")] == scores[best]:
        return ""
    return names[best]
