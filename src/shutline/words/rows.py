"""Rows of the wording: how parts are called, what is said of each condition, and finer words for some."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from shutline.car.vocabulary import vocabulary
from shutline.words.checks import PLACE, check_words, checked_rows, hold, refused

NOUN_COLUMNS = (
    *("id", "one", "many", "number", "by_seat", "ends", "unplaced", "alone"),
    *("replaced", "section", "paragraph", "weight", "source"),
)
SAYING_COLUMNS = (
    *("id", "condition", "parts", "yes", "slight", "moderate", "severe", "no", "unsure", "there", "weight", "source"),
)
FINER_COLUMNS = (
    *("id", "condition", "parts", "phrases", "subject", "number", "said", "source", "example", "counter_example"),
)
CELLS = ("yes", "slight", "moderate", "severe", "no", "unsure")
DEGREES = ("a small", "a slight", "small", "slight", "slightly")
SECTIONS = ("history", "outside", "inside", "underneath", "mechanical")


@dataclass(frozen=True, slots=True)
class Noun:
    """How a part is called: one of it, several (empty for what is not counted), and whether the one is a plural.

    `by_seat`: its sides are the driver's and the passenger's. `ends` is ``before`` where front or rear may stand before
    it though it does not occur at two ends. `unplaced` is ``set`` where it is spoken of as a set. `alone`: there is one
    a side, whatever its end. `in_part`: what is replaced is something of it. `weight`, 0 to 9,
    is what it counts for where there is room for little.
    """

    id: str
    one: str
    many: str
    plural: bool
    by_seat: bool
    ends: str
    unplaced: str
    alone: bool
    in_part: bool
    section: str
    paragraph: str
    weight: int


@dataclass(frozen=True, slots=True)
class Saying:
    """What is said of one condition, of some parts or of any: the variants of each cell.

    `there` is its preposition; `weight`, 0 to 9, what it counts for where there is room for little.
    """

    id: str
    condition: str
    parts: frozenset[str]
    cells: Mapping[str, tuple[str, ...]]
    there: str
    weight: int


@dataclass(frozen=True, slots=True)
class Finer:
    """A finer word for a condition, where the words that were said hold one of `phrases`."""

    id: str
    condition: str
    parts: frozenset[str]
    phrases: tuple[str, ...]
    subject: str
    plural: bool
    said: str


def read_nouns(text: str, *, source: str, whole: bool = False) -> dict[str, Noun]:
    """Read rows of the form of ``data/nouns.csv``; `whole` asks for each part once. Raises BadInputError by line."""
    found: dict[str, Noun] = {}
    for where, row in checked_rows(text, NOUN_COLUMNS, source):
        part = vocabulary().parts.get(row["id"])
        hold(where, part is not None, f"no part {row['id']!r}", "a part of the vocabulary")
        hold(where, row["id"] not in found, f"{row['id']!r} for the second time", "each part once")
        hold(where, bool(row["one"]), "no word for one of it", "a noun under one")
        hold(where, row["number"] in {"one", "many"}, f"number {row['number']!r}", "one or many")
        hold(where, row["section"] in SECTIONS, f"section {row['section']!r}", ", ".join(SECTIONS))
        for column, allowed in (
            *(("by_seat", ("", "yes")), ("ends", ("", "before"))),
            *(("unplaced", ("", "set")), ("alone", ("", "yes")), ("replaced", ("", "part"))),
        ):
            hold(where, row[column] in allowed, f"{column} {row[column]!r}", " or ".join(allowed) or "nothing")
        for column in ("one", "many"):
            check_words(where, row[column], set())
        found[row["id"]] = Noun(
            row["id"],
            row["one"],
            row["many"],
            row["number"] == "many",
            row["by_seat"] == "yes",
            row["ends"],
            row["unplaced"],
            row["alone"] == "yes",
            row["replaced"] == "part",
            row["section"],
            row["paragraph"],
            _weight(where, row),
        )
    missing = sorted(set(vocabulary().parts) - set(found))
    hold(source, not (whole and missing), f"no row for {', '.join(missing)}", "each part once")
    return found


def read_sayings(text: str, *, source: str) -> dict[str, Saying]:
    """Read rows of the form of ``data/conditions.csv``; raises BadInputError by line."""
    found: dict[str, Saying] = {}
    for where, row in checked_rows(text, SAYING_COLUMNS, source):
        condition = vocabulary().conditions.get(row["condition"])
        hold(where, row["id"] != "" and row["id"] not in found, f"id {row['id']!r}", "an id of its own for each row")
        if condition is None:
            raise refused(where, f"no condition {row['condition']!r}", "a condition of the vocabulary")
        cells = {name: tuple(filter(None, (one.strip() for one in row[name].split("|")))) for name in CELLS}
        needed = CELLS if condition.defect else ("yes", "no", "unsure")
        for name in needed:
            # A doubt that is not worded is told with the words of the fault after a 'may'.
            hold(where, bool(cells[name]) or name == "unsure", f"nothing under {name}", f"words under {name}")
        for said in (one for variants in cells.values() for one in variants):
            check_words(where, said, {"it", "its"}, verbs=None)
        if not cells["unsure"]:
            cells["unsure"] = (f"may {bare(cells['yes'][0])}",)
        hold(where, row["there"] in {"", "on", "in", "from", "at"}, f"there {row['there']!r}", "on, in, from or at")
        parts = _parts(where, row["parts"])
        there, weight = row["there"], _weight(where, row)
        found[row["id"]] = Saying(row["id"], row["condition"], parts, cells, there, weight)
    return found


def read_finer(text: str, *, source: str) -> dict[str, Finer]:
    """Read rows of the form of ``data/finer.csv``; each is tried on its examples. Raises BadInputError by line."""
    found: dict[str, Finer] = {}
    for where, row in checked_rows(text, FINER_COLUMNS, source):
        hold(where, row["id"] != "" and row["id"] not in found, f"id {row['id']!r}", "an id of its own for each row")
        hold(where, row["condition"] in vocabulary().conditions, f"no condition {row['condition']!r}", "a condition")
        phrases = tuple(filter(None, (one.strip() for one in row["phrases"].split("|"))))
        hold(where, bool(phrases) and bool(row["said"]), "no phrases or nothing said", "both")
        check_words(where, row["said"], {"it", "its", *DEGREES}, verbs=None)
        check_words(where, row["subject"], {"place"})
        finer = Finer(
            row["id"],
            row["condition"],
            _parts(where, row["parts"]),
            phrases,
            row["subject"],
            row["number"] == "many",
            row["said"],
        )
        hold(where, said_finely(finer, row["example"]), f"no phrase in {row['example']!r}", "an example that has one")
        hold(
            where,
            not said_finely(finer, row["counter_example"]),
            f"a phrase in {row['counter_example']!r}",
            "words that look alike and mean something else",
        )
        found[row["id"]] = finer
    return found


def said_finely(finer: Finer, quote: str) -> bool:
    """Tell whether words hold one of the phrases of a finer word."""
    return holds_phrase(finer.phrases, quote)


def holds_phrase(phrases: Iterable[str], quote: str) -> bool:
    """Tell whether words hold one of some phrases, as whole words."""
    words = f" {' '.join(re.sub(r'[^a-z0-9 ]+', ' ', quote.lower().replace(chr(0x2019), '')).split())} "
    plain = (re.sub(r"[^a-z0-9 ]+", " ", phrase.lower()) for phrase in phrases)
    return any(f" {' '.join(phrase.split())} " in words for phrase in plain)


def bare(said: str) -> str:
    """Give what is said with its verb as it stands after 'may'."""
    return PLACE.sub(lambda found: found[0] if found[1] in {"it", "its", *DEGREES} else found[1], said)


def _weight(where: str, row: Mapping[str, str]) -> int:
    digit = len(row["weight"]) == 1 and row["weight"].isdecimal()
    hold(where, digit, f"weight {row['weight']!r}", "a figure from 0 to 9")
    return int(row["weight"])


def _parts(where: str, cell: str) -> frozenset[str]:
    parts = frozenset(filter(None, (one.strip() for one in cell.split("|"))))
    odd = sorted(parts - set(vocabulary().parts))
    hold(where, not odd, f"no part {', '.join(odd)}", "parts of the vocabulary, parted by bars")
    return parts
