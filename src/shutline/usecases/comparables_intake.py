"""Files of comparables: which column is what is said once for the same headings, and nothing comes in twice."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

from shutline.car.comparables import Apart, ComparableFile
from shutline.car.errors import BadInputError, NotFoundError, Problem
from shutline.usecases.comparables import has_come
from shutline.usecases.progress import Step, Stop, Tell, silent
from shutline.usecases.settings import author as present_author

if TYPE_CHECKING:
    from shutline.market import Columns, Row
    from shutline.store import Store
    from shutline.store.comparables import Came, RowOfFile

LARGEST = 20_000_000
"""Bytes of a file."""
_PIECE = 1000
_KEPT_TEXT = 10_000
_STAGE = "taking in"
_TOLD: Mapping[Came, tuple[str, str]] = {
    "there": ("a row that is kept already", "rows that are kept already"),
    "changed": ("a row that is kept as a person changed it", "rows that are kept as a person changed them"),
    "taken back": ("a row that was taken back by a person", "rows that were taken back by a person"),
}


@dataclass(frozen=True, slots=True)
class TakenIn:
    """A file that was taken in: by which columns, how many rows it has, and what became of them.

    `anew` were there and say something else now that the columns are said to be others; `there` are kept already,
    `changed` of them as a person changed them, and `taken_back` do not count. `apart` cannot be read.
    """

    file: ComparableFile
    columns: Columns
    rows: int
    new: int
    anew: int
    there: int
    changed: int
    taken_back: int
    apart: int
    problems: tuple[Problem, ...]


def take_in(
    store: Store,
    source: Path | str,
    columns: Columns | None = None,
    *,
    name: str = "",
    author: str | None = None,
    tell: Tell = silent,
    stop: Stop | None = None,
) -> TakenIn:
    """Take in a file of comparables.

    Parameters
    ----------
    store : Store
        Where they are kept.
    source : Path or str
        The file, or its text.
    columns : Columns, optional
        Which column is what; kept for files with the same headings. Left out, what was said before of such headings
        holds, or else the columns that are called like fields.
    name : str
        What to call the file; needed with a text.
    author : str, optional
        Who brings it.
    tell, stop
        Progress, and a way to stop: a thousand rows are kept at once, and the same file goes on where it ended.

    Raises
    ------
    NotFoundError, BadInputError
        It cannot be read (slugs ``no-such-file``, ``not-readable``, ``comparable-file``), or it is not known which
        column is what (``comparable-columns``).
    """
    text = text_of(source) if isinstance(source, Path) else source
    called = name or (source.name if isinstance(source, Path) else "")
    who, halt = author or present_author(), stop or Stop()
    if len(text) > LARGEST:
        raise _refused(called, f"{len(text):,} characters", f"up to {LARGEST:,}")
    taken = columns or columns_for(store, text)
    rows = _read(text, taken, called, tell, halt)
    apart = tuple(_apart(row, problem) for row, problem in rows if problem is not None)
    good = [row for row, problem in rows if problem is None]
    if columns is not None:
        keep_columns(store, text, columns, author=who)
    sha256 = hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
    file = store.add_comparable_file(called, sha256, plain_columns(taken), apart, author=who)
    came: list[Came] = []
    for start in range(0, len(good), _PIECE):
        halt.heed(called)
        came += store.add_rows_of_file(file.id, [_row(one) for one in good[start : start + _PIECE]], author=who)
        tell(Step(called, _STAGE, 0.5 + 0.5 * len(came) / len(good)))
    tell(Step(called, _STAGE, 1.0))
    problems = [problem for _, problem in rows if problem is not None]
    return TakenIn(
        file=file,
        columns=taken,
        rows=len(rows),
        new=came.count("new"),
        anew=came.count("anew"),
        there=sum(came.count(one) for one in _TOLD),
        changed=came.count("changed"),
        taken_back=came.count("taken back"),
        apart=len(apart),
        problems=(*problems, *_there(called, [row.line for row in good], came)),
    )


def columns_for(
    store: Store,
    text: str,
    fields: Mapping[str, str] | None = None,
    *,
    leave_out: Collection[str] = (),
    **others: Any,
) -> Columns:
    """Give which column of a file is what: as it was said before of such headings, else by their names.

    Parameters
    ----------
    store : Store
        Where it is kept what was said before.
    text : str
        The file.
    fields : mapping of str to str, optional
        The heading of fields and of attributes, said anew; an empty one for what has no column.
    leave_out : collection of str
        Headings that tell nothing of the car.
    **others
        As `Columns` has them: ``day_form``, ``currency``, ``unit``, ``sold``, ``sold_words``.

    Raises
    ------
    BadInputError
        There is no column for the day or for the price (slug ``comparable-columns``).
    """
    from shutline.market import FIELDS, attribute_names, columns_by_name, heading_of

    heading, given = heading_of(text), dict(fields or {})
    known = kept_columns(store, heading)
    if known is None:
        found = columns_by_name(heading, {one: head for one, head in given.items() if head}, **others)
    else:
        said = {one: head for one, head in given.items() if head}
        stay = {one: head for one, head in known.fields.items() if one not in given and head not in said.values()}
        taken = stay | {one: head for one, head in said.items() if one in FIELDS}
        freed = [head for head in known.fields.values() if head not in taken.values() and head not in said.values()]
        described = {
            one: head for one, head in known.attributes.items() if one not in given and head not in said.values()
        }
        described |= attribute_names(freed) | {one: head for one, head in said.items() if one not in FIELDS}
        found = replace(known, fields=taken, attributes=described, **others)
    left = {*leave_out}
    without = {one: head for one, head in found.fields.items() if head not in left and given.get(one) != ""}
    described = {one: head for one, head in found.attributes.items() if head not in left and given.get(one) != ""}
    return replace(found, fields=without, attributes=described)


def kept_columns(store: Store, heading: Sequence[str]) -> Columns | None:
    """Give what was said of files with these headings; None where nobody said."""
    import msgspec

    from shutline.market import Columns

    kept = store.comparable_columns(heading)
    return None if kept is None else msgspec.convert(kept.columns, Columns)


def keep_columns(store: Store, text: str, columns: Columns, *, author: str, version: int | None = None) -> None:
    """Keep which column is what of files with the headings of this one; raises StaleError."""
    from shutline.market import heading_of

    plain = plain_columns(columns)
    store.keep_comparable_columns(heading_of(text), plain, author=author, expected_version=version)


def plain_columns(columns: Columns) -> dict[str, Any]:
    """Give columns as plain data."""
    import msgspec

    plain: dict[str, Any] = msgspec.to_builtins(columns)
    return {**plain, "sold_words": list(columns.sold_words)}


def text_of(file: Path) -> str:
    """Read a table; raises NotFoundError (slugs ``no-such-file``, ``not-readable``) or BadInputError for a huge one."""
    try:
        size = file.stat().st_size
        if size > LARGEST:
            raise _refused(file.name, f"{size:,} bytes", f"up to {LARGEST:,}")
        return file.read_bytes().decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        found = "it is not UTF-8" if isinstance(error, UnicodeDecodeError) else f"it cannot be read ({error.strerror})"
        raise NotFoundError(
            Problem(
                slug="no-such-file" if isinstance(error, FileNotFoundError) else "not-readable",
                where=str(file),
                found=found,
                allowed="a table of prices (CSV, UTF-8)",
                advice="Give the path to one; a spreadsheet saves it as CSV UTF-8.",
            )
        ) from error


def _read(text: str, columns: Columns, name: str, tell: Tell, stop: Stop) -> list[tuple[Row, Problem | None]]:
    from shutline.market import rows_of

    lines = text.count("\n") + 1
    found: list[tuple[Row, Problem | None]] = []
    for row in rows_of(text, columns, name=name):
        if len(found) % _PIECE == 0:
            stop.heed(name)
            tell(Step(name, _STAGE, 0.5 * min(1.0, row.line / lines)))
        read = row.read
        if isinstance(read, Problem):
            found.append((row, read))
        elif has_come(read.when):
            found.append((row, None))
        else:
            where, advice = f"{name}, line {row.line}", "Mend the line; until then it does not count."
            found.append((row, Problem("comparable-row", where, f"the day {read.when}", "a day that has come", advice)))
    return found


def _apart(row: Row, problem: Problem) -> Apart:
    return Apart(row.line, row.text[:_KEPT_TEXT], problem.found, problem.allowed)


def _row(row: Row) -> RowOfFile:
    from shutline.store.comparables import RowOfFile
    from shutline.store.rows import digest

    if isinstance(row.read, Problem):
        raise TypeError("a row that cannot be read is none to keep")
    return RowOfFile(digest(*(part for pair in row.entries for part in pair)), row.read)


def _there(name: str, lines: Sequence[int], came: Sequence[Came]) -> list[Problem]:
    """Tell which rows added nothing, all lines of a kind together."""
    told = []
    for what, (one_row, rows) in _TOLD.items():
        where = [line for line, one in zip(lines, came, strict=True) if one == what]
        if where:
            told.append(
                Problem(
                    slug="comparable-there",
                    where=f"{name}, line{'s' * (len(where) > 1)} {_spans(where)}",
                    found=f"{len(where)} {rows}" if len(where) > 1 else one_row,
                    allowed="a row counts once, however often it comes in",
                    advice="If they are two cars, give each its mark or stock number.",
                )
            )
    return told


def _spans(lines: Sequence[int]) -> str:
    """Say lines shortly: 2-5, 9, and how many more there are."""
    spans = [[lines[0], lines[0]]]
    for before, after in pairwise(lines):
        if after == before + 1:
            spans[-1][1] = after
        else:
            spans.append([after, after])
    return _listed(f"{start}-{end}" if end > start else str(start) for start, end in spans)


def _listed(words: Iterable[str]) -> str:
    found = list(words)
    return ", ".join(found[:20]) + (f" and {len(found) - 20} more places" if len(found) > 20 else "")


def _refused(name: str, found: str, allowed: str) -> BadInputError:
    return BadInputError(Problem("comparable-file", name, found, allowed, "Split it, and take in each part."))
