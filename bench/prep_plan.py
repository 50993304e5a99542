"""Time a plan as the page of preparation asks for it: opened first, its curve, another budget, one kept to, and a day.

    python bench/prep_plan.py [--findings 15 60]

Prints processor seconds on one thread, and how much longer the curve takes where the whole is searched at once and not
apart; both curves have to be the same. To reach: opened within a second and two with all that has to be loaded, another
budget within one.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from datetime import date
from typing import TypeVar
from unittest.mock import patch

from prep_cost import car as findings_of
from shutline.car.carfile import CarFile
from shutline.car.findings import Drive
from shutline.prep import curve as curves
from shutline.prep.curve import gain_curve
from shutline.prep.limits import Limits
from shutline.usecases.prep_plan import Planned, planned_of
from shutline.usecases.prep_worked import PlanAsked, ground_of, worked_out

Made = TypeVar("Made")
START = date(2026, 11, 30)
ASKING = 1_850_000


def timed(work: Callable[[], Made]) -> tuple[float, Made]:
    """Do some work, and tell what it took of the processor."""
    start = time.process_time()
    made = work()
    return time.process_time() - start, made


def told(name: str, took: float, plan: Planned) -> None:
    """Print one line."""
    shown = plan.shown
    off = "" if shown.whole or not shown.curve else ", broken off"
    chosen = sum(line.chosen for line in shown.lines)
    print(f"  {name:34} {took:6.2f}  {chosen} of {len(shown.lines)} tasks, {len(shown.curve)} points{off}")


def measure(count: int) -> None:
    """Measure a car with that many findings."""
    file = CarFile(f"car-{count}", "A car", Drive.RHD, "2026-11-26T09:00:00Z", findings=tuple(findings_of(count)))

    def plan(*, budget: int | None = None, by: date | None = None, sure: int = 0, curve: bool = True) -> Planned:
        return planned_of(file, (), PlanAsked(ASKING, budget, START, by, sure=sure, curve=curve))

    print(f"{count} findings, processor seconds:")
    took, made = timed(lambda: plan(curve=False))
    told("opened first", took, made)
    took, made = timed(plan)
    told("with its curve", took, made)
    half = made.shown.curve[len(made.shown.curve) // 2].money
    days = (date.fromisoformat(made.shown.calendar.film_on) - START).days if made.shown.calendar else 0
    told("another budget", *timed(lambda: plan(budget=half)))
    told("kept to in 90 of a hundred", *timed(lambda: plan(sure=90)))
    told("the same, another budget", *timed(lambda: plan(sure=90, budget=half)))
    by = date.fromordinal(START.toordinal() + max(1, 2 * days // 3))
    told("by two thirds of the days", *timed(lambda: plan(by=by)))
    told("the same, another budget", *timed(lambda: plan(by=by, budget=half)))

    programme = worked_out(ground_of(file, (), PlanAsked(ASKING))).programme
    apart, one = timed(lambda: gain_curve(programme, Limits(), time_limit_s=120))
    with patch.object(curves, "apart", lambda whole: (whole,)):
        whole, other = timed(lambda: gain_curve(programme, Limits(), time_limit_s=120))
    if [(point.money_pence, point.gain_pence) for point in one.points] != [
        (point.money_pence, point.gain_pence) for point in other.points
    ]:
        raise SystemExit(f"{count} findings: two curves differ")
    print(f"  the curve alone {apart:.2f}, searched as one {whole:.2f}: {whole / apart:.1f} times as long")


def main() -> None:
    """Read the arguments and measure."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--findings", type=int, nargs="+", default=[15, 60])
    for count in parser.parse_args().findings:
        measure(count)


if __name__ == "__main__":
    main()
