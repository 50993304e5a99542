"""The route to walk round a car, what is still to show of it, and what a person leaves out on purpose."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from shutline.car.carfile import CarFile
from shutline.car.errors import NotFoundError, Problem, UserError
from shutline.car.findings import Drive, Position, Side
from shutline.survey import (
    Cover,
    Coverage,
    Covered,
    FactSilence,
    Raised,
    Reason,
    Route,
    Shelf,
    choose_guide,
    coverage,
    make_route,
    unknown_facts,
)
from shutline.survey.checks import Asked, Guide
from shutline.survey.choices import ASKED_AGAIN, GUIDE_CHOSEN, LEFT_OUT
from shutline.survey.coverage import Counts
from shutline.usecases.answering import OpenQuestion, open_questions
from shutline.usecases.guides import own_shelf
from shutline.usecases.look import find_car
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.store import Store

LONGEST_REASON = 200
"""The longest reason for leaving something out, letters."""


@dataclass(frozen=True, slots=True)
class Planned:
    """A route with the guide it is of, and why that guide.

    `others` are other constructions that such a body may have; `chosen` tells that a person chose. `answered` counts
    the checks that have a footing already, and `omitted` those left out on purpose: neither is on the route.
    """

    title: str
    guide: str
    label: str
    chosen: bool
    reasons: tuple[Reason, ...]
    others: tuple[str, ...]
    route: Route
    answered: int = 0
    omitted: int = 0


@dataclass(frozen=True, slots=True)
class Shown:
    """One check at one place, as far as the car file has it.

    `key` names it to `leave_out`; `kinds` are what it stands on, `breadth` how little there is otherwise; `reason` and
    `author` those of an omission, and `left_out_as` the key that takes it back; `when_bad` the lowest and the highest
    band of cost; `asked` the questions of strangers that it would answer; `of_several` that what it stands on was told
    of several places in one.
    """

    key: str
    part: str
    side: Side | None
    position: Position | None
    look_for: str
    why: str
    when_bad: tuple[str, str]
    safety: bool
    cover: Cover
    kinds: tuple[str, ...] = ()
    findings: tuple[str, ...] = ()
    breadth: str | None = None
    passing: tuple[str, ...] = ()
    reason: str = ""
    author: str = ""
    left_out_as: str = ""
    asked: tuple[str, ...] = ()
    of_several: bool = False


@dataclass(frozen=True, slots=True)
class StillToShow:
    """A car file held against its guide: open checks first, the costliest silence at the top; and the second route.

    `questions` are those of strangers that still have no answer; what they ask for is marked in `checks`. `counts` tell
    how many checks are covered how.
    """

    car: str
    checks: tuple[Shown, ...]
    facts: tuple[FactSilence, ...]
    second: Planned
    counts: Counts
    questions: tuple[OpenQuestion, ...] = ()


def plan_route(
    store: Store | None = None,
    name: str | None = None,
    *,
    guides: Sequence[str] = (),
    body: str | None = None,
    doors: int | None = None,
    drive: Drive | None = None,
    everything: bool = False,
    raised: Raised = Raised.LAST,
    minutes: float | None = None,
) -> Planned:
    """Plan the walk round a car, or round one that is not in the store yet.

    Parameters
    ----------
    store, name : optional
        The car; what has a footing already is left out.
    guides : sequence of str
        Guides to walk by; what a person chose for the car, else what fits it, when left out.
    body, doors, drive : optional
        In place of what the car file has.
    everything : bool
        Ask again for what has a footing already and for what was left out on purpose.
    raised : Raised
        When the car is up.
    minutes : float, optional
        Leave the cheapest checks out until speaking fits into so many minutes.

    Raises
    ------
    NotFoundError
        There is no such car.
    UserError
        There is no such guide (slug ``guide-unknown``), the body cannot be drawn (``unknown-body``), or `minutes` is
        not above nought (``route-minutes``).
    """
    from shutline.car.plan.bodies import choose_body

    if minutes is not None and not 0 < minutes < 1_000:
        raise UserError(
            Problem("route-minutes", "--minutes", f"{minutes:g}", "more than 0 and less than 1,000", "Give another.")
        )
    if body is not None:
        choose_body(body, None)
    file = _new_car() if store is None or name is None else find_car(store, name)
    file = replace(
        file, body=body or file.body, doors=file.doors if doors is None else doors, drive=drive or file.drive
    )
    found = coverage(file, on=own_shelf(), names=guides)
    return _planned(file, found, everything=everything, raised=raised, minutes=minutes)


def still_to_show(
    store: Store,
    name: str,
    *,
    guides: Sequence[str] = (),
    raised: Raised = Raised.LAST,
    minutes: float | None = None,
) -> StillToShow:
    """Hold a car file against its guide; parameters and errors are those of `plan_route`."""
    found = still_to_show_of(find_car(store, name), guides=guides, raised=raised, minutes=minutes)
    return with_questions(store, found)


def with_questions(store: Store, found: StillToShow) -> StillToShow:
    """Put the questions that have no answer beside what is still to show."""
    questions = open_questions(store, found.car)
    if not questions:
        return found
    asked: dict[str, list[str]] = {}
    for one in questions:
        for key in one.checks:
            asked.setdefault(key, []).append(one.question.words)
    checks = tuple(replace(one, asked=tuple(asked.get(one.key, ()))) for one in found.checks)
    return replace(found, checks=checks, questions=questions)


def still_to_show_of(
    file: CarFile, *, guides: Sequence[str] = (), raised: Raised = Raised.LAST, minutes: float | None = None
) -> StillToShow:
    """Hold a car file that is at hand against its guide, as `still_to_show` does."""
    found = coverage(file, on=own_shelf(), names=guides)
    second = _planned(file, found, everything=False, raised=raised, minutes=minutes)
    return StillToShow(file.name, tuple(map(_shown, found.checks)), unknown_facts(file), second, found.counts)


def leave_out(store: Store, name: str, key: str, *, reason: str, author: str | None = None) -> Shown:
    """Leave a check out on purpose: the report says so, with the reason.

    Parameters
    ----------
    key : str
        A check at a place, ``sill-near``, or a check wherever it is made, ``sill``.
    reason : str
        Why; it stands in the report.

    Raises
    ------
    UserError
        No reason, or one that is too long or cannot be shown (slug ``omission-reason``).
    NotFoundError
        The car's guide asks no such check (slug ``check-unknown``).
    """
    words = " ".join(reason.split())
    if not 0 < len(words) <= LONGEST_REASON or not words.isprintable():
        allowed = f"1 to {LONGEST_REASON} letters that can be shown"
        raise UserError(Problem("omission-reason", "--reason", repr(words[:40]), allowed, "Say why it is left out."))
    return _decide(store, name, action=LEFT_OUT, what={"check": key, "reason": words}, author=author)


def ask_again(store: Store, name: str, key: str, *, author: str | None = None) -> Shown:
    """Take an omission back; raises as `leave_out` does."""
    return _decide(store, name, action=ASKED_AGAIN, what={"check": key}, author=author)


def keep_guide(store: Store, name: str, guides: Sequence[str], *, author: str | None = None) -> Planned:
    """Keep which guides a car gets, or with none leave it to the program again; raises as `plan_route` does."""
    own_shelf().put_together(guides)
    file = find_car(store, name)
    store.decide_survey(
        file.name, action=GUIDE_CHOSEN, what={"guides": list(guides)}, author=author or present_author()
    )
    return plan_route(store, file.name)


def _new_car() -> CarFile:
    return CarFile("", "", Drive.RHD, "")


def _planned(file: CarFile, found: Coverage, *, everything: bool, raised: Raised, minutes: float | None) -> Planned:
    choice = found.choice
    asked = [one.asked for one in (found.checks if everything else found.open)]
    # As the guide has them: the walk within a station follows its order, not that of cost.
    order = {one.key: n for n, one in enumerate(choice.guide.asked(file.body, file.doors))}
    asked.sort(key=lambda one: order[one.key])
    within_s = None if minutes is None else minutes * 60
    shelf = own_shelf()
    route = _route(shelf, choice.guide, tuple(asked), file.drive, (raised, within_s))
    # Told beside the choice itself: what a person chose may be worth a second look.
    others = choice.others or tuple(name for name in choose_guide(file, on=shelf).guide.laid if choice.chosen)
    return Planned(
        file.title,
        choice.guide.id,
        choice.guide.label,
        choice.chosen,
        choice.reasons,
        tuple(name for name in others if name not in choice.guide.laid),
        route,
        0 if everything else len(found.of(Cover.HAS_FOOTING)),
        0 if everything else len(found.of(Cover.LEFT_OUT)),
    )


# The search takes a second for a whole car, and a page is looked at more than once.
@lru_cache(maxsize=32)
def _route(on: Shelf, guide: Guide, asked: tuple[Asked, ...], drive: Drive, more: tuple[Raised, float | None]) -> Route:
    raised, within_s = more
    return make_route(guide, asked, ground=on.ground, drive=drive, raised=raised, within_s=within_s)


def _shown(one: Covered) -> Shown:
    check = one.asked.check
    told = one.omission
    return Shown(
        one.asked.key,
        check.part,
        one.asked.side,
        one.asked.position,
        check.look_for,
        check.why,
        check.when_bad,
        check.safety,
        one.cover,
        tuple(one.kinds),
        one.findings,
        one.breadth,
        one.passing,
        "" if told is None else told.reason,
        "" if told is None else told.author,
        "" if told is None else told.key,
        of_several=one.of_several,
    )


def _decide(store: Store, name: str, *, action: str, what: dict[str, str], author: str | None) -> Shown:
    file = find_car(store, name)
    key = what["check"]
    _asked(file, key)
    store.decide_survey(file.name, action=action, what=what, author=author or present_author())
    return _shown(_asked(find_car(store, file.name), key))


def _asked(file: CarFile, key: str) -> Covered:
    checks = coverage(file, on=own_shelf()).checks
    for one in checks:
        if key in {one.asked.key, one.asked.check.id}:
            return one
    near = [one.asked.key for one in checks if one.asked.key.startswith(key[:4])][:5]
    raise NotFoundError(
        Problem(
            slug="check-unknown",
            where=f"check {key[:60]!r}",
            found="the guide of this car asks no such check",
            allowed=f"near it: {', '.join(near)}" if near else "a check that `shutline to-show` names",
            advice="Take one of those.",
        )
    )
