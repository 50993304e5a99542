"""Open what somebody named, if it is a plain file, and say its name so that it can be shown."""

from __future__ import annotations

import contextlib
import errno
import os
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from shutline.car.errors import BadInputError, BrokenWorldError, NotFoundError, Problem

_LONGEST_SHOWN = 120
_SORTS = (
    (stat.S_ISDIR, "a folder"),
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISSOCK, "a socket"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
)


def plain_name(path: Path) -> str:
    """Give the file's name as text that any database takes; bytes that are no UTF-8 become U+FFFD."""
    return os.fsencode(path.name).decode("utf-8", "replace")


def shown_name(path: Path) -> str:
    """Give the file's name for a message: control signs escaped, the middle of a very long one left out."""
    name = plain_name(path)
    clean = "".join(sign if sign.isprintable() else sign.encode("unicode_escape").decode("ascii") for sign in name)
    if len(clean) > _LONGEST_SHOWN:
        half = _LONGEST_SHOWN // 2 - 1
        clean = f"{clean[:half]}…{clean[-half:]}"
    return clean or "(no name)"


@contextlib.contextmanager
def opened(path: Path) -> Iterator[BinaryIO]:
    """Open a plain file for reading; refuse everything else without waiting for it.

    The handle carries no name, so that no library can judge the file, or open another, by what it is called.

    Raises
    ------
    NotFoundError
        There is no such file (`no-such-file`).
    BadInputError
        A folder, pipe, socket or device (`not-a-file`), a link that leads out of the folder it stands in
        (`link-elsewhere`), or a file that may not be read (`not-readable`).
    BrokenWorldError
        The disk failed (`read-failed`).
    """
    with _named(path):
        _refuse_link(path)
        _refuse_other_than_file(path, os.stat(path).st_mode)  # noqa: PTH116 - same call as below, on the name
        # Without O_NONBLOCK a pipe put in the file's place since would hold us for ever.
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0))
    with open(handle, "rb") as file:  # noqa: PTH123 - opens the handle, not a path
        _refuse_other_than_file(path, os.fstat(handle).st_mode)
        yield file


@contextlib.contextmanager
def _named(path: Path) -> Iterator[None]:
    where = shown_name(path)
    try:
        yield
    except FileNotFoundError as trouble:
        raise NotFoundError(_missing(where)) from trouble
    except (PermissionError, NotADirectoryError, ValueError, RuntimeError) as trouble:
        raise BadInputError(
            Problem(
                slug="not-readable",
                where=where,
                found="the file may not be read",
                allowed="a file that this user may read",
                advice="Change who may read it, or copy it to a folder of your own.",
            )
        ) from trouble
    except OSError as trouble:
        if trouble.errno in {errno.ENAMETOOLONG, errno.ELOOP}:
            raise NotFoundError(_missing(where)) from trouble
        raise read_failed(path, trouble) from trouble


def _missing(where: str) -> Problem:
    return Problem(
        slug="no-such-file",
        where=where,
        found="no file of this name",
        allowed="a recording that exists",
        advice="Look at the path given.",
    )


def read_failed(path: Path, trouble: OSError) -> BrokenWorldError:
    """Say that the disk gave an error while `path` was read."""
    return BrokenWorldError(
        Problem(
            slug="read-failed",
            where=shown_name(path),
            found=f"the disk gave an error ({trouble.strerror or trouble})",
            allowed="a file that can be read to its end",
            advice="Copy it from the camera or card again, and look to the disk.",
        )
    )


def _refuse_link(path: Path) -> None:
    if not path.is_symlink():
        return
    target = path.resolve(strict=True)
    if not target.is_relative_to(path.parent.resolve(strict=True)):
        raise BadInputError(
            Problem(
                slug="link-elsewhere",
                where=shown_name(path),
                found="a link that leads out of its folder",
                allowed="a file, or a link to a file beside it",
                advice="Give the path of the file itself.",
            )
        )


def _refuse_other_than_file(path: Path, mode: int) -> None:
    if stat.S_ISREG(mode):
        return
    sort = next((name for test, name in _SORTS if test(mode)), "no plain file")
    raise BadInputError(
        Problem(
            slug="not-a-file",
            where=shown_name(path),
            found=sort,
            allowed="one file at a time: film, sound, picture or transcript",
            advice="Give the path of the file itself.",
        )
    )
