"""Ranges move as the formulae say, not without data, and all the way with much of it."""

from __future__ import annotations

import math
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.prep.learning import (
    LearningSettings,
    Taken,
    accepted,
    distance_of,
    learn,
    learning_settings,
    log_centre,
    pooled_variance,
)
from shutline.prep.model import Labour, Range, Worse
from shutline.prep.outlay import pert_mean, pert_variance

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))
from prep_cases import job

HOURS = Range(1.0, 2.0, 4.0)
JOBS = {f"j{at}": job(f"j{at}", labour=(Labour("paint", HOURS, Range(1, 1, 1)),)) for at in range(8)}
BY = LearningSettings(usual_distance=0.2, least_distance=0.05, jobs_to_judge=5, width_count=8.0)


def test_nothing_done_moves_nothing() -> None:
    assert learn(JOBS, []).moved == ()
    assert accepted(JOBS, learn(JOBS, []).moved) == JOBS


def test_what_was_done_moves_its_own_range_alone_and_only_where_it_is_accepted() -> None:
    found = learn(JOBS, [Taken("j1", "paint", 6.0), Taken("j1", "paint", 5.0)])
    (one,) = found.moved
    assert one.before == HOURS
    assert one.after.likely > HOURS.likely
    new = accepted(JOBS, found.moved)
    assert new["j1"].labour[0].each == one.after
    assert new["j1"].labour[0].setup == Range(1, 1, 1)
    assert {id_: new[id_] for id_ in new if id_ != "j1"} == {id_: JOBS[id_] for id_ in JOBS if id_ != "j1"}


def test_the_middle_is_the_mean_of_its_distribution_given_what_was_done() -> None:
    # The posterior by numbers, with scipy: prior about the table, likelihood of each task.
    from scipy import integrate, stats

    hours = [3.0, 4.5, 2.5]
    found = learn(JOBS, [Taken("j0", "paint", one) for one in hours], settings=BY)
    (one,) = found.moved
    centre, width = log_centre(HOURS)
    logs = np.log(hours)
    scatter = (8.0 * width + float(((logs - logs.mean()) ** 2).sum())) / (8.0 + 2)
    assert found.scatter == pytest.approx(math.sqrt(scatter))

    def density(middle: float) -> float:
        return float(stats.norm(centre, 0.2).pdf(middle) * np.prod(stats.norm(middle, math.sqrt(scatter)).pdf(logs)))

    whole = integrate.quad(density, centre - 3, centre + 3, points=[float(logs.mean())])[0]
    mean = integrate.quad(lambda m: m * density(m), centre - 3, centre + 3, points=[float(logs.mean())])[0] / whole
    assert centre + one.weight * (float(logs.mean()) - centre) == pytest.approx(mean, abs=1e-8)
    assert one.table_count == pytest.approx(scatter / 0.2**2)
    new_width = scatter  # one job alone: its own width moves as the pooled one does
    assert pert_mean(one.after) == pytest.approx(math.exp(mean + new_width / 2))


def test_the_scatter_is_that_of_a_regression_on_the_jobs() -> None:
    # Without a prior the pooled variance is the mean square of residuals of statsmodels' least squares on the jobs.
    from statsmodels.regression.linear_model import OLS

    rng = np.random.default_rng(2)
    groups = [rng.normal(at, 0.4, size=3 + at) for at in range(5)]
    seen = [(float(((one - one.mean()) ** 2).sum()), len(one)) for one in groups]
    dummies = np.repeat(np.eye(5), [len(one) for one in groups], axis=0)
    fit = OLS(np.concatenate(groups), dummies).fit()
    assert pooled_variance([1.0] * 5, seen, 0.0) == pytest.approx(fit.mse_resid, rel=1e-12)


def test_the_distance_of_equal_counts_has_a_closed_form() -> None:
    gaps = [0.5, -0.3, 0.2, 0.6, -0.7, 0.1]
    found = distance_of([(gap, 4) for gap in gaps], 0.08, BY)
    assert found == pytest.approx(sum(gap**2 for gap in gaps) / 6 - 0.08 / 4, rel=1e-9)


def test_the_distance_is_that_of_a_meta_analysis_about_its_mean() -> None:
    # statsmodels has Paule and Mandel about an estimated mean, with one degree of freedom fewer. About the mean that it
    # finds, and asked for as many, ours has the same root.
    from scipy import optimize
    from statsmodels.stats.meta_analysis import combine_effects

    gaps = np.array([0.5, -0.3, 0.2, 0.6, -0.7, 0.1, 0.4])
    counts = np.array([2, 5, 3, 9, 4, 2, 6])
    theirs = combine_effects(gaps, 0.08 / counts, method_re="iterated", use_t=False)
    mean = float(theirs.mean_effect_re)

    def about(distance: float) -> float:
        return float((((gaps - mean) ** 2) / (0.08 / counts + distance)).sum()) - 6

    assert optimize.brentq(about, 1e-6, 2.0) == pytest.approx(float(theirs.tau2), rel=1e-4)
    ours = distance_of(list(zip((gaps - mean).tolist(), counts.tolist(), strict=True)), 0.08, BY)
    root = optimize.brentq(lambda d: about(d) - 1, 1e-6, 2.0)
    assert ours == pytest.approx(root, rel=1e-9)


def test_few_jobs_go_by_the_usual_distance_and_none_is_below_the_least() -> None:
    assert distance_of([(2.0, 3)] * 4, 0.1, BY) == pytest.approx(0.04)
    assert distance_of([(0.0, 3)] * 9, 0.1, BY) == pytest.approx(0.0025)


def test_much_work_brings_a_range_to_its_mean() -> None:
    rng = np.random.default_rng(3)
    hours = np.exp(rng.normal(math.log(5.0), 0.3, size=4000))
    (one,) = learn(JOBS, [Taken("j0", "paint", float(each)) for each in hours]).moved
    assert one.weight > 0.99
    assert pert_mean(one.after) == pytest.approx(hours.mean(), rel=0.02)
    (same,) = learn(JOBS, [Taken("j0", "paint", 3.0)] * 20_000).moved
    assert pert_mean(same.after) == pytest.approx(3.0, rel=0.002)
    assert pert_variance(same.after) < 0.01 * pert_variance(HOURS)


def test_a_job_that_is_worse_on_opening_is_compared_with_what_is_expected_of_it() -> None:
    worse = {"w": job("w", labour=(Labour("weld", HOURS),), worse=Worse(0.5, Range(3, 3, 3)))}
    (one,) = learn(worse, [Taken("w", "weld", 2.0 * math.exp(log_centre(HOURS)[0]))]).moved
    assert one.after.likely == pytest.approx(HOURS.likely, rel=0.03)


@given(hours=st.lists(st.tuples(st.integers(0, 7), st.floats(0.1, 50)), min_size=1, max_size=30), data=st.data())
def test_the_order_of_what_was_done_changes_nothing(hours: list[tuple[int, float]], data: st.DataObject) -> None:
    taken = [Taken(f"j{at}", "paint", much) for at, much in hours]
    found = learn(JOBS, taken)
    assert learn(JOBS, data.draw(st.permutations(taken))) == found
    for one in found.moved:
        assert 0 < one.weight < 1
        assert 0 < one.after.low <= one.after.likely <= one.after.high
        centre = math.exp(log_centre(HOURS)[0])
        middle = centre ** (1 - one.weight) * one.middle_hours**one.weight
        assert min(centre, one.middle_hours) <= middle * 1.000001
        assert middle <= max(centre, one.middle_hours) * 1.000001


@given(factor=st.floats(0.3, 3))
def test_longer_work_makes_longer_ranges(factor: float) -> None:
    def likely(by: float) -> float:
        return learn(JOBS, [Taken("j0", "paint", 2.0 * by), Taken("j0", "paint", 2.5 * by)]).moved[0].after.likely

    assert likely(factor * 1.1) > likely(factor)


FEW = st.lists(st.tuples(st.integers(0, 7), st.floats(0.1, 50)), min_size=1, max_size=12)


@given(first=FEW, later=FEW)
def test_hours_that_were_accepted_do_not_count_again(
    first: list[tuple[int, float]], later: list[tuple[int, float]]
) -> None:
    some, more = ([Taken(f"j{at}", "paint", much) for at, much in hours] for hours in (first, later))
    once = accepted(JOBS, learn(JOBS, some).moved)
    # With the same hours again nothing moves any more.
    assert all(one.after == one.before for one in learn(once, some).moved)
    # With more of them a range is what it would be if all had been accepted together.
    step_by_step = accepted(once, learn(once, some + more).moved)
    assert step_by_step == accepted(JOBS, learn(JOBS, some + more).moved)


def test_what_tells_nothing_is_named() -> None:
    found = learn(JOBS, [Taken("x", "paint", 1.0), Taken("j0", "trim", 1.0), Taken("j0", "paint", 0.0)])
    assert found.moved == ()
    assert found.left == (
        "j0, paint: 0 hours tell nothing",
        "j0, trim: no such work in the tables",
        "x, paint: no such work in the tables",
    )


def test_a_move_is_told_in_words() -> None:
    (one,) = learn(JOBS, [Taken("j0", "paint", 6.0)], settings=BY).moved
    assert one.told().startswith("paint: 1.0, 2.0, 4.0 hours become ")
    assert one.told().endswith(f"1 done in 6.0 hours weigh {one.weight:.0%}, the table counts as {one.table_count:.1f}")


def test_the_shipped_settings_are_read() -> None:
    assert learning_settings() == BY
