"""Choose among the options with the learnt weights: part and sense, status, side, end, severity, remedy.

Two kinds of weights are added up: those of the phrases and the cues around them, and what the network makes of all the
words. What only the network finds is taken too, if it is sure.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, field
from functools import cache
from math import exp, inf, log

import numpy as np

from shutline.remarks.analysis import OPPOSITES, Analysis
from shutline.remarks.anywhere import meant, place_as_said
from shutline.remarks.assertion import STATUSES, status_features
from shutline.remarks.attachment import Option, options
from shutline.remarks.candidates import Candidate
from shutline.remarks.context import AHEAD, BACK, FOUND, Context
from shutline.remarks.degree import SEVERITIES, remedy_options, severity_features
from shutline.remarks.lexicon import Row, shipped_lexicon
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


@dataclass(frozen=True, slots=True)
class Mix:
    """How much the network's scores count beside those of the phrases, chosen on speakers held out.

    `part` and `told` scale the log chance of a part and the log-odds that a condition is told, `shift` is added to the
    log-odds, `found` scales the log chance of there, not there and doubtful. A phrase that the network gives less than
    `least` in log-odds is not weighed further. `alone` is the chance from which a statement without a phrase is taken.
    `place` scales the log chances of side and end.
    """

    part: float = 1.3
    told: float = 0.5
    shift: float = -1.0
    found: float = 0.5
    least: float = -3.0
    alone: float = 0.75
    place: float = 2.0


MIX = Mix()
_LEAST_SHARE = 1e-3
_LEAST_FOUND = 0.02
_LEAST_PLACE = 0.01
_SAME_SPOT = 6
"""Tokens within which the same condition of the same part is one statement."""


@dataclass(slots=True)
class _Hints:
    """What the network says of the senses of the candidates: by sense the token, log-odds, found and part chances."""

    told: dict[str, tuple[int, float]] = field(default_factory=dict)
    rows: dict[str, int] = field(default_factory=dict)


@cache
def _shipped_rows() -> dict[str, Row]:
    return {row.id: row for row in shipped_lexicon().rows}


def _rows_of_users_own(analysis: Analysis) -> set[str]:
    """Give the ids of the rows met that did not come with the package."""
    shipped = _shipped_rows()
    met = {row.id: row for match in analysis.matches["conditions"] for row in match.rows}
    return {name for name, row in met.items() if shipped.get(name) != row}


class _Listener:
    """Asks the network about all candidates at once."""

    def __init__(self, analysis: Analysis, context: Context, mix: Mix) -> None:
        self.context, self.mix = context, mix
        network = context.network
        self.number_of_part = network.parts
        self.hints: list[_Hints] = []
        tokens: list[int] = []
        conditions: list[int] = []
        own = _rows_of_users_own(analysis)
        for candidate in analysis.found:
            hints = _Hints()
            # The network has never met a user's own words: it may speak for them, not against them.
            floor = -mix.shift / mix.told if own.intersection(candidate.rows) else -inf
            for sense in candidate.senses:
                for condition in (sense, OPPOSITES.get(sense, "")):
                    if condition and condition not in hints.told:
                        at, odds = context.best(candidate.first, candidate.end, condition)
                        odds = max(odds, floor)
                        hints.told[condition] = at, odds
                        if odds >= mix.least:
                            hints.rows[condition] = len(tokens)
                            tokens.append(at)
                            conditions.append(network.conditions[condition])
            self.hints.append(hints)
        where, what = np.array(tokens, dtype=np.int64), np.array(conditions, dtype=np.int64)
        self.parts = np.log(np.maximum(context.part_chances(where, what), _LEAST_SHARE)) if tokens else np.zeros((0, 0))
        self.found = np.log(context.found_chances(where, what) + _LEAST_FOUND) if tokens else np.zeros((0, 3))

    def places(self, number: int, condition: str, part: str) -> tuple[list[float], list[float]]:
        """Give what is added to the score of each side and end, where a candidate tells a condition of a part."""
        return _places(self.context, self.mix, self.hints[number].told[condition][0], part)

    def silent(self, number: int) -> bool:
        """Tell whether nothing that a candidate may mean is told there, by the network's lights."""
        return not self.hints[number].rows

    def weigh_parts(self, number: int, listed: list[Option]) -> None:
        """Add to each option the network's share for its part and sense."""
        hints, mix = self.hints[number], self.mix
        for option in listed:
            row = hints.rows.get(option.sense)
            if row is None:
                turned = OPPOSITES.get(option.sense, "")
                row = hints.rows.get(turned)
            share = float(self.parts[row, self.number_of_part[option.part]]) if row is not None else log(_LEAST_SHARE)
            odds = max(hints.told[s][1] for s in (option.sense, OPPOSITES.get(option.sense, option.sense)))
            option.score += mix.part * share + mix.told * 0.3 * odds

    def weigh_status(self, number: int, option: Option, scores: list[float], *, no: bool) -> list[float]:
        """Add to the scores of the statuses what the network makes of the outcomes."""
        hints, mix = self.hints[number], self.mix
        out = [scores[0]]
        for status, own in zip(STATUSES[1:], scores[1:], strict=True):
            condition, found = outcome(option.sense, status, no=no)
            told = hints.told.get(condition)
            if told is None:
                out.append(own)
                continue
            row = hints.rows.get(condition)
            sure = float(self.found[row, FOUND.index(found)]) if row is not None else 0.0
            out.append(own + mix.told * told[1] + mix.shift + mix.found * sure)
        return out


def _places(context: Context, mix: Mix, token: int, part: str) -> tuple[list[float], list[float]]:
    """Give what the network's chances add to the score of each of `SIDES` and of `POSITIONS`."""
    number = context.network.parts[part]
    sides, ends = context.place_chances(np.array([token]), np.array([number]))
    side, end = ((mix.place * np.log(np.maximum(row[0], _LEAST_PLACE))).tolist() for row in (sides, ends))
    return side, end


def _decision(
    analysis: Analysis,
    weights: Weights,
    candidate: Candidate,
    taken: Option,
    *,
    chance: float,
    told: tuple[str, str, str],
    places: tuple[list[float], list[float]] | None,
) -> Decision:
    """Settle what is left once part, condition, found and status are: side, end, severity and remedy."""
    at, cues = analysis.at, analysis.cues
    condition, verdict, status = told
    of_side, of_end = places or (None, None)
    side = _pick(
        SIDES,
        side_options(candidate, taken.mention, taken.part, at=at, cues=cues, walked=analysis.walked),
        weights,
        "side",
        of_side,
    )
    end = _pick(
        POSITIONS,
        position_options(candidate, taken.mention, taken.part, at=at, cues=cues, walked=analysis.walked),
        weights,
        "position",
        of_end,
    )
    severity = remedy = ""
    remedy_match = -1
    if condition in regions().defects and verdict != "no":
        grades = sort_scores(
            weights.sorters["severity"], severity_features(candidate, taken.sense, at, cues), len(SEVERITIES)
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
    return Decision(candidate, taken, condition, verdict, side, end, severity, remedy, chance, status, remedy_match)


def decide(
    analysis: Analysis, weights: Weights, *, context: Context | None = None, keen: float = 0.5, mix: Mix = MIX
) -> list[Decision]:
    """Read every candidate; keep those that are more likely than not to be an observation.

    `keen` is the chance, of status and part together, from which an observation is kept, in (0, 1). Without a
    `context` the phrases decide alone.
    """
    out: list[Decision] = []
    at, cues, found = analysis.at, analysis.cues, analysis.found
    listener = None if context is None else _Listener(analysis, context, mix)
    for number, candidate in enumerate(found):
        if listener is not None and listener.silent(number):
            continue
        listed = options(candidate, at, sums=weights.sums["part"])
        if listener is not None:
            listener.weigh_parts(number, listed)
        if not listed:
            continue
        best, given = choose_part(listed, weights)
        option = listed[best]
        features = status_features(candidate, number, option, given[best], at=at, cues=cues, found=found)
        scores = sort_scores(weights.sorters["status"], features, len(STATUSES))
        if listener is not None:
            scores = listener.weigh_status(number, option, scores, no=option.sense in candidate.no)
        given_status = chances(scores)
        real = 1.0 - given_status[0]
        if real < 0.5:
            continue
        which = max(range(1, len(STATUSES)), key=given_status.__getitem__)
        status = STATUSES[which]
        over = _over(analysis, candidate, option, outcome(option.sense, status, no=option.sense in candidate.no))
        for taken, share in [(over, given[best])] if over else _likely(listed, best, given):
            chance = share * given_status[which]
            if chance >= keen:
                told = (*outcome(taken.sense, status, no=taken.sense in candidate.no), status)
                places = None if listener is None else listener.places(number, told[0], taken.part)
                out.append(_decision(analysis, weights, candidate, taken, chance=chance, told=told, places=places))
                if over:
                    place_as_said(analysis, out[-1])
    if context is not None:
        out += _told_without_phrase(analysis, weights, context, mix, out)
        out.sort(key=lambda d: (d.candidate.first, d.candidate.end))
    return settled(out)


def _likely(listed: list[Option], best: int, given: list[float]) -> list[tuple[Option, float]]:
    """Give the likeliest option, and others that are likely of other parts in the same sense, each with its chance."""
    first = listed[best]
    others = [
        (option, given[index])
        for index, option in enumerate(listed)
        if index != best and given[index] > 0.3 and option.part != first.part and option.sense == first.sense
    ]
    return [(first, given[best]), *others]


def _over(analysis: Analysis, candidate: Candidate, option: Option, told: tuple[str, str]) -> Option | None:
    """Give the option that a statement is of by a place named right after it; None where it names none so."""
    place = meant(analysis, candidate, told) if told[0] in regions().defects else None
    return None if place is None else Option(*place, option.sense, [])


def _told_without_phrase(
    analysis: Analysis, weights: Weights, context: Context, mix: Mix, taken: list[Decision]
) -> list[Decision]:
    """Take what the network alone is sure of, where no phrase has told the same."""
    network = context.network
    edge = log(mix.alone / (1.0 - mix.alone))
    places, columns = np.nonzero(context.told > edge)
    if not len(places):
        return []
    odds = context.told[places, columns]
    shares = context.part_chances(places, columns)
    founds = context.found_chances(places, columns)
    out: list[Decision] = []
    spots: dict[tuple[str, str], list[int]] = {}
    # What is of a place by the words themselves is not told of another part too.
    over: dict[str, list[int]] = {}
    for decision in taken:
        spots.setdefault((decision.condition, decision.option.part), []).append(decision.candidate.first)
        said_of = (decision.condition, decision.found)
        if _over(analysis, decision.candidate, decision.option, said_of) is not None:
            over.setdefault(decision.condition, []).append(decision.candidate.first)
    for row in np.argsort(-odds, kind="stable").tolist():
        at, condition = int(places[row]), network.condition_names[int(columns[row])]
        which = int(shares[row].argmax())
        part = network.part_names[which]
        if any(abs(spot - at) <= _SAME_SPOT for spot in over.get(condition, ())):
            continue
        chance = float(shares[row, which] / (1.0 + exp(-float(odds[row]))))
        told_at = spots.setdefault((condition, part), [])
        if chance < mix.alone or any(abs(spot - at) <= _SAME_SPOT for spot in told_at):
            continue
        found = FOUND[int(founds[row].argmax())]
        chance *= float(founds[row].max())
        if chance < mix.alone:
            continue
        told_at.append(at)
        candidate = Candidate(at, at + 1, (condition,), frozenset(), "", (), ("network.told",), "told")
        option = Option(_nearest(analysis, part, at), part, condition, [])
        status = {"yes": "base", "no": "turned", "unsure": "unsure"}[found]
        told = (condition, found, status)
        where = _places(context, mix, at, part)
        out.append(_decision(analysis, weights, candidate, option, chance=chance, told=told, places=where))
    return out


def _nearest(analysis: Analysis, part: str, at: int) -> int:
    """Give the mention of a part that stands nearest, those before first; -1 where none is in reach."""
    named = analysis.named
    here = bisect_left(named, at, key=lambda mention: mention.first)
    for number in range(here - 1, -1, -1):
        if at - named[number].first > BACK:
            break
        if part in named[number].parts:
            return number
    for number in range(here, len(named)):
        if named[number].first - at > AHEAD:
            break
        if part in named[number].parts:
            return number
    return -1


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


def _pick(
    names: tuple[str, ...], listed: list[list[str]], weights: Weights, chooser: str, more: list[float] | None
) -> str:
    table = weights.choosers[chooser]
    scores = [score(table, features) for features in listed]
    if more is not None:
        scores = [own + added for own, added in zip(scores, more, strict=True)]
    best = max(range(len(scores)), key=scores.__getitem__)
    if names is SIDES and scores[SIDES.index("near")] == scores[SIDES.index("off")] == scores[best]:
        return ""
    return names[best]
