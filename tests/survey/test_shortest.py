"""The walk held against an exact solver (HiGHS, by scipy) and against a plain search that tries everything."""

from __future__ import annotations

import heapq
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from shutline.survey.shortest import Job, Walk, shortest_walk


def places(rng: random.Random, count: int) -> list[list[int]]:
    points = [(rng.randrange(60), rng.randrange(60)) for _ in range(count)]
    return [[abs(a - c) + abs(b - d) for c, d in points] for a, b in points]


def length(found: Walk, walk: list[list[int]], enter: list[int], start: int) -> int:
    total, here = 0, start
    for station, _ in found.visits:
        total += walk[here][station] + enter[station]
        here = station
    return total


def by_milp(walk: list[list[int]], enter: list[int], after: dict[int, set[int]]) -> int:
    """Solve it as an open tour with an order: Miller, Tucker and Zemlin's formulation (1960), start at station 0."""
    count = len(walk)
    arcs = [(i, j) for i in range(count) for j in range(1, count) if i != j]
    number = len(arcs)
    cost = np.zeros(number + count)
    cost[:number] = [walk[i][j] + enter[j] for i, j in arcs]
    rows: list[np.ndarray] = []
    low: list[float] = []
    high: list[float] = []

    def hold(entries: dict[int, float], least: float, most: float) -> None:
        row = np.zeros(number + count)
        for place, value in entries.items():
            row[place] = value
        rows.append(row)
        low.append(least)
        high.append(most)

    for one in range(1, count):
        hold({n: 1.0 for n, (_, j) in enumerate(arcs) if j == one}, 1, 1)
    for one in range(count):
        hold({n: 1.0 for n, (i, _) in enumerate(arcs) if i == one}, 0, 1)
    for n, (i, j) in enumerate(arcs):
        hold({number + j: 1.0, number + i: -1.0, n: -float(count)}, 1 - count, np.inf)
    for one, before in after.items():
        for other in before:
            hold({number + one: 1.0, number + other: -1.0}, 1, np.inf)
    bounds = Bounds(np.zeros(number + count), np.r_[np.ones(number), 0.0, np.full(count - 1, count - 1.0)])
    integers = np.r_[np.ones(number), np.zeros(count)]
    found = milp(cost, constraints=LinearConstraint(np.array(rows), low, high), bounds=bounds, integrality=integers)
    assert found.success, found.message
    return round(found.fun)


def by_trying(walk: list[list[int]], enter: list[int], jobs: list[Job], start: int) -> int:
    """Try everything, the cheapest first; no bound, no stages."""
    waiting = [(0, 0, start, frozenset[int]())]
    seen = set()
    tick = 0
    while waiting:
        cost, _, here, done = heapq.heappop(waiting)
        if len(done) == len(jobs):
            return cost
        if (here, done) in seen:
            continue
        seen.add((here, done))
        for there in range(len(walk)):
            after = set(done)
            grown = True
            while grown:
                can = {n for n, job in enumerate(jobs) if job.station == there and job.after <= after} - after
                after |= can
                grown = bool(can)
            tick += 1
            heapq.heappush(waiting, (cost + walk[here][there] + enter[there], tick, there, frozenset(after)))
    raise AssertionError("no walk")


@pytest.mark.parametrize("seed", range(6))
def test_a_walk_is_as_short_as_an_exact_solver_has_it(seed: int) -> None:
    rng = random.Random(seed)
    count = rng.randrange(5, 8)
    walk = places(rng, count)
    enter = [0, *(rng.randrange(0, 30) for _ in range(count - 1))]
    order = rng.sample(range(1, count), count - 1)
    after = {one: {other for other in order[:n] if rng.random() < 0.25} for n, one in enumerate(order)}
    jobs = [Job(one, frozenset(other - 1 for other in after[one])) for one in range(1, count)]
    found = shortest_walk(walk, enter, jobs, start=0)
    assert found.cost == by_milp(walk, enter, after)
    assert found.cost == length(found, walk, enter, 0)


@pytest.mark.parametrize("seed", range(2))
def test_stages_one_after_the_other_are_walked_as_short_as_an_exact_solver_has_it(seed: int) -> None:
    rng = random.Random(100 + seed)
    walk = places(rng, 7)
    enter = [0, *(rng.randrange(0, 30) for _ in range(6))]
    stages = ({1, 2, 3}, {4}, {5, 6})
    after = {one: set().union(*stages[:n]) for n, stage in enumerate(stages) for one in stage}
    jobs = [Job(one, frozenset(other - 1 for other in after[one])) for one in range(1, 7)]
    assert shortest_walk(walk, enter, jobs, start=0).cost == by_milp(walk, enter, after)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000), st.integers(2, 4), st.integers(2, 7), st.sampled_from([0.1, 0.3, 0.6]))
def test_where_jobs_force_a_second_visit_the_walk_is_still_the_shortest(
    seed: int, count: int, number: int, share: float
) -> None:
    rng = random.Random(seed)
    walk = places(rng, count)
    enter = [rng.randrange(0, 30) for _ in range(count)]
    jobs = [Job(rng.randrange(count), frozenset(o for o in range(n) if rng.random() < share)) for n in range(number)]
    found = shortest_walk(walk, enter, jobs, start=0)
    assert found.cost == by_trying(walk, enter, jobs, 0) == length(found, walk, enter, 0)
    done: list[int] = []
    for station, there in found.visits:
        assert there
        for job in there:
            assert jobs[job].station == station
            assert jobs[job].after <= set(done)
            done.append(job)
    assert sorted(done) == list(range(number))


def test_without_an_order_no_station_is_visited_twice() -> None:
    rng = random.Random(5)
    walk = places(rng, 9)
    jobs = [Job(station) for station in range(9) for _ in range(3)]
    stations = [station for station, _ in shortest_walk(walk, [0] * 9, jobs, start=4).visits]
    assert len(set(stations)) == len(stations) == 9


def test_jobs_that_wait_for_each_other_are_refused() -> None:
    with pytest.raises(ValueError, match="wait"):
        shortest_walk([[0]], [0], [Job(0, frozenset([1])), Job(0, frozenset([0]))], start=0)
