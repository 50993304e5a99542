"""A choice taken apart and put together again, held against the search over all of it."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from shutline.prep.apart import apart
from shutline.prep.choice import programme_of
from shutline.prep.curve import gain_curve
from shutline.prep.left_out import Wishes
from shutline.prep.limits import Deadline, Limits
from shutline.prep.model import Task
from shutline.prep.outlay import Outlay, Outlays
from shutline.prep.programme import Programme, Solved
from shutline.prep.worth import Worth

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))
from prep_cases import Case


def several(seed: int, counts: tuple[int, ...]) -> Programme:
    """Put cars together that share nothing."""
    tasks: list[Task] = []
    costs: dict[str, Outlay] = {}
    setups: dict[str, Outlay] = {}
    worths: dict[str, Worth] = {}
    needs: dict[str, tuple[str, ...]] = {}
    for number, count in enumerate(counts):
        case = Case(seed + number, count, must_share=0.02)
        for one in case.tasks:
            of = replace(one.job, id=f"{number}{one.job.id}")
            found = tuple(f"{number}{finding}" for finding in one.findings)
            tasks.append(Task(f"{number}{one.id}", of, found, one.must, "", heard_only=False))
        costs |= {f"{number}{id_}": outlay for id_, outlay in case.outlays.tasks.items()}
        setups |= {f"{number}{id_}": outlay for id_, outlay in case.outlays.setups.items()}
        worths |= {f"{number}{id_}": one for id_, one in case.worths.items()}
        needs |= {f"{number}{id_}": tuple(f"{number}{o}" for o in others) for id_, others in case.wishes.needs.items()}
    return programme_of(tasks, Outlays(costs, setups), worths, wishes=Wishes(needs=needs))


def test_parts_share_nothing_and_are_all_of_it() -> None:
    programme = several(11, (6, 5, 7))
    parts = apart(programme)
    assert len(parts) >= 3
    assert sorted(id_ for part in parts for id_ in part.by_id) == list(programme.by_id)
    for name in ("cures", "setups"):
        held = [key for part in parts for key in getattr(part, name)]
        assert len(held) == len(set(held)) == len(getattr(programme, name))
    assert {one: others for part in parts for one, others in part.needs.items()} == dict(programme.needs)


@pytest.mark.parametrize("seed", [0, 20, 40])
def test_the_curve_of_parts_is_that_of_the_whole(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    programme = several(seed, (5, 6, 12))
    together = gain_curve(programme, Limits(), time_limit_s=60)
    assert together.whole
    # Another way: one part, which is searched by the solver alone.
    monkeypatch.setattr("shutline.prep.curve.apart", lambda whole: (whole,))
    searched = gain_curve(programme, Limits(), time_limit_s=60)
    assert searched.whole
    assert [(one.money_pence, one.gain_pence) for one in together.points] == [
        (one.money_pence, one.gain_pence) for one in searched.points
    ]
    for one in together.points:
        assert programme.gain(frozenset(one.chosen)) == one.gain_pence
        assert programme.money(frozenset(one.chosen), None) == one.money_pence


def test_with_a_day_each_set_of_the_curve_can_be_done_by_it_and_what_was_late_is_kept() -> None:
    programme = several(3, (5, 6))
    free = gain_curve(programme, Limits())
    most = len(free.points[-1].chosen) - 2
    asked: list[frozenset[str]] = []

    def fits(chosen: frozenset[str]) -> bool:
        asked.append(chosen)
        return len(chosen) <= most

    ready = Deadline(fits)
    bound = gain_curve(programme, Limits(), ready=ready)
    assert bound.whole
    assert ready.late
    assert all(len(late) == most + 1 for late in ready.late)
    assert all(len(one.chosen) <= most for one in bound.points)
    assert bound.points[-1].gain_pence < free.points[-1].gain_pence
    for one in bound.points:
        best = programme.solve(Limits(one.money_pence), ready=Deadline(lambda chosen: len(chosen) <= most))
        assert best.chosen is not None
        assert programme.gain(best.chosen) == one.gain_pence
    kept = [one for one in free.points if len(one.chosen) <= most]
    assert set(kept) <= set(bound.points)


def test_many_points_are_thinned_and_told() -> None:
    programme = several(0, (5, 6, 7))
    whole, few = gain_curve(programme, Limits()), gain_curve(programme, Limits(), most_points=5)
    assert len(whole.points) > 5 == len(few.points)
    assert whole.whole
    assert not few.whole
    assert set(few.points) <= set(whole.points)
    assert (few.points[0], few.points[-1]) == (whole.points[0], whole.points[-1])


def test_a_budget_at_which_the_best_is_not_found_in_time_is_passed_over(monkeypatch: pytest.MonkeyPatch) -> None:
    programme = several(3, (5, 6))
    most = len(gain_curve(programme, Limits()).points[-1].chosen) - 2
    ready = Deadline(lambda chosen: len(chosen) <= most)
    whole = gain_curve(programme, Limits(), ready=ready)
    solve = Programme.solve

    def slow(self: Programme, limits: Limits, **more: Any) -> Solved:
        found = solve(self, limits, **more)
        return found if limits.money_pence is not None and limits.money_pence % 3 else replace(found, proved=False)

    monkeypatch.setattr(Programme, "solve", slow)
    part = gain_curve(programme, Limits(), ready=ready)
    assert not part.whole
    assert part.points
    # What it has gains as much as anything at its money, though it may not be where it first comes within reach.
    for one in part.points:
        reached = whole.within(one.money_pence)
        assert reached is not None
        assert reached.gain_pence == one.gain_pence
