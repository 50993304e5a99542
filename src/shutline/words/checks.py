"""What wording is held to: its places are known, it can be printed, and it says nothing that no car file bears out."""

from __future__ import annotations

import csv
import io
import re
from functools import cache
from importlib.resources import files

from shutline.car.errors import BadInputError, Problem

VERBS = frozenset({"be", "have", "do", "need", "want", "come"})
"""Verbs that a sentence may let agree with its subject."""

PLACE = re.compile(r"\{([A-Za-z_ ]+)\}")
NEVER_COLUMNS = ("id", "words", "why", "source")
_VERB = re.compile(r"[a-z]+")


def shipped_text(name: str) -> str:
    """Give the text of one of our own files."""
    return files("shutline.words").joinpath("data", name).read_text(encoding="utf-8")


def hold(where: str, good: object, found: str, allowed: str) -> None:
    """Refuse what is not so; raises BadInputError (slug ``house-words``)."""
    if not good:
        raise refused(where, found, allowed)


def refused(where: str, found: str, allowed: str) -> BadInputError:
    """Make the error for a line that cannot be used."""
    return BadInputError(
        Problem(
            slug="house-words",
            where=where,
            found=found,
            allowed=allowed,
            advice="Mend the line, and try again.",
        )
    )


def check_words(where: str, text: str, allowed: set[str] | None, *, verbs: frozenset[str] | None = frozenset()) -> None:
    """Refuse places that there are not, and words that no description says; `verbs` None lets any verb be one."""
    for place in PLACE.findall(text):
        verb = _VERB.fullmatch(place) is not None and (verbs is None or place in verbs)
        if allowed is not None and place not in allowed and not verb:
            raise refused(where, f"a place {{{place}}}", f"{', '.join(sorted(allowed)) or 'none'}")
    left = PLACE.sub("", text)
    hold(where, "{" not in left and "}" not in left, "a { or } by itself", "places such as {it}")
    hold(where, text.isprintable(), "signs that cannot be printed", "letters, digits and signs")
    said = forbidden_in(text)
    if said is not None:
        raise refused(where, f"'{said[0]}'", f"words that the car file can bear out: {said[1]}")


def checked_rows(text: str, columns: tuple[str, ...], source: str) -> list[tuple[str, dict[str, str]]]:
    """Give the rows of a CSV with where each stands; raises BadInputError for another heading or too few cells."""
    reader = csv.DictReader(io.StringIO(text), strict=True)
    try:
        heading = tuple(reader.fieldnames or ())
        hold(f"{source}, line 1", heading == columns, f"columns {', '.join(heading)}", ", ".join(columns))
        found = []
        for row in reader:
            where = f"{source}, line {reader.line_num}"
            whole = None not in row and None not in row.values()
            hold(where, whole, "too many or too few cells", f"{len(columns)} cells")
            hold(where, bool(row["source"].strip()), "no source", "a source in every row")
            found.append((where, {column: (cell or "").strip() for column, cell in row.items()}))
    except csv.Error as error:
        raise refused(f"{source}, line {reader.line_num}", f"no CSV: {error}", "cells parted by commas") from error
    return found


@cache
def never() -> tuple[tuple[str, str], ...]:
    """Give what no description of ours says, each with why."""
    return tuple(
        (words.strip(), row["why"])
        for _, row in checked_rows(shipped_text("never.csv"), NEVER_COLUMNS, "never.csv")
        for words in row["words"].split("|")
    )


def forbidden_in(text: str) -> tuple[str, str] | None:
    """Give the first thing in a text that no description of ours says, with why; None where there is none."""
    plain = f" {' '.join(re.sub(r'[^a-z0-9-]+', ' ', text.lower()).split())} "
    return next(((words, why) for words, why in never() if f" {words} " in plain), None)
