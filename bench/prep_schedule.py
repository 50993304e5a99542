"""Time schedules of random tasks for three people and two bays, and a choice that has to be ready by a day.

    python bench/prep_schedule.py [--tasks 10 20 40 60]

Prints processor seconds, the end, and what none ends before: quick (the longest tail first) and thorough.
"""

from __future__ import annotations

import argparse
import random
import time
from datetime import date, datetime

from prep_cases import job, outlays, task, worth
from shutline.prep.choice import choose
from shutline.prep.model import Job, Labour, Range, Task
from shutline.prep.schedule import Bay, Person, Shop, make_schedule, ready_by

START = datetime(2026, 11, 26, 8)  # noqa: DTZ001 - the house's own time
DAYS = (date(2026, 11, 30), date(2026, 12, 2), date(2026, 12, 4))
SHOP = Shop(
    people=(
        Person("A", ("paint", "weld")),
        Person("B", ("valet", "mechanical", "trim")),
        Person("C", ("mechanical", "weld")),
    ),
    bays=(Bay("ramp", "ramp"), Bay("booth", "booth")),
)


def make(count: int, seed: int) -> list[Task]:
    """Make tasks of 0.3 to 4 hours, one in three of which cures for half a day, each after up to two others."""
    chance = random.Random(seed)  # noqa: S311 - tasks to try
    jobs: list[Job] = []
    for number in range(count):
        hours = chance.uniform(0.3, 4)
        trade = chance.choice(("valet", "paint", "weld", "mechanical", "trim"))
        after = chance.sample([one.id for one in jobs], min(len(jobs), chance.choice((0, 0, 1, 2))))
        bay = chance.choice(("", "", "ramp", "booth"))
        labour = (Labour(trade, Range(hours, hours, hours)),)
        waits = chance.choice((0.0, 0.0, 12.0))
        jobs.append(job(f"j{number:02}", labour=labour, bay=bay, waits=waits, after=tuple(after)))
    return [task(one.id, of=one) for one in jobs]


def main() -> None:
    """Read the arguments and measure."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--tasks", type=int, nargs="+", default=[10, 20, 40, 60])
    asked = parser.parse_args()
    for count in asked.tasks:
        tasks = make(count, count)
        for thorough in (False, True):
            begun = time.process_time()
            made = make_schedule(tasks, SHOP, start=START, thorough=thorough)
            took = time.process_time() - begun
            name = "thorough" if thorough else "quick"
            ends = f"ends {made.end:%d %b %H:%M}, none before {made.no_sooner:%d %b %H:%M}"
            print(f"{count:3} tasks {name:8} {took:5.2f} s, {ends}")
    tasks = make(30, 1)
    chance = random.Random(2)  # noqa: S311 - sums to try
    costs = {one.id: chance.randint(1000, 9000) for one in tasks}
    worths = {f"finding_{one.id}": worth(chance.randint(2000, 20_000)) for one in tasks}
    for day in DAYS:
        begun = time.process_time()
        ready = ready_by(tasks, SHOP, start=START, day=day)
        found = choose(tasks, outlays(costs), worths, ready=ready, time_limit_s=20.0)
        took = time.process_time() - begun
        print(f" 30 tasks, filmed by {day}: {len(found.chosen)} chosen, gap {found.gap_pence} pence, {took:.2f} s")


if __name__ == "__main__":
    main()
