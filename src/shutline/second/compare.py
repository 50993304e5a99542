"""Two readings of the same words side by side: what they share, where they part, what one of them has alone."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from shutline.car.findings import Finding, Footing, Found
from shutline.car.second import Proposal, SecondView, Verdict
from shutline.car.speech import Word
from shutline.car.vocabulary import vocabulary
from shutline.second.settings import CompareSettings, kindred, settings


@dataclass(frozen=True, slots=True)
class _Span:
    """From when to when, seconds."""

    start_s: float
    end_s: float

    def apart(self, other: _Span) -> float:
        """Give the silence or the other words between two spans, seconds; 0 where they touch or share time."""
        return max(other.start_s - self.end_s, self.start_s - other.end_s, 0.0)

    def shares(self, other: _Span) -> bool:
        """Tell whether two spans have time in common."""
        return self == other or min(self.end_s, other.end_s) > max(self.start_s, other.start_s)


def raised(sureness: float, *, weights: CompareSettings | None = None) -> float:
    """Give the sureness of a finding that a second reading agrees with.

    The odds are multiplied by `agreement_odds`, and the result kept at or below `highest_sureness`; what was above
    that stays as it is. So it never falls, rises with what went in, and lies in [0, 1].

    Parameters
    ----------
    sureness : float
        The reader's own, in [0, 1].
    weights : CompareSettings, optional
        The shipped ones when left out.
    """
    weights = weights or settings().compare
    odds = weights.agreement_odds
    lifted = sureness * odds / (1.0 - sureness + sureness * odds)
    return max(sureness, min(lifted, weights.highest_sureness))


def compare(
    findings: Sequence[tuple[str, Finding]],
    proposals: Sequence[Proposal],
    words: Sequence[Word],
    *,
    recording: str,
    asked: Sequence[tuple[float, float]],
    weights: CompareSettings | None = None,
) -> tuple[SecondView, ...]:
    """Lay a second reading beside the findings of one recording.

    Nothing is done to a finding here. Agreements are sought first, one statement for one finding, those on the same
    words before those nearby; only the former weigh, since in running speech the next remark is nearby too. What is
    left over and cannot be so together with a finding, or takes its very words in another way, is laid
    beside it; a finding that is contradicted is not agreed with, whatever else was said. The rest are questions.

    Parameters
    ----------
    findings : sequence of (str, Finding)
        Ids, and what they stand for now.
    proposals : sequence of Proposal
        Numbered by `words`.
    words : sequence of Word
        All words of the recording.
    recording : str
        Its id; only footings in it count.
    asked : sequence of (float, float)
        The stretches of time, seconds, to which there is an answer: elsewhere silence says nothing.
    weights : CompareSettings, optional
        The shipped ones when left out.

    Returns
    -------
    tuple of SecondView
        In the order of the words.
    """
    weights = weights or settings().compare
    ours = [(id_, f, spans) for id_, f in findings if (spans := tuple(_spans(f.footings, recording)))]
    theirs = [(p, _Span(words[p.first].start_s, words[p.last].end_s)) for p in proposals]
    near = _near(ours, theirs, weights.near_s)
    same = [pair for pair in near if _same(ours[pair.ours][1], theirs[pair.theirs][0])]
    agreed = _paired(same)
    # A second statement that agrees with the same finding says nothing new.
    spent = {pair.theirs for pair in same}
    left = [pair for pair in near if pair.theirs not in spent]
    against = [pair for pair in left if _contradicts(ours[pair.ours][1], theirs[pair.theirs][0])]
    contradicted = {pair.ours for pair in against}
    agreed = [pair for pair in agreed if pair.ours not in contradicted]
    settled = {pair.ours for pair in agreed}
    other = [
        pair
        for pair in left
        if pair.ours not in settled and _takes_otherwise(ours[pair.ours][1], theirs[pair.theirs][0], pair)
    ]
    beside = {pair.theirs: pair for pair in sorted((*against, *other), reverse=True)}
    views = []
    for pair in agreed:
        id_, finding, _ = ours[pair.ours]
        view = _view(theirs[pair.theirs][0], words, recording)
        views.append(_agreement(view, id_, None if pair.on_other_words else finding.sureness, weights))
    for pair in beside.values():
        view = _view(theirs[pair.theirs][0], words, recording)
        views.append(replace(view, verdict=Verdict.OTHERWISE, finding=ours[pair.ours][0]))
    views.extend(
        _view(proposal, words, recording)
        for at, (proposal, _) in enumerate(theirs)
        if at not in spent and at not in beside
    )
    spoken_of = settled | contradicted | {pair.ours for pair in beside.values()}
    views.extend(
        _silent(id_, finding, spans[0], recording)
        for number, (id_, finding, spans) in enumerate(ours)
        if number not in spoken_of and any(low <= spans[0].start_s <= high for low, high in asked)
    )
    return tuple(sorted(views, key=lambda view: (view.start_s or 0.0, view.verdict.value, view.id)))


_Ours = tuple[str, Finding, tuple[_Span, ...]]
_Theirs = tuple[Proposal, _Span]


@dataclass(frozen=True, slots=True, order=True)
class _Pair:
    """A finding and a statement near each other, by their numbers; sorted, those on the same words come first."""

    on_other_words: bool
    apart_s: float
    ours: int
    theirs: int


def _near(ours: Sequence[_Ours], theirs: Sequence[_Theirs], near_s: float) -> list[_Pair]:
    pairs = []
    for number, (_, _, spans) in enumerate(ours):
        for at, (_, span) in enumerate(theirs):
            apart_s = min(span.apart(own) for own in spans)
            if apart_s <= near_s:
                on_other_words = not any(span.shares(own) for own in spans)
                pairs.append(_Pair(on_other_words, apart_s, number, at))
    return sorted(pairs)


def _paired(candidates: Sequence[_Pair]) -> list[_Pair]:
    """Pair each finding with one statement and each statement with one finding, the nearest first."""
    ours: set[int] = set()
    theirs: set[int] = set()
    pairs = []
    for pair in candidates:
        if pair.ours not in ours and pair.theirs not in theirs:
            ours.add(pair.ours)
            theirs.add(pair.theirs)
            pairs.append(pair)
    return pairs


def _same(finding: Finding, proposal: Proposal) -> bool:
    what = (finding.part, finding.condition, finding.found) == (proposal.part, proposal.condition, proposal.found)
    return what and not _elsewhere(finding, proposal)


def _elsewhere(finding: Finding, proposal: Proposal) -> bool:
    """Tell whether both name a side or an end and not the same one; what one leaves open is no contradiction."""
    sides, ends = (finding.side, proposal.side), (finding.position, proposal.position)
    return any(None not in pair and pair[0] != pair[1] for pair in (sides, ends))


def _contradicts(finding: Finding, proposal: Proposal) -> bool:
    """Tell whether two statements near each other cannot both be so.

    The same condition of the same part there and not there ('no rust on that sill' heard as rust), or opposite news of
    kindred conditions; of different sides both may be so ('nearside's solid, offside's rotten').
    """
    if finding.part != proposal.part or _elsewhere(finding, proposal):
        return False
    if finding.condition == proposal.condition:
        return finding.found is not proposal.found
    kin = proposal.condition in kindred()[finding.condition]
    return kin and _news(finding.condition, finding.found) * _news(proposal.condition, proposal.found) < 0


def _takes_otherwise(finding: Finding, proposal: Proposal, pair: _Pair) -> bool:
    """Tell whether a statement takes the very words of a finding for another side, condition or part."""
    alike = finding.part == proposal.part or finding.condition == proposal.condition
    return alike and not pair.on_other_words


def _news(condition: str, found: Found) -> int:
    """Give 1 for good news, -1 for bad, 0 where the speaker was unsure."""
    if found is Found.UNSURE:
        return 0
    return -1 if vocabulary().is_defect(condition) and found is Found.YES else 1


def _spans(footings: Sequence[Footing], recording: str) -> Iterator[_Span]:
    for footing in footings:
        if footing.source == recording and footing.start_s is not None:
            yield _Span(footing.start_s, max(footing.start_s, footing.end_s or footing.start_s))


def _agreement(view: SecondView, id_: str, before: float | None, weights: CompareSettings) -> SecondView:
    after = None if before is None else raised(before, weights=weights)
    return replace(view, verdict=Verdict.AGREES, finding=id_, sureness_before=before, sureness_after=after)


def _view(proposal: Proposal, words: Sequence[Word], recording: str) -> SecondView:
    """Give a statement of the second reading, a question until it is laid beside a finding."""
    said = words[proposal.first : proposal.last + 1]
    quote = " ".join(word.text for word in said)
    what = (proposal.part, proposal.condition, proposal.found.value, proposal.side, proposal.position)
    return SecondView(
        id=_id(recording, *(str(value) for value in what), f"{said[0].start_s:.3f}", quote),
        verdict=Verdict.ASKS,
        part=proposal.part,
        condition=proposal.condition,
        found=proposal.found,
        side=proposal.side,
        position=proposal.position,
        severity=proposal.severity,
        remedy=proposal.remedy,
        start_s=said[0].start_s,
        end_s=said[-1].end_s,
        quote=quote,
    )


def _silent(id_: str, finding: Finding, span: _Span, recording: str) -> SecondView:
    return SecondView(
        id=_id(recording, "silent", id_),
        verdict=Verdict.SILENT,
        part=finding.part,
        condition=finding.condition,
        found=finding.found,
        side=finding.side,
        position=finding.position,
        severity=finding.severity,
        remedy=finding.remedy,
        finding=id_,
        start_s=span.start_s,
        end_s=span.end_s,
    )


def _id(*values: str) -> str:
    return hashlib.sha256("\x1f".join(("second", *values)).encode("utf-8", "surrogatepass")).hexdigest()[:16]
