"""Tables of the survey's own data, read row by row and refused by file and line."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator
from importlib.resources import files

from shutline.car.errors import Problem, UserError
from shutline.car.vocabulary import vocabulary

_WORD = re.compile(r"[a-z0-9]+(?:'[a-z]+)?")


def shipped(name: str) -> str:
    """Read a shipped table as text."""
    return files("shutline.survey").joinpath("data", name).read_text(encoding="utf-8")


def table_rows(
    text: str, *, source: str, columns: tuple[str, ...], needed: tuple[str, ...] = ("why", "source")
) -> Iterator[tuple[str, dict[str, str]]]:
    """Give the rows of a table, each with the name of its line.

    Parameters
    ----------
    text : str
        CSV with its heading.
    source : str
        What to call it when a row is refused.
    columns : tuple of str
        The heading; `id` must be one of them, and no two rows may share one.
    needed : tuple of str
        Columns that may not be empty.

    Raises
    ------
    UserError
        The heading or a row is not as it should be (slug ``survey-table-refused``).
    """
    reader = csv.DictReader(io.StringIO(text))
    if tuple(reader.fieldnames or ()) != columns:
        raise refused(f"{source}, line 1", f"columns {', '.join(reader.fieldnames or ())}", ", ".join(columns))
    seen: set[str] = set()
    for row in _read(reader, source):
        where = f"{source}, line {reader.line_num}"
        if None in row or None in row.values():
            raise refused(where, "too many or too few columns", f"{len(columns)} columns")
        if not row["id"] or row["id"] in seen:
            raise refused(where, f"id '{row['id']}' is empty or has been used before", "an id of its own for each row")
        for column in needed:
            if not row[column].strip():
                raise refused(where, f"no {column}", f"a {column} in every row")
        seen.add(row["id"])
        yield where, row


def _read(reader: csv.DictReader[str], source: str) -> Iterator[dict[str, str]]:
    try:
        yield from reader
    except csv.Error as error:
        raise refused(
            f"{source}, line {reader.line_num}", f"it cannot be read as CSV: {error}", "cells parted by commas"
        ) from None


def one_of(value: str, allowed: Iterable[str], *, where: str, column: str) -> str:
    """Give a value that is one of those allowed; raises UserError as `table_rows` does."""
    choices = tuple(allowed)
    if value not in choices:
        raise refused(where, f"{column} '{value}'", f"one of {', '.join(repr(one) for one in choices)}")
    return value


def parts_of(cell: str, *, where: str) -> frozenset[str]:
    """Read ids of parts parted by spaces; ``@body`` stands for all of a group of the vocabulary."""
    words = vocabulary()
    found: set[str] = set()
    for name in cell.split():
        if name.startswith("@") and name[1:] in words.groups:
            found.update(part.id for part in words.parts.values() if part.group == name[1:])
        elif name in words.parts:
            found.add(name)
        else:
            raise refused(where, f"part '{name}'", "an id of the vocabulary, or @ and the name of one of its groups")
    return frozenset(found)


def conditions_of(cell: str, *, where: str) -> frozenset[str]:
    """Read ids of conditions parted by spaces; ``@defect`` stands for all defects, ``@good`` for all good ones."""
    known = vocabulary().conditions
    found: set[str] = set()
    for name in cell.split():
        if name in {"@defect", "@good"}:
            found.update(one.id for one in known.values() if one.defect == (name == "@defect"))
        elif name in known:
            found.add(name)
        else:
            raise refused(where, f"condition '{name}'", "an id of the vocabulary, @defect or @good")
    return frozenset(found)


def phrases_of(cell: str, *, where: str) -> tuple[tuple[str, ...], ...]:
    """Read phrases parted by bars, each as its words in lower case."""
    found = tuple(words_of(phrase) for phrase in cell.split("|")) if cell.strip() else ()
    if any(not words for words in found):
        raise refused(where, f"phrases '{cell}'", "words, parted by bars, none of them empty")
    return found


def words_of(text: str) -> tuple[str, ...]:
    """Give the words of a text in lower case, without marks.

    Examples
    --------
    >>> words_of("No rust - apart from that, it's air-cooled.")
    ('no', 'rust', 'apart', 'from', 'that', "it's", 'air', 'cooled')
    """
    return tuple(_WORD.findall(text.lower().replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")))


def holds_phrase(words: tuple[str, ...], phrases: Iterable[tuple[str, ...]]) -> bool:
    """Tell whether any of the phrases stands in the words, whole words in a row."""
    return any(
        words[at : at + len(phrase)] == phrase for phrase in phrases for at in range(len(words) - len(phrase) + 1)
    )


def refused(where: str, found: str, allowed: str) -> UserError:
    """Make the error of a row that is not as it should be."""
    return UserError(
        Problem(
            slug="survey-table-refused",
            where=where,
            found=found,
            allowed=allowed,
            advice="Correct the row and run again.",
        )
    )
