"""The words around the readings of instruments, as a report has them."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files


@cache
def words() -> dict[str, str]:
    """Give the words by their names (`data/measured.toml`)."""
    return tomllib.loads(files("shutline.publish").joinpath("data/measured.toml").read_text(encoding="utf-8"))
