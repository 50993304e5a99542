"""How long people take at a car for each place that they speak of."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True, slots=True)
class Pace:
    """Seconds for each place spoken of, walking included: what the quicker and the slower of people take."""

    place_s: tuple[float, float]


@cache
def pace() -> Pace:
    """Read the shipped pace once."""
    raw = tomllib.loads(files("shutline.survey").joinpath("data", "pace.toml").read_text(encoding="utf-8"))
    low, high = raw["place_s"]
    return Pace((float(low), float(high)))
