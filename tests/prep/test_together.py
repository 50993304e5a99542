"""The shipped tables from findings to a choice: both halves of preparation count alike."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, datetime

import numpy as np
import pytest

from shutline.car.carfile import KeptFinding
from shutline.car.findings import Finding, Found, Severity, Side, State
from shutline.prep.choice import choose, choose_of, programme_of
from shutline.prep.draws import draw_car
from shutline.prep.left_out import Wishes
from shutline.prep.limits import Limits
from shutline.prep.outlay import outlays
from shutline.prep.schedule import Bay, Person, Shop, make_schedule, ready_by
from shutline.prep.sure import sure_curve
from shutline.prep.tables import prep_tables
from shutline.prep.tasks import expected_total, tasks_of
from shutline.prep.worth import worth_of, worth_rows

TABLES = prep_tables()
SEEN = (
    ("sill", "perforation", Side.NEAR, Severity.SEVERE),
    ("front_wing", "rust", Side.OFF, Severity.MODERATE),
    ("rear_wing", "blister", Side.NEAR, Severity.MODERATE),
    ("door", "rust", Side.NEAR, Severity.SLIGHT),
    ("bonnet", "fade", None, Severity.MODERATE),
    ("roof", "scratch", None, Severity.SLIGHT),
    ("bumper", "pitting", None, Severity.MODERATE),
    ("seat", "tear", Side.OFF, Severity.MODERATE),
    ("headlight", "fault", Side.NEAR, None),
    ("engine", "leak", None, Severity.SLIGHT),
    ("carpet", "dirt", None, None),
)
FINDINGS = [
    KeptFinding(f"f{number:02}", Finding(part, condition, Found.YES, side, None, severity, state=State.STANDS))
    for number, (part, condition, side, severity) in enumerate(SEEN)
]
PREPARED = tasks_of(FINDINGS)
WORTHS = {
    kept.id: worth
    for kept in FINDINGS
    if (
        worth := worth_of(
            worth_rows(), kept.finding.part, kept.finding.condition, kept.finding.severity, asking_pounds=9000.0
        )
    )
}


def test_expected_costs_are_those_of_the_tasks_to_the_penny() -> None:
    found = choose(PREPARED.tasks, outlays(PREPARED.tasks, TABLES.rates), WORTHS)
    chosen = [task for task in PREPARED.tasks if task.id in found.chosen]
    assert found.cost_pence == pytest.approx(100 * expected_total(chosen, TABLES.rates), abs=len(chosen) * 2)


@pytest.mark.parametrize("quantile", [0.8, 0.9, 0.95])
def test_a_budget_is_kept_to_in_so_many_of_other_draws_too(quantile: float) -> None:
    made = outlays(PREPARED.candidates, TABLES.rates)
    other = draw_car(PREPARED.candidates, tables=TABLES, draws=40_000, seed=977)
    draws = draw_car(PREPARED.candidates, tables=TABLES, draws=None, seed=None).pence()
    programme = programme_of(PREPARED.candidates, made, WORTHS, wishes=Wishes(), draws=draws)
    line = sure_curve(programme, Limits(quantile=quantile))
    assert line.whole
    assert len(line.points) > 10
    again = replace(programme, draws=other.pence())
    # The budget is that of 10,000 draws, the check has 40,000 others: the errors of both add up.
    error = math.sqrt(quantile * (1 - quantile) * (1 / 10_000 + 1 / 40_000))
    for point in line.points:
        kept = float(np.mean(again.drawn(frozenset(point.chosen)) <= point.money_pence))
        assert kept == pytest.approx(quantile, abs=4 * error)
        found = choose_of(programme, WORTHS, limits=Limits(point.money_pence, quantile), wishes=Wishes(), line=line)
        assert (found.chosen, found.money_pence) == (point.chosen, point.money_pence)


def test_a_choice_of_the_candidates_gains_at_least_what_one_of_the_cheapest_cover_does() -> None:
    # Of the candidates more can be put together than of the cheapest cover, which is made of them.
    some = choose(PREPARED.candidates, outlays(PREPARED.candidates, TABLES.rates), WORTHS)
    few = choose(PREPARED.tasks, outlays(PREPARED.tasks, TABLES.rates), WORTHS)
    assert some.gap_pence == few.gap_pence == 0
    assert some.gain_pence >= few.gain_pence


def test_what_was_chosen_can_be_scheduled_and_filmed_by_the_day_asked_for() -> None:
    bays = sorted({task.job.bay for task in PREPARED.candidates if task.job.bay})
    people = (Person("Ines", ("paint", "weld", "valet")), Person("Tom", tuple(TABLES.trades)))
    shop = Shop(people, tuple(Bay(kind, kind) for kind in bays))
    start, day = datetime(2026, 11, 26, 8), date(2026, 12, 4)  # noqa: DTZ001 - the house's own time
    ready = ready_by(PREPARED.candidates, shop, start=start, day=day)
    found = choose(PREPARED.candidates, outlays(PREPARED.candidates, TABLES.rates), WORTHS, ready=ready)
    assert not found.in_the_way
    chosen = [task for task in PREPARED.candidates if task.id in found.chosen]
    assert chosen
    assert make_schedule(chosen, shop, start=start).film_on <= day
