"""The words of the buyer's page and of the handover sheet, read from data."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files


def say(key: str, **values: object) -> str:
    """Give a phrase of ``data/buyers_page.toml`` with its places filled in; raises KeyError where there is none."""
    table, _, name = key.partition(".")
    return words(table)[name].format_map(values) if values else words(table)[name]


def words(table: str) -> Mapping[str, str]:
    """Give a whole table."""
    return _all()[table]


@cache
def _all() -> Mapping[str, Mapping[str, str]]:
    return tomllib.loads(files("shutline.publish").joinpath("data/buyers_page.toml").read_text(encoding="utf-8"))
