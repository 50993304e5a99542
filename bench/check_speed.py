#!/usr/bin/env python3
"""Measure the check while somebody types: processor milliseconds for each further letter of a text, over a kept car.

bench/check_speed.py STORE CAR [TEXT]
"""

from __future__ import annotations

import argparse
import statistics
import time
from pathlib import Path

from shutline.store import Store
from shutline.usecases.claim_check import check_words

TEXT = (
    "A tidy car that has been looked after. The bonnet is straight and the sills are solid. "
    "There is no rust in the boot floor, the heater works, and it comes with two keys and the original handbook. "
)


def main() -> None:
    """Type a text letter by letter, checking after each."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("store", type=Path)
    parser.add_argument("car")
    parser.add_argument("text", nargs="?", default=TEXT)
    given = parser.parse_args()
    took, wall = [], []
    with Store.open(given.store, create=False) as store:
        check_words(store, given.car, "It is solid.")
        for end in range(1, len(given.text) + 1):
            began, started = time.process_time(), time.perf_counter()
            check_words(store, given.car, given.text[:end])
            took.append((time.process_time() - began) * 1000)
            wall.append((time.perf_counter() - started) * 1000)
    for name, values in (("processor", took), ("wall clock", wall)):
        ordered = sorted(values)
        worst = ordered[int(len(ordered) * 0.95)]
        print(f"{name}: {len(values)} checks, median {statistics.median(values):.1f} ms, 95 % within {worst:.1f} ms")


if __name__ == "__main__":
    main()
