"""The words that written text is read with, from the data beside this file, on top of the lexicon of speech."""

from __future__ import annotations

import re
from collections.abc import Iterable
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from importlib.resources import files
from tomllib import loads

from shutline.remarks.lexicon import Lexicon, Row, build, expand, read_rows, shipped_lexicon

OWN = "conditions.written_"
"""What the ids of the rows for written text begin with; where one fits, the rows of speech have no say."""


@dataclass(frozen=True, slots=True)
class SmallWords:
    """The sets of `written.toml`, by their names there, and how sure the network must be."""

    breaks: frozenset[str]
    denying: frozenset[str]
    denials: frozenset[str]
    ruling_out: frozenset[str]
    how_far: frozenset[str]
    gap_words: frozenset[str]
    joins: frozenset[str]
    openers: frozenset[str]
    wanting: frozenset[str]
    goes_on: frozenset[str]
    finite: frozenset[str]
    pronouns: frozenset[str]
    of_before: frozenset[str]
    car_words: frozenset[str]
    of_each: frozenset[str]
    all_at_end: frozenset[str]
    at_a_side: frozenset[str]
    side_follows: frozenset[str]
    piece_follows: frozenset[str]
    end_of: frozenset[str]
    towards: frozenset[str]
    placing: frozenset[str]
    function: frozenset[str]
    wishes: frozenset[str]
    everywhere: frozenset[str]
    each: frozenset[str]
    every_one: frozenset[str]
    placing_names: frozenset[str]
    come_along: frozenset[str]
    former: frozenset[str]
    names_all: frozenset[str]
    not_so: frozenset[str]
    no_parts: frozenset[str]
    papers: frozenset[str]
    cut_parts: frozenset[str]
    unsaid: tuple[tuple[tuple[str, ...], int], ...]
    leading: frozenset[str]
    of_all: frozenset[str]
    both_ends: frozenset[str]
    again: frozenset[str]
    other_one: frozenset[str]
    elsewhere_kinds: frozenset[str]
    test_words: frozenset[str]
    having: frozenset[str]
    least: dict[str, float]
    least_asked: dict[str, float]
    short: dict[str, str]
    untrue: dict[str, tuple[str, ...]]
    mended: dict[str, tuple[str, ...]]
    undermined: dict[str, tuple[str, ...]]
    not_now: dict[str, tuple[str, ...]]
    no_claim: dict[str, tuple[str, ...]]
    always_stated: dict[str, tuple[str, ...]]
    untold: dict[str, tuple[str, ...]]


@cache
def small_words() -> SmallWords:
    """Read the small words once."""
    raw = loads(data("written.toml"))
    least = {name: float(value) for name, value in raw.pop("least").items()}
    asked = {name: float(value) for name, value in raw.pop("least_asked").items()}
    short = {str(name): str(word) for name, word in raw.pop("short").items()}
    untrue, mended, undermined, not_now, no_claim, always_stated, untold = (
        {str(name): tuple(words) for name, words in raw.pop(of).items()}
        for of in ("untrue", "mended", "undermined", "not_now", "no_claim", "always_stated", "untold")
    )
    unsaid = tuple(_with_place(phrase) for phrase in raw.pop("unsaid"))
    return SmallWords(
        least=least,
        least_asked=asked,
        short=short,
        unsaid=unsaid,
        untrue=untrue,
        mended=mended,
        undermined=undermined,
        not_now=not_now,
        no_claim=no_claim,
        always_stated=always_stated,
        untold=untold,
        **{name: frozenset(words) for name, words in raw.items()},
    )


def _with_place(phrase: str) -> tuple[tuple[str, ...], int]:
    """Give the words of a phrase, and how many tokens before its word in brackets it begins, as a number below one."""
    words = phrase.split()
    return tuple(word.strip("[]") for word in words), -next(n for n, word in enumerate(words) if word[0] == "[")


def any_of(words: Iterable[str]) -> str:
    """Give a pattern that fits any of some words, the longest first, however their apostrophes are written.

    >>> re.findall(any_of(["it's", "it's so"]), "it's so, it's true")
    ["it's so", "it's"]
    """
    listed = sorted(words, key=len, reverse=True)
    return "(?:" + "|".join(re.escape(word).replace("'", "['\u2019]") for word in listed) + ")"


@cache
def written_rows() -> tuple[Row, ...]:
    """Read the phrases of written text once: conditions, then parts and cues."""
    return tuple(
        replace(row, id=f"{file}.written_" + row.id.removeprefix(f"{file}."))
        for file, name in _FILES
        for row in read_rows(file, data(name).splitlines(), name=name)
    )


_FILES = (
    ("conditions", "written.csv"),
    ("conditions", "written_working.csv"),
    ("parts", "written_parts.csv"),
    ("cues", "written_cues.csv"),
)


@dataclass(frozen=True, eq=False, slots=True)
class WrittenWords:
    """The phrases that written text is read with; `parts` are those of parts that begin with no small word.

    Two are one only where they are the same object.
    """

    lexicon: Lexicon
    parts: Lexicon


@lru_cache(maxsize=4)
def without_small_words(words: WrittenWords) -> Lexicon:
    """Give the phrases without parts that begin with a small word; laid out once they are needed."""
    return build([*(row for row in words.lexicon.rows if row.file != "parts"), *words.parts.rows])


def written_words(lexicon: Lexicon) -> WrittenWords:
    """Put the phrases of written text on top of a lexicon."""
    own = written_rows()
    taken = {(row.file, p) for row in own if row.file != "conditions" for phrase in row.phrases for p in expand(phrase)}
    ids = {row.id for row in own}
    spoken = (_without(row, taken) for row in lexicon.rows if row.id not in ids)
    full = build([*(row for row in spoken if row.phrases), *own])
    small = small_words().leading
    rows = (
        replace(row, phrases=tuple(p for p in row.phrases if p.split()[0] not in small))
        for row in full.rows
        if row.file == "parts"
    )
    return WrittenWords(full, build(row for row in rows if row.phrases))


def _without(row: Row, taken: AbstractSet[tuple[str, str]]) -> Row:
    """Leave out of a row of speech the parts and cues that written text has a row of its own for."""
    if row.file == "parts":
        cut = small_words().cut_parts
        row = replace(row, phrases=tuple(p for p in row.phrases if not cut.intersection(p.split())))
    if row.file not in ("parts", "cues") or not any((row.file, p) in taken for q in row.phrases for p in expand(q)):
        return row
    return replace(row, phrases=tuple(p for q in row.phrases for p in expand(q) if (row.file, p) not in taken))


@cache
def shipped_words() -> WrittenWords:
    """Give the phrases of written text on top of the shipped lexicon."""
    return written_words(shipped_lexicon())


def data(name: str) -> str:
    """Read one of the data files of this package."""
    return files("shutline.claims").joinpath("data", name).read_text(encoding="utf-8")
