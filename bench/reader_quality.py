#!/usr/bin/env python3
"""How well the reader reads narrations that its weights have not seen, beside those they have.

    bench/reader_quality.py GOLD_DIR --network FILE [--also FOLDER...]
    bench/reader_quality.py GOLD_DIR [--also FOLDER...] [--folds 4] [--only FOLD...]

Each narration is one speaker. With a network that `tools/train_network.py --leave-out` has learnt, the narrations it
left out are read. Without, the phrases decide alone, and in each fold the others are read. The weights are learnt anew
from the narrations not read, and from those in the folders `--also`. The lexicon is the shipped one, so the figures
flatter where words were put into it after a narration had been read. What is held out is read as written, and once
more without capitals and marks, as a recogniser writes. Sureness is told by the shipped line. Needs the scorer
`score.py` beside GOLD_DIR.
"""

from __future__ import annotations

import argparse
import importlib.util
import sys
from collections import Counter
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tools"))

import train_reader
from read_narrations import written
from shutline.car.findings import Drive
from shutline.remarks import read
from shutline.remarks.context import read_network
from shutline.remarks.weights import Weights, shipped_weights


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
    parser.add_argument("--also", type=Path, nargs="*", default=[], help="learnt from in every fold")
    parser.add_argument("--network", type=Path, help="learnt with narrations left out: those are read")
    parser.add_argument("--folds", type=int, default=4)
    parser.add_argument("--only", type=int, nargs="*", help="folds to run, from 0; left out, all")
    given = parser.parse_args()
    score = scorer(given.gold)
    paths = train_reader.labelled([given.gold])
    loaded = train_reader.load_all(paths + train_reader.labelled(given.also))
    entries = [train_reader.entry_of(path) for path in paths]
    points = shipped_weights().points
    totals: dict[str, Counter[str]] = {"held out": Counter(), "held out, bare": Counter()}
    mistakes: Counter[str] = Counter()
    bins: dict[int, list[float]] = {}

    def judge(entry: dict[str, Any], weights: Weights, *, bare: bool) -> None:
        stretches = train_reader.stretches_of(entry, strip=bare)
        reading = read(
            stretches, drive=Drive(entry["drive"]), weights=weights, network=network, by_phrases=network is None
        )
        plain = written(reading, entry["segments"])
        counts, _ = score.score(entry, plain)
        totals["held out, bare" if bare else "held out"] += counts
        if bare:
            return
        found = plain["observations"]
        mistakes.update(kinds(score, entry["observations"], found))
        hit = {j for _, j in score.pair(entry["observations"], found, score.agree("part", "condition", "found"))}
        for j, o in enumerate(found):
            cell = bins.setdefault(int(o["sureness"] * 10), [0, 0, 0.0])
            cell[0] += 1
            cell[1] += j in hit
            cell[2] += o["sureness"]

    network = None if given.network is None else read_network(given.network)
    if network is not None:
        splits = [{at for at, path in enumerate(paths) if path.stem in network.left_out}]
    else:
        folds = range(given.folds) if given.only is None else given.only
        splits = [set(range(fold, len(paths), given.folds)) for fold in folds]
    for held in splits:
        learnt = train_reader.train([n for n in loaded if n.speaker not in held])
        weights = Weights(learnt.choosers, learnt.sorters, points)
        for index in sorted(held):
            for bare in (False, True):
                judge(entries[index], weights, bare=bare)
    for which, counts in totals.items():
        score.show(which, counts)
    print("mistakes on held-out narrations:", dict(mistakes))
    for cell in sorted(bins):
        count, right, sure = bins[cell]
        print(f"sureness {cell / 10:.1f}: {count:.0f} findings, mean {sure / count:.2f}, right {right / count:.2f}")


if __name__ == "__main__":
    main()
