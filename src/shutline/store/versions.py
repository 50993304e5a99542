"""Records that carry a version: each change is kept beside them, and one made to an older version is refused."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

from sqlalchemy import Connection, RowMapping, Table, insert, select, update

from shutline.car.changes import Change
from shutline.store import errors
from shutline.store.database import in_chunks
from shutline.store.rows import Plain


class Record(errors.Versioned, Protocol):
    """A record with an id."""

    @property
    def id(self) -> str:
        """What it is asked for by."""


K = TypeVar("K", bound=Record)


@dataclass(frozen=True, slots=True)
class Versions(Generic[K]):
    """A table of records with `ref` and `version`, and the table of their changes.

    `name` is what one is called, and with ``_id`` the column of `changes` that leads to its row. `columns` gives what
    may change of a record as it is kept in the changes, `stored` the columns of the table that these make, where they
    are not the same; `record` makes one of its row and its changes. `slug` and `advice` are of an id that there is not.
    """

    name: str
    table: Table
    changes: Table
    record: Callable[[RowMapping, tuple[Change, ...]], K]
    columns: Callable[[K], Plain]
    slug: str
    advice: str
    stored: Callable[[K, Plain], Plain] = lambda _, changed: changed

    def kept(self, connection: Connection, rows: Sequence[RowMapping]) -> tuple[K, ...]:
        """Make the records of rows, in their order."""
        owner = self._owner
        found: dict[int, list[Change]] = defaultdict(list)
        for some in in_chunks([row["id"] for row in rows]):
            query = select(self.changes).where(self.changes.c[owner].in_(some))
            for row in connection.execute(query.order_by(self.changes.c[owner], self.changes.c.version)).mappings():
                found[row[owner]].append(Change(row["at"], row["author"], row["action"], row["before"], row["after"]))
        return tuple(self.record(row, tuple(found[row["id"]])) for row in rows)

    def some(self, connection: Connection, refs: Sequence[str]) -> tuple[K, ...]:
        """Give those records of `refs` that there are, in no order."""
        rows = [
            row
            for some in in_chunks(list(refs))
            for row in connection.execute(select(self.table).where(self.table.c.ref.in_(some))).mappings()
        ]
        return self.kept(connection, rows)

    def row(self, connection: Connection, ref: str, *, lock: bool = False) -> RowMapping:
        """Give the row of a record; raises NotFoundError."""
        query = select(self.table).where(self.table.c.ref == ref)
        row = connection.execute(query.with_for_update() if lock else query).mappings().one_or_none()
        if row is None:
            raise errors.not_found(
                slug=self.slug,
                where=f"{self.name} {ref[:60]!r}",
                found=f"the store holds no {self.name} of that id",
                allowed=f"the id of a {self.name}, as the car's {self.name}s are listed",
                advice=self.advice,
            )
        return row

    def one(self, connection: Connection, ref: str) -> K:
        """Give a record by its id; raises NotFoundError."""
        return self.kept(connection, [self.row(connection, ref)])[0]

    def enter(self, connection: Connection, values: Plain, after: Plain, *, author: str, action: str, at: str) -> None:
        """Write a new record with `values` as its row; `after` is what its first change tells of it."""
        entered = {**values, "version": 1, "created_at": at}
        number = connection.execute(insert(self.table).values(entered).returning(self.table.c.id)).scalar_one()
        self._note(connection, number, 1, Change(at, author, action, {}, after))

    def enter_all(
        self, connection: Connection, rows: Sequence[tuple[Plain, Plain]], *, author: str, action: str, at: str
    ) -> None:
        """Write new records, each given as to `enter`; many at once."""
        for some in in_chunks(rows):
            entered = [{**values, "version": 1, "created_at": at} for values, _ in some]
            connection.execute(insert(self.table), entered)
            refs = [values["ref"] for values in entered]
            query = select(self.table.c.ref, self.table.c.id).where(self.table.c.ref.in_(refs))
            numbers = {row.ref: row.id for row in connection.execute(query)}
            connection.execute(
                insert(self.changes),
                [
                    self._noted(numbers[values["ref"]], 1, Change(at, author, action, {}, after))
                    for values, after in some
                ],
            )

    def change(
        self,
        connection: Connection,
        row: RowMapping,
        wanted: Callable[[K], K],
        *,
        author: str,
        action: str,
        at: str,
        expected_version: int | None = None,
    ) -> tuple[K, bool]:
        """Make a locked row what `wanted` makes of its record; gives the record, and whether anything changed.

        Raises
        ------
        StaleError
            Somebody changed it since `expected_version`.
        """
        present = self.kept(connection, [row])[0]
        new = wanted(present)
        if expected_version is not None and expected_version != present.version:
            raise errors.StaleError(
                where=f"{self.name} {present.id!r}", expected_version=expected_version, present=present, wanted=new
            )
        before, after = self.columns(present), self.columns(new)
        changed = [name for name in after if after[name] != before[name]]
        if not changed:
            return present, False
        version = present.version + 1
        columns = self.stored(new, {name: after[name] for name in changed})
        connection.execute(update(self.table).where(self.table.c.id == row["id"]).values(version=version, **columns))
        self._note(
            connection,
            row["id"],
            version,
            Change(at, author, action, {name: before[name] for name in changed}, {n: after[n] for n in changed}),
        )
        return self.one(connection, present.id), True

    def change_all(
        self,
        connection: Connection,
        rows: Sequence[RowMapping],
        wanted: Callable[[K], K],
        *,
        author: str,
        action: str,
        at: str,
    ) -> frozenset[str]:
        """Make locked rows what `wanted` makes of their records; gives the ids of those that changed."""
        noted, changed = [], []
        for row, present in zip(rows, self.kept(connection, rows), strict=True):
            new = wanted(present)
            before, after = self.columns(present), self.columns(new)
            names = [name for name in after if after[name] != before[name]]
            if not names:
                continue
            version = present.version + 1
            columns = self.stored(new, {name: after[name] for name in names})
            here = self.table.c.id == row["id"]
            connection.execute(update(self.table).where(here).values(version=version, **columns))
            values = ({name: before[name] for name in names}, {name: after[name] for name in names})
            noted.append(self._noted(row["id"], version, Change(at, author, action, *values)))
            changed.append(present.id)
        for some in in_chunks(noted):
            connection.execute(insert(self.changes), list(some))
        return frozenset(changed)

    @property
    def _owner(self) -> str:
        return f"{self.name}_id"

    def _note(self, connection: Connection, number: int, version: int, change: Change) -> None:
        connection.execute(insert(self.changes).values(self._noted(number, version, change)))

    def _noted(self, number: int, version: int, change: Change) -> Plain:
        return {
            self._owner: number,
            "version": version,
            "at": change.at,
            "author": change.author,
            "action": change.action,
            "before": change.before,
            "after": change.after,
        }
