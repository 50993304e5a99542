"""The words that facts and numbers are told in, read once from `data/facts.toml`, and how sure each rule is."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from tomllib import loads
from typing import Any


def _read(name: str) -> dict[str, Any]:
    return loads(files("shutline.remarks").joinpath(f"data/{name}").read_text(encoding="utf-8"))


@cache
def fact_data() -> dict[str, Any]:
    """Read the shipped words of facts once."""
    return _read("facts.toml")


@cache
def fact_cues() -> dict[str, frozenset[str]]:
    """Give the sets of cue words by name."""
    return {name: frozenset(words) for name, words in fact_data()["cues"].items()}


@cache
def fact_sureness() -> dict[str, dict[str, list[int]]]:
    """Give, for each fact and each kind of rule, how many it drew rightly and how many it drew."""
    table: dict[str, dict[str, list[int]]] = _read("fact_sureness.toml")
    return table
