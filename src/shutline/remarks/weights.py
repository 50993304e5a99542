"""Log-linear choosers: options with named features, weights learnt beforehand, the same answer every time."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from math import exp
from typing import Any

Chooser = dict[str, float]
"""A weight for each feature name; a name that is not there weighs nothing."""

Sorter = dict[str, tuple[float, ...]]
"""For each feature name a weight for each class."""

CHOOSERS = ("part", "side", "position", "remedy")
SORTERS = ("status", "severity")


Features = Callable[..., list[str]]
"""Gives the names of the features that some circumstances have."""

_MOST_KEPT = 200_000


class Sums:
    """The weights of one chooser, added up once for the same circumstances: they recur from remark to remark."""

    def __init__(self, chooser: Chooser) -> None:
        self.chooser = chooser
        self._kept: dict[Features, dict[tuple[Any, ...], float]] = {}

    def kept(self, features: Features) -> dict[tuple[Any, ...], float]:
        """Give what is kept for one function: look there first, and call `of` for what is missing."""
        return self._kept.setdefault(features, {})

    def of(self, features: Features, key: tuple[Any, ...]) -> float:
        """Give the sum of the weights of ``features(*key)``, and keep it."""
        kept = self.kept(features)
        if len(kept) >= _MOST_KEPT:
            kept.clear()
        total = kept[key] = score(self.chooser, features(*key))
        return total


@dataclass(frozen=True, slots=True)
class Weights:
    """The learnt choosers and sorters by name; see `CHOOSERS` and `SORTERS`.

    `points` are chances and how often they held, rising.
    """

    choosers: dict[str, Chooser]
    sorters: dict[str, Sorter]
    points: tuple[tuple[float, float], ...]
    sums: dict[str, Sums] = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        """Make the sums ready."""
        object.__setattr__(self, "sums", {name: Sums(chooser) for name, chooser in self.choosers.items()})

    def sureness(self, chance: float) -> float:
        """Give how often a chance held on narrations that the weights had not seen, in [0, 1]."""
        if not self.points:
            return chance
        before = self.points[0]
        if chance <= before[0]:
            return before[1]
        for point in self.points[1:]:
            if chance <= point[0]:
                share = (chance - before[0]) / max(1e-9, point[0] - before[0])
                return before[1] + share * (point[1] - before[1])
            before = point
        return before[1]


def score(weights: Chooser, features: Sequence[str]) -> float:
    """Add up the weights of an option's features."""
    get = weights.get
    total = 0.0
    for feature in features:
        weight = get(feature)
        if weight is not None:
            total += weight
    return total


def sort_scores(weights: Sorter, features: Sequence[str], classes: int) -> list[float]:
    """Add up, for each class, the weights of the features."""
    get = weights.get
    hits = [hit for hit in map(get, features) if hit is not None]
    if not hits:
        return [0.0] * classes
    return list(map(sum, zip(*hits, strict=True)))


def chances(scores: Sequence[float]) -> list[float]:
    """Turn scores into probabilities that add up to one.

    >>> chances([0.0, 0.0])
    [0.5, 0.5]
    """
    top = max(scores)
    raised = [exp(s - top) for s in scores]
    total = sum(raised)
    return [r / total for r in raised]


def read_weights(text: str) -> Weights:
    """Read weights written as JSON: chooser, feature, hundredths."""
    raw = json.loads(text)
    return Weights(
        {name: {f: w / 100 for f, w in raw[name].items()} for name in CHOOSERS},
        {name: {f: tuple(w / 100 for w in ws) for f, ws in raw[name].items()} for name in SORTERS},
        tuple((chance, held) for chance, held in raw["sureness"]),
    )


@cache
def shipped_weights() -> Weights:
    """Read the weights that come with the package, once."""
    return read_weights(files("shutline.remarks").joinpath("data/weights.json").read_text(encoding="utf-8"))
