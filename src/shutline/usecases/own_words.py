"""The user's own layer of words over the shipped lexicon: their makes, their dialect, the words of their house."""

from __future__ import annotations

import csv
import hashlib
import os
from collections.abc import Sequence
from dataclasses import dataclass
from math import prod
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import BadInputError, Problem
from shutline.usecases.settings import settings_file

if TYPE_CHECKING:
    from shutline.remarks import Lexicon, Row

WORDS_VARIABLE = "SHUTLINE_WORDS"
"""Environment variable that names another folder of words."""

MOST_READINGS = 1_000
"""In how many ways one phrase may be read, by the alternatives in it."""


@dataclass(frozen=True, slots=True)
class OwnWords:
    """The user's rows, the lexicon with them laid over the shipped ones, and a name that changes with the rows.

    Without rows `lexicon` is the shipped one and `edition` is empty.
    """

    folder: Path
    rows: tuple[Row, ...]
    lexicon: Lexicon
    edition: str


def words_folder() -> Path:
    """Give where the user's words lie: what the environment names, else the folder `words` beside the settings."""
    named = os.environ.get(WORDS_VARIABLE)
    return Path(named) if named else settings_file().parent / "words"


def own_words(folder: Path | None = None) -> OwnWords:
    """Read the user's words: conditions.csv, parts.csv, cues.csv, remedies.csv and places.csv, each if it is there.

    Parameters
    ----------
    folder : Path, optional
        Where they lie; see `words_folder` when left out.

    Raises
    ------
    BadInputError
        A file is called otherwise or is no UTF-8, or a row is wrong or does not fit its own example (slug
        ``lexicon-row``), with file and line.
    """
    from shutline import remarks

    folder = folder or words_folder()
    rows: list[Row] = []
    digest = hashlib.sha256()
    for file in sorted(folder.glob("*.csv")):
        data = file.read_bytes()
        digest.update(file.name.encode() + b"\0" + data + b"\0")
        try:
            lines = data.decode("utf-8-sig").splitlines()
        except UnicodeDecodeError as error:
            raise _refused(f"{file}", f"byte {error.start} is no UTF-8", "UTF-8") from None
        rows.extend(read_words_file(file.stem, lines, where=str(file)))
    if not rows:
        return OwnWords(folder, (), remarks.shipped_lexicon(), "")
    lexicon = remarks.with_layer(remarks.shipped_lexicon(), rows)
    return OwnWords(folder, tuple(rows), lexicon, digest.hexdigest()[:16])


def words_mark(folder: Path | None = None) -> str:
    """Give a mark that changes with what the user's files of words hold; they are not read for what they mean."""
    digest = hashlib.sha256()
    for file in sorted((folder or words_folder()).glob("*.csv")):
        digest.update(file.name.encode() + b"\0" + file.read_bytes() + b"\0")
    return digest.hexdigest()[:16]


def read_words_file(name: str, lines: Sequence[str], *, where: str) -> list[Row]:
    """Read the lines of one file of words, and try each row on its own examples; raises as `own_words` does.

    Parameters
    ----------
    name : str
        Which of the five: parts, conditions, cues, remedies, places.
    lines : sequence of str
        The CSV, heading first.
    where : str
        What to call the file when a row is refused.
    """
    from shutline import remarks

    try:
        rows = remarks.read_rows(name, lines, name=where)
    except csv.Error as error:
        raise _refused(where, f"it cannot be read as CSV: {error}", "cells parted by commas") from None
    for row in rows:
        _tried(row, where)
    return rows


def _tried(row: Row, where: str) -> None:
    """Refuse a row whose phrases are not in its example, or are in its counter-example."""
    from shutline import remarks

    name = f"{where}:{row.line}"
    readings = max(prod(word.count("/") + 1 for word in phrase.split()) for phrase in row.phrases)
    if readings > MOST_READINGS:
        raise _refused(name, f"a phrase with {readings:,} ways to read it", f"at most {MOST_READINGS:,} with all its /")
    if not remarks.row_fits(row, row.example):
        raise _refused(name, f"no phrase of the row stands in its example {row.example!r}", "an example that has one")
    if remarks.row_fits(row, row.counter_example):
        raise _refused(
            name,
            f"a phrase of the row stands in its counter-example {row.counter_example!r}",
            "words that look alike and mean something else",
        )


def _refused(where: str, found: str, allowed: str) -> BadInputError:
    return BadInputError(Problem("lexicon-row", where, found, allowed, "Mend the row and give the command again."))
