"""What cannot be true together in a car file, and what people decided about it. Every answer is kept."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile, KeptFact, KeptFinding
from shutline.car.findings import State
from shutline.car.odds import OddsAnswer, OddsDecision
from shutline.survey.odds import AGAINST, Odds, Told, at_odds
from shutline.survey.odds_facts import all_facts_at_odds
from shutline.usecases.figure_reading import sources
from shutline.usecases.look import find_car
from shutline.usecases.odds_sides import OddsSide, Sides, about, side_words, sort_words, told_words
from shutline.usecases.own_odds import own_odds_tables

if TYPE_CHECKING:
    from shutline.store import Store


@dataclass(frozen=True, slots=True)
class OddsCase:
    """One case, with each side in words and what was decided about it, the oldest first.

    `about` names what it is about and `sort` says what kind of contradiction it is. `sides` are made ready to look at.
    `changed` is True where an answer was given and the statements have changed since, or one that was struck with it
    is back: the case is open again, and its answers are shown beside it. `also` are the ids of other open cases that
    one of its statements is a side of.
    """

    odds: Odds
    words: tuple[str, ...]
    decisions: tuple[OddsDecision, ...] = ()
    changed: bool = False
    about: str = ""
    sort: str = ""
    sides: tuple[OddsSide, ...] = ()
    also: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PastCase:
    """A case that is none any more, because of what was decided or because its statements were changed.

    `told` is what they said when the last answer was given, `holds` the number of the one that holds, from 1; None
    where none or all of them do. `back` is True where something that the last answer struck or confirmed can be taken
    back with it.
    """

    id: str
    told: tuple[str, ...]
    holds: int | None
    decisions: tuple[OddsDecision, ...]
    back: bool


@dataclass(frozen=True, slots=True)
class OddsShown:
    """All cases of one car: `open` ones, those that are `settled`, and those decided about that are no more."""

    car: str
    title: str
    open: tuple[OddsCase, ...]
    settled: tuple[OddsCase, ...]
    past: tuple[PastCase, ...]


@dataclass(frozen=True, slots=True)
class FactOdds:
    """How one fact stands: the id of its case, empty where its values are at odds no more, and the last answer.

    `settled` is True where the case was decided and its values stay as they are. `values` counts those of the case.
    """

    case: str
    settled: bool
    decision: OddsDecision | None
    values: int = 0


def odds(store: Store, car: str) -> OddsShown:
    """Give what cannot be true together in a car file.

    Parameters
    ----------
    store : Store
        Where it is kept.
    car : str
        Its name, or a beginning of it that no other has.

    Raises
    ------
    NotFoundError, UserError
        No car begins so, or several do; or a row of the user's own tables is wrong (slug ``survey-table-refused``).
    """
    return odds_of(store, find_car(store, car))


def odds_of(store: Store, file: CarFile) -> OddsShown:
    """As `odds`, of a car file that was read already."""
    answers = answers_of(store, file)
    crops = {one.id: one.crop for one in store.figures(sources(file))}
    sides = Sides(file, crops)
    cases = at_odds(file, tables=own_odds_tables(), apart=lambda pair: _decided(answers.get(pair.id, ()), pair))
    open_: list[tuple[Odds, tuple[OddsDecision, ...], bool]] = []
    settled: list[tuple[Odds, tuple[OddsDecision, ...], bool]] = []
    for case in cases:
        given = answers.pop(case.id, ())
        last = given[-1] if given and given[-1].answer is not OddsAnswer.OPEN else None
        is_settled = _decided(given, case)
        (settled if is_settled else open_).append((case, given, last is not None and not is_settled))
    ids = {case.id: _statements(case) for case, *_ in open_}

    def shown(case: Odds, given: tuple[OddsDecision, ...], changed: bool) -> OddsCase:  # noqa: FBT001 - as it is kept
        also = tuple(other for other, theirs in ids.items() if other != case.id and theirs & ids.get(case.id, set()))
        return OddsCase(
            case,
            tuple(side_words(side) for side in case.sides),
            given,
            changed,
            about(case),
            sort_words(case),
            tuple(sides.all_of(side) for side in case.sides),
            also,
        )

    kept = kept_by_id(file)
    past = sorted((_past(id_, given, kept) for id_, given in answers.items()), key=lambda one: one.decisions[-1].at)
    return OddsShown(
        file.name,
        file.title,
        tuple(shown(*one) for one in open_),
        tuple(shown(*one) for one in settled),
        tuple(past),
    )


def fact_odds(store: Store, file: CarFile) -> dict[str, FactOdds]:
    """Give the facts that are at odds, and those that were and were decided about, by their names."""
    answers = answers_of(store, file)
    found: dict[str, FactOdds] = {}
    for given in answers.values():
        last = given[-1]
        names = {one.fact.name for one in file.facts if one.id in last.struck or one.id == last.holds}
        if last.answer is not OddsAnswer.OPEN and len(names) == 1:
            found[names.pop()] = FactOdds("", settled=True, decision=last)
    for case in all_facts_at_odds(file, tables=own_odds_tables()):
        given = answers.get(case.id, ())
        done = _decided(given, case)
        found[case.rule] = FactOdds(case.id, settled=done, decision=given[-1] if done else None, values=len(case.told))
    return found


def answers_of(store: Store, file: CarFile) -> dict[str, tuple[OddsDecision, ...]]:
    """Give the answers of a car by the case they were given to, the oldest first."""
    answers: dict[str, list[OddsDecision]] = defaultdict(list)
    for decision in store.odds_decisions(file.name):
        answers[decision.odds].append(decision)
    return {id_: tuple(given) for id_, given in answers.items()}


def _decided(given: Sequence[OddsDecision], case: Odds) -> bool:
    return bool(given) and given[-1].answer is not OddsAnswer.OPEN and settles(given[-1], case)


def settles(last: OddsDecision, case: Odds) -> bool:
    """Tell whether an answer still holds; what was struck with it is not among the statements any more."""
    if last.mark != case.mark:
        return False
    if last.answer is OddsAnswer.ALL:
        return True
    return not any(told.id or told.spelled for told in case.told if told.called != last.holds)


def kept_by_id(file: CarFile) -> dict[str, KeptFinding | KeptFact]:
    """Give the findings and facts of a car by their ids, struck ones too."""
    every: tuple[KeptFinding | KeptFact, ...] = (*file.findings, *file.facts)
    return {one.id: one for one in every}


def done_with(decision: OddsDecision, kept: dict[str, KeptFinding | KeptFact]) -> tuple[str, ...]:
    """Give the statements that an answer struck or confirmed, and that nobody has decided about since."""
    # All that is written together is written at one time.
    return tuple(
        id_
        for id_, one in kept.items()
        if (id_ in decision.struck or _names(decision.holds, one))
        and len(one.changes) > 1
        and (one.changes[-1].at, one.changes[-1].author) == (decision.at, decision.author)
        and one.changes[-1].action in ("struck", "confirmed")
    )


def _names(holds: str, one: KeptFinding | KeptFact) -> bool:
    """Tell whether a statement is on the side that holds.

    Several may be on it, and any of them named it; what was confirmed with it was confirmed at one time, so the time
    tells the rest.
    """
    state = one.finding.state if isinstance(one, KeptFinding) else one.fact.state
    return bool(holds) and state is State.STANDS


def _past(id_: str, given: tuple[OddsDecision, ...], kept: dict[str, KeptFinding | KeptFact]) -> PastCase:
    last = given[-1]
    holder = kept.get(last.holds)
    words = last.holds if holder is None else _words_of(holder)
    holds = last.told.index(words) + 1 if last.answer is OddsAnswer.ONE and words in last.told else None
    if last.holds.startswith(AGAINST):
        holds = len(last.told)
    elif last.holds and holds is None:
        # What was measured is no statement in the store: it is the side that was not struck.
        lost = {_words_of(kept[id_]) for id_ in last.struck if id_ in kept}
        left = [number for number, told in enumerate(last.told, start=1) if told not in lost]
        holds = left[0] if len(left) == 1 else None
    back = last.answer is not OddsAnswer.OPEN and bool(done_with(last, kept))
    return PastCase(id_, last.told, holds, given, back)


def _words_of(kept: KeptFinding | KeptFact) -> str:
    if isinstance(kept, KeptFinding):
        return told_words(Told(kept.id, (), finding=kept.finding))
    return told_words(Told(kept.id, (), fact=kept.fact))


def _statements(case: Odds) -> set[str]:
    return {id_ for told in case.told for id_ in told.struck_with}
