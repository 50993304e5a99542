"""Time CIEDE2000 for a million pairs beside the libraries that others wrote.

    python bench/colour_difference.py [--pairs 1000000] [--rounds 5]

Target: no slower than the fastest of them. scikit-image is asked only where it is installed, for nothing else needs it.
What is given is the processor's time, the middle of the rounds, each library in turn within a round.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
import warnings
from collections.abc import Callable
from typing import Any

import numpy as np

from shutline.gauge.colour import delta_e_2000


def libraries() -> dict[str, Callable[[Any, Any], Any]]:
    """Give what is there to compare with, by name."""
    found: dict[str, Callable[[Any, Any], Any]] = {}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            import colour

            found["colour-science"] = colour.difference.delta_E_CIE2000
        except ImportError:
            print("colour-science is not installed")
        try:
            from skimage.color import deltaE_ciede2000  # type: ignore[import-not-found, unused-ignore]

            found["scikit-image"] = deltaE_ciede2000
        except ImportError:
            print("scikit-image is not installed")
    return found


def main() -> int:
    """Time them and say whether the target is met."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pairs", type=int, default=1_000_000)
    parser.add_argument("--rounds", type=int, default=5)
    asked = parser.parse_args()
    rng = np.random.default_rng(1)
    one, other = (rng.uniform((0, -128, -128), (100, 128, 128), (asked.pairs, 3)) for _ in range(2))
    ways = {"shutline": delta_e_2000, **libraries()}
    taken: dict[str, list[float]] = {name: [] for name in ways}
    for _ in range(asked.rounds + 1):
        for name, way in ways.items():
            began = time.process_time()
            way(one, other)
            taken[name].append(time.process_time() - began)
    # The first round warms up.
    middle = {name: statistics.median(times[1:]) for name, times in taken.items()}
    for name, seconds in middle.items():
        print(f"{name}: {1e9 * seconds / asked.pairs:.0f} ns a pair, {seconds / middle['shutline']:.2f} times ours")
    if len(middle) == 1:
        print("nothing to compare with")
        return 1
    met = middle["shutline"] <= min(seconds for name, seconds in middle.items() if name != "shutline")
    print("target met" if met else "target missed")
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
