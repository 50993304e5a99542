"""What a person says of statements at odds: which holds, that all or none do, and an answer taken back. All is kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile
from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.findings import State
from shutline.car.odds import OddsAnswer, OddsDecision
from shutline.survey.odds import Odds, Told
from shutline.usecases.look import find_car
from shutline.usecases.odds import OddsCase, OddsShown, PastCase, done_with, kept_by_id, odds_of
from shutline.usecases.odds_stale import OddsStaleError, OddsWanted
from shutline.usecases.review import Decision, decide
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.store import Store

LONGEST_REASON = 500

ANSWERS = ("all", "none", "open")
"""What may be said of a case beside the number of the side that holds."""


def decide_odds(
    store: Store,
    car: str,
    odds_id: str,
    *,
    holds: str,
    reason: str = "",
    mark: str | None = None,
    answers: int | None = None,
    author: str | None = None,
) -> OddsShown:
    """Keep what a person says of a case, with the reason.

    Where one side holds it is confirmed, and the others are struck; where none holds all are struck. A mark that was
    only spelled out in the words becomes a fact first, so that it can be. With ``open`` the last answer is taken back,
    and what it struck or confirmed is as it was before, unless somebody has decided about it since.

    Parameters
    ----------
    store, car
        As for `odds.odds`.
    odds_id : str
        The id of a case, or a beginning of it that no other of the car has. One that is at odds no more can only be
        taken back.
    holds : str
        The number of the side that holds, counted from 1 in the order shown; or ``all``, ``none``, or ``open`` to take
        the last answer back.
    reason : str
        Why, in the person's own words; 1 to `LONGEST_REASON` letters, or none with ``open``.
    mark : str, optional
        The mark of the case that the person had before them; any when left out.
    answers : int, optional
        How many answers it had then; any when left out.
    author : str, optional
        Who says so; the name the user is logged in with when left out.

    Raises
    ------
    NotFoundError
        The car has no such case (slug ``odds-unknown``).
    UserError
        The answer or the reason is none, or there is nothing to take back (slug ``odds-answer``); nothing was done.
    OddsStaleError
        The statements were changed meanwhile, or somebody else has answered; it carries both versions.
    """
    who = author or present_author()
    tidy = _tidy(reason, needed=holds != "open")
    with store.together():
        file = find_car(store, car)
        shown = odds_of(store, file)
        wanted = OddsWanted(odds_id, holds, tidy)
        case = _case(shown, wanted, mark, answers)
        if isinstance(case, PastCase):
            _take_back(store, file, case.decisions[-1], tidy, who)
        elif holds == "open":
            if not case.decisions or case.decisions[-1].answer is OddsAnswer.OPEN:
                raise _refused("which holds", "no answer that could be taken back", _allowed(case.odds))
            _take_back(store, file, case.decisions[-1], tidy, who)
        else:
            _answer(store, file, case, wanted, who)
        return odds_of(store, find_car(store, file.name))


def _answer(store: Store, file: CarFile, case: OddsCase, wanted: OddsWanted, who: str) -> None:
    answer, side = _side(wanted.holds, case.odds)
    lost: list[str] = []
    deeds: list[Decision] = []
    if answer is not OddsAnswer.ALL:
        kept = kept_by_id(file)
        sided = [(told, number) for number, every in enumerate(case.odds.sides, start=1) for told in every]
        for told, number in sided:
            ids = (*told.struck_with, *_entered(store, file, told, who))
            if number != side:
                lost += ids
                deeds += (Decision(id_, "strike") for id_ in ids)
            else:
                heard = (id_ for id_ in told.struck_with if id_ in kept and _is_heard(kept[id_]))
                deeds += (Decision(id_, "confirm") for id_ in heard)
    store.add_odds_decision(
        file.name,
        case.odds.id,
        answer=answer,
        reason=wanted.reason,
        author=who,
        mark=case.odds.mark,
        told=case.words,
        holds=case.odds.side_names[side - 1] if side else "",
        struck=tuple(lost),
    )
    if deeds:
        decide(store, file.name, deeds, author=who)


def _entered(store: Store, file: CarFile, told: Told, who: str) -> tuple[str, ...]:
    """Make facts of what was only spelled out in the words, so that it can be confirmed or struck."""
    from shutline.survey.odds_facts import spelled_facts

    wanted = set(told.spelled)
    facts = (fact for fact in spelled_facts(file) if wanted & set(fact.footings[0].rules))
    return tuple(store.add_fact(file.name, fact, author=who, token=fact.footings[0].rules[0]).id for fact in facts)


def _take_back(store: Store, file: CarFile, last: OddsDecision, reason: str, who: str) -> None:
    store.add_odds_decision(
        file.name,
        last.odds,
        answer=OddsAnswer.OPEN,
        reason=reason,
        author=who,
        mark=last.mark,
        told=last.told,
    )
    deeds = [Decision(id_, "undo") for id_ in done_with(last, kept_by_id(file))]
    if deeds:
        decide(store, file.name, deeds, author=who)


def _is_heard(kept: object) -> bool:
    statement = getattr(kept, "finding", None) or getattr(kept, "fact", None)
    return getattr(statement, "state", None) is State.HEARD


def _case(shown: OddsShown, wanted: OddsWanted, mark: str | None, answers: int | None) -> OddsCase | PastCase:
    """Find the case that is meant, and see that it is the one the person had before them."""
    there: list[OddsCase | PastCase] = [*shown.open, *shown.settled, *shown.past]
    found = [one for one in there if wanted.odds and _id_of(one).startswith(wanted.odds)]
    seen = mark is not None or answers is not None
    if len(found) > 1 or (not found and not seen):
        raise _unknown(shown, wanted.odds, several=len(found) > 1)
    case = found[0] if found else None
    if case is None or (answers is not None and answers != len(case.decisions)):
        raise OddsStaleError(shown.car, case, wanted, answers or 0)
    if isinstance(case, PastCase):
        if wanted.holds == "open" and case.back:
            return case
        if seen and wanted.holds != "open":
            raise OddsStaleError(shown.car, case, wanted, answers or 0)
        if wanted.holds == "open":
            raise _refused(f"{shown.car}, case {case.id}", "nothing is left to take back", "what nobody changed since")
        raise _unknown(shown, wanted.odds, several=False)
    if mark is not None and mark != case.odds.mark:
        raise OddsStaleError(shown.car, case, wanted, answers or 0)
    return case


def _id_of(case: OddsCase | PastCase) -> str:
    return case.id if isinstance(case, PastCase) else case.odds.id


def _side(holds: str, case: Odds) -> tuple[OddsAnswer, int]:
    """Give what is said of a case, and the number of the side that holds; 0 where none or all do."""
    words = {"all": OddsAnswer.ALL, "none": OddsAnswer.NONE}
    if holds in words:
        return words[holds], 0
    if holds.isascii() and holds.isdigit() and len(holds) < 4 and 1 <= int(holds) <= len(case.sides):
        return OddsAnswer.ONE, int(holds)
    raise _refused("which holds", repr(holds[:40]), _allowed(case))


def _allowed(case: Odds) -> str:
    return f"a number from 1 to {len(case.sides)}, or {', '.join(ANSWERS)}"


def _tidy(reason: str, *, needed: bool) -> str:
    tidy = " ".join(reason.split())
    if (needed and not tidy) or len(tidy) > LONGEST_REASON or not tidy.isprintable():
        found = "no reason" if not tidy else f"{len(tidy)} letters, or signs that cannot be shown"
        raise _refused("the reason", found, f"1 to {LONGEST_REASON} letters that can be shown")
    return tidy


def _unknown(shown: OddsShown, text: str, *, several: bool) -> NotFoundError:
    return NotFoundError(
        Problem(
            slug="odds-unknown",
            where=f"{shown.car}, case {text[:40]!r}",
            found="several cases begin so" if several else "no case begins so",
            allowed="the id of one case of this car, or the beginning of one",
            advice="See them with `shutline odds`.",
        )
    )


def _refused(where: str, found: str, allowed: str) -> UserError:
    return UserError(Problem("odds-answer", where, found, allowed, "Give it again; nothing was decided."))
