#!/usr/bin/env python3
"""Learn what speaks for a change of sides on the walk; the same answer every time.

    tools/train_walk.py GOLD_DIR [GOLD_DIR ...] [--out src/shutline/remarks/data/moves.csv]

The walk is a chain of two states. A label with a side, on a part that was named without one, tells which side was being
walked along there; the rest of the chain is not seen. The weights make the seen sides as likely as they can be, under
a Gaussian prior about what `walk.toml` sets under `moves`.
"""

from __future__ import annotations

import argparse
import csv
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files
from math import log
from pathlib import Path
from tomllib import loads

import numpy as np

from shutline.remarks.attachment import options
from shutline.remarks.regions import regions
from shutline.remarks.walk import ONE_SIDE, Moves, moves
from train_reader import labelled, load, minimise

PRIOR = 2.0
LEAST = 4
"""A move that was met less often is left out."""


@dataclass
class Chain:
    """The moves of one narration, and at which mentions a side was seen."""

    listed: list[Moves]
    seen: dict[int, str]


def chain(path: Path, *, strip: bool) -> Chain:
    """Read one narration and lay the sides of its labels on its mentions."""
    narration = load(path, strip=strip)
    analysis = narration.analysis
    sided = regions().sided
    votes: dict[int, Counter[str]] = {}
    for number, wanted in narration.fits.items():
        listed = options(analysis.found[number], analysis.at)
        for label, sense, _ in wanted:
            if label["side"] not in ONE_SIDE or label["part"] not in sided:
                continue
            fitting = next((o for o in listed if o.part == label["part"] and o.sense == sense), None)
            if fitting is None or fitting.mention < 0:
                continue
            if analysis.named[fitting.mention].side in ("", "this"):
                votes.setdefault(fitting.mention, Counter())[label["side"]] += 1
    seen = {at: next(iter(count)) for at, count in votes.items() if len(count) == 1}
    return Chain(moves(analysis.named, analysis.at), seen)


class Learner:
    """Chains with their moves numbered."""

    def __init__(self, chains: Sequence[Chain]) -> None:
        counts: Counter[str] = Counter()
        for one in chains:
            for here in one.listed:
                counts.update(">".join(move) for move in here.steps)
                if here.said:
                    counts[">".join(here.heed)] += 1
        self.names = sorted(name for name, count in counts.items() if count >= LEAST)
        means = loads(files("shutline.remarks").joinpath("data/walk.toml").read_text(encoding="utf-8"))["moves"]
        self.names = sorted({*self.names, *means})
        self.means = np.array([means.get(name, 0.0) for name in self.names])
        index = {name: at for at, name in enumerate(self.names)}
        steps, owners, heeds, heeded = [], [], [], []
        self.spans: list[tuple[int, int]] = []
        self.said: list[str] = []
        self.seen: list[str] = []
        at = 0
        for one in chains:
            self.spans.append((at, at + len(one.listed)))
            for number, here in enumerate(one.listed):
                for move in here.steps:
                    column = index.get(">".join(move))
                    if column is not None:
                        steps.append(column)
                        owners.append(at)
                column = index.get(">".join(here.heed)) if here.said else None
                if column is not None:
                    heeds.append(column)
                    heeded.append(at)
                self.said.append(here.said)
                self.seen.append(one.seen.get(number, ""))
                at += 1
        self.size = at
        self.steps, self.owners = np.array(steps), np.array(owners)
        self.heeds, self.heeded = np.array(heeds), np.array(heeded)

    def value(self, w: np.ndarray) -> tuple[float, np.ndarray]:
        """Give the loss and its slope."""
        turn_sum = np.bincount(self.owners, weights=w[self.steps], minlength=self.size)
        heed_sum = np.bincount(self.heeded, weights=w[self.heeds], minlength=self.size)
        turns = np.exp(np.minimum(turn_sum, 20.0)).tolist()
        heed = np.exp(heed_sum).tolist()
        push_turn, push_heed = np.zeros(self.size), np.zeros(self.size)
        nothing = [""] * self.size
        away = w - self.means
        loss = 0.5 * PRIOR * float(away @ away)
        for first, end in self.spans:
            for sign, seen in ((1.0, nothing), (-1.0, self.seen)):
                total, turned, heeded = self._chain(range(first, end), turns, heed, seen)
                loss += sign * total
                push_turn[first:end] += sign * np.array(turned)
                push_heed[first:end] += sign * np.array(heeded)
        slope = PRIOR * away
        slope += np.bincount(self.steps, weights=push_turn[self.owners], minlength=len(w))
        slope += np.bincount(self.heeds, weights=push_heed[self.heeded], minlength=len(w))
        return loss, slope

    def _chain(
        self, span: range, turns: list[float], heed: list[float], seen: list[str]
    ) -> tuple[float, list[float], list[float]]:
        """Give the log of the sum over all walks, and for each mention the chance of a turn and of its side heeded."""
        nears = [heed[at] if self.said[at] == "near" else 1.0 for at in span]
        offs = [heed[at] if self.said[at] == "off" else 1.0 for at in span]
        open_near = [float(seen[at] != "off") for at in span]
        open_off = [float(seen[at] != "near") for at in span]
        out = 0.0
        a = b = 0.5
        ahead = [(a, b)]
        for at, near, off, may_near, may_off in zip(span, nears, offs, open_near, open_off, strict=True):
            a, b = (a + b * turns[at]) * near * may_near, (b + a * turns[at]) * off * may_off
            total = a + b
            out += log(total)
            a, b = a / total, b / total
            ahead.append((a, b))
        c = d = 1.0
        turned, heeded = [0.0] * len(span), [0.0] * len(span)
        for k in range(len(span) - 1, -1, -1):
            a, b = ahead[k + 1]
            if self.said[span[k]]:
                heeded[k] = (a * c if self.said[span[k]] == "near" else b * d) / (a * c + b * d)
            c, d = c * nears[k] * open_near[k], d * offs[k] * open_off[k]
            a, b = ahead[k]
            turn = turns[span[k]]
            moved = (a * d + b * c) * turn
            turned[k] = moved / (a * c + b * d + moved)
            c, d = c + d * turn, d + c * turn
            total = c + d
            c, d = c / total, d / total
        return out, turned, heeded


def learn(chains: Sequence[Chain], *, rounds: int = 40) -> dict[str, float]:
    """Fit the weights of the moves."""
    learner = Learner(chains)
    w = minimise(learner.value, learner.means.copy(), rounds)
    return {name: float(weight) for name, weight in zip(learner.names, w, strict=True)}


def write(weights: dict[str, float], path: Path) -> None:
    """Write weights in hundredths, sorted; those that hardly weigh are left out."""
    with path.open("w", encoding="utf-8", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(["move", "hundredths"])
        out.writerows([name, round(w * 100)] for name, w in sorted(weights.items()) if abs(w) >= 0.1)


def main() -> None:
    """Learn from folders and write the moves."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("gold", type=Path, nargs="+")
    parser.add_argument("--out", type=Path, default=Path("src/shutline/remarks/data/moves.csv"))
    given = parser.parse_args()
    paths = labelled(given.gold)
    chains = [chain(path, strip=strip) for path in paths for strip in (False, True)]
    weights = learn(chains)
    write(weights, given.out)
    print(f"{len(paths)} narrations, {sum(len(c.seen) for c in chains)} sides seen, {len(weights)} moves")


if __name__ == "__main__":
    main()
