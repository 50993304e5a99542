"""What pays, held against published knapsacks, another solver and trying every set; and what each left out is told."""

from __future__ import annotations

import csv
import itertools
import math
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.prep.choice import choose, programme_of
from shutline.prep.curve import gain_curve
from shutline.prep.left_out import Why, Wishes
from shutline.prep.limits import Deadline, Limits
from shutline.prep.model import Labour, Range, Task, Worse
from shutline.prep.outlay import Outlay
from shutline.prep.outlay import outlays as outlays_of
from shutline.prep.worth import Worth

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))
from prep_cases import Case, by_scip, job, outlays, task, worth

PUBLISHED = Path(__file__).parents[1] / "published/knapsack_01.csv"


def knapsacks() -> list[dict[str, str]]:
    with PUBLISHED.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", knapsacks(), ids=lambda row: row["id"])
def test_published_knapsacks_come_out_at_their_optimum(row: dict[str, str]) -> None:
    weights, profits = ([int(one) for one in row[name].split()] for name in ("weights", "profits"))
    tasks = [task(f"t{at:02}") for at in range(len(weights))]
    ids = [one.id for one in tasks]
    found = choose(
        tasks,
        outlays(dict(zip(ids, weights, strict=True))),
        {f"finding_{one}": worth(w + p) for one, w, p in zip(ids, weights, profits, strict=True)},
        limits=Limits(money_pence=int(row["capacity"])),
    )
    assert found.gain_pence == int(row["optimum"])
    assert found.gap_pence == 0
    assert found.money_pence <= int(row["capacity"])


@pytest.mark.slow
def test_random_cars_come_out_as_another_solver_has_them() -> None:
    feasible = 0
    for seed in range(48):
        case = Case(seed, 8 + seed % 12)
        ours, theirs = case.choose(), by_scip(case)
        assert bool(ours.in_the_way) == (theirs is None), seed
        if theirs is not None:
            feasible += 1
            assert ours.gain_pence == theirs, seed
            assert ours.gap_pence == 0
            assert case.allowed(frozenset(ours.chosen)), seed
            assert case.gain(frozenset(ours.chosen)) == ours.gain_pence
    assert feasible > 24


def test_the_best_of_all_sets_is_chosen() -> None:
    for seed in range(300, 312):
        case = Case(seed, 9)
        limits = Limits(int(np.random.default_rng(seed).integers(3000, 30000)))
        found = case.choose(limits=limits)
        gains = [case.gain(one) for one in case.sets() if case.allowed(one, limits)]
        assert bool(found.in_the_way) == (not gains)
        if gains:
            assert found.gain_pence == max(gains), seed
            assert case.allowed(frozenset(found.chosen), limits)


def test_the_order_of_the_tasks_changes_nothing() -> None:
    for seed in range(6):
        case = Case(seed, 14)
        first = case.choose()
        case.tasks = [case.tasks[at] for at in np.random.default_rng(seed).permutation(14)]
        assert case.choose() == first


def test_of_equal_gains_fewer_and_earlier_tasks_are_chosen() -> None:
    tasks = [task(one) for one in ("d", "b", "a", "c")]
    found = choose(
        tasks,
        outlays(dict.fromkeys("abcd", 500)),
        {f"finding_{one}": worth(700) for one in "abcd"},
        limits=Limits(money_pence=1000),
    )
    assert found.chosen == ("a", "b")
    both = [task("one", "f", "g"), task("two", "f"), task("three", "g")]
    costs = outlays({"one": 1000, "two": 500, "three": 500})
    assert choose(both, costs, {"f": worth(900), "g": worth(900)}).chosen == ("one",)


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000), more=st.integers(1, 30_000))
def test_adding_budget_never_lowers_the_gain(seed: int, more: int) -> None:
    case = Case(seed, 8)
    low = case.choose(limits=Limits(9000))
    high = case.choose(limits=Limits(9000 + more))
    assert high.in_the_way == () or low.in_the_way
    if not low.in_the_way:
        assert high.gain_pence >= low.gain_pence


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_a_must_is_always_in_or_what_is_in_the_way_is_told(seed: int) -> None:
    case = Case(seed, 8)
    found = case.choose()
    cured = {finding for one in case.tasks if one.id in found.chosen for finding in one.findings}
    if found.in_the_way:
        assert found.chosen == ()
        assert not any(case.allowed(one) for one in case.sets())
        assert all(one.what and one.words for one in found.in_the_way)
    else:
        assert case.must_tasks() <= set(found.chosen)
        assert case.must_findings() <= cured


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000), at=st.integers(0, 7))
def test_removing_a_finding_never_adds_to_what_must_be_spent(seed: int, at: int) -> None:
    case = Case(seed, 8)
    nothing = {finding: worth(0) for finding in case.worths}
    before = choose(case.tasks, case.outlays, nothing)
    gone = f"f{at}"
    kept = [one for one in case.tasks if gone not in one.findings or len(one.findings) > 1]
    fewer = [
        Task(one.id, one.job, tuple(f for f in one.findings if f != gone), one.must, "", heard_only=False)
        for one in kept
    ]
    after = choose(fewer, case.outlays, nothing)
    assert after.cost_pence <= before.cost_pence


def test_each_left_out_is_told_why() -> None:
    paint = job("respray")
    tasks = [
        *(task("brakes", must="safety"), task("polish", "fade"), task("repaint", "fade"), task("hubcaps")),
        *(task("carpet"), task("radio"), task("seat"), task("dash"), task("door", of=paint), task("wing", of=paint)),
    ]
    costs: dict[str, int | Outlay] = dict.fromkeys((one.id for one in tasks), 1000)
    costs |= {
        "repaint": 5000,
        "carpet": Outlay(100, {"trim": 300}),
        "hubcaps": 4000,
        "seat": Outlay(100, {}, "ramp", 3.0),
    }
    gains = {"finding_brakes": 0, "fade": 3000, "finding_hubcaps": 50, "finding_carpet": 5000, "finding_radio": 9000}
    gains |= {"finding_seat": 8000, "finding_dash": 2500, "finding_door": 2000, "finding_wing": 2000}
    found = choose(
        tasks,
        outlays(costs, {"respray": 1500}),
        {finding: worth(pence) for finding, pence in gains.items()},
        limits=Limits(3100, minutes={"trim": 240}, bay_days={"ramp": 2.0}),
        wishes=Wishes(refused={"radio": "stays as it was made"}),
    )
    assert found.chosen == ("brakes", "dash", "polish")
    why = {one.task: one.why for one in found.left}
    assert why == {
        "carpet": Why.NO_TIME,
        "door": Why.NO_MONEY,
        "hubcaps": Why.DOES_NOT_PAY,
        "radio": Why.REFUSED,
        "repaint": Why.OTHER_CURE,
        "seat": Why.NO_BAY,
        "wing": Why.NO_MONEY,
    }
    words = {one.task: one.words for one in found.left}
    assert words["carpet"] == "with what is chosen it would take 5.0 hours of trim of 4.0 hours of trim"
    assert words["hubcaps"] == "it would lose about £40"
    assert words["radio"] == "stays as it was made"


def test_what_a_must_has_the_place_of_is_told_so() -> None:
    tasks = [task("patch", "hole"), task("renew", "hole", "dent")]
    found = choose(
        tasks,
        outlays({"patch": 100, "renew": 100}),
        {"hole": worth(500), "dent": worth(900)},
        wishes=Wishes(musts={"patch": "promised"}),
    )
    assert found.chosen == ("patch",)
    assert [(one.task, one.why, one.words) for one in found.left] == [
        ("renew", Why.OTHER_CURE, "patch, which is a must, has its place")
    ]


def test_what_stays_is_told_with_what_it_costs_in_a_range() -> None:
    knocked = {
        "finding_a": Worth(Range(10.0, 20.0, 60.0), "table:x"),
        "finding_b": Worth(Range(1.0, 2.0, 3.0), "table:y"),
    }
    found = choose([task("a"), task("b"), task("c")], outlays({"a": 9000, "b": 100, "c": 100}), knocked)
    assert found.chosen == ("b",)
    assert [(one.finding, one.worth) for one in found.disclosed] == [
        ("finding_a", knocked["finding_a"]),
        ("finding_c", None),
    ]
    assert found.disclosed_pounds == Range(10.0, 20.0, 60.0)


def test_what_is_in_the_way_of_the_musts_is_named() -> None:
    tasks = [task("brakes", must="safety"), task("weld", must="roadworthiness"), task("trim")]
    costs = outlays({"brakes": Outlay(2000, {"mechanical": 120}), "weld": 3000, "trim": 10})
    limits = Limits(4000, minutes={"mechanical": 180})
    (one,) = choose(tasks, costs, {}, limits=limits).in_the_way
    assert (one.what, one.words) == ("money", "the musts take £50.00; allowed are £40.00")
    (one,) = choose(tasks, costs, {}, wishes=Wishes(refused={"weld": "no"})).in_the_way
    assert (one.what, one.words) == ("finding_weld", "it has to be cured, and every cure is refused: weld")
    both = choose(tasks, costs, {}, limits=Limits(4000, minutes={"mechanical": 60})).in_the_way
    assert [one.what for one in both] == ["money", "hours mechanical"]
    (one,) = choose(tasks, costs, {}, ready=Deadline(lambda chosen: len(chosen) < 2)).in_the_way
    assert one.what == "date"
    (one,) = choose(tasks, costs, {}, wishes=Wishes({"trim": "promised"}, {"trim": "no"})).in_the_way
    assert one.what == "trim"


def test_what_would_not_be_ready_is_left_out_and_as_much_as_can_is_kept() -> None:
    ids = "abcdef"
    days = {"a": 3, "b": 2, "c": 2, "d": 1, "e": 4, "f": 1}
    gains = {"a": 30, "b": 19, "c": 18, "d": 9, "e": 41, "f": 2}

    def ready(chosen: frozenset[str]) -> bool:
        return sum(days[one] for one in chosen) <= 5

    found = choose(
        [task(one) for one in ids],
        outlays(dict.fromkeys(ids, 0)),
        {f"finding_{one}": worth(gains[one]) for one in ids},
        ready=Deadline(ready),
    )
    best = max(
        sum(gains[one] for one in some)
        for size in range(7)
        for some in itertools.combinations(ids, size)
        if ready(frozenset(some))
    )
    assert found.gain_pence == best == 50
    assert {one.why for one in found.left} == {Why.NO_TIME}


def test_a_search_that_is_stopped_tells_its_gap() -> None:
    case = Case(5, 240, must_share=0.0)
    case.wishes = Wishes()
    limits = Limits(90_000, minutes={"paint": 1500, "trim": 900})
    found, best = case.choose(limits=limits, time_limit_s=0.01), case.choose(limits=limits)
    assert best.gap_pence == 0
    assert case.allowed(frozenset(found.chosen), limits)
    assert found.gap_pence is not None
    assert found.gap_pence >= best.gain_pence - found.gain_pence


def test_nothing_to_do_is_a_choice_too() -> None:
    assert choose([], outlays({}), {}).chosen == ()


def test_draws_of_other_costs_are_refused() -> None:
    with pytest.raises(ValueError, match="1 tasks and set-ups"):
        choose([task("a")], outlays({"a": 1}), {}, draws=np.zeros((2, 2)))


@pytest.mark.parametrize(
    ("wishes", "found"),
    [(Wishes({"x": "y"}), "'x'"), (Wishes(refused={"z": ""}), "'z'"), (Wishes(needs={"a": ("q",)}), "'q'")],
)
def test_a_wish_for_a_task_that_there_is_not_is_refused(wishes: Wishes, found: str) -> None:
    with pytest.raises(ValueError, match=found):
        programme_of([task("a")], outlays({"a": 1}), {}, wishes=wishes)


def test_what_a_task_takes_is_the_mean_of_draws() -> None:
    hours, rate, parts, factor = Range(1, 2, 5), Range(30, 40, 60), Range(10, 20, 90), Range(1.2, 1.5, 3)
    one = job(
        "weld",
        labour=(Labour("weld", hours, Range(0.5, 0.5, 0.5)),),
        materials=parts,
        outside=Range(0, 30, 60),
        worse=Worse(0.3, factor),
        bay="ramp",
        waits=12.0,
        holds_bay=True,
    )
    found = outlays_of([task("t", of=one)], {"weld": rate})

    def drawn(values: Range) -> np.ndarray:
        # scipy's beta with the shapes of PERT, as another way to the same distribution.
        from scipy import stats

        width = values.high - values.low
        a, b = 1 + 4 * (values.likely - values.low) / width, 1 + 4 * (values.high - values.likely) / width
        return np.asarray(stats.beta(a, b, values.low, width).rvs(400_000, random_state=rng))

    rng = np.random.default_rng(1)
    grown = np.where(rng.random(400_000) < 0.3, drawn(factor), 1.0)
    costs = 100 * (grown * (drawn(hours) * drawn(rate) + drawn(parts)) + drawn(Range(0, 30, 60)))
    assert found.tasks["t"].cost_pence == pytest.approx(costs.mean(), abs=4 * costs.std() / math.sqrt(400_000))
    assert found.setups["weld"].minutes == {"weld": 30}
    minutes = found.tasks["t"].minutes["weld"]
    assert found.tasks["t"].bay_days == pytest.approx(minutes / 60 / 8 + 0.5)


@pytest.mark.parametrize("minutes", [{}, {"paint": 150}])
def test_the_curve_has_every_budget_at_which_more_is_gained(minutes: dict[str, int]) -> None:
    steps = 0
    for seed in range(6):
        case = Case(seed, 8)
        programme = programme_of(case.tasks, case.outlays, case.worths, wishes=case.wishes)
        curve = gain_curve(programme, Limits(0, minutes=minutes))
        allowed = [one for one in case.sets() if case.allowed(one, Limits(minutes=minutes))]
        best: list[tuple[int, int]] = []
        for money, gain in sorted((programme.money(one, None), -case.gain(one)) for one in allowed):
            if not best or -gain > best[-1][1]:
                best.append((money, -gain))
        assert curve.whole
        assert [(one.money_pence, one.gain_pence) for one in curve.points] == best
        steps += len(best)
    assert steps > 10


def test_a_curve_that_is_broken_off_is_true_at_its_points() -> None:
    case = Case(21, 24)
    programme = programme_of(case.tasks, case.outlays, case.worths, wishes=Wishes())
    whole = gain_curve(programme, Limits(), most_points=1000, time_limit_s=100)
    part = gain_curve(programme, Limits(), most_points=12)
    assert whole.whole
    assert not part.whole
    assert set(part.points) <= set(whole.points)
    gains = [one.gain_pence for one in part.points]
    assert gains == sorted(set(gains))
