"""The words of what goes out, read from data."""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from shutline.car.findings import Found


def phrase(key: str, **values: object) -> str:
    """Give a phrase of ``data/wording.toml`` with its places filled in.

    Parameters
    ----------
    key : str
        Table and name with dots between: ``report.title``.
    values : object
        What goes into the places.

    Raises
    ------
    KeyError
        There is no such phrase, or a place is not filled.
    """
    text = _entry(key)
    return text.format_map(values) if values else text


def choose(key: str, count: int, **values: object) -> str:
    """Give the ``none``, ``one`` or ``many`` form of a phrase, with `count` filled in as a word or a figure."""
    form = "many" if count > 1 else "one" if count == 1 else "none"
    return phrase(f"{key}.{form}", count=spelled(count), **values)


def spelled(count: int) -> str:
    """Write a small count as a word, as print does; from eleven on as a figure."""
    words = wording()["numbers"]["words"]
    return str(words[count]) if 0 <= count < len(words) else f"{count:,}"


def table(key: str) -> Mapping[str, str]:
    """Give a whole table of the wording, name by name."""
    found = _lookup(key)
    return dict(found)


def joined(items: list[str]) -> str:
    """Join as a sentence does: ``a, b and c``; with semicolons where an item has a comma of its own."""
    if len(items) < 2:
        return "".join(items)
    mark = "; " if any("," in item for item in items) else ", "
    return mark.join(items[:-1]) + (f"{mark}and " if mark == "; " else " and ") + items[-1]


@cache
def wording() -> Mapping[str, Any]:
    """Read the shipped wording once."""
    return tomllib.loads(_shipped("wording.toml"))


@cache
def limits(group: str) -> Mapping[str, float]:
    """Give the figures of one table of ``data/chapters.toml``."""
    return {key: value for key, value in _chapters()[group].items() if not isinstance(value, str)}


@cache
def chapter_phrases() -> Mapping[str, str]:
    """Give the words that chapters are named with."""
    return {key: value for key, value in _chapters()["chapters"].items() if isinstance(value, str)}


@cache
def _chapters() -> Mapping[str, Any]:
    return tomllib.loads(_shipped("chapters.toml"))


@cache
def condition_words() -> Mapping[tuple[str, Found], tuple[str, str]]:
    """Give for each condition and whether it was found: the words by themselves, and the words with a place in them."""
    rows = csv.DictReader(io.StringIO(_shipped("conditions.csv")))
    return {(row["condition"], Found(row["found"])): (row["short"], row["at_place"]) for row in rows}


def _entry(key: str) -> str:
    return str(_lookup(key))


def _lookup(key: str) -> Any:
    value: Any = wording()
    for name in key.split("."):
        value = value[name]
    return value


def _shipped(name: str) -> str:
    return files("shutline.publish").joinpath("data", name).read_text(encoding="utf-8")
