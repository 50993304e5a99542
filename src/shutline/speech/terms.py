"""The trade terms that a recogniser is helped with when nobody gives others."""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files


@cache
def trade_terms() -> tuple[str, ...]:
    """Give the shipped terms in the order of the file."""
    text = files("shutline.speech").joinpath("data/trade_terms.csv").read_text(encoding="utf-8")
    return tuple(row["term"] for row in csv.DictReader(text.splitlines()))
