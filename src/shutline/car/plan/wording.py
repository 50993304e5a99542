"""Words of the Plan, read from ``data/plan.toml``."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from shutline.car.findings import Position, Side
from shutline.car.vocabulary import vocabulary


@cache
def plan_words() -> Mapping[str, Any]:
    """Read the shipped words once."""
    return tomllib.loads(files("shutline.car").joinpath("data/plan.toml").read_text(encoding="utf-8"))


@cache
def spoken_name(part: str, side: Side | None, position: Position | None) -> str:
    """Give the name of a place as it is said: ``nearside front wing``, ``offside rear door``.

    Raises
    ------
    KeyError
        `part` is not in the vocabulary.
    """
    words = plan_words()
    names = [vocabulary().parts[part].label]
    # A front panel said to be at the front is called so once.
    if position in (Position.FRONT, Position.REAR) and not names[0].startswith(f"{words['position_words'][position]} "):
        names.insert(0, words["position_words"][position])
    if side in (Side.NEAR, Side.OFF):
        names.insert(0, words["side_words"][side])
    return " ".join(names)
