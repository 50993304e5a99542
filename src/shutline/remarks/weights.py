"""Log-linear choosers: options with named features, weights learnt beforehand, the same answer every time."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import exp

Chooser = dict[str, float]
"""A weight for each feature name; a name that is not there weighs nothing."""

Sorter = dict[str, tuple[float, ...]]
"""For each feature name a weight for each class."""

CHOOSERS = ("part", "side", "position", "remedy")
SORTERS = ("status", "severity")


@dataclass(frozen=True, slots=True)
class Weights:
    """The learnt choosers and sorters by name; see `CHOOSERS` and `SORTERS`."""

    choosers: dict[str, Chooser]
    sorters: dict[str, Sorter]


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
    return [sum(column) for column in zip(*hits, strict=True)]


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
    )


@cache
def shipped_weights() -> Weights:
    """Read the weights that come with the package, once."""
    return read_weights(files("shutline.remarks").joinpath("data/weights.json").read_text(encoding="utf-8"))
