"""The words around a car's papers, as a report has them."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any


@cache
def words() -> Mapping[str, Any]:
    """Give the words by their names (`data/papers.toml`)."""
    return tomllib.loads(files("shutline.publish").joinpath("data/papers.toml").read_text(encoding="utf-8"))
