"""Files that a person asked for by name: what is said where one cannot be written."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path

from shutline.car.errors import BrokenWorldError, Problem


@contextlib.contextmanager
def cannot_write(
    path: Path,
    *,
    allowed: str = "a folder that can be written to, with room for the file",
    advice: str = "Make room, or name another file with --out.",
) -> Iterator[None]:
    """Turn an error of the disk into BrokenWorldError (slug ``output-not-written``)."""
    try:
        yield
    except OSError as trouble:
        raise BrokenWorldError(
            Problem(
                slug="output-not-written",
                where=str(path),
                found=trouble.strerror or type(trouble).__name__,
                allowed=allowed,
                advice=advice,
            )
        ) from trouble
