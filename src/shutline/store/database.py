"""One database behind one door: transactions that see a whole state, and errors said in words."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, TypeVar

from sqlalchemy import URL, Connection, Engine, Table, create_engine, event, exc
from sqlalchemy.dialects import postgresql, sqlite

from shutline.store import errors

if TYPE_CHECKING:
    from sqlalchemy.engine.interfaces import DBAPIConnection
    from sqlalchemy.pool import ConnectionPoolEntry

Clock = Callable[[], datetime]

T = TypeVar("T")

# SQLite takes 32,766 values in one statement, PostgreSQL 32,767 over the wire of some drivers.
CHUNK = 500


def now_utc() -> datetime:
    """Give the present time, UTC."""
    return datetime.now(UTC)


def make_engine(url: URL, *, timeout_s: float, foreign_keys: bool = True) -> Engine:
    """Make an engine whose transactions begin when they are told to.

    Parameters
    ----------
    url : URL
        Where the database is.
    timeout_s : float
        How long a write waits for another to end, seconds.
    foreign_keys : bool
        False only while a migration rebuilds tables.
    """
    dialect = url.get_backend_name()
    if dialect == "sqlite":
        engine = create_engine(
            url,
            connect_args={"timeout": timeout_s, "check_same_thread": False},
            pool_size=8,
            max_overflow=64,
        )

        @event.listens_for(engine, "connect")
        def _prepare(connection: Any, _record: ConnectionPoolEntry) -> None:
            # The driver must not begin transactions by itself: a write has to take its lock at the start, so that it
            # waits for others instead of failing half way.
            connection.isolation_level = None
            connection.execute(f"PRAGMA foreign_keys = {'ON' if foreign_keys else 'OFF'}")
            # With a write-ahead log NORMAL may lose the last commits when the power goes; a person's confirmation is
            # not worth the few milliseconds that saves (figures in docs/decisions/0003).
            connection.execute("PRAGMA synchronous = FULL")

        @event.listens_for(engine, "begin")
        def _begin(connection: Connection) -> None:
            writes = connection.get_execution_options().get("shutline_writes", False)
            connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

        return engine
    engine = create_engine(url, pool_size=8, max_overflow=64, pool_pre_ping=True)

    @event.listens_for(engine, "connect")
    def _wait(connection: DBAPIConnection, _record: ConnectionPoolEntry) -> None:
        cursor = connection.cursor()
        cursor.execute(f"SET lock_timeout = '{int(timeout_s * 1000)}ms'")
        cursor.close()
        connection.commit()

    return engine


class Database:
    """Reads that see one state, and writes that are kept whole or not at all.

    One write runs at a time in a process; others wait, and so do those of other processes. Safe to use from many
    threads; a transaction belongs to the thread that began it.
    """

    def __init__(self, engine: Engine, *, where: str, timeout_s: float, clock: Clock) -> None:
        self.engine = engine
        self.where = where
        self._timeout_s = timeout_s
        self._clock = clock
        self._turn = threading.Lock()
        self._mine = threading.local()

    def now(self) -> str:
        """Give the present time as it is kept: ISO 8601, UTC, milliseconds; all that is written together has one."""
        at: str | None = getattr(self._mine, "at", None)
        if at is None:
            at = self._told()
            if getattr(self._mine, "connection", None) is not None:
                self._mine.at = at
        return at

    def _told(self) -> str:
        return self._clock().astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """Give a connection whose reads all see the same state, that of an open write of this thread included."""
        held: Connection | None = getattr(self._mine, "connection", None)
        if held is not None:
            with self._in_words():
                yield held
            return
        options: dict[str, Any] = {}
        if self.engine.dialect.name == "postgresql":
            options = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
        with self._in_words(), self.engine.connect().execution_options(**options) as connection:
            yield connection

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """Give a connection whose changes are kept together when the block ends well, and not at all otherwise.

        A block inside another of the same thread joins it.
        """
        held: Connection | None = getattr(self._mine, "connection", None)
        if held is not None:
            yield held
            return
        if not self._turn.acquire(timeout=self._timeout_s):
            raise errors.locked(self.where, self._timeout_s)
        try:
            with (
                self._in_words(),
                self.engine.connect().execution_options(shutline_writes=True) as connection,
                connection.begin(),
            ):
                self._mine.connection = connection
                yield connection
        finally:
            self._mine.connection = self._mine.at = None
            self._turn.release()

    def close(self) -> None:
        """Let go of all connections."""
        self.engine.dispose()

    @contextmanager
    def _in_words(self) -> Iterator[None]:
        try:
            yield
        except exc.DBAPIError as error:
            raise errors.of_database(error.orig, where=self.where, timeout_s=self._timeout_s) from error
        except exc.TimeoutError as error:
            raise errors.locked(self.where, self._timeout_s) from error


def insert_missing(
    connection: Connection, table: Table, rows: Sequence[dict[str, Any]], *, unique: tuple[str, ...]
) -> None:
    """Insert the rows that are not there yet; a row with the same unique values stays as it is."""
    if not rows:
        return
    insert = sqlite.insert if connection.dialect.name == "sqlite" else postgresql.insert
    connection.execute(insert(table).on_conflict_do_nothing(index_elements=list(unique)), list(rows))


def in_chunks(values: Sequence[T]) -> Iterator[Sequence[T]]:
    """Give the values in runs short enough for one statement."""
    for start in range(0, len(values), CHUNK):
        yield values[start : start + CHUNK]
