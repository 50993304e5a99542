"""The records of a plan for one car, as the command line, the page and the report show it."""

from __future__ import annotations

from dataclasses import dataclass

from shutline.car.errors import Problem
from shutline.car.prep_decisions import PrepDecision
from shutline.usecases.prep import FoundShown, LookShown, Pence, TaskShown, UntouchedShown


@dataclass(frozen=True, slots=True)
class WorthShown:
    """What a buyer knocks off, in pence, and which row says so; `footing` is empty for a sum of several."""

    low: int
    likely: int
    high: int
    footing: str = ""


@dataclass(frozen=True, slots=True)
class PlanLine:
    """One task: whether it is chosen, and if not why (`left`) and in words.

    Its cost is that of the task by itself with the whole of its set-up, so that it is the same at every budget; `share`
    and `doubt` of the task are its parts of what is chosen. `worth` is what its findings are worth together; None
    where nothing is known of them or no asking price was given. `adds` is what it would add to the choice, in pence.
    """

    task: TaskShown
    chosen: bool
    left: str
    words: str
    adds: int
    worth: WorthShown | None


@dataclass(frozen=True, slots=True)
class ToldShown:
    """A finding that stays and is to be told, with what a buyer knocks off for it; None where nobody knows."""

    found: FoundShown
    worth: WorthShown | None


@dataclass(frozen=True, slots=True)
class BudgetPoint:
    """From a budget of `money` on, in pence, these tasks gain the most; `cost` is what they cost."""

    money: int
    gain: int
    chosen: tuple[str, ...]
    cost: Pence


@dataclass(frozen=True, slots=True)
class PieceShown:
    """One stretch of work: times are ISO 8601 of the house's own clock; `late` when it may begin at the latest."""

    task: str
    words: str
    trade: str
    person: str
    bay: str
    start: str
    end: str
    late: str
    critical: bool
    why: str


@dataclass(frozen=True, slots=True)
class DayShown:
    """A day and what begins on it."""

    day: str
    pieces: tuple[PieceShown, ...]


@dataclass(frozen=True, slots=True)
class CalendarShown:
    """Who does what when; `film_on` is the first day on which the car can be filmed again.

    `earliest` tells whether it is known that no other order ends sooner.
    """

    days: tuple[DayShown, ...]
    end: str
    film_on: str
    earliest: bool


@dataclass(frozen=True, slots=True)
class PlanShown:
    """A plan for one car, money in pence without tax.

    Without an asking price (`asking` None) nothing can be weighed: all that can be cured is chosen but what was
    refused, and `gain` and `curve` say nothing. `money` is the expected cost. `sure` is in how many of a hundred the
    budget is to be kept to, 0 where the expected cost is held against it; what is chosen stays within `sure_money` so
    often. `by` is the day on which it has to be filmed at the latest, empty for none. `gap` is how much more some other
    choice could gain at most; None where nobody knows: none was found in time, or the budget is kept to by chance.
    `in_the_way` says why the musts cannot be done; nothing is chosen then. `whole` tells whether the curve is complete;
    with `sure`, that all sets were tried that are tried. `trouble` says why there is no calendar. `decisions` are what
    people decided, those that no longer hold too.
    """

    car: str
    title: str
    asking: int | None
    budget: int | None
    start: str
    lines: tuple[PlanLine, ...]
    untouched: tuple[UntouchedShown, ...]
    unanswered: tuple[str, ...]
    total: Pence
    vat: Pence
    with_vat: Pence
    gain: int
    worth: int
    money: int
    sure: int
    sure_money: int
    by: str
    gap: int | None
    in_the_way: tuple[str, ...]
    told: tuple[ToldShown, ...]
    told_worth: WorthShown | None
    curve: tuple[BudgetPoint, ...]
    whole: bool
    calendar: CalendarShown | None
    trouble: Problem | None
    look: LookShown | None
    look_task: str
    decisions: tuple[PrepDecision, ...]
