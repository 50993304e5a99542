"""The words that written text is read with, from the data beside this file, on top of the lexicon of speech."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from tomllib import loads

from shutline.remarks.lexicon import Lexicon, Row, build, read_rows, shipped_lexicon, with_layer

OWN = "conditions.written_"
"""What the ids of the rows for written text begin with; where one fits, the rows of speech have no say."""


@dataclass(frozen=True, slots=True)
class SmallWords:
    """The sets of `written.toml`, by their names there, and how sure the network must be."""

    breaks: frozenset[str]
    joins: frozenset[str]
    openers: frozenset[str]
    pronouns: frozenset[str]
    towards: frozenset[str]
    placing: frozenset[str]
    function: frozenset[str]
    wishes: frozenset[str]
    everywhere: frozenset[str]
    each: frozenset[str]
    leading: frozenset[str]
    elsewhere_kinds: frozenset[str]
    having: frozenset[str]
    least: dict[str, float]
    least_asked: dict[str, float]


@cache
def small_words() -> SmallWords:
    """Read the small words once."""
    raw = loads(data("written.toml"))
    least = {name: float(value) for name, value in raw.pop("least").items()}
    asked = {name: float(value) for name, value in raw.pop("least_asked").items()}
    return SmallWords(least=least, least_asked=asked, **{name: frozenset(words) for name, words in raw.items()})


@cache
def written_rows() -> tuple[Row, ...]:
    """Read the phrases of written text once."""
    rows = read_rows("conditions", data("written.csv").splitlines(), name="written.csv")
    return tuple(_renamed(row) for row in rows)


def _renamed(row: Row) -> Row:
    return replace(row, id=OWN + row.id.removeprefix("conditions."))


@dataclass(frozen=True, eq=False, slots=True)
class WrittenWords:
    """The phrases that written text is read with; `plain` are the same without parts that begin with a small word.

    Two are one only where they are the same object.
    """

    lexicon: Lexicon
    plain: Lexicon


def written_words(lexicon: Lexicon) -> WrittenWords:
    """Put the phrases of written text on top of a lexicon."""
    full = with_layer(lexicon, written_rows())
    small = small_words().leading
    rows = (
        replace(row, phrases=tuple(p for p in row.phrases if p.split()[0] not in small)) if row.file == "parts" else row
        for row in full.rows
    )
    return WrittenWords(full, build(row for row in rows if row.phrases))


@cache
def shipped_words() -> WrittenWords:
    """Give the phrases of written text on top of the shipped lexicon."""
    return written_words(shipped_lexicon())


def data(name: str) -> str:
    """Read one of the data files of this package."""
    return files("shutline.claims").joinpath("data", name).read_text(encoding="utf-8")
