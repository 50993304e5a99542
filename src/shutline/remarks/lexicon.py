"""The phrases of the trade, the cues and the places, read from data files and laid into one trie of tokens."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cache, lru_cache
from importlib.resources import files
from itertools import product
from typing import Any

from shutline.car.errors import BadInputError, Problem
from shutline.car.vocabulary import vocabulary
from shutline.remarks.tokens import phrase_tokens

FOUND = frozenset({"yes", "no"})
SEVERITIES = frozenset({"", "slight", "moderate", "severe"})
REMEDIES = frozenset({"clean", "polish", "repaint", "repair", "replace", "adjust", "treat", "monitor"})
CUE_KINDS = frozenset(
    {
        "deny",
        "pass",
        "except",
        "rest",
        "doubt",
        "question",
        "general",
        "hypothetical",
        "past",
        "reported",
        "correction",
        "same",
        "contrast",
        "stop",
        "was",
        "slight",
        "moderate",
        "severe",
    }
)
REACHES = frozenset({"after", "before", "both", "near"})
"""Which way a cue reaches: the words after it, those before it, both, or a few words either way."""
PLACE_KINDS = frozenset({"side", "this", "other", "position", "area", "none"})
END = ""
"""The key in a trie node under which the rows that end there stand."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the lexicon: a set of phrases that say the same thing.

    `file` is one of parts, conditions, cues, remedies, places; `senses` the parts, conditions or values it may mean,
    likeliest first; `line` the line of the file it ends on; the rest as the file has it.
    """

    file: str
    id: str
    senses: tuple[str, ...]
    phrases: tuple[str, ...]
    source: str
    example: str
    counter_example: str
    kind: str = ""
    found: str = "yes"
    severity: str = ""
    implied: tuple[str, ...] = ()
    reach: str = ""
    line: int = field(default=0, compare=False)


@dataclass(eq=False, slots=True)
class Lexicon:
    """All rows, and one trie over their phrases; two are one only where they are the same object.

    A node maps a token's stem, or ``=`` and the exact token, to the next node; under `END` stand the rows whose phrase
    ends there. `exact` are the tokens that any phrase asks for exactly.
    """

    rows: tuple[Row, ...]
    trie: dict[str, Any] = field(repr=False)
    exact: frozenset[str] = field(repr=False)


COLUMNS = {
    "parts": ("id", "part", "phrases", "source", "example", "counter_example"),
    "conditions": (
        "id",
        "condition",
        "found",
        "severity",
        "part",
        "phrases",
        "source",
        "example",
        "counter_example",
    ),
    "cues": ("id", "kind", "reach", "phrases", "source", "example", "counter_example"),
    "remedies": ("id", "remedy", "phrases", "source", "example", "counter_example"),
    "places": ("id", "kind", "value", "phrases", "source", "example", "counter_example"),
}
"""The columns of each file, in their order."""
MAY_BE_EMPTY = frozenset({"severity", "value", "part", "found"})
"""The columns in which a row may have nothing."""


def _refuse(where: str, found: str, allowed: str) -> BadInputError:
    return BadInputError(Problem("lexicon-row", where, found, allowed, "Mend the row and read the lexicon again."))


def expand(phrase: str) -> Iterator[str]:
    """Spell out the alternatives of a phrase.

    >>> list(expand("door rubber/seal"))
    ['door rubber', 'door seal']
    """
    if "/" not in phrase:
        yield phrase
        return
    for choice in product(*(word.split("/") for word in phrase.split())):
        yield " ".join(choice)


def read_rows(file: str, lines: Iterable[str], *, name: str) -> list[Row]:
    """Read the rows of one lexicon file.

    Parameters
    ----------
    file : str
        Which of the five files: parts, conditions, cues, remedies, places.
    lines : iterable of str
        The CSV, heading first.
    name : str
        What to call the file when a row is refused.

    Raises
    ------
    BadInputError
        For an unknown file kind, missing, repeated or unknown columns, ids, phrases or values, with file and line.
    """
    if file not in COLUMNS:
        raise _refuse(name, f"a lexicon file called {file!r}", "one of " + ", ".join(COLUMNS))
    columns = COLUMNS[file]
    reader = csv.reader(lines)
    heading = tuple(next(reader, ()))
    if heading != columns:
        raise _refuse(f"{name}:1", f"the columns {', '.join(heading) or 'none'}", "exactly " + ", ".join(columns))
    rows: list[Row] = []
    seen: set[str] = set()
    for cells in reader:
        where = f"{name}:{reader.line_num}"
        if not cells:
            continue
        if len(cells) != len(columns):
            raise _refuse(where, f"{len(cells)} cells", f"{len(columns)} cells: {', '.join(columns)}")
        cell = dict(zip(columns, cells, strict=True))
        for column, value in cell.items():
            if not value.strip() and column not in MAY_BE_EMPTY:
                raise _refuse(where, f"nothing under {column}", "a value")
        if cell["id"] in seen:
            raise _refuse(where, f"the id {cell['id']} a second time", "each id once")
        seen.add(cell["id"])
        rows.append(_row(file, cell, where, reader.line_num))
    return rows


def _known(where: str, found: Iterable[str], allowed: Iterable[str], what: str) -> tuple[str, ...]:
    given = tuple(found)
    known = set(allowed)
    for value in given:
        if value not in known:
            raise _refuse(where, f"the {what} {value!r}", "one of " + ", ".join(sorted(known - {""})))
    return given


def _row(file: str, cell: dict[str, str], where: str, line: int) -> Row:
    words = vocabulary()
    kind = cell.get("kind", "")
    found = cell.get("found") or "yes"
    severity = cell.get("severity", "")
    implied: tuple[str, ...] = ()
    if file == "parts":
        senses = _known(where, cell["part"].split("|"), words.parts, "part")
    elif file == "conditions":
        senses = _known(where, cell["condition"].split("|"), words.conditions, "condition")
        _known(where, (found,), FOUND, "found")
        _known(where, (severity,), SEVERITIES, "severity")
        if cell["part"]:
            implied = _known(where, cell["part"].split("|"), words.parts, "part")
    elif file == "remedies":
        senses = _known(where, (cell["remedy"],), REMEDIES, "remedy")
    elif file == "cues":
        senses = _known(where, (kind,), CUE_KINDS, "kind")
        _known(where, (cell["reach"],), REACHES, "reach")
    else:
        _known(where, (kind,), PLACE_KINDS, "kind")
        senses = (cell["value"],)
    phrases = tuple(dict.fromkeys(cell["phrases"].split("|")))
    if any(not phrase.strip() for phrase in phrases):
        raise _refuse(where, "an empty phrase", "phrases parted by single bars")
    return Row(
        file=file,
        id=f"{file}.{cell['id']}",
        senses=senses,
        phrases=phrases,
        source=cell["source"],
        example=cell["example"],
        counter_example=cell["counter_example"],
        kind=kind,
        found=found,
        severity=severity,
        implied=implied,
        reach=cell.get("reach", ""),
        line=line,
    )


@lru_cache(maxsize=16384)
def _keys(word: str) -> tuple[str, ...]:
    """Give the keys that a word of a phrase has in the trie: itself where it is asked for exactly, or its stems."""
    if word == "*" or (word[0] == "=" and len(word) > 1):
        return (word,)
    return tuple(stemmed for _, stemmed in phrase_tokens(word))


def build(rows: Iterable[Row]) -> Lexicon:
    """Lay rows into one trie."""
    everything = tuple(rows)
    trie: dict[str, Any] = {}
    exact: set[str] = set()
    for row in everything:
        for written in row.phrases:
            for phrase in expand(written):
                node = trie
                for word in phrase.split():
                    if word[0] == "=" and len(word) > 1:
                        exact.add(word[1:])
                    for key in _keys(word):
                        following = node.get(key)
                        if following is None:
                            following = node[key] = {}
                        node = following
                ends = node.setdefault(END, [])
                if not ends or ends[-1] is not row:
                    ends.append(row)
    return Lexicon(everything, trie, frozenset(exact))


@cache
def shipped_lexicon() -> Lexicon:
    """Read the lexicon that comes with the package, once."""
    folder = files("shutline.remarks").joinpath("data")
    rows: list[Row] = []
    for file in COLUMNS:
        lines = folder.joinpath(f"{file}.csv").read_text(encoding="utf-8").splitlines()
        rows.extend(read_rows(file, lines, name=f"{file}.csv"))
    return build(rows)


@lru_cache(maxsize=8)
def own_tokens(lexicon: Lexicon) -> frozenset[str]:
    """Give the tokens of all rows that the shipped lexicon has not."""
    shipped = shipped_lexicon()
    if lexicon is shipped:
        return frozenset()
    return frozenset(
        token
        for row in set(lexicon.rows) - set(shipped.rows)
        for written in row.phrases
        for phrase in expand(written)
        for token, _ in phrase_tokens(phrase.replace("=", " "))
    )


def with_layer(base: Lexicon, rows: Iterable[Row]) -> Lexicon:
    """Put rows of the user's own on top of a lexicon; a row with an id of the base takes its place."""
    own = {row.id: row for row in rows}
    kept = [row for row in base.rows if row.id not in own]
    return build([*kept, *own.values()])
