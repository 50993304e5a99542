"""Work that only one run at a time may do, whichever process or thread it is in."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from shutline.car.errors import BrokenWorldError, Problem

if TYPE_CHECKING:
    from shutline.usecases.progress import Stop

_LOOK_EVERY_S = 0.2


@contextmanager
def one_run(lock: Path, where: str, *, stop: Stop, waiting: Callable[[], None]) -> Iterator[None]:
    """Hold a lock, and wait for it where another run holds it.

    The lock is that of an empty SQLite database: it holds between processes and threads on every system that the store
    works on, and ends by itself with a process that ends.

    Parameters
    ----------
    lock : Path
        Its file, in a folder that is there; made where it is not there, and left.
    where : str
        What is worked on, for messages.
    stop : Stop
        Ends the waiting.
    waiting : callable
        Called again and again while it waits.

    Raises
    ------
    StoppedError
        `stop` was set while it waited.
    BrokenWorldError
        The file cannot be made or locked (slug ``output-not-written``).
    """
    with _can_lock(lock), closing(sqlite3.connect(lock, timeout=0, isolation_level=None)) as held:
        while not _taken(held):
            stop.heed(where)
            waiting()
            time.sleep(_LOOK_EVERY_S)
        yield


def _taken(held: sqlite3.Connection) -> bool:
    try:
        held.execute("BEGIN EXCLUSIVE")
    except sqlite3.OperationalError as trouble:
        if trouble.sqlite_errorcode & 0xFF in {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}:
            return False
        raise
    return True


@contextmanager
def _can_lock(lock: Path) -> Iterator[None]:
    try:
        yield
    except sqlite3.Error as trouble:
        raise BrokenWorldError(
            Problem(
                slug="output-not-written",
                where=str(lock),
                found=str(trouble),
                allowed="a folder in which a file can be made and locked",
                advice="Make room, or let the store's folder be written to.",
            )
        ) from trouble
