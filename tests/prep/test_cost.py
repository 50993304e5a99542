"""What tasks cost, held against closed forms, another's beta and a published table; and how sure the draws are."""

import csv
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from shutline.prep.cost import Cost, cost_of
from shutline.prep.draws import Drawing, quantiles, shape_of
from shutline.prep.model import NOUGHT, Cure, Job, Labour, Range, Task, Worse
from shutline.prep.outlay import pert_mean, pert_variance
from shutline.prep.tables import PrepTables, Trade, prep_tables
from shutline.prep.tasks import expected_total

PUBLISHED = Path(__file__).parents[1] / "published/pert_activities.csv"
HOUR = Range(10.0, 10.0, 10.0)
TABLES: PrepTables = replace(
    prep_tables(),
    trades={
        "own": Trade("own", "own", HOUR, taxed=False, source="test"),
        "bought": Trade("bought", "bought", HOUR, taxed=True, source="test"),
        "rated": Trade("rated", "rated", Range(8.0, 10.0, 18.0), taxed=False, source="test"),
    },
    vat_percent=20.0,
)


def fixed(value: float) -> Range:
    return Range(value, value, value)


def task(
    id_: str,
    *,
    hours: Range = NOUGHT,
    setup: Range = NOUGHT,
    trade: str = "own",
    materials: Range = NOUGHT,
    outside: Range = NOUGHT,
    worse: Worse | None = None,
    cause: str = "",
    count: int = 1,
    job: str = "",
) -> Task:
    made = Job(
        *(job or id_, job or id_, (Cure((), ("dent",), ()),), (Labour(trade, hours, setup),), materials, outside),
        *(False, (), 0.0, False, "", worse, cause, (), "test"),
    )
    return Task(id_, made, (f"finding {id_}",), must="", wished="", heard_only=False, count=count)


def cost(*tasks: Task, draws: int = 10_000, seed: int = 1) -> Cost:
    return cost_of(tasks, tables=TABLES, draws=draws, seed=seed)


ranges = st.lists(st.floats(0.0, 100.0), min_size=3, max_size=3).map(lambda three: Range(*sorted(three)))
wide = ranges.filter(lambda one: one.high - one.low > 0.1)


def test_expected_times_are_those_of_a_published_table() -> None:
    with PUBLISHED.open(encoding="utf-8", newline="") as file:
        rows = [{name: float(value) for name, value in row.items()} for row in csv.DictReader(file)]
    assert len(rows) == 9
    for row in rows:
        values = Range(row["low"], row["likely"], row["high"])
        assert pert_mean(values) == row["mean"]
        # The table prints the rule of thumb; ours is the variance of the beta itself.
        assert ((values.high - values.low) / 6) ** 2 == pytest.approx(row["classic_variance"], abs=0.005)
        assert 0.71 < pert_variance(values) / ((values.high - values.low) / 6) ** 2 < 1.29


def test_the_rule_of_thumb_is_exact_for_the_betas_it_is_known_to_be_exact_for() -> None:
    # Littlefield and Randolph, Management Science 33 (1987), from memory: 3 - sqrt 2 and 3 + sqrt 2.
    values = Range(0.0, (2 - math.sqrt(2)) / 4, 1.0)
    assert shape_of(values) == pytest.approx((3 - math.sqrt(2), 3 + math.sqrt(2)))
    assert pert_variance(values) == pytest.approx(1 / 36)


@settings(max_examples=100, deadline=None)
@given(wide)
def test_mean_and_variance_of_a_range_are_those_of_the_beta_of_another_library(values: Range) -> None:
    other = stats.beta(*shape_of(values), loc=values.low, scale=values.high - values.low)
    assert other.mean() == pytest.approx(pert_mean(values))
    assert other.var() == pytest.approx(pert_variance(values))


@settings(max_examples=25, deadline=None)
@given(wide, st.integers(0, 10**6))
def test_one_task_has_the_quantiles_of_its_beta(values: Range, seed: int) -> None:
    found = cost(task("a", materials=values), seed=seed)
    other = stats.beta(*shape_of(values), loc=values.low, scale=values.high - values.low)
    for share, told, error in (
        (0.05, found.total.p05, found.errors.p05),
        (0.5, found.total.p50, found.errors.p50),
        (0.95, found.total.p95, found.errors.p95),
    ):
        assert abs(other.ppf(share) - told) < 5.5 * error + 1e-9
    assert abs(other.mean() - found.total.mean) < 5 * found.errors.mean


@settings(max_examples=30, deadline=None)
@given(wide)
def test_quantiles_between_knots_are_never_further_off_than_a_knot(values: Range) -> None:
    at = np.random.default_rng(1).random(2000)
    true = stats.beta(*shape_of(values)).ppf(at)
    assert np.abs(quantiles(*shape_of(values), at) - true).max() <= 1 / 1024
    assert quantiles(*shape_of(values), at).mean() == pytest.approx(true.mean(), abs=1e-5)


def test_a_whole_draw_passes_the_test_of_kolmogorov_and_smirnov() -> None:
    values = Range(2.0, 3.0, 9.0)
    drawn = Drawing(TABLES, draws=20_000, seed=4).task(task("a", materials=values)).cost
    assert stats.kstest(drawn, stats.beta(*shape_of(values), loc=2.0, scale=7.0).cdf).pvalue > 0.001


def test_a_sum_has_the_mean_and_the_variance_of_independent_betas() -> None:
    several = [Range(at, 2 * at + 1.0, 5 * at + 9.0) for at in range(12)]
    tasks = [task(f"t{at:02}", materials=one) for at, one in enumerate(several)]
    found = cost(*tasks, draws=100_000)
    mean, variance = sum(map(pert_mean, several)), sum(map(pert_variance, several))
    assert found.total.mean == pytest.approx(mean, abs=4 * math.sqrt(variance / 100_000))
    assert found.errors.mean == pytest.approx(math.sqrt(variance / 100_000), rel=0.02)
    # Parts of the variance are those of the closed form, for independent tasks.
    parts = {one.task: one.doubt for one in found.tasks}
    for at, one in enumerate(several):
        assert parts[f"t{at:02}"] == pytest.approx(pert_variance(one) / variance, abs=0.02)


def test_many_tasks_come_near_the_normal_curve() -> None:
    one = Range(1.0, 2.0, 4.0)
    found = cost(*(task(f"t{at:03}", materials=one) for at in range(200)), draws=40_000)
    normal = stats.norm(200 * pert_mean(one), math.sqrt(200 * pert_variance(one)))
    for share, told in ((0.05, found.total.p05), (0.5, found.total.p50), (0.95, found.total.p95)):
        assert (told - normal.ppf(share)) / normal.std() == pytest.approx(0.0, abs=0.04)


def test_opening_hours_rates_and_set_up_come_together_as_on_paper() -> None:
    first = task(
        "a",
        hours=Range(1, 2, 6),
        setup=Range(1, 1, 4),
        trade="rated",
        materials=Range(5, 20, 60),
        worse=Worse(0.4, Range(1.5, 2, 5)),
        job="j",
    )
    tasks = (first, replace(first, id="b", count=3))
    found = cost(*tasks, draws=200_000)
    assert abs(found.total.mean - expected_total(tasks, TABLES.rates)) < 4 * found.errors.mean


def test_set_up_is_counted_once_and_shared_alike() -> None:
    tasks = [task(f"t{at}", hours=fixed(1.0), setup=fixed(2.0), job="polish") for at in range(4)]
    found = cost(*tasks)
    assert found.total.mean == pytest.approx(10 * (4 * 1.0 + 2.0))
    assert found.total.p05 == found.total.p95 == pytest.approx(60.0)
    assert {one.cost.mean for one in found.tasks} == {15.0}
    assert found.hours["own"].mean == pytest.approx(6.0)
    assert found.draws_enough == 0


def test_tax_is_kept_apart_and_goes_on_what_is_bought_in() -> None:
    own = task("a", hours=fixed(3.0), materials=fixed(50.0), outside=fixed(100.0))
    bought = task("b", hours=fixed(2.0), trade="bought")
    found = cost(own, bought)
    assert found.total.mean == pytest.approx(30 + 50 + 100 + 20)
    assert found.vat.mean == pytest.approx(0.2 * (50 + 100 + 20))
    assert found.with_vat.mean == pytest.approx(200 + 34)


def test_a_task_at_two_places_takes_everything_but_the_set_up_twice() -> None:
    one = task("a", hours=fixed(1.0), setup=fixed(1.0), materials=fixed(5.0), outside=fixed(7.0))
    assert cost(one).total.mean == pytest.approx(32.0)
    assert cost(replace(one, count=2)).total.mean == pytest.approx(54.0)


def test_tasks_of_one_cause_are_found_worse_together() -> None:
    chances = (0.2, 0.5, 0.8)
    tasks = [task(f"t{c}", materials=fixed(10.0), worse=Worse(c, Range(2, 3, 6)), cause="rust") for c in chances]
    drawing = Drawing(TABLES, draws=20_000, seed=3)
    drawn = [drawing.task(one) for one in tasks]
    worse = [one.worse for one in drawn]
    assert worse[0] is not None and worse[1] is not None and worse[2] is not None  # noqa: PT018
    assert not (worse[0] & ~worse[1]).any()
    assert not (worse[1] & ~worse[2]).any()
    for one, chance in zip(worse, chances, strict=True):
        assert one.mean() == pytest.approx(chance, abs=4 * math.sqrt(chance * (1 - chance) / 20_000))
    both = worse[0]
    assert stats.spearmanr(drawn[0].cost[both], drawn[1].cost[both]).statistic > 0.99
    apart = [replace(one, job=replace(one.job, cause="")) for one in tasks]
    together, alone = cost(*tasks), cost(*apart)
    assert together.total.mean == pytest.approx(alone.total.mean, rel=0.02)
    assert together.total.p95 > alone.total.p95
    assert together.errors.mean > 1.2 * alone.errors.mean


def test_what_is_found_on_opening_has_the_factor_of_its_range() -> None:
    factor = Range(2.0, 3.0, 6.0)
    drawn = Drawing(TABLES, draws=50_000, seed=3).task(
        task("a", materials=fixed(1.0), worse=Worse(0.5, factor), cause="x")
    )
    assert drawn.worse is not None
    assert set(drawn.cost[~drawn.worse]) == {1.0}
    assert stats.kstest(drawn.cost[drawn.worse], stats.beta(*shape_of(factor), loc=2, scale=4).cdf).pvalue > 0.001


@settings(max_examples=25, deadline=None)
@given(st.lists(ranges, min_size=1, max_size=6), st.integers(0, 10**6), st.randoms())
def test_seed_and_order_alone_decide_nothing_else(several: list[Range], seed: int, shuffled) -> None:  # type: ignore[no-untyped-def]
    tasks = [
        task(f"t{at}", hours=one, setup=one, worse=Worse(0.5, Range(1, 2, 3)), cause="c")
        for at, one in enumerate(several)
    ]
    found = cost(*tasks, draws=500, seed=seed)
    shuffled.shuffle(tasks)
    assert cost(*tasks, draws=500, seed=seed) == found


@settings(max_examples=25, deadline=None)
@given(st.lists(ranges, min_size=2, max_size=6), st.integers(0, 5))
def test_leaving_a_task_out_never_adds_cost_in_any_draw(several: list[Range], gone: int) -> None:
    worse = Worse(0.5, Range(1, 2, 3))
    tasks = [
        task(f"t{at}", hours=several[at % 2], setup=several[-1], worse=worse, cause="c", job=f"j{at % 2}")
        for at in range(len(several))
    ]
    every, fewer = (
        cost(*tasks, draws=500),
        cost(*(one for at, one in enumerate(tasks) if at != gone % len(tasks)), draws=500),
    )
    for name in ("mean", "p05", "p50", "p95"):
        assert getattr(fewer.total, name) <= getattr(every.total, name) + 1e-9


def test_another_seed_gives_other_draws() -> None:
    one = task("a", materials=Range(1, 2, 5))
    assert cost(one, seed=1) != cost(one, seed=2)


def test_shares_and_doubts_add_up_to_one() -> None:
    found = cost(
        *(
            task(f"t{at}", hours=Range(1, at + 1, 9), trade="rated", worse=Worse(0.3, Range(1, 2, 4)), cause="c")
            for at in range(6)
        )
    )
    assert sum(one.share for one in found.tasks) == pytest.approx(1.0)
    assert sum(one.doubt for one in found.tasks) == pytest.approx(1.0)
    assert [one.doubt for one in found.tasks] == sorted((one.doubt for one in found.tasks), reverse=True)


@pytest.mark.slow
def test_the_errors_told_are_those_of_answers_with_other_seeds() -> None:
    tasks = [task(f"t{at}", hours=Range(1, 2, 8), worse=Worse(0.4, Range(1, 2, 6)), cause="rust") for at in range(15)]
    found = [cost(*tasks, draws=1000, seed=seed) for seed in range(150)]
    for name in ("mean", "p05", "p50", "p95"):
        scatter = np.std([getattr(one.total, name) for one in found], ddof=1)
        told = np.sqrt(np.mean([getattr(one.errors, name) ** 2 for one in found]))
        assert told / scatter == pytest.approx(1.0, abs=0.2), name


def test_four_times_the_draws_halve_the_error_and_enough_are_enough() -> None:
    tasks = [task(f"t{at}", hours=Range(1, 2, 8), worse=Worse(0.4, Range(1, 2, 6)), cause="rust") for at in range(15)]
    few, many = cost(*tasks, draws=5000), cost(*tasks, draws=20_000)
    assert few.errors.mean / many.errors.mean == pytest.approx(2.0, rel=0.05)
    enough = cost(*tasks, draws=few.draws_enough)
    figures = [(enough.total.mean, enough.errors.mean), (enough.total.p95, enough.errors.p95)]
    assert all(error / figure < 0.013 for figure, error in figures)
    assert few.draws_enough == pytest.approx(many.draws_enough, rel=0.5)


def test_nothing_to_do_costs_nothing() -> None:
    found = cost()
    assert found.total.mean == found.with_vat.p95 == 0.0
    assert found.tasks == ()


@pytest.mark.parametrize(("draws", "seed"), [(99, 1), (1_000_001, 1), (1000, -1)])
def test_too_few_draws_and_no_seed_are_refused(draws: int, seed: int) -> None:
    with pytest.raises(ValueError, match="draws with seed"):
        cost(task("a"), draws=draws, seed=seed)


def test_two_tasks_and_two_jobs_of_one_id_are_refused() -> None:
    with pytest.raises(ValueError, match="two tasks"):
        cost(task("a"), task("a"))
    with pytest.raises(ValueError, match="two jobs"):
        cost(task("a", job="j"), task("b", job="j", cause="rust"))
