"""What cannot be true together in a car file, and what people decided about it. Every answer is kept."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.odds import OddsAnswer, OddsDecision
from shutline.publish.naming import place_name
from shutline.publish.report.facts import fact_words
from shutline.publish.statement import statement
from shutline.survey.odds import Odds, Told, at_odds
from shutline.usecases.look import find_car
from shutline.usecases.own_odds import own_odds_tables
from shutline.usecases.review import strike
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.store import Store

LONGEST_REASON = 500

ANSWERS = ("all", "none", "open")
"""What may be said of a case beside the number of the side that holds."""


@dataclass(frozen=True, slots=True)
class OddsCase:
    """One case, with each side in words and what was decided about it, the oldest first.

    `changed` is True where an answer was given and the statements have changed since, or one that was struck with it
    is back: the case is open again, and its answers are shown beside it.
    """

    odds: Odds
    words: tuple[str, ...]
    decisions: tuple[OddsDecision, ...] = ()
    changed: bool = False


@dataclass(frozen=True, slots=True)
class OddsShown:
    """All cases of one car: `open` ones, those that are `settled`, and the answers to cases that are no more."""

    car: str
    title: str
    open: tuple[OddsCase, ...]
    settled: tuple[OddsCase, ...]
    past: tuple[OddsDecision, ...]


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
    file = find_car(store, car)
    answers: dict[str, list[OddsDecision]] = defaultdict(list)
    for decision in store.odds_decisions(file.name):
        answers[decision.odds].append(decision)
    open_, settled = [], []
    for case in at_odds(file, tables=own_odds_tables()):
        given = tuple(answers.pop(case.id, ()))
        last = given[-1] if given and given[-1].answer is not OddsAnswer.OPEN else None
        words = tuple(told_words(told) for told in case.told)
        if last is not None and _settles(last, case):
            settled.append(OddsCase(case, words, given))
        else:
            open_.append(OddsCase(case, words, given, changed=last is not None))
    past = sorted((one for given in answers.values() for one in given), key=lambda one: one.at)
    return OddsShown(file.name, file.title, tuple(open_), tuple(settled), tuple(past))


def decide_odds(
    store: Store,
    car: str,
    odds_id: str,
    *,
    holds: str,
    reason: str,
    mark: str | None = None,
    author: str | None = None,
) -> OddsShown:
    """Keep what a person says of a case, with the reason; where one side holds, the others are struck.

    What was struck comes back by `undo`; then the case is open again, and this answer is shown with it.

    Parameters
    ----------
    store, car
        As for `odds`.
    odds_id : str
        The id of an open or a settled case, or a beginning of it that no other of the car has.
    holds : str
        The number of the side that holds, counted from 1 in the order shown; or ``all``, ``none``, or ``open`` to take
        an answer back.
    reason : str
        Why, in the person's own words; 1 to `LONGEST_REASON` letters.
    mark : str, optional
        The mark of the case that the person had before them; any when left out.
    author : str, optional
        Who says so; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        The car has no such case (slug ``odds-unknown``).
    UserError
        The answer or the reason is none (slug ``odds-answer``), or the statements were changed meanwhile (slug
        ``odds-changed``); nothing was done.
    """
    who = author or present_author()
    tidy = " ".join(reason.split())
    if not tidy or len(tidy) > LONGEST_REASON or not tidy.isprintable():
        found = "no reason" if not tidy else f"{len(tidy)} letters, or signs that cannot be shown"
        raise _refused("the reason", found, f"1 to {LONGEST_REASON} letters that can be shown")
    with store.together():
        shown = odds(store, car)
        case = _case(shown, odds_id)
        if mark is not None and mark != case.odds.mark:
            raise _changed(case.odds.id)
        answer, side = _answer(holds, case.odds)
        lost = _lost(answer, side, case.odds)
        store.add_odds_decision(
            shown.car,
            case.odds.id,
            answer=answer,
            reason=tidy,
            author=who,
            mark=case.odds.mark,
            told=case.words,
            holds=_named(side) if side is not None else "",
            struck=lost,
        )
        if lost:
            strike(store, shown.car, lost, author=who)
        return odds(store, shown.car)


def told_words(told: Told) -> str:
    """Say what one side of a case says."""
    if told.finding is not None:
        one = told.finding
        return f"{place_name(one.part, one.side, one.position)}: {statement(one)}"
    if told.fact is not None:
        return f"{told.fact.name.replace('_', ' ')}: {fact_words(told.fact)}"
    return told.words


def _settles(last: OddsDecision, case: Odds) -> bool:
    """Tell whether an answer still holds; what was struck with it is not among the statements any more."""
    if last.mark != case.mark:
        return False
    if last.answer is OddsAnswer.ALL:
        return True
    return not any(told.id for told in case.told if _named(told) != last.holds)


def _named(told: Told) -> str:
    return told.id or told.words


def _answer(holds: str, case: Odds) -> tuple[OddsAnswer, Told | None]:
    words = {"all": OddsAnswer.ALL, "none": OddsAnswer.NONE, "open": OddsAnswer.OPEN}
    if holds in words:
        return words[holds], None
    if holds.isascii() and holds.isdigit() and 1 <= int(holds) <= len(case.told):
        return OddsAnswer.ONE, case.told[int(holds) - 1]
    allowed = f"a number from 1 to {len(case.told)}, or {', '.join(ANSWERS)}"
    raise _refused("which holds", repr(holds[:40]), allowed)


def _lost(answer: OddsAnswer, side: Told | None, case: Odds) -> tuple[str, ...]:
    if answer not in (OddsAnswer.ONE, OddsAnswer.NONE):
        return ()
    return tuple(id_ for told in case.told if told is not side for id_ in told.struck_with)


def _case(shown: OddsShown, text: str) -> OddsCase:
    cases = [case for case in (*shown.open, *shown.settled) if text and case.odds.id.startswith(text)]
    if len(cases) == 1:
        return cases[0]
    raise NotFoundError(
        Problem(
            slug="odds-unknown",
            where=f"{shown.car}, case {text[:40]!r}",
            found="several cases begin so" if cases else "no case begins so",
            allowed="the id of one case of this car, or the beginning of one",
            advice="See them with `shutline odds`.",
        )
    )


def _refused(where: str, found: str, allowed: str) -> UserError:
    return UserError(Problem("odds-answer", where, found, allowed, "Give it again; nothing was decided."))


def _changed(odds_id: str) -> UserError:
    return UserError(
        Problem(
            slug="odds-changed",
            where=f"case {odds_id}",
            found="its statements were changed since they were looked at",
            allowed="an answer to what stands now; nothing was decided",
            advice="Look at the case again.",
        )
    )
