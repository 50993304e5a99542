"""A budget that is kept to with some chance, held against trying every set over the same draws."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.prep.choice import choose, programme_of
from shutline.prep.curve import Curve
from shutline.prep.left_out import Why, Wishes
from shutline.prep.limits import Deadline, Limits
from shutline.prep.programme import Programme
from shutline.prep.sure import best_of, sure_curve

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))
from prep_cases import Case, outlays, task, worth

QUANTILE = 0.9


def programme_for(case: Case) -> Programme:
    return programme_of(case.tasks, case.outlays, case.worths, wishes=case.wishes, draws=case.draws)


def test_the_best_of_all_sets_over_the_same_draws_is_found_but_for_a_few() -> None:
    # Counted here: the sum within which so many draws stay, by sorting them; every allowed set, by itself.
    same = tried = 0
    for seed in range(40):
        case = Case(seed, 8)
        allowed = [one for one in case.sets() if case.allowed(one, Limits())]
        if not allowed:
            continue
        sums = {one: float(np.sort(case.costs(one))[round(QUANTILE * case.draws.shape[1]) - 1]) for one in allowed}
        line = sure_curve(programme_for(case), Limits(quantile=QUANTILE))
        assert line.whole
        low, high = min(sums.values()), max(sums[max(allowed, key=case.gain)], min(sums.values()) + 1)
        for budget in np.linspace(low + 1, high + 1, 8):
            point = line.within(int(budget))
            best = max(case.gain(one) for one in allowed if sums[one] <= int(budget))
            tried += 1
            assert point is not None
            assert sums[frozenset(point.chosen)] <= point.money_pence <= int(budget)
            assert point.gain_pence == case.gain(frozenset(point.chosen)) <= best
            same += point.gain_pence == best
    assert tried > 200
    assert same / tried > 0.98


@settings(max_examples=12, deadline=None)
@given(seed=st.integers(0, 10_000), more=st.integers(0, 30_000), quantile=st.sampled_from([0.5, 0.8, 0.95]))
def test_more_money_never_gains_less_and_a_must_is_in_or_told(seed: int, more: int, quantile: float) -> None:
    case = Case(seed, 8)
    low = case.choose(limits=Limits(12_000, quantile))
    high = case.choose(limits=Limits(12_000 + more, quantile))
    assert high.in_the_way == () or low.in_the_way
    for found, budget in ((low, 12_000), (high, 12_000 + more)):
        if found.in_the_way:
            assert found.chosen == ()
        else:
            assert case.allowed(frozenset(found.chosen), Limits(budget, quantile))
            assert found.money_pence <= budget
            assert case.must_tasks() <= set(found.chosen)
    if not low.in_the_way:
        assert high.gain_pence >= low.gain_pence


def test_to_be_surer_takes_more_money_for_the_same_set() -> None:
    programme = programme_for(Case(3, 12))
    chosen = frozenset(sorted(programme.by_id)[:5])
    sums = [programme.money(chosen, one) for one in (0.5, 0.8, 0.9, 0.95, 0.99)]
    assert sums == sorted(set(sums))
    drawn = programme.drawn(chosen)
    for share, most in zip((0.5, 0.8, 0.9, 0.95, 0.99), sums, strict=True):
        assert np.mean(drawn <= most) >= share > np.mean(drawn <= most - 2)


def test_what_is_dear_together_is_left_where_the_budget_must_hold() -> None:
    # Two rusty jobs are dear at once or not at all; two others take as much on average and never more.
    tasks = [task(one) for one in ("rust_a", "rust_b", "trim_a", "trim_b")]
    dear = np.where(np.arange(1000) % 5 == 0, 3000.0, 500.0)
    draws = np.array([dear, dear, np.full(1000, 1000.0), np.full(1000, 1000.0)])
    costs = outlays(dict.fromkeys(("rust_a", "rust_b", "trim_a", "trim_b"), 1000))
    gains = {"finding_rust_a": 2100, "finding_rust_b": 2100, "finding_trim_a": 2000, "finding_trim_b": 2000}
    worths = {finding: worth(pence) for finding, pence in gains.items()}
    expected = choose(tasks, costs, worths, limits=Limits(2000), draws=draws)
    sure = choose(tasks, costs, worths, limits=Limits(2000, 0.9), draws=draws)
    assert expected.chosen == ("rust_a", "rust_b")
    assert (sure.chosen, sure.money_pence, sure.gap_pence) == (("trim_a", "trim_b"), 2000, None)
    assert {one.why for one in sure.left} == {Why.NO_MONEY}
    assert {one.words for one in sure.left} == {"with what is chosen it would take £50.00 of £20.00"}


def test_musts_that_go_beyond_it_are_told_with_what_they_take() -> None:
    tasks = [task("brakes", must="safety"), task("trim")]
    draws = np.array([np.linspace(1000, 2000, 1001), np.full(1001, 100.0)])
    found = choose(tasks, outlays({"brakes": 1500, "trim": 100}), {}, limits=Limits(1800, 0.9), draws=draws)
    assert found.chosen == ()
    assert [(one.what, one.words) for one in found.in_the_way] == [
        ("money", "the musts take £19.00; allowed are £18.00")
    ]


def test_a_day_holds_too() -> None:
    case = Case(7, 8, must_share=0.0)
    case.wishes = Wishes()
    programme = programme_for(case)
    ready = Deadline(lambda chosen: len(chosen) < 3)
    line = sure_curve(programme, Limits(quantile=QUANTILE), ready=ready)
    assert line.whole
    assert max(len(one.chosen) for one in line.points) == 2
    best = max(case.gain(one) for one in case.sets() if len(one) < 3 and case.allowed(one, Limits()))
    assert line.points[-1].gain_pence == best


def test_without_draws_there_is_no_quantile() -> None:
    programme = replace(programme_for(Case(1, 6)), draws=None)
    with pytest.raises(ValueError, match="no draws"):
        sure_curve(programme, Limits(quantile=0.9))
    with pytest.raises(ValueError, match="a quantile is needed"):
        sure_curve(programme, Limits())
    assert best_of(programme, Limits(quantile=0.9)).proved
    empty = choose([], outlays({}), {}, limits=Limits(0, 0.9), draws=np.zeros((0, 100)))
    assert (empty.chosen, empty.in_the_way) == ((), ())
    assert Curve((), whole=True).within(None) is None
