"""The user's own words shown and changed, as text or row by row; nothing is kept that would not be read."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from shutline.car.errors import BadInputError, NotFoundError, Problem, ShutlineError, UserError
from shutline.usecases.kept_files import FileState, KeptFile, former_text, keep, look_at
from shutline.usecases.own_words import read_words_file, words_folder


@dataclass(frozen=True, slots=True)
class WordsRow:
    """One row of a file: the lines of the file it stands on, from 1, and its cells by the name of their column."""

    first_line: int
    last_line: int
    cells: dict[str, str]


@dataclass(frozen=True, slots=True)
class WordsFile:
    """One of the five files: its columns, its text, its rows as they stand there, and what is wrong with it.

    `text` is None where the file is not UTF-8. A row that is wrong in itself is among `rows` and has a problem whose
    `where` ends in its last line.
    """

    name: str
    columns: tuple[str, ...]
    text: str | None
    mark: str
    rows: tuple[WordsRow, ...]
    problems: tuple[Problem, ...]
    states: tuple[FileState, ...]


@dataclass(frozen=True, slots=True)
class WordsShown:
    """The folder of the words, and its five files, each whether it is there or not.

    `problems` tell of files that are none of the five; nothing is read while they lie there.
    """

    folder: str
    files: tuple[WordsFile, ...]
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class WordsChecked:
    """What a text would be as one of the files: its rows, and what is wrong with it."""

    name: str
    rows: tuple[WordsRow, ...]
    problems: tuple[Problem, ...]


def words_shown() -> WordsShown:
    """Give the user's words to be shown, broken ones too."""
    folder = words_folder()
    odd = sorted(file.name for file in folder.glob("*.csv") if file.stem not in columns())
    return WordsShown(str(folder), tuple(_file(name) for name in columns()), tuple(_odd_file(name) for name in odd))


def columns() -> Mapping[str, tuple[str, ...]]:
    """Give the five files with their columns."""
    from shutline.remarks.lexicon import COLUMNS

    return COLUMNS


def choices() -> dict[str, tuple[str, ...]]:
    """Give what may stand under the columns that know few words."""
    from shutline.car.vocabulary import vocabulary
    from shutline.remarks import lexicon

    known = vocabulary()
    return {
        "part": tuple(known.parts),
        "condition": tuple(known.conditions),
        "found": tuple(sorted(lexicon.FOUND, reverse=True)),
        "severity": tuple(name for name in ("", "slight", "moderate", "severe") if name in lexicon.SEVERITIES),
        "remedy": tuple(sorted(lexicon.REMEDIES)),
        "cue": tuple(sorted(lexicon.CUE_KINDS)),
        "place": tuple(sorted(lexicon.PLACE_KINDS)),
        "reach": tuple(sorted(lexicon.REACHES)),
    }


def check_words(name: str, text: str) -> WordsChecked:
    """Tell what a text would be as one of the files; nothing is kept.

    Parameters
    ----------
    name : str
        Which file: parts, conditions, cues, remedies or places.
    text : str
        All of it, heading first; empty is a file without rows.

    Raises
    ------
    NotFoundError
        There is no such file (slug ``words-file-unknown``).
    """
    _known(name)
    lines = _lines(text)
    return WordsChecked(name, _rows(name, lines), _problems(name, lines))


def keep_words(name: str, text: str, *, author: str, expected: str | None = None) -> WordsFile:
    """Keep a text as one of the files, and what stood there before beside it. Recordings are read anew with it later.

    Parameters
    ----------
    name, text
        As in `check_words`; nothing but a heading takes the file away.
    author : str
        Who says so.
    expected : str, optional
        Mark of the file that the change was made to.

    Raises
    ------
    BadInputError
        A row is wrong, or does not fit its own example (slug ``lexicon-row``), with file and line.
    UserError
        There is no such file, or somebody changed it meanwhile (`ChangedMeanwhileError`).
    """
    _known(name)
    lines = _lines(text)
    tidy = "".join(line + "\n" for line in lines)
    if lines and not read_words_file(name, lines, where=_called(name)):
        tidy = ""
    keep(_path(name), tidy, author=author, expected=expected)
    return _file(name)


def keep_row(
    name: str, cells: Mapping[str, str], *, line: int | None, author: str, expected: str | None = None
) -> WordsFile:
    """Keep one row of a file: in the place of the one that begins on `line`, or, without a line, after the others.

    Raises
    ------
    NotFoundError
        There is no such file, or no row begins there (slug ``words-row-unknown``).
    BadInputError, UserError
        As `keep_words`; ``lexicon-row`` too where `cells` has a column that there is not.
    """
    wanted = _known(name)
    if odd := sorted(set(cells) - set(wanted)):
        raise BadInputError(
            Problem(
                "lexicon-row", _called(name), f"a column {odd[0][:40]!r}", ", ".join(wanted), "Leave that column out."
            )
        )
    written = io.StringIO()
    # A cell stands on one line; the trade's words have no line breaks.
    csv.writer(written, lineterminator="\n").writerow([" ".join(cells.get(column, "").split()) for column in wanted])
    return _with(name, [written.getvalue().rstrip("\n")], line=line, author=author, expected=expected)


def drop_row(name: str, *, line: int, author: str, expected: str | None = None) -> WordsFile:
    """Leave out the row that begins on `line`; the file as it was is kept beside it. As `keep_row` otherwise."""
    _known(name)
    return _with(name, [], line=line, author=author, expected=expected)


def words_of(name: str, state: str) -> str:
    """Give the text of a former state of a file; raises NotFoundError where there is none."""
    _known(name)
    return former_text(_path(name), state)


def words_back(name: str, state: str, *, author: str, expected: str | None = None) -> WordsFile:
    """Let a former state of a file stand again, as a new one; it is checked like any other."""
    return keep_words(name, words_of(name, state), author=author, expected=expected)


def _with(name: str, row: list[str], *, line: int | None, author: str, expected: str | None) -> WordsFile:
    present = look_at(_path(name))
    lines = _lines(_text(present))
    if not lines:
        lines = [",".join(_known(name))]
    if line is None:
        lines += row
    else:
        replaced = next((one for one in _rows(name, lines) if one.first_line == line), None)
        if replaced is None:
            raise NotFoundError(
                Problem(
                    slug="words-row-unknown",
                    where=f"{_called(name)}:{line}",
                    found="no row begins on this line",
                    allowed="the line that a row begins on",
                    advice="Open the settings again; somebody may have changed them.",
                )
            )
        lines[replaced.first_line - 1 : replaced.last_line] = row
    return keep_words(name, "\n".join(lines), author=author, expected=expected or present.mark)


def _file(name: str) -> WordsFile:
    kept = look_at(_path(name))
    wanted = columns()[name]
    if kept.text is None:
        return WordsFile(name, wanted, None, kept.mark, (), (_no_text(name),), kept.states)
    lines = _lines(kept.text)
    return WordsFile(name, wanted, kept.text, kept.mark, _rows(name, lines), _problems(name, lines), kept.states)


def _problems(name: str, lines: list[str]) -> tuple[Problem, ...]:
    """Say what is wrong with a file: of each row by itself, else of all together."""
    if not lines:
        return ()
    try:
        read_words_file(name, lines, where=_called(name))
    except ShutlineError as error:
        whole = error.problem
    else:
        return ()
    found: list[Problem] = []
    for row in _rows(name, lines):
        try:
            read_words_file(name, [lines[0], *lines[row.first_line - 1 : row.last_line]], where=_called(name))
        except ShutlineError as error:
            found.append(replace(error.problem, where=f"{_called(name)}:{row.last_line}"))
    return tuple(found) if any(one.where == whole.where for one in found) else (whole, *found)


def _rows(name: str, lines: list[str]) -> tuple[WordsRow, ...]:
    """Take the rows as they stand; a cell too many is left out, one too few is empty."""
    wanted = columns()[name]
    reader = csv.reader(lines)
    rows: list[WordsRow] = []
    before = 0
    try:
        for cells in reader:
            if before and cells:
                padded = [*cells, *[""] * len(wanted)]
                rows.append(WordsRow(before + 1, reader.line_num, dict(zip(wanted, padded, strict=False))))
            before = reader.line_num
    except csv.Error:
        pass  # what is wrong is told by `_problems`
    return tuple(rows)


def _lines(text: str) -> list[str]:
    lines = [line.rstrip() for line in text.removeprefix("\ufeff").splitlines()]
    while lines and not lines[-1]:
        lines.pop()
    return lines


def _text(kept: KeptFile) -> str:
    if kept.text is None:
        raise UserError(_no_text(kept.path.stem))
    return kept.text


def _no_text(name: str) -> Problem:
    return Problem("lexicon-row", _called(name), "bytes that are no UTF-8", "UTF-8", "Save the file anew as UTF-8.")


def _odd_file(name: str) -> Problem:
    return Problem(
        "lexicon-row", name, "a file that is none of the five", ", ".join(columns()), "Move it out of the folder."
    )


def _known(name: str) -> tuple[str, ...]:
    wanted = columns().get(name)
    if wanted is None:
        raise NotFoundError(
            Problem(
                slug="words-file-unknown",
                where="words of your own",
                found=f"no file {name[:40]!r}",
                allowed=", ".join(columns()),
                advice="Take one of these.",
            )
        )
    return wanted


def _path(name: str) -> Path:
    return words_folder() / _called(name)


def _called(name: str) -> str:
    return f"{name}.csv"
