#!/usr/bin/env python3
"""Learn which words of a description state anything of the car, on descriptions whose claims are labelled.

    tools/train_stated.py FOLDER... --narrations FOLDER... [--drafts GLOB] [--out FILE]
    (and --folds N, to measure)

The folders, narrations and drafts are those of `tools/train_weighing.py`. In a labelled description all words of a
claim state something, and no others; in a draft of our own, those that the rules read. With `--folds` the texts of each
car are looked at by what was learnt without them: how many claims that nothing else has read are found, and how many
pieces are taken that are none; nothing is written then. Needs torch. On one machine the same answer every time.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import torch
import torch.nn.functional as F  # noqa: N812
from torch import nn

sys.path.insert(0, str(Path(__file__).parent))

from shutline.claims.check import check
from shutline.claims.lines import headed, sentences
from shutline.claims.second_reading import blocks, understood
from shutline.claims.stated import letters_of, pieces, stated_features, stated_odds, unread
from train_weighing import Example, drafts, examples, quotes

WIDTH, DROPPED = 96, 0.3
ROUNDS, BATCH, RATE, DECAY = 8, 256, 1e-3, 0.05
NETWORKS = 3


@dataclass(frozen=True)
class Words:
    """The words of one description: what is looked at of each, and whether it belongs to a claim."""

    of: Example
    features: np.ndarray
    stated: np.ndarray


def told_in(one: Example) -> list[tuple[int, int]]:
    """Give the letters of all claims of a description; of our own draft, those that the rules read."""
    return read_in(one) if one.own else list(quotes(one.labelled))


def read_in(one: Example) -> list[tuple[int, int]]:
    """Give the letters of what is read as a part or a fact."""
    claims = check(one.labelled["text"], one.on).claims
    return [(c.saying.first, c.saying.end) for c in claims if c.saying.spot or c.saying.fact]


def words_of(one: Example) -> Words:
    """Gather the words of a description."""
    told, rows, stated = told_in(one), [], []
    for block in blocks(list(sentences(one.labelled["text"]))):
        analysis, context = understood(block.sentences, one.on.drive)
        if context is None:
            continue
        for at, features in enumerate(stated_features(context)):
            first, _ = letters_of(analysis.text, at, at + 1)
            if block.holds(first + block.start):
                rows.append(features)
                stated.append(any(begin <= first + block.start < end for begin, end in told))
    return Words(one, np.array(rows, dtype=np.float32), np.array(stated, dtype=np.float32))


def learnt(all_: Sequence[Words]) -> dict[str, np.ndarray]:
    """Learn several networks on the words of some descriptions."""
    features = torch.tensor(np.concatenate([one.features for one in all_]))
    stated = torch.tensor(np.concatenate([one.stated for one in all_]))
    mean, spread = features.mean(0), features.std(0) + 1e-3
    features = (features - mean) / spread
    nets = []
    for seed in range(NETWORKS):
        torch.manual_seed(seed)
        net = nn.Sequential(
            nn.Dropout(DROPPED),
            nn.Linear(features.shape[1], WIDTH),
            nn.ReLU(),
            nn.Dropout(DROPPED),
            nn.Linear(WIDTH, 1),
        )
        steps = torch.optim.AdamW(net.parameters(), lr=RATE, weight_decay=DECAY)
        for _ in range(ROUNDS):
            order = torch.randperm(len(stated))
            for at in range(0, len(order), BATCH):
                batch = order[at : at + BATCH]
                loss = F.binary_cross_entropy_with_logits(net(features[batch])[:, 0], stated[batch])
                steps.zero_grad()
                loss.backward()
                steps.step()
        nets.append(net.eval())
    return _arrays(nets, mean, spread)


def _arrays(nets: Sequence[nn.Sequential], mean: torch.Tensor, spread: torch.Tensor) -> dict[str, np.ndarray]:
    """Put the weights of all networks together as `stated_odds` names them, over features as they come."""
    with torch.no_grad():
        inner = torch.stack([(net[1].weight / spread).T for net in nets])
        biases = torch.stack([net[1].bias - net[1].weight @ (mean / spread) for net in nets])[:, None]
        out = torch.stack([net[4].weight.T for net in nets])
        ends = torch.stack([net[4].bias for net in nets])[:, None]
    named = {"inner.w": inner, "inner.b": biases, "out.w": out, "out.b": ends}
    return {name: value.numpy().astype(np.float32) for name, value in named.items()}


def measure(one: Words, arrays: Mapping[str, np.ndarray], total: Counter[str]) -> None:
    """Count the claims of a description that nothing else has read, those that are found, and what is taken for one."""
    text, told, read = one.of.labelled["text"], told_in(one.of), read_in(one.of)
    parts = list(sentences(text))
    taken = [*read, *((s.first, s.first + len(s.text)) for s in headed(parts) if s.label)]
    odds, at, cut = stated_odds(one.features, arrays), 0, []
    for block in blocks(parts):
        analysis, _ = understood(block.sentences, one.of.on.drive)
        letters = [letters_of(analysis.text, n, n + 1)[0] + block.start for n in range(len(analysis.text.norm))]
        own = np.array([block.holds(letter) for letter in letters])
        some = np.zeros(len(letters), dtype=np.float32)
        some[own] = odds[at : at + own.sum()]
        at += int(own.sum())
        moved = (piece.moved(block.start) for piece in pieces(some, analysis.text))
        cut += [piece for piece in moved if block.holds(piece.first)]
    found = unread(text, cut, taken)
    left = [q for q in told if not any(q[0] < end and first < q[1] for first, end in read)]
    total["unread"] += len(left)
    total["found"] += sum(any(s.first < end and first < s.end for s in found) for first, end in left)
    total["taken"] += len(found)
    total["taken beside a claim that was read"] += sum(
        any(s.first < end and first < s.end for first, end in told)
        and not any(s.first < end and first < s.end for first, end in left)
        for s in found
    )
    total["taken for nothing"] += sum(not any(s.first < end and first < s.end for first, end in told) for s in found)


def main() -> None:
    """Learn, and write or measure."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--narrations", type=Path, nargs="+", required=True)
    parser.add_argument("--drafts", default="")
    parser.add_argument("--folds", type=int, default=0)
    parser.add_argument("--out", type=Path, default=Path("src/shutline/claims/data/stated.npz"))
    given = parser.parse_args()
    all_ = list(examples(given.folders, given.narrations))
    all_ += drafts(given.narrations, given.drafts) if given.drafts else ()
    gathered = [words_of(one) for one in all_]
    print(f"{len(gathered)} descriptions, {sum(len(one.stated) for one in gathered)} words")
    if not given.folds:
        stored: dict[str, Any] = {name: value.astype(np.float16) for name, value in learnt(gathered).items()}
        np.savez_compressed(given.out, **stored)
        return
    cars = sorted({one.car for one in all_})
    for own in (False, True):
        total = Counter[str]()
        for fold in range(given.folds):
            kept = set(cars[fold :: given.folds])
            arrays = learnt([one for one in gathered if one.of.car not in kept])
            for one in gathered:
                if one.of.car in kept and one.of.own is own:
                    measure(one, arrays, total)
        print("our own drafts" if own else "labelled", dict(total))


if __name__ == "__main__":
    main()
