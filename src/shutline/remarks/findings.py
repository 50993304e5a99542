"""Turn decisions into findings with their footing and reasons; the same statement said twice in a breath is one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from shutline.car.findings import Finding, Footing, FootingKind, Found, Position, Remedy, Severity, Side
from shutline.car.vocabulary import vocabulary
from shutline.remarks.analysis import Analysis
from shutline.remarks.decisions import Decision
from shutline.remarks.taken_back import TakenBack, why
from shutline.remarks.weights import Weights

_LONGEST_QUOTE = 24
_SAME_BREATH_S = 12.0


def findings(
    analysis: Analysis,
    decisions: list[Decision],
    *,
    weights: Weights,
    recording: str,
    backs: Sequence[TakenBack] = (),
) -> tuple[Finding, ...]:
    """Make one finding of each decision, in the order of the words; `backs` are what was taken back in them."""
    out: list[Finding] = []
    last: dict[tuple[object, ...], int] = {}
    for decision in decisions:
        finding = _finding(analysis, decision, weights, recording)
        finding = replace(finding, why=(*finding.why, *why(analysis, backs, decision)))
        key = (finding.part, finding.side, finding.position, finding.condition, finding.found)
        earlier = last.get(key)
        start = finding.footings[0].start_s or 0.0
        if earlier is not None and start - (out[earlier].footings[-1].end_s or 0.0) < _SAME_BREATH_S:
            out[earlier] = _merged(out[earlier], finding)
            continue
        last[key] = len(out)
        out.append(finding)
    return tuple(out)


def _merged(first: Finding, second: Finding) -> Finding:
    """Put a repeated statement to the one before it."""
    return Finding(
        part=first.part,
        condition=first.condition,
        found=first.found,
        side=first.side,
        position=first.position,
        severity=first.severity or second.severity,
        remedy=first.remedy or second.remedy,
        footings=first.footings,
        why=(*first.why, f"Said again: «{second.footings[0].quote}»."),
        sureness=max(first.sureness or 0.0, second.sureness or 0.0),
    )


def _span(analysis: Analysis, decision: Decision) -> tuple[int, int]:
    """Give the first and last token to quote: the clause, and the part word when it stands just before."""
    cues, candidate = analysis.cues, decision.candidate
    first = max(cues.clause[candidate.first], candidate.first - _LONGEST_QUOTE // 2)
    last = min(cues.clause_end[candidate.end - 1], candidate.end + _LONGEST_QUOTE // 2) - 1
    if decision.option.mention >= 0:
        mention = analysis.named[decision.option.mention]
        if cues.start[candidate.first] <= mention.first < first and candidate.end - mention.first <= _LONGEST_QUOTE:
            first = mention.first
    return first, max(last, candidate.end - 1)


def _finding(analysis: Analysis, decision: Decision, weights: Weights, recording: str) -> Finding:
    text, candidate = analysis.text, decision.candidate
    first, last = _span(analysis, decision)
    rules = list(candidate.rows)
    if decision.option.mention >= 0:
        rules.append(analysis.named[decision.option.mention].row)
    if decision.remedy_match >= 0:
        rules.append(analysis.matches["remedies"][decision.remedy_match].rows[0].id)
    footing = Footing(
        FootingKind.SAID,
        recording,
        text.starts[text.first_word(first)],
        text.ends[text.word[last]],
        text.quote(first, last),
        tuple(dict.fromkeys(rules)),
    )
    return Finding(
        part=decision.option.part,
        condition=decision.condition,
        found=Found(decision.found),
        side=Side(decision.side) if decision.side else None,
        position=Position(decision.position) if decision.position else None,
        severity=Severity(decision.severity) if decision.severity else None,
        remedy=Remedy(decision.remedy) if decision.remedy else None,
        footings=(footing,),
        why=_why(analysis, decision),
        sureness=round(weights.sureness(decision.chance), 3),
    )


def _letters(words: str) -> str:
    return "".join(filter(str.isalpha, words.lower()))


_HOW = {
    "base": "taken as said",
    "turned": "taken the other way round, for it is denied",
    "unsure": "left open, for it is doubted",
}


def _why(analysis: Analysis, decision: Decision) -> tuple[str, ...]:
    first, last = _span(analysis, decision)
    text, candidate, option = analysis.text, decision.candidate, decision.option
    words = vocabulary()
    said = text.quote(candidate.first, candidate.end - 1)
    meant = words.conditions[option.sense].label
    if candidate.kind == "told":
        lines = [f"No phrase of the lexicon stands at «{said}»; those around tell {meant}; {_HOW[decision.status]}."]
    else:
        lines = [f"«{said}» can mean {meant}; {_HOW[decision.status]}."]
    label = words.parts[option.part].label
    if option.mention < 0:
        lines.append(f"No part was named; those words are about the {label}.")
    else:
        mention = analysis.named[option.mention]
        named = text.quote(mention.first, mention.end - 1)
        if mention.end <= candidate.first and analysis.cues.start[candidate.first] > mention.first:
            lines.append(f"The part was carried over from «{named}»: {label}.")
        else:
            lines.append(f"The part is «{named}»: {label}.")
        if decision.side and not mention.side:
            lines.append(f"The side was not said with it; taken as {decision.side} from where the walk had got to.")
        if decision.position and not mention.position:
            lines.append(f"The end was not said with it; taken as {decision.position} from the words before.")
    if decision.remedy_match >= 0:
        match = analysis.matches["remedies"][decision.remedy_match]
        lines.append(f"«{text.quote(match.first, match.end - 1)}» says what to do: {decision.remedy}.")
    for one in text.misheard:
        if one.last < text.word[first] or text.word[last] < one.first:
            continue
        heard, meant = text.written(one.first, one.last), text.read(one.first, one.last)
        # That a recogniser leaves out the mark in "window's" is nothing to tell.
        if _letters(heard) != _letters(meant):
            lines.append(f"«{heard}» was heard, and read as «{meant}»: it sounds alike and fits here.")
    return tuple(lines)
