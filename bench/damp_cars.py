"""Count which wet places are found inside made cars, and what is raised for nothing.

    python bench/damp_cars.py [--cars 100] [--seed 1]

Insides are made by tests/gauge/damp/made_cabins.py: eight places, two readings each or one.
"""

from __future__ import annotations

import argparse
import importlib.util
import sys
from collections import Counter
from pathlib import Path
from types import ModuleType

from shutline.gauge.damp import compare_damp

ROOT = Path(__file__).resolve().parents[1]
BANDS = (0.0, 0.05, 0.2, 0.5, 0.8, 0.95, 1.0)


def made_cabins() -> ModuleType:
    """Load the maker of insides that the tests use."""
    path = ROOT / "tests" / "gauge" / "damp" / "made_cabins.py"
    spec = importlib.util.spec_from_file_location("made_cabins", path)
    if spec is None or spec.loader is None:
        raise FileNotFoundError(path)
    module = importlib.util.module_from_spec(spec)
    sys.modules["made_cabins"] = module
    spec.loader.exec_module(module)
    return module


def main() -> None:
    """Count and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cars", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    made = made_cabins()
    for readings in (2, 1):
        sure = {band: [0, 0] for band in BANDS[:-1]}
        for wet in (0, 1, 3, 5):
            counts: Counter[str] = Counter()
            for number in range(asked.cars):
                taken, times = made.make_cabin(asked.seed * 10_000 + number, wet, readings=readings)
                for one in compare_damp(taken).meters[0].places:
                    factor = times[one.place]
                    kind = "dry" if factor == 1 else "wet below x2" if factor < 2 else "wet from x2"
                    counts[kind] += 1
                    counts[f"{kind}, {one.told}"] += 1
                    band = max(edge for edge in BANDS[:-1] if edge <= one.damper)
                    sure[band][0] += factor > 1
                    sure[band][1] += 1
            print(f"{readings} readings a place, {wet} of 8 wet:", dict(sorted(counts.items())))
        print("wet by sureness:", sure)


if __name__ == "__main__":
    main()
