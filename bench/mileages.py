"""How mileages are weighed: faults planted in made histories, found or not, plain ones doubted, and the odds.

    python bench/mileages.py --histories 10000 --seed 1 --picture docs/pictures/mileage_odds.svg

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
from pathlib import Path

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
    parser.add_argument("--picture", type=Path, help="draw the odds that were told against those that held, as SVG")
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
    if asked.picture is not None:
        asked.picture.write_text(drawn(odds, asked.histories, asked.seed), encoding="utf-8")


def drawn(odds: dict[int, list[bool]], histories: int, seed: int) -> str:
    """Draw for each step of odds the least share that they claim, and the share that was right with its interval.

    The interval is Wilson's at 95 % (Brown, Cai and DasGupta 2001).
    """
    rows = []
    for number, (step, right) in enumerate(sorted(odds.items())):
        claimed, share, count = 3.0**step / (1 + 3.0**step), sum(right) / len(right), len(right)
        centre = (share + 1.92 / count) / (1 + 3.84 / count)
        half = 1.96 / (1 + 3.84 / count) * math.sqrt(share * (1 - share) / count + 0.96 / count**2)
        y = 62 + 34 * number
        at = [210 + 2 * 340 * (value - 0.5) for value in (claimed, share, centre - half, min(1.0, centre + half))]
        name = f"{3**step} to 1 and more" if step == 6 else f"{3**step} to {3 ** (step + 1)} to 1"
        rows.append(
            f'<text x="190" y="{y + 5}" text-anchor="end">{name}, {count:,}</text>'
            f'<line x1="{at[0]:.1f}" y1="{y - 11}" x2="{at[0]:.1f}" y2="{y + 11}" stroke="#2b2823" stroke-width="2"/>'
            f'<line x1="{at[2]:.1f}" y1="{y}" x2="{at[3]:.1f}" y2="{y}" stroke="#34508e" stroke-width="2"/>'
            f'<circle cx="{at[1]:.1f}" cy="{y}" r="4.5" fill="#34508e"/>'
        )
    foot = 62 + 34 * len(rows)
    ticks = "".join(
        f'<text x="{210 + 680 * (value - 0.5):.0f}" y="{foot + 16}" text-anchor="middle">{value:.1f}</text>'
        for value in (0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
    )
    told = f"{histories:,} made histories, seed {seed}: stroke, the least share the odds claim; dot, the share right."
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 620 {foot + 30}" width="620" height="{foot + 30}" '
        'role="img" aria-labelledby="t" font-family="sans-serif" font-size="13" fill="#2b2823">\n'
        f'<title id="t">Odds of explanations of mileages. {told}</title>\n<rect width="620" height="{foot + 30}" '
        f'fill="#f6f0e4"/>\n<text x="20" y="28">{told}</text>\n' + "\n".join(rows) + f"\n{ticks}\n</svg>\n"
    )


if __name__ == "__main__":
    main()
