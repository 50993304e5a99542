"""What is still to be put right on a car and what it costs, as its price takes it; and what each fault is worth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING

from shutline.car.vocabulary import vocabulary
from shutline.usecases.prep import FoundShown
from shutline.usecases.prep_plan import Planned, planned
from shutline.usecases.prep_worked import Ground, PlanAsked, ground_of, worked_out
from shutline.usecases.price_shown import FindingWorth, PrepHere

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from shutline.car.carfile import CarFile
    from shutline.car.findings import Finding
    from shutline.car.prep_decisions import PrepDecision
    from shutline.market import Effect, Fetch
    from shutline.store import Store
    from shutline.usecases.price_car import AttributeShown, Seen

    Array = NDArray[np.float64]

FEW = 5
"""Fewer cars than this with an entry, or without it, say too little to be told as an estimate."""


@dataclass(frozen=True)
class PrepTaken:
    """What preparation costs, as words and as draws of pounds, and what a buyer knocks off for what stays."""

    here: PrepHere
    draws: Array
    with_tax: Array
    stays: float
    cured: tuple[FoundShown, ...]
    left: tuple[FoundShown, ...]
    worths: Mapping[str, tuple[int, int, int, str]]


@dataclass(frozen=True)
class _Plan:
    """What a plan is made of; two of the same mark are the same."""

    mark: str
    store: Store = field(compare=False)
    car: str = field(compare=False)
    ground: Ground = field(compare=False)
    asked: PlanAsked = field(compare=False)
    words: str = field(compare=False)


def prep_taken(
    store: Store, file: CarFile, decisions: tuple[PrepDecision, ...], *, asking: float | None, words: str
) -> PrepTaken:
    """Work out what is done about a car, weighed at a price in pounds; None where there is none, and all is done.

    Raises as `prep_plan` does.
    """
    asked = PlanAsked(asking_pence=None if asking is None else round(100 * asking), curve=False, calendar=False)
    ground = ground_of(file, decisions, asked)
    sums = repr([(one.kind, one.about, one.pence) for one in decisions if one.holds])
    return _taken(_Plan(f"{ground.mark}\n{sums}\n{words}", store, file.name, ground, asked, words))


@lru_cache(maxsize=8)
def _taken(plan: _Plan) -> PrepTaken:
    import numpy as np

    from shutline.prep.cost import spread_of
    from shutline.prep.draws import draw_car

    made, worked = planned(plan.store, plan.car, plan.asked), worked_out(plan.ground)
    shown, tasks = made.shown, made.tasks
    if shown.in_the_way:
        # Nothing is chosen then, and to put a car right is not free for that.
        tasks = tuple(task for task in worked.prepared.tasks if task.id not in plan.ground.refused)
    draws = with_tax = np.zeros(1)
    if tasks:
        drawn = draw_car(tasks, tables=made.tables, draws=None, seed=None)
        draws = drawn.costs().sum(axis=0)
        taxed = sum((part.taxed for part in drawn.parts), 0 * draws)
        with_tax = draws + taxed * drawn.tables.vat_percent / 100
    cost = spread_of(draws)
    return PrepTaken(
        here=PrepHere(
            jobs=len(tasks),
            mean=round(cost.mean),
            p05=round(cost.p05),
            p50=round(cost.p50),
            p95=round(cost.p95),
            weighed_at=None if shown.asking is None else round(shown.asking / 100),
            weighed_words=plan.words,
            in_the_way=shown.in_the_way,
        ),
        draws=draws,
        with_tax=with_tax,
        stays=0.0 if shown.told_worth is None else shown.told_worth.likely / 100,
        cured=_cured(made),
        left=tuple(one.found for one in shown.told),
        worths={
            id_: (round(worth.pounds.low), round(worth.pounds.likely), round(worth.pounds.high), worth.footing)
            for id_, worth in worked.worths.items()
        },
    )


def _cured(made: Planned) -> tuple[FoundShown, ...]:
    there = [one for line in made.shown.lines if line.chosen for one in line.task.findings]
    return tuple({one.id: one for one in there}.values())


def worths_of(
    file: CarFile,
    taken: PrepTaken,
    fetch: Fetch | None,
    attributes: tuple[AttributeShown, ...],
    seen: Mapping[str, Seen],
) -> tuple[FindingWorth, ...]:
    """Give what each fault is worth: by the comparables where they note such a thing of enough cars, else by the table.

    What stays comes first, the costliest before the others.
    """
    kept = {one.id: one.finding for one in file.findings}
    found = []
    for cured, faults in ((False, taken.left), (True, taken.cured)):
        for one in faults:
            estimate = None if fetch is None else _estimated(kept[one.id], fetch, attributes, seen)
            worth = estimate or taken.worths.get(one.id)
            low, likely, high, footing = worth or (None, None, None, "")
            found.append(FindingWorth(one, low, likely, high, estimate is not None, footing, cured))
    return tuple(sorted(found, key=lambda one: (one.cured, -(one.likely or 0), one.found.id)))


def _estimated(
    finding: Finding, fetch: Fetch, attributes: tuple[AttributeShown, ...], seen: Mapping[str, Seen]
) -> tuple[int, int, int, str] | None:
    """Look for something that is noted of comparables under the name of the fault, or of its part and the fault."""
    words = vocabulary()
    condition, part = words.conditions[finding.condition].label, words.parts[finding.part].label
    names = {one.casefold() for one in (f"{part} {condition}", condition)}
    effects = {one.name: one for one in fetch.effects}
    said = {same.column for same in fetch.same}
    for one in attributes:
        entry = one.value.casefold()
        effect = effects.get(f"{one.name} {entry}")
        if one.name.casefold() not in names or not entry or effect is None or effect.name in said:
            continue
        counts = seen[one.name].counts
        cars = sum(count for text, count in counts.items() if text.casefold() == entry)
        if min(cars, sum(counts.values()) - cars) >= FEW:
            return *_off(effect, fetch.middle), f"{cars} of {sum(counts.values())} cars with {one.name}: {one.value}"
    return None


def _off(effect: Effect, middle: int) -> tuple[int, int, int]:
    """Give what an effect takes off, in pounds, nothing below nought."""
    low, likely, high = (
        max(0, round(middle / (1 + percent / 100)) - middle) for percent in (effect.high, effect.percent, effect.low)
    )
    return low, likely, high
