#!/usr/bin/env python3
"""Words a second of the whole reader on one core, and how long its tables take to load.

    bench/reader_speed.py [GOLD_DIR]

Without a folder it reads a made-up narration over and over.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path

from shutline.car.speech import Stretch, StretchOrigin, stretch_of

INVENTED = (
    "Round to the nearside. Front wing is straight, no rust along the bottom, one tiny chip by the indicator that "
    "would touch in. Door shuts well, bit of a scratch under the handle. Sill is solid, had new ones in two thousand "
    "and nine. Rear arch has a little scab on the lip, keep an eye on that. Tyres all good, one wheel kerbed. "
)


def main() -> None:
    """Print load time and words a second."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("gold", type=Path, nargs="?")
    parser.add_argument("--rounds", type=int, default=5)
    given = parser.parse_args()
    began = time.perf_counter()
    from shutline.remarks import read

    imported = time.perf_counter()
    first = [stretch_of(INVENTED, 0.0, 30.0, origin=StretchOrigin.TRANSCRIPT)]
    read(first)
    loaded = time.perf_counter()
    print(f"import {1000 * (imported - began):.0f} ms, tables and first reading {1000 * (loaded - imported):.0f} ms")
    inputs: list[list[Stretch]] = []
    if given.gold is not None:
        for path in sorted(p for p in given.gold.glob("*.json") if "." not in p.stem):
            segments = json.loads(path.read_text(encoding="utf-8"))["segments"]
            inputs.append(
                [stretch_of(s["text"], s["start"], s["end"], origin=StretchOrigin.TRANSCRIPT) for s in segments]
            )
    else:
        inputs = [[stretch_of(INVENTED, 30.0 * i, 30.0 * i + 30.0, origin=StretchOrigin.TRANSCRIPT) for i in range(20)]]
    words = sum(len(s.words) for stretches in inputs for s in stretches)
    best = float("inf")
    for _ in range(given.rounds):
        start = time.perf_counter()
        for stretches in inputs:
            read(stretches)
        best = min(best, time.perf_counter() - start)
    print(f"{words} words, best of {given.rounds}: {words / best:,.0f} words/s")


if __name__ == "__main__":
    main()
