"""Count what the model of paint film finds on made cars, what it raises for nothing, and whether its sureness holds.

    python bench/paint_cars.py [--cars 60] [--seed 1] [--ways 5x3,3x3,5x1,1x1]

A way is spots a panel by readings a spot. Cars are made by tests/gauge/paint/made_cars.py.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import statistics
import sys
import time
from collections import Counter, defaultdict
from pathlib import Path
from types import ModuleType

from shutline.gauge.paint import PaintResult, PanelFilm, compare_paint

ROOT = Path(__file__).resolve().parents[1]
BANDS = (0.0, 0.05, 0.2, 0.5, 0.8, 0.95, 1.0001)


def made_cars() -> ModuleType:
    """Load the maker of cars that the tests use."""
    path = ROOT / "tests" / "gauge" / "paint" / "made_cars.py"
    spec = importlib.util.spec_from_file_location("made_cars", path)
    if spec is None or spec.loader is None:
        raise FileNotFoundError(path)
    module = importlib.util.module_from_spec(spec)
    sys.modules["made_cars"] = module
    spec.loader.exec_module(module)
    return module


def found(film: PanelFilm) -> bool:
    """Tell whether something more was told of a panel."""
    return film.told in {"more", "local"}


def painted(times: float) -> str:
    """Name a painted panel by how many times the car's own finish it carries."""
    if times < 0.9:
        return "thinner"
    return "painted x<1.3" if times < 1.3 else "painted x1.3-1.75" if times < 1.75 else "painted x>1.75"


def by_trade_limit(film: PanelFilm, _: PaintResult) -> bool:
    """Tell of a panel what a limit for modern cars would: any spot over 180 µm."""
    return film.thickest.mean_um > 180


def by_median(film: PanelFilm, result: PaintResult) -> bool:
    """Tell of a panel what medians would: its mean stands three spreads above the middle panel, and a quarter."""
    means = [statistics.fmean(spot.mean_um for spot in one.spots) for one in result.panels]
    middle = statistics.median(means)
    spread = 1.4826 * statistics.median(abs(one - middle) for one in means)
    own = statistics.fmean(spot.mean_um for spot in film.spots)
    return own > max(middle + 3 * spread, 1.25 * middle)


RULES = {"by trade limit": by_trade_limit, "by median": by_median}


def count_way(way: tuple[int, int], cars: int, seed: int, panels: int) -> dict[str, object]:
    """Count one way of reading over all kinds of cars."""
    made = made_cars()
    hits: dict[str, Counter[str]] = defaultdict(Counter)
    sure: dict[int, list[int]] = defaultdict(lambda: [0, 0])
    covered = [0, 0]
    own_covered = [0, 0]
    started = time.process_time()
    for kind in made.KINDS:
        for number in range(cars):
            car = made.make_car(seed * 10_000 + number, kind, spots=way[0], readings=way[1], panels=panels)
            result = compare_paint(car.readings)
            if result.own is not None and kind != "whole":
                own_covered[0] += result.own.figure_um.low <= car.own_um <= result.own.figure_um.high
                own_covered[1] += 1
            for film in result.panels:
                panel = film.panel
                if panel in car.worked:
                    times = car.factor[panel]
                    what = painted(times)
                elif panel in car.touched:
                    what = "filler touched"
                elif panel in car.filled:
                    what = "filler missed by every spot"
                elif panel in car.faded:
                    what = "faded"
                else:
                    what = "untouched"
                hits[f"{kind}: {what}"]["panels"] += 1
                hits[f"{kind}: {what}"]["more"] += found(film)
                hits[f"{kind}: {what}"]["less"] += film.told == "less"
                hits[f"{kind}: {what}"]["unclear"] += film.told == "unclear"
                uneven = film.gradient is not None and film.gradient.sureness >= 0.8
                hits[f"{kind}: {what}"]["uneven"] += uneven
                for name, rule in RULES.items():
                    hits[f"{kind}: {what}"][name] += rule(film, result)
                if kind != "whole" and what != "filler missed by every spot":
                    band = sum(film.sureness >= edge for edge in BANDS[1:-1])
                    sure[band][0] += what not in {"untouched", "thinner"}
                    sure[band][1] += 1
                if kind != "whole" and (what == "untouched" or what.startswith("painted")):
                    covered[0] += film.ratio.low <= car.factor[panel] <= film.ratio.high
                    covered[1] += 1
    fits = cars * len(made.KINDS)
    return {
        "way": f"{way[0]} spots of {way[1]}",
        "panels read": panels,
        "cars": fits,
        "processor seconds a car": round((time.process_time() - started) / fits, 3),
        "rates": {key: dict(value) for key, value in hits.items()},
        "sureness": {f"{BANDS[i]:g} to {min(BANDS[i + 1], 1):g}": sure[i] for i in sorted(sure)},
        "ratio within its interval": covered,
        "own finish within its interval": own_covered,
    }


def main() -> None:
    """Count and print as JSON."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cars", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--panels", type=int, default=99)
    parser.add_argument("--ways", default="5x3,3x3,5x1,1x1")
    asked = parser.parse_args()
    for text in asked.ways.split(","):
        spots, readings = (int(one) for one in text.split("x"))
        print(json.dumps(count_way((spots, readings), asked.cars, asked.seed, asked.panels), indent=1))


if __name__ == "__main__":
    main()
