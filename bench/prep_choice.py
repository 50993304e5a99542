"""Time the choice of tasks and the curve of gain against budget, and SCIP on the same in the same run.

    python bench/prep_choice.py [--cars 5] [--tasks 60 300]

Prints the processor seconds of each, the gap, and the ratio of the sums to SCIP's. To reach: 60 tasks under 5 s.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable
from functools import partial
from typing import TypeVar

from prep_cases import Case, by_scip
from shutline.prep.choice import programme_of
from shutline.prep.curve import gain_curve
from shutline.prep.limits import Limits

Made = TypeVar("Made")


def timed(work: Callable[[], Made]) -> tuple[float, Made]:
    """Do some work, and tell what it took of the processor."""
    start = time.process_time()
    made = work()
    return time.process_time() - start, made


def measure(count: int, cars: int) -> None:
    """Measure cars of that many tasks."""
    cases = [Case(1000 + seed, count, must_share=1 / count) for seed in range(cars)]
    mine = [timed(case.choose) for case in cases]
    other = [timed(partial(by_scip, case)) for case in cases]
    for (_, found), (_, gain) in zip(mine, other, strict=True):
        if (None if found.in_the_way else found.gain_pence) != gain:
            raise SystemExit(f"{count} tasks: {found.gain_pence} and {gain} differ")
    doubtful = [timed(partial(case.choose, limits=Limits(count * 1500, 0.8))) for case in cases]
    programmes = [programme_of(case.tasks, case.outlays, case.worths, wishes=case.wishes) for case in cases]
    curves = [timed(partial(gain_curve, one, Limits(), time_limit_s=20.0)) for one in programmes]
    print(f"{count} tasks, {cars} cars, processor seconds, middle and most:")
    for name, made in (("choice and why", mine), ("money at 80 %", doubtful)):
        print(f"  {name:16} {told([took for took, _ in made])}, gaps {[one.gap_pence for _, one in made]}")
    ratio = sum(took for took, _ in mine) / sum(took for took, _ in other)
    print(f"  {'SCIP, choice':16} {told([took for took, _ in other])}, ratio {ratio:.2f}")
    for took, curve in curves:
        print(f"  a curve          {took:6.2f}, {len(curve.points)} points{'' if curve.whole else ', broken off'}")


def told(seconds: list[float]) -> str:
    """Give the middle and the most."""
    return f"{statistics.median(seconds):6.2f} {max(seconds):6.2f}"


def main() -> None:
    """Read the arguments and measure."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--cars", type=int, default=5)
    parser.add_argument("--tasks", type=int, nargs="+", default=[60, 300])
    asked = parser.parse_args()
    # Both solvers are loaded before the clock runs.
    by_scip(Case(0, 4))
    Case(0, 4).choose()
    for count in asked.tasks:
        measure(count, asked.cars)


if __name__ == "__main__":
    main()
