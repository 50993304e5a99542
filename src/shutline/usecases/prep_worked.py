"""What a plan for one car is worked out from, and what of it is the same at every budget: kept between questions."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import lru_cache
from typing import TYPE_CHECKING

from shutline.car.errors import BadInputError, Problem, UserError
from shutline.car.prep_decisions import PrepDecision, PrepKind
from shutline.usecases.own_prep import own_prep, prep_mark
from shutline.usecases.prep import LookShown, Sheet, look_of

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.prep.curve import Curve
    from shutline.prep.draws import CarDrawn
    from shutline.prep.left_out import Wishes
    from shutline.prep.limits import Deadline
    from shutline.prep.model import Task
    from shutline.prep.outlay import Outlays
    from shutline.prep.programme import Programme
    from shutline.prep.schedule import Schedule
    from shutline.prep.shop import ShopTables
    from shutline.prep.tables import PrepTables
    from shutline.prep.tasks import Prepared
    from shutline.prep.worth import Worth

SUREST = range(50, 100)
"""In how many of a hundred a budget may be asked to be kept to."""
CURVE_S = 6.0
"""Wall seconds after which the curve of gain against budget is broken off."""
CURVE_BY_S = 15.0
"""The same with a day to be filmed by, which takes longer; the page does not wait for it."""


@dataclass(frozen=True)
class PlanAsked:
    """What a plan is asked for beside what was decided; None is what was decided, or no limit.

    `by` is the day on which the car has to be filmed at the latest, `hours` the most for each trade. `sure` is in how
    many of a hundred the budget is to be kept to, 50 to 99; 0 holds the expected cost against it.
    """

    asking_pence: int | None = None
    budget_pence: int | None = None
    start: date | None = None
    by: date | None = None
    hours: Mapping[str, float] = field(default_factory=dict)
    sure: int | None = None
    curve: bool = True
    """Whether the curve is worked out where it is not known yet."""
    calendar: bool = True
    """Whether it is worked out who does what when."""


@dataclass(frozen=True)
class Ground:
    """All that a plan is worked out from; two with the same mark are the same."""

    mark: str
    file: CarFile = field(compare=False)
    tables: PrepTables = field(compare=False)
    asking_pence: int | None = field(compare=False)
    refused: Mapping[str, str] = field(compare=False)
    promised: Mapping[str, str] = field(compare=False)


@dataclass(frozen=True)
class Worked:
    """What is the same at every budget."""

    prepared: Prepared
    outlays: Outlays
    worths: Mapping[str, Worth]
    programme: Programme
    wishes: Wishes
    drawn: CarDrawn
    look: tuple[LookShown, str] | None


def check_pence(pence: int | None, *, slug: str, where: str, least: int) -> None:
    """Refuse a sum that is none."""
    if pence is not None and not least <= pence <= 10**11:
        allowed = "more than nought" if least else "nought or more"
        raise UserError(Problem(slug, where, f"{pence / 100:,.2f} pounds", allowed, "Give another sum."))


def sure_of(asked: PlanAsked, decisions: Sequence[PrepDecision]) -> int:
    """Give in how many of a hundred the budget is to be kept to, 0 for the expected cost.

    Raises UserError where it is neither (slug ``prep-refused``).
    """
    kept = next((one.words for one in decisions if one.holds and one.kind is PrepKind.BUDGET), "")
    sure = int(kept or 0) if asked.sure is None else asked.sure
    check_sure(sure)
    return sure


def check_sure(sure: int) -> None:
    """Refuse a chance that a budget cannot be kept to with."""
    if sure != 0 and not SUREST.start <= sure < SUREST.stop:
        allowed = f"{SUREST.start} to {SUREST.stop - 1} in a hundred, or 0 for the expected cost"
        raise UserError(Problem("prep-refused", "how sure", f"{sure}", allowed, "Give another."))


def ground_of(file: CarFile, decisions: Sequence[PrepDecision], asked: PlanAsked) -> Ground:
    """Put together what was found, decided and asked for; raises as `prep_plan` does."""
    holding = [one for one in decisions if one.holds]
    sums = {one.kind: one.pence for one in holding}
    asking = sums.get(PrepKind.ASKING) if asked.asking_pence is None else asked.asking_pence
    check_pence(asking, slug="asking-price", where="asking", least=1)
    refused = {one.about: one.words for one in holding if one.kind is PrepKind.REFUSED}
    promised = {one.about: one.words for one in holding if one.kind is PrepKind.PROMISED}
    tables, _ = own_prep()
    findings = [(one.id, one.finding, one.withdrawn, one.put_right is None) for one in file.findings]
    told = repr((file.name, file.title, findings, asking, sorted(refused.items()), sorted(promised.items())))
    mark = hashlib.sha256(f"{prep_mark()}\n{told}".encode("utf-8", "replace")).hexdigest()
    return Ground(mark, file, tables, asking, refused, promised)


@lru_cache(maxsize=4)
def worked_out(ground: Ground) -> Worked:
    """Work out tasks, worths, draws and looks."""
    from shutline.prep.choice import programme_of
    from shutline.prep.draws import draw_car
    from shutline.prep.left_out import Wishes
    from shutline.prep.looks import looks_of
    from shutline.prep.outlay import outlays
    from shutline.prep.tasks import tasks_of
    from shutline.prep.worth import worth_of

    tables, rows = ground.tables, own_prep()[1]
    kept = {one.id: one for one in ground.file.findings}
    prepared = tasks_of(ground.file.findings, tables=tables, promised=ground.promised)
    taken = outlays(prepared.candidates, tables.rates)
    worths = {}
    if ground.asking_pence is not None:
        cured = {id_ for task in prepared.candidates for id_ in task.findings}
        for id_ in sorted(cured | {one.finding for one in prepared.untouched}):
            one = kept[id_].finding
            found = worth_of(rows, one.part, one.condition, one.severity, asking_pounds=ground.asking_pence / 100)
            if found is not None:
                worths[id_] = found
    known = {task.id for task in prepared.candidates}
    wishes = Wishes(refused={id_: why for id_, why in ground.refused.items() if id_ in known})
    looks = looks_of(
        prepared.tasks,
        prepared.alternatives,
        worth={id_: worth.pounds for id_, worth in worths.items()},
        tables=tables,
    )
    drawn = draw_car(prepared.candidates, tables=tables, draws=None, seed=None)
    sheet = Sheet(kept, prepared, tables)
    words = {task.id: sheet.words(task) for task in (*prepared.tasks, *prepared.candidates)}
    return Worked(
        prepared=prepared,
        outlays=taken,
        worths=worths,
        programme=programme_of(prepared.candidates, taken, worths, wishes=wishes, draws=drawn.pence()),
        wishes=wishes,
        drawn=drawn,
        look=(look_of(looks[0], words), words[looks[0].task]) if looks and looks[0].value else None,
    )


@dataclass(frozen=True)
class CurveAsked:
    """What a curve is of beside the ground: minutes by trade, in how many of a hundred, and the day and what it is by.

    `by` and `ready` go together: two curves with the same are the same.
    """

    mark: str
    minutes: tuple[tuple[str, int], ...] = ()
    sure: int = 0
    by: tuple[object, ...] = ()
    ready: Deadline | None = field(default=None, compare=False)


_CURVES: dict[CurveAsked, Curve] = {}
_MOST_CURVES = 16


def curve_of(ground: Ground, asked: CurveAsked, *, work: bool) -> Curve | None:
    """Give the curve; None where it is not known yet and is not to be worked out."""
    from shutline.prep.curve import gain_curve
    from shutline.prep.limits import Limits
    from shutline.prep.sure import sure_curve

    found = _CURVES.get(asked)
    if found is None and work:
        make, most = sure_curve if asked.sure else gain_curve, CURVE_S if asked.ready is None else CURVE_BY_S
        limits = Limits(quantile=asked.sure / 100 if asked.sure else None, minutes=dict(asked.minutes))
        found = make(worked_out(ground).programme, limits, ready=asked.ready, time_limit_s=most)
        if len(_CURVES) >= _MOST_CURVES:
            _CURVES.clear()
        if found.points or found.whole:
            _CURVES[asked] = found
    return found


@dataclass(frozen=True)
class ScheduleAsked:
    """What a schedule is made of; two with one key are the same."""

    key: tuple[object, ...]
    tasks: tuple[Task, ...] = field(compare=False)
    shop: ShopTables = field(compare=False)
    start: datetime = field(compare=False)


@lru_cache(maxsize=32)
def scheduled(asked: ScheduleAsked) -> tuple[Schedule | None, Problem | None]:
    """Make a schedule, or say why there is none."""
    from shutline.prep.schedule import make_schedule

    try:
        return make_schedule(asked.tasks, asked.shop.for_tasks(asked.tasks), start=asked.start), None
    except BadInputError as error:
        return None, error.problem


@lru_cache(maxsize=8)
def ready_within(asked: ScheduleAsked, day: date) -> Deadline:
    """Give what tells whether tasks can be done so that the car can be filmed on a day; kept with what it found out."""
    from shutline.prep.schedule import ready_by

    return ready_by(asked.tasks, asked.shop.for_tasks(asked.tasks), start=asked.start, day=day)
