#!/usr/bin/env python3
"""How long the cost of 100 findings takes, 10,000 draws, against a plain loop of scipy.stats over the same ranges.

    python bench/prep_cost.py [--findings 100] [--draws 10000] [--runs 5]

Target: under a second on one core. The findings are drawn at random from the jobs of the tables, so that each makes a
task of its own. The loop draws each range by `scipy.stats.beta.rvs`, task by task, with causes, set-ups and rates as we
have them; its mean is shown beside ours. Findings to tasks, and what looks are worth, are timed too.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from scipy import stats

from shutline.car.carfile import KeptFinding
from shutline.car.findings import Finding, Found, Severity, Side, State
from shutline.prep.cost import cost_of
from shutline.prep.draws import setups, shape_of
from shutline.prep.looks import looks_of
from shutline.prep.model import Range, Task
from shutline.prep.tables import prep_tables
from shutline.prep.tasks import tasks_of


def car(count: int, seed: int = 7) -> list[KeptFinding]:
    """Make findings of different parts and conditions, each of which some job cures."""
    rng = np.random.default_rng(seed)
    pairs = sorted(
        {
            (part, one)
            for job in prep_tables().jobs.values()
            for cure in job.cures
            for part in cure.parts
            for one in cure.conditions
        }
    )
    found = []
    for at, chosen in enumerate(rng.permutation(len(pairs))[:count]):
        part, condition = pairs[chosen]
        side = Side.NEAR if at % 2 else Side.OFF
        finding = Finding(part, condition, Found.YES, side, None, Severity.MODERATE, state=State.STANDS)
        found.append(KeptFinding(f"f{at:03}", finding))
    return found


def plain_loop(tasks: tuple[Task, ...], draws: int, seed: int = 7) -> float:
    """Draw the same ranges one by one, with the quantiles of each task; gives the mean of the whole, in pounds."""
    rng = np.random.default_rng(seed)
    known = prep_tables()

    def drawn(values: Range) -> Any:
        if values.high == values.low:
            return np.full(draws, values.low)
        shape = shape_of(values)
        return stats.beta.rvs(*shape, loc=values.low, scale=values.high - values.low, size=draws, random_state=rng)

    rates = {trade.id: drawn(trade.rate) for trade in known.trades.values()}
    latent = {task.job.cause: rng.random(draws) for task in tasks}
    total = np.zeros(draws)
    for task in tasks:
        grown = np.ones(draws)
        if task.job.worse is not None:
            opened = (latent[task.job.cause] if task.job.cause else rng.random(draws)) < task.job.worse.chance
            grown = np.where(opened, drawn(task.job.worse.factor), 1.0)
        inside = sum((drawn(line.each) * rates[line.trade] for line in task.job.labour), drawn(task.job.materials))
        cost = task.count * (grown * inside + drawn(task.job.outside))
        np.quantile(cost, (0.05, 0.5, 0.95))
        total += cost
    for job in setups(tasks).values():
        for line in job.labour:
            total += drawn(line.setup) * rates[line.trade]
    return float(total.mean())


def best(work: Callable[[], Any], runs: int) -> tuple[float, Any]:
    """Give the shortest of several runs, in seconds of a core, and what came of it."""
    taken, found = [], None
    for _ in range(runs):
        began = time.process_time()
        found = work()
        taken.append(time.process_time() - began)
    return min(taken), found


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    asked.add_argument("--findings", type=int, default=100)
    asked.add_argument("--draws", type=int, default=10_000)
    asked.add_argument("--runs", type=int, default=5)
    given = asked.parse_args()
    findings = car(given.findings)
    sorting, prepared = best(lambda: tasks_of(findings), given.runs)
    ours, cost = best(lambda: cost_of(prepared.tasks, draws=given.draws), given.runs)
    theirs, mean = best(lambda: plain_loop(prepared.tasks, given.draws), given.runs)
    looking, looks = best(lambda: looks_of(prepared.tasks, prepared.alternatives, draws=given.draws), given.runs)
    print(f"{given.findings} findings, {len(prepared.tasks)} tasks of {len(prepared.candidates)}, {given.draws} draws")
    print(f"tasks     {sorting:.3f} s")
    print(f"cost      {ours:.3f} s, mean {cost.total.mean:,.0f} ± {cost.errors.mean:,.0f} pounds")
    print(f"by a loop {theirs:.3f} s, mean {mean:,.0f} pounds; ours takes {ours / theirs:.2f} of its time")
    print(f"looks     {looking:.3f} s, {len(looks)} of them")


if __name__ == "__main__":
    main()
