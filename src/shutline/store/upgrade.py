"""A database file is looked at before it is touched, copied before it is upgraded, and upgraded whole or not at all."""

from __future__ import annotations

import sqlite3
import time
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import URL, inspect, text

from shutline.store import errors
from shutline.store.database import make_engine
from shutline.store.tables import REVISION

if TYPE_CHECKING:
    from alembic.config import Config
    from sqlalchemy import Connection

# 'SHUT' in ASCII, kept in the header of the file: tells a store from any other SQLite database.
APPLICATION_ID = 0x53485554

_HEADER = b"SQLite format 3\x00"


def look(path: Path) -> None:
    """Refuse a file that is not a store before anything opens it for writing.

    Raises
    ------
    UserError
        The file holds something else (slug ``not-a-store``).
    BrokenWorldError
        It cannot be read.
    """
    try:
        with path.open("rb") as file:
            head = file.read(len(_HEADER))
    except FileNotFoundError:
        return
    except OSError as error:
        raise errors.of_system(error, where=path) from error
    if head not in {b"", _HEADER}:
        raise errors.not_a_store(str(path), "this is not a database file")


def set_log(path: Path, *, timeout_s: float) -> None:
    """Check whose database it is and switch it to the write-ahead log, which lets reads go on beside a write."""
    give_up = time.monotonic() + timeout_s
    while True:
        try:
            with closing(sqlite3.connect(path, timeout=timeout_s, isolation_level=None)) as connection:
                (number,) = connection.execute("PRAGMA application_id").fetchone()
                (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
                if number != APPLICATION_ID and (number or tables):
                    raise errors.not_a_store(str(path), "this is the database of another program")
                if connection.execute("PRAGMA journal_mode").fetchone() != ("wal",):
                    connection.execute("PRAGMA journal_mode = WAL")
        except sqlite3.Error as error:
            # Two that switch at once collide without waiting for each other.
            busy = getattr(error, "sqlite_errorcode", 0) & 0xFF == sqlite3.SQLITE_BUSY
            if not busy or time.monotonic() >= give_up:
                raise errors.of_database(error, where=str(path), timeout_s=timeout_s) from error
            time.sleep(0.02)
        else:
            return


def alembic_config() -> Config:
    """Give the migrations' configuration; it lies in the package, not in a file beside it."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    return config


def upgrade(url: URL, *, where: str, file: Path | None, timeout_s: float) -> Path | None:
    """Bring a database to the schema of this program.

    Parameters
    ----------
    url : URL
        Where the database is.
    where : str
        How errors name it.
    file : Path or None
        The database file, copied before a store that holds something is changed; None for a server.
    timeout_s : float
        How long to wait for another run, seconds.

    Returns
    -------
    Path or None
        The copy that was made, if one was.

    Raises
    ------
    UserError
        The store was made by a newer program (slug ``store-newer``).
    BrokenWorldError
        The store is locked, or there is no room.
    """
    from sqlalchemy import exc

    engine = make_engine(url, timeout_s=timeout_s, foreign_keys=False)
    try:
        with engine.connect() as connection:
            if _revision(connection) == REVISION:
                return None
        with engine.connect().execution_options(shutline_writes=True) as connection, connection.begin():
            # Another run may have upgraded it while this one waited.
            present = _revision(connection)
            if present == REVISION:
                return None
            copy = None
            if present is not None:
                _refuse_newer(present, where=where)
                if file is not None:
                    copy = _copy(file, to_revision=REVISION)
            _migrate(connection)
            return copy
    except exc.DBAPIError as error:
        raise errors.of_database(error.orig, where=where, timeout_s=timeout_s) from error
    except OSError as error:
        raise errors.of_system(error, where=where) from error
    finally:
        engine.dispose()


def _revision(connection: Connection) -> str | None:
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one_or_none()


def _refuse_newer(present: str, *, where: str) -> None:
    from alembic.script import ScriptDirectory

    known = {script.revision for script in ScriptDirectory.from_config(alembic_config()).walk_revisions()}
    if present not in known:
        raise errors.refused(
            slug="store-newer",
            where=where,
            found=f"the store stands at revision {present}, made by a newer Shutline",
            allowed=f"this one knows revisions up to {REVISION}; the store was left as it is",
            advice="Bring Shutline up to date, or name another folder for the store.",
        )


def _migrate(connection: Connection) -> None:
    from alembic import command

    config = alembic_config()
    config.attributes["connection"] = connection
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
    command.upgrade(config, "head")
    if connection.dialect.name == "sqlite":
        orphans = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
        if orphans:
            raise sqlite3.IntegrityError(f"rows without the row they belong to after the upgrade: {orphans[:5]}")


def _copy(file: Path, *, to_revision: str) -> Path:
    """Copy a database as it stands, under a name nothing has yet; a copy cut short is never taken for a whole one."""
    number = 1
    while True:
        name = f"{file.stem}.before-{to_revision}" + (f"-{number}" if number > 1 else "") + file.suffix
        copy = file.with_name(name)
        if not copy.exists():
            break
        number += 1
    unfinished = copy.with_suffix(".unfinished")
    unfinished.unlink(missing_ok=True)
    try:
        with closing(sqlite3.connect(file)) as source, closing(sqlite3.connect(unfinished)) as target:
            source.backup(target)
        unfinished.rename(copy)
    except sqlite3.Error as error:
        unfinished.unlink(missing_ok=True)
        raise errors.of_database(error, where=str(copy), timeout_s=0) from error
    return copy
