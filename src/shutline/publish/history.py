"""The words around a car's history, as a report has them."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files


@cache
def words() -> dict[str, str]:
    """Give the words by their names (`data/history.toml`)."""
    return tomllib.loads(files("shutline.publish").joinpath("data/history.toml").read_text(encoding="utf-8"))
