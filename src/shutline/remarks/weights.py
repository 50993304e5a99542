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

NAMES = ("part", "status", "side", "position", "severity", "remedy")


@dataclass(frozen=True, slots=True)
class Weights:
    """The learnt choosers by name; see `NAMES`."""

    choosers: dict[str, Chooser]

    def __getitem__(self, name: str) -> Chooser:
        return self.choosers[name]


def score(weights: Chooser, features: Sequence[str]) -> float:
    """Add up the weights of an option's features."""
    get = weights.get
    total = 0.0
    for feature in features:
        weight = get(feature)
        if weight is not None:
            total += weight
    return total


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
    """Read weights written as JSON: chooser, feature, thousandths."""
    raw = json.loads(text)
    return Weights({name: {f: w / 1000 for f, w in table.items()} for name, table in raw.items()})


@cache
def shipped_weights() -> Weights:
    """Read the weights that come with the package, once."""
    return read_weights(files("shutline.remarks").joinpath("data/weights.json").read_text(encoding="utf-8"))
