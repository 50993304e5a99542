"""The words and weights that papers are read by: read once, refused with file and line."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from shutline.car.papers import PaperKind, ReadKind
from shutline.history.papers.folded import Lexicon, folded
from shutline.history.tables import rows, text_of

_PACKAGE = "shutline.history.papers"
_SHOWN = ("example", "counter_example", "source")
COUNTRIES = ("GB", "IE", "DE", "FR", "US")
"""Countries whose conventions are known: of days, of miles and of money."""


@dataclass(frozen=True, slots=True)
class KindWords:
    """Words that speak for a kind of paper, by `weight`, the natural logarithm of the odds they add."""

    kind: PaperKind
    words: str
    weight: float
    country: str


@dataclass(frozen=True, slots=True)
class Label:
    """What stands beside a value and says what it is: `kind` of the value, None for one that is of no use here."""

    words: str
    kind: ReadKind | None
    role: str
    country: str


@dataclass(frozen=True, slots=True)
class Currency:
    """A sign or word of money, and its three letters in a country, empty for any."""

    sign: str
    code: str
    country: str


@dataclass(frozen=True, slots=True)
class Country:
    """A country's two letters of ISO 3166, told by words."""

    code: str


Meaning = KindWords | Label | Country


@cache
def lexicon() -> Lexicon[KindWords | Label | Country]:
    """Give all phrases at once, so that a line is gone through once."""
    return Lexicon([
        *((row.words, row) for row in kind_words()),
        *((row.words, row) for row in labels()),
        *((words, Country(code)) for words, code in countries()),
    ], every=(KindWords,))  # fmt: skip


@cache
def kind_words() -> tuple[KindWords, ...]:
    """Give the words that speak for a kind of paper."""
    return tuple(
        KindWords(PaperKind(row["kind"]), row["words"], float(row["weight"]), row["country"])
        for row in rows("kinds.csv", ("kind", "words", "weight", "country", *_SHOWN), package=_PACKAGE)
    )


@cache
def labels() -> tuple[Label, ...]:
    """Give the labels."""
    return tuple(
        Label(row["words"], None if row["kind"] == "none" else ReadKind(row["kind"]), row["role"], row["country"])
        for row in rows("roles.csv", ("words", "kind", "role", "country", *_SHOWN), package=_PACKAGE)
    )


@cache
def label_words() -> frozenset[str]:
    """Give the labels folded, to tell whether words are one whole."""
    return frozenset(folded(row.words).text for row in labels())


@cache
def countries() -> tuple[tuple[str, str], ...]:
    """Give names of countries with their codes."""
    return tuple(
        (row["words"], row["code"]) for row in rows("countries.csv", ("words", "code", *_SHOWN), package=_PACKAGE)
    )


@cache
def months() -> Mapping[str, tuple[int, str]]:
    """Give the number and the country of each word for a month, by the word folded."""
    table = rows("months.csv", ("word", "month", "country", "source"), package=_PACKAGE)
    return {folded(row["word"]).text: (int(row["month"]), row["country"]) for row in table}


@cache
def month_words() -> frozenset[str]:
    """Give the words for months as they are written, and without the signs over their letters."""
    table = [row["word"] for row in rows("months.csv", ("word", "month", "country", "source"), package=_PACKAGE)]
    return frozenset(table) | frozenset(
        unicodedata.normalize("NFKD", one).encode("ascii", "ignore").decode() for one in table
    )


@cache
def units() -> tuple[tuple[str, str, str], ...]:
    """Give the words for miles and kilometres, the longest first: word, ``mi`` or ``km``, country."""
    table = rows("units.csv", ("word", "unit", "country", "example", "source"), package=_PACKAGE)
    return tuple(sorted(((row["word"], row["unit"], row["country"]) for row in table), key=lambda row: -len(row[0])))


@cache
def currencies() -> tuple[Currency, ...]:
    """Give the signs and words of money, the longest first."""
    table = rows("currencies.csv", ("word", "code", "country", "example", "source"), package=_PACKAGE)
    return tuple(
        sorted((Currency(row["word"], row["code"], row["country"]) for row in table), key=lambda c: -len(c.sign))
    )


@cache
def weights() -> Mapping[str, Any]:
    """Give how what is read is weighed."""
    return tomllib.loads(text_of("papers.toml", package=_PACKAGE))


@cache
def private_rules() -> Mapping[str, Any]:
    """Give what of a paper is private."""
    return tomllib.loads(text_of("private.toml", package=_PACKAGE))


@cache
def private_patterns() -> tuple[tuple[str, ReadKind, re.Pattern[str]], ...]:
    """Give the patterns of what is private by its form: id, kind, pattern."""
    return tuple((row["id"], ReadKind(row["kind"]), re.compile(row["pattern"])) for row in private_rules()["pattern"])


def is_label(words: str) -> bool:
    """Tell whether words are a label whole."""
    return folded(words).text in label_words()
