"""Words by which a speaker says that a picture is being taken, found in what was said."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shutline.car.speech import Stretch

_COLUMNS = ("id", "phrase", "source", "example", "counter_example")
_WORD = re.compile(r"[a-z0-9']+")


@dataclass(frozen=True, slots=True)
class CueRow:
    """One way to say it: some words one after the other, and sentences that it fits and must not fit."""

    id: str
    phrase: tuple[str, ...]
    source: str
    example: str
    counter_example: str


@dataclass(frozen=True, slots=True)
class PictureCue:
    """That a picture was spoken of: from when to when, seconds, and with which words."""

    start_s: float
    end_s: float
    quote: str


def picture_cues(stretches: Sequence[Stretch]) -> tuple[PictureCue, ...]:
    """Find each place in what was said where a picture is spoken of as being taken, in the order of time."""
    words = [
        (token, word)
        for stretch in stretches
        for word in stretch.words
        for token in _WORD.findall(word.text.lower().replace("\N{RIGHT SINGLE QUOTATION MARK}", "'"))
    ]
    tokens = [token for token, _ in words]
    found: list[PictureCue] = []
    for at in range(len(tokens)):
        for row in cue_rows():
            count = len(row.phrase)
            if tuple(tokens[at : at + count]) == row.phrase:
                said = [word for _, word in words[at : at + count]]
                # 'Take a picture of this' is one cue, however many rows it fits.
                if not found or said[0].start_s > found[-1].end_s + 1.0:
                    quote = " ".join(dict.fromkeys(word.text for word in said))
                    found.append(PictureCue(said[0].start_s, said[-1].end_s, quote))
                break
    return tuple(found)


@cache
def cue_rows() -> tuple[CueRow, ...]:
    """Read the shipped words once; raises ValueError that names the row and what is wrong with it."""
    return parse_cues(files("shutline.usecases").joinpath("data/picture_cues.csv").read_text(encoding="utf-8"))


def parse_cues(text: str) -> tuple[CueRow, ...]:
    """Read words from CSV; raises ValueError for unknown, missing and repeated entries, with the line."""
    reader = csv.DictReader(text.splitlines())
    if tuple(reader.fieldnames or ()) != _COLUMNS:
        raise ValueError(f"picture_cues.csv: columns {reader.fieldnames}; allowed: {', '.join(_COLUMNS)}")
    rows: list[CueRow] = []
    for line, row in enumerate(reader, 2):
        if None in row or not all(row[name] for name in _COLUMNS):
            raise ValueError(f"picture_cues.csv, line {line}: an entry is missing, or there is one too many")
        made = CueRow(
            row["id"],
            tuple(_WORD.findall(row["phrase"].lower())),
            row["source"],
            row["example"],
            row["counter_example"],
        )
        if any(made.id == other.id or made.phrase == other.phrase for other in rows):
            raise ValueError(f"picture_cues.csv, line {line}: {row['id']!r} or its phrase stands there twice")
        rows.append(made)
    return tuple(rows)
