"""What changed of a car from one recording to another: findings paired one to one, and what became of each."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from shutline.car.carfile import CarFile, KeptFinding
from shutline.car.findings import Finding, Found, Position, Severity, Side, State
from shutline.car.prep_done import PutRight, done_words, footings_of
from shutline.car.vocabulary import vocabulary
from shutline.survey.assignment import cheapest_pairs
from shutline.survey.changed_data import Answered, ChangedTables, Ladder, changed_tables
from shutline.survey.tables import words_of

_DEGREES = (Severity.SLIGHT, Severity.MODERATE, Severity.SEVERE)


class Outcome(StrEnum):
    """What became of something from the first recording to the second."""

    NEW = "new"
    """There the second time; the place was looked at the first time, and it was not told."""
    GONE = "gone"
    """There the first time, and said or shown not to be there the second time."""
    BETTER = "better"
    WORSE = "worse"
    SAME = "same"
    UNCLEAR = "unclear"
    """Nobody can say; the reason tells why."""


class Because(StrEnum):
    """Why an outcome is what it is."""

    TOLD = "told both times"
    DEGREE = "told both times, to another degree"
    STAGE = "told both times, at another stage"
    DENIED = "said not to be there the second time"
    DENIED_BEFORE = "said not to be there the first time"
    ANSWERED = "told otherwise the second time"
    LOOKED_BEFORE = "the place was spoken of the first time, and this was not told"
    NOT_LOOKED_AT = "not looked at the second time"
    NOT_LOOKED_AT_BEFORE = "not looked at the first time"
    NOT_SPOKEN_OF = "the place was looked at the second time, and this was not spoken of"
    DEGREE_NOT_SAID = "there both times; how bad it is was not said both times"
    UNSURE = "somebody was unsure"
    PUT_RIGHT = "put right since"
    PLACE = "the side or the end was not told both times, so it may be another"


@dataclass(frozen=True, slots=True)
class Changed:
    """One thing of which something was told in one recording or in both.

    `first` and `second` are the findings of the two recordings, None where there is none. `why` is the reason in the
    words of the data where a row of it decided, else empty.
    """

    first: KeptFinding | None
    second: KeptFinding | None
    outcome: Outcome
    because: Because
    why: str = ""

    @property
    def finding(self) -> Finding:
        """The later finding, or the only one."""
        kept = self.second or self.first
        if kept is None:
            raise ValueError("nothing was told")
        return kept.finding


def changed(
    car_file: CarFile,
    *,
    first: str | Iterable[str],
    second: str | Iterable[str],
    done: Collection[str] = (),
    tables: ChangedTables | None = None,
) -> tuple[Changed, ...]:
    """Tell what changed from one recording of a car to another, or from one occasion to another.

    Findings are paired so that in all the pairs differ least (`survey.assignment`): they must be of one part and may
    not be of two sides or ends; then the condition, whether it was found, how bad, and the words count. Silence is
    never good news: what has no partner is unclear unless the other recording looked at that place.

    Parameters
    ----------
    car_file : CarFile
        Struck and withdrawn findings are left out.
    first, second : str or iterable of str
        Ids of its recordings, the earlier first; several where what was told in any of them counts, with the ids of
        pictures made then.
    done : collection of str
        Ids of findings that were put right between the two: what the second time does not tell of is gone then, with
        what the work stands on in place of a second finding.
    tables : ChangedTables, optional
        The shipped tables when left out.

    Returns
    -------
    tuple of Changed
        What has a partner or stands in the first recording in the order of that, then what only the second told.
    """
    tables = tables or changed_tables()
    before, after = _of(car_file, _ids(first)), _of(car_file, _ids(second))
    costs = {}
    for i, one in enumerate(before):
        for j, other in enumerate(after):
            cost = pair_cost(one.finding, other.finding, tables)
            if cost is not None:
                costs[i, j] = cost
    pairs = dict(cheapest_pairs(costs, alone=tables.costs.alone))
    taken = set(pairs.values())
    found = []
    for i, one in enumerate(before):
        if i in pairs:
            found.append(_of_pair(one, after[pairs[i]], tables))
        elif one.put_right is not None and one.id in done:
            found.append(_worked_on(one, one.put_right))
        else:
            found.append(_alone_before(one, after, tables))
    return (*found, *(_alone_after(other, before) for j, other in enumerate(after) if j not in taken))


def pair_cost(first: Finding, second: Finding, tables: ChangedTables) -> int | None:
    """Say how unlike two findings are, >= 0; None for two that cannot be of the same thing."""
    costs = tables.costs
    if first.part != second.part:
        return None
    places = (_apart(first.side, second.side, Side.BOTH), _apart(first.position, second.position, Position.BOTH))
    prices = {"same": 0, "of both": costs.place_of_both, "told once": costs.place_told_once}
    if "other" in places:
        return None
    cost = sum(prices[place] for place in places)
    if first.condition != second.condition:
        if _ladder(first, second, tables) is not None and first.found == second.found:
            cost += costs.same_ladder
        elif _answer(first, second, tables) is not None:
            cost += costs.answered
        else:
            return None
    elif Found.UNSURE in (first.found, second.found):
        cost += costs.unsure
    elif first.found != second.found:
        cost += costs.turned
    if first.severity and second.severity:
        cost += costs.degree * abs(_DEGREES.index(first.severity) - _DEGREES.index(second.severity))
    return cost + costs.words - costs.words * _shared(first, second) // 100


def _ids(given: str | Iterable[str]) -> frozenset[str]:
    return frozenset((given,) if isinstance(given, str) else given)


def _of(car_file: CarFile, sources: frozenset[str]) -> list[KeptFinding]:
    """Give what was told at one time, each with only what it stands on there."""
    found = []
    for kept in car_file.told():
        here = tuple(footing for footing in kept.finding.footings if footing.source in sources)
        if here:
            found.append(replace(kept, finding=replace(kept.finding, footings=here)))
    return found


def _of_pair(one: KeptFinding, other: KeptFinding, tables: ChangedTables) -> Changed:
    first, second = one.finding, other.finding
    if Found.UNSURE in (first.found, second.found):
        return Changed(one, other, Outcome.UNCLEAR, Because.UNSURE)
    if not _surely_one_place(first, second):
        return Changed(one, other, Outcome.UNCLEAR, Because.PLACE)
    if first.condition != second.condition:
        return _of_two_conditions(one, other, tables)
    if first.found == second.found:
        return _by_degree(one, other)
    if second.found is Found.NO:
        return Changed(one, other, Outcome.GONE, Because.DENIED)
    return Changed(one, other, Outcome.NEW, Because.DENIED_BEFORE)


def _of_two_conditions(one: KeptFinding, other: KeptFinding, tables: ChangedTables) -> Changed:
    first, second = one.finding, other.finding
    ladder = _ladder(first, second, tables)
    if ladder is None or first.found != second.found:
        answer = _answer(first, second, tables)
        if answer is None:
            raise ValueError(f"{one.id} and {other.id} have nothing to do with each other")
        return Changed(one, other, Outcome(answer.outcome), Because.ANSWERED, answer.why)
    if not ladder.ordered:
        return _by_degree(one, other)
    # Of two stages that are both not there, neither is worse.
    if first.found is Found.NO:
        return Changed(one, other, Outcome.UNCLEAR, Because.NOT_SPOKEN_OF)
    worse = ladder.conditions.index(second.condition) > ladder.conditions.index(first.condition)
    return Changed(one, other, Outcome.WORSE if worse else Outcome.BETTER, Because.STAGE, ladder.why)


def _by_degree(one: KeptFinding, other: KeptFinding) -> Changed:
    before, after = one.finding.severity, other.finding.severity
    if before == after:
        return Changed(one, other, Outcome.SAME, Because.TOLD)
    if before is None or after is None:
        return Changed(one, other, Outcome.UNCLEAR, Because.DEGREE_NOT_SAID)
    worse = _DEGREES.index(after) > _DEGREES.index(before)
    return Changed(one, other, Outcome.WORSE if worse else Outcome.BETTER, Because.DEGREE)


def _worked_on(one: KeptFinding, right: PutRight) -> Changed:
    """Give before and after of what was put right: after it the fault is not there, as the work tells."""
    gone = replace(
        one.finding,
        found=Found.NO,
        severity=None,
        remedy=None,
        footings=footings_of(right),
        state=State.STANDS,
    )
    after = replace(one, finding=gone, stills=())
    return Changed(one, after, Outcome.GONE, Because.PUT_RIGHT, f"{done_words(right)}; ticked off for {right.done_on}")


def _alone_before(one: KeptFinding, after: Sequence[KeptFinding], tables: ChangedTables) -> Changed:
    here = _looks(one.finding, after)
    answer = next((a for a in (_answer(one.finding, other.finding, tables) for other in here) if a), None)
    if answer is not None and answer.outcome == "unclear":
        return Changed(one, None, Outcome.UNCLEAR, Because.NOT_SPOKEN_OF, answer.why)
    return Changed(one, None, Outcome.UNCLEAR, Because.NOT_SPOKEN_OF if here else Because.NOT_LOOKED_AT)


def _alone_after(other: KeptFinding, before: Sequence[KeptFinding]) -> Changed:
    finding = other.finding
    if not _looks(finding, before):
        return Changed(None, other, Outcome.UNCLEAR, Because.NOT_LOOKED_AT_BEFORE)
    if finding.found is Found.UNSURE:
        return Changed(None, other, Outcome.UNCLEAR, Because.UNSURE)
    # Good news, and what was said not to be there, is nothing that has come about since.
    if finding.found is Found.NO or not vocabulary().is_defect(finding.condition):
        return Changed(None, other, Outcome.UNCLEAR, Because.LOOKED_BEFORE)
    return Changed(None, other, Outcome.NEW, Because.LOOKED_BEFORE)


def _surely_one_place(first: Finding, second: Finding) -> bool:
    """Tell whether a pair is of one place: where 'both' are clear the second time, each of them is."""
    if _covers(second, first) if second.found is Found.NO else _covers(first, second) and first.found is Found.NO:
        return True
    # Told of neither, both may mean another; that something was there both times is no good news to be wrong about.
    alike = (first.side, first.position) == (second.side, second.position)
    return alike and (_placed(first) or first.found == second.found)


def _looks(finding: Finding, others: Iterable[KeptFinding]) -> list[KeptFinding]:
    """Give those among the others that looked at this very place: its part, and surely its side and end."""
    return [kept for kept in others if kept.finding.part == finding.part and _covers(kept.finding, finding)]


def _covers(wide: Finding, narrow: Finding) -> bool:
    """Tell whether what was said of one place was surely said of another: the same, or 'both' of which it is one."""
    part = vocabulary().parts[wide.part]
    side = not part.sided or wide.side is Side.BOTH or wide.side == narrow.side
    end = not part.ended or wide.position is Position.BOTH or wide.position == narrow.position
    return side and end and _placed(wide)


def _placed(finding: Finding) -> bool:
    """Tell whether it is known which of several such parts a finding is of: at least its side or its end was told."""
    part = vocabulary().parts[finding.part]
    told = (part.sided and finding.side is not None) or (part.ended and finding.position is not None)
    return told or not (part.sided or part.ended)


def _apart(first: object, second: object, both: object) -> str:
    if first == second:
        return "same"
    if first is None or second is None:
        return "told once"
    return "of both" if both in (first, second) else "other"


def _ladder(first: Finding, second: Finding, tables: ChangedTables) -> Ladder | None:
    both = {first.condition, second.condition}
    return next((ladder for ladder in tables.ladders if both <= set(ladder.conditions)), None)


def _answer(first: Finding, second: Finding, tables: ChangedTables) -> Answered | None:
    if first.found is not Found.YES or second.found is not Found.YES:
        return None
    rows = (row for row in tables.answers if first.condition in row.first and second.condition in row.second)
    return next(rows, None)


def _shared(first: Finding, second: Finding) -> int:
    """Give how many of a hundred words of two remarks are the same."""
    one, other = ({word for f in finding.footings for word in words_of(f.quote)} for finding in (first, second))
    return 100 * len(one & other) // len(one | other) if one | other else 0
