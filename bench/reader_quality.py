#!/usr/bin/env python3
"""How well the reader reads narrations that its weights have not seen, beside those they have.

    bench/reader_quality.py GOLD_DIR [--folds 4] [--strip]

Each narration is one speaker. In each fold the weights are learnt anew from the other narrations. The lexicon is the
shipped one, so the figures flatter where words were put into it after a narration had been read. `--strip` reads the
held-out narrations without capitals and marks, as a recogniser writes them. Needs the scorer `score.py` beside
GOLD_DIR.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import sys
from collections import Counter
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tools"))

import train_reader
from read_narrations import written
from shutline.car.findings import Drive
from shutline.remarks import read
from shutline.remarks.weights import Weights


def scorer(gold: Path) -> Any:
    """Load the scorer that lies beside the folder of narrations."""
    spec = importlib.util.spec_from_file_location("score", gold.resolve().parent / "score.py")
    if spec is None or spec.loader is None:
        raise SystemExit(f"{gold.parent}: no score.py there; it is needed to score. Give the folder beside it.")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def kinds(score: Any, gold: list[dict[str, Any]], found: list[dict[str, Any]]) -> Counter[str]:
    """Count the mistakes of one narration by kind: found, condition or part alone wrong, missed, invented."""
    taken = score.pair(gold, found, score.agree("part", "condition", "found"))
    left = [g for i, g in enumerate(gold) if i not in {i for i, _ in taken}]
    right = [r for j, r in enumerate(found) if j not in {j for _, j in taken}]
    out: Counter[str] = Counter()
    for name, fields in (
        ("found alone", ("part", "condition")),
        ("condition alone", ("part", "found")),
        ("part alone", ("condition", "found")),
    ):
        pairs = score.pair(left, right, score.agree(*fields))
        out[name] = len(pairs)
        left = [g for i, g in enumerate(left) if i not in {i for i, _ in pairs}]
        right = [r for j, r in enumerate(right) if j not in {j for _, j in pairs}]
    out["missed"], out["invented"] = len(left), len(right)
    return out


def main() -> None:
    """Print the table of folds and the kinds of mistakes."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("gold", type=Path)
    parser.add_argument("--folds", type=int, default=4)
    parser.add_argument("--strip", action="store_true")
    given = parser.parse_args()
    score = scorer(given.gold)
    paths = sorted(p for p in given.gold.glob("*.json") if "." not in p.stem)
    narrations = train_reader.load_all(paths)
    entries = [json.loads(path.read_text(encoding="utf-8")) for path in paths]
    totals: dict[str, Counter[str]] = {"seen": Counter(), "held out": Counter()}
    mistakes: Counter[str] = Counter()
    bins: dict[int, list[float]] = {}

    def judge(index: int, weights: Weights, which: str) -> None:
        entry = entries[index]
        strip = given.strip and which == "held out"
        stretches = train_reader.stretches_of(entry, strip=strip)
        plain = written(read(stretches, drive=Drive(entry["drive"]), weights=weights), entry["segments"])
        counts, _ = score.score(entry, plain)
        totals[which] += counts
        if which == "held out":
            found = plain["observations"]
            mistakes.update(kinds(score, entry["observations"], found))
            hit = {j for _, j in score.pair(entry["observations"], found, score.agree("part", "condition", "found"))}
            for j, o in enumerate(found):
                cell = bins.setdefault(int(o["sureness"] * 10), [0, 0, 0.0])
                cell[0] += 1
                cell[1] += j in hit
                cell[2] += o["sureness"]

    for fold in range(given.folds):
        learnt = [n for n in narrations if n.speaker % given.folds != fold]
        weights = train_reader.train(learnt)
        weights = Weights(weights.choosers, weights.sorters, tuple(train_reader.calibrate(learnt)))
        for index in range(len(paths)):
            judge(index, weights, "held out" if index % given.folds == fold else "seen")
    for which, counts in totals.items():
        score.show(which, counts)
    print("mistakes on held-out narrations:", dict(mistakes))
    for cell in sorted(bins):
        count, right, sure = bins[cell]
        print(f"sureness {cell / 10:.1f}: {count:.0f} findings, mean {sure / count:.2f}, right {right / count:.2f}")


if __name__ == "__main__":
    main()
