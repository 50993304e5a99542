"""How mileages are weighed: faults planted in made histories, found or not, plain ones doubted, and the odds.

    python bench/mileages.py --histories 10000 --seed 1

Each history has 3 to 12 readings, mostly yearly; its pace is the car's own, lognormal about a median of its own, and
varies from year to year. Half of them are plain; the others carry one fault: a reading in kilometres, a slip of a
figure, five figures rolled over, or an instrument that starts anew.
"""

from __future__ import annotations

import argparse
import itertools
import math
import random
from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date, timedelta

from shutline.history.mileage import KM_PER_MILE, Explained, MileagePoint, MileageTold, Verdict, mileage_told

FAULTS = (Explained.OTHER_UNIT, Explained.SLIP, Explained.ROLLED_OVER, Explained.BROKEN_OFF)


def plain(random_: random.Random) -> list[MileagePoint]:
    """Make a history without a fault."""
    day = date(2005, 1, 1) + timedelta(days=random_.randrange(3000))
    miles = random_.choice((random_.uniform(0, 60_000), random_.uniform(20_000, 140_000)))
    pace = 4000 * math.exp(random_.gauss(0, 0.8))
    points = [MileagePoint(day, round(miles), "mi")]
    for _ in range(random_.randint(2, 11)):
        days = random_.choice((1, 3, 9)) if random_.random() < 0.15 else round(random_.gauss(365, 40))
        days = max(1, days)
        driven = pace * days / 365 * math.exp(random_.gauss(0, 0.5)) if days > 30 else random_.uniform(0, 40)
        day, miles = day + timedelta(days=days), miles + driven
        points.append(MileagePoint(day, round(miles), "mi"))
    return points


def spoilt(
    points: list[MileagePoint], fault: Explained, random_: random.Random
) -> tuple[list[MileagePoint], int] | None:
    """Plant a fault; None where this history cannot have it so that anybody could see it."""
    at = random_.randrange(1, len(points))
    point = points[at]
    made = list(points)
    if fault is Explained.OTHER_UNIT:
        made[at] = MileagePoint(point.day, round(point.value * KM_PER_MILE), "mi")
    elif fault is Explained.SLIP:
        text = str(point.value)
        if len(text) < 4:
            return None
        k = random_.randrange(len(text) - 1)
        swapped = text[:k] + text[k + 1] + text[k] + text[k + 2 :]
        made[at] = MileagePoint(point.day, int(random_.choice((swapped, text[:k] + text[k + 1 :]))), "mi")
    elif fault is Explained.ROLLED_OVER:
        shift = 100_000 - points[0].value - random_.uniform(0, points[-1].value - points[0].value)
        if shift < 0:
            return None
        made = [MileagePoint(one.day, round(one.value + shift) % 100_000, "mi") for one in points]
    else:
        start = random_.uniform(0, 0.6) * point.value
        made[at:] = [MileagePoint(one.day, round(start + one.value - point.value), "mi") for one in points[at:]]
    visible = any(after.value < before.value for before, after in itertools.pairwise(made))
    return (made, at) if visible else None


def run(histories: int, seed: int) -> Iterator[tuple[Explained | None, MileageTold]]:
    """Make histories and weigh them; the planted fault beside what was told."""
    random_ = random.Random(seed)  # noqa: S311 - made histories
    for number in range(histories):
        points = plain(random_)
        fault = None
        if number % 2:
            fault = FAULTS[number // 2 % len(FAULTS)]
            planted = spoilt(points, fault, random_)
            if planted is None:
                continue
            points, _ = planted
        yield fault, mileage_told(points, day=points[-1].day)


def main() -> None:
    """Print how many faults were found, named rightly, and how many plain histories were doubted."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--histories", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    odds: dict[int, list[bool]] = defaultdict(list)
    for fault, told in run(asked.histories, asked.seed):
        odd = [one for one in told.points if one.explained is not Explained.AS_READ]
        name = fault.value if fault else "plain"
        counts[name]["made"] += 1
        counts[name]["doubted"] += told.verdict is not Verdict.CONSISTENT
        counts[name]["told not consistent"] += told.verdict is Verdict.NOT_CONSISTENT
        counts[name]["named rightly"] += any(one.explained is fault for one in odd)
        for one in odd:
            odds[min(6, int(math.log(max(one.odds, 1.0), 3)))].append(one.explained is fault)
    for name, row in counts.items():
        shares = ", ".join(f"{what} {row[what] / row['made']:.3f}" for what in row if what != "made")
        print(f"{name}: {row['made']} made, {shares}")
    for step, right in sorted(odds.items()):
        claimed = 3.0**step / (1 + 3.0**step)
        share = sum(right) / len(right)
        print(f"odds {3**step} to 1 and more (at least {claimed:.2f}): right {share:.2f} of {len(right)}")


if __name__ == "__main__":
    main()
