"""What can go wrong with the store: the stale change, and the engines' errors in words a person can act on."""

from __future__ import annotations

import errno
import sqlite3
from pathlib import Path
from typing import Protocol

from shutline.car.errors import BrokenWorldError, NotFoundError, Problem, ShutlineError, UserError


class Versioned(Protocol):
    """A record that is kept with its changes."""

    @property
    def version(self) -> int:
        """The number of its changes, its coming in among them."""


class StaleError(UserError):
    """A change was made to a version that somebody has changed in the meantime.

    `present` is what is kept now, `wanted` what the caller would have had; nothing was changed.
    """

    def __init__(
        self,
        *,
        where: str,
        expected_version: int,
        present: Versioned,
        wanted: object,
    ) -> None:
        super().__init__(
            Problem(
                slug="stale-change",
                where=where,
                found=f"the change was made to version {expected_version}, and version {present.version} is kept now",
                allowed="a change is taken only to what is kept now; nothing was changed",
                advice="Look at what is there now and make the change again if it is still wanted.",
            )
        )
        self.expected_version = expected_version
        self.present = present
        self.wanted = wanted


_SQLITE = {
    sqlite3.SQLITE_BUSY: "locked",
    sqlite3.SQLITE_LOCKED: "locked",
    sqlite3.SQLITE_FULL: "full",
    sqlite3.SQLITE_NOTADB: "other",
    sqlite3.SQLITE_CORRUPT: "damaged",
    sqlite3.SQLITE_READONLY: "closed",
    sqlite3.SQLITE_CANTOPEN: "closed",
    sqlite3.SQLITE_PERM: "closed",
}
# SQLSTATE: lock not available, deadlock, disk full.
_POSTGRESQL = {"55P03": "locked", "40P01": "locked", "53100": "full"}


def refused(*, slug: str, where: str, found: str, allowed: str, advice: str) -> UserError:
    """Make an error that the caller can mend."""
    return UserError(Problem(slug, where, found, allowed, advice))


def not_found(*, slug: str, where: str, found: str, allowed: str, advice: str) -> NotFoundError:
    """Make the error for something that the store does not hold."""
    return NotFoundError(Problem(slug, where, found, allowed, advice))


def locked(where: str, timeout_s: float) -> BrokenWorldError:
    """Make the error for a store that another run is writing to."""
    return BrokenWorldError(
        Problem(
            slug="store-locked",
            where=where,
            found=f"another run has been writing to the store for more than {timeout_s:g} s",
            allowed="one run writes at a time; nothing of this step was kept",
            advice="Wait until the other run has ended or end it, then run the command again; it goes on where it was.",
        )
    )


def disk_full(where: str) -> BrokenWorldError:
    """Make the error for a disk without room."""
    return BrokenWorldError(
        Problem(
            slug="disk-full",
            where=where,
            found="the disk has no room left",
            allowed="what was kept before is unharmed; nothing of this step was kept",
            advice="Make room or move the store to a larger disk, then run the command again; it goes on where it was.",
        )
    )


def not_a_store(where: str, found: str) -> UserError:
    """Make the error for a file that is no store."""
    return refused(
        slug="not-a-store",
        where=where,
        found=found,
        allowed="only a store made by Shutline is opened; the file was left as it is",
        advice="Name another folder for the store, or move this file away.",
    )


def _damaged(where: str, found: str) -> BrokenWorldError:
    return BrokenWorldError(
        Problem(
            slug="store-damaged",
            where=where,
            found=f"the database cannot be read: {found}",
            allowed="nothing was changed",
            advice="Keep a copy of the whole folder as it is, then put back the newest backup of the database file.",
        )
    )


def _no_access(where: str, found: str) -> BrokenWorldError:
    return BrokenWorldError(
        Problem(
            slug="store-no-access",
            where=where,
            found=found,
            allowed="the store's folder and the files in it must be readable and writable",
            advice="Give yourself the right to write there, or name another folder for the store.",
        )
    )


def _failed(where: str, found: str) -> BrokenWorldError:
    return BrokenWorldError(
        Problem(
            slug="store-failed",
            where=where,
            found=f"the database refused the step: {found}",
            allowed="nothing of this step was kept",
            advice="Run it again; if it happens again, report it with this message.",
        )
    )


def of_database(error: BaseException | None, *, where: str, timeout_s: float) -> ShutlineError:
    """Say what an error of the engine beneath means; by its number, never by its words."""
    number = getattr(error, "sqlite_errorcode", None)
    meaning = _SQLITE.get(number & 0xFF) if number is not None else _POSTGRESQL.get(getattr(error, "sqlstate", ""))
    match meaning:
        case "locked":
            return locked(where, timeout_s)
        case "full":
            return disk_full(where)
        case "other":
            return not_a_store(where, "this is not a database file")
        case "damaged":
            return _damaged(where, str(error))
        case "closed":
            return _no_access(where, str(error))
    return _failed(where, str(error))


def of_system(error: OSError, *, where: Path | str) -> ShutlineError:
    """Say what an error of the operating system means."""
    # Windows has no quota error.
    if error.errno in {errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC)}:
        return disk_full(str(where))
    return _no_access(str(where), error.strerror or str(error))
