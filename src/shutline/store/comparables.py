"""Prices of cars that were noted, by hand or out of files: changed with who and when, and none is taken away."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Literal

from sqlalchemy import Connection, func, insert, or_, select, text

from shutline.car.comparables import Apart, Comparable, ComparableFile, KeptColumns, KeptComparable, sale_id
from shutline.store import tables
from shutline.store.base import Base
from shutline.store.cars_told import CarTold, cars_told
from shutline.store.comparable_rows import comparable_of, file_of, kept_of, plain_of, says_of, stored_of
from shutline.store.database import in_chunks
from shutline.store.decisions import check_person
from shutline.store.rows import Plain, digest
from shutline.store.versions import Versions

ComparableAction = Literal["amend", "take back", "again"]
"""What a person may do: amend a comparable (it holds then), take it back, let it hold again."""

_WORDS = {"amend": "amended", "take back": "taken back", "again": "holds again"}
_COLUMNS = (
    *("ref", "sale", "day", "price", "currency", "sold", "car", "attributes", "mileage", "unit", "condition", "place"),
    *("days", "source", "came_from", "holds"),
)


@dataclass(frozen=True, slots=True)
class RowOfFile:
    """A row of a file: `came_as` is a digest of its entries as they came."""

    came_as: str
    comparable: Comparable


Came = Literal["new", "there", "anew", "changed", "taken back"]
"""What became of a row of a file: it is new, was there already, is there and was read anew with other columns, is there
and stays as a person changed it, or is there and was taken back."""


class Comparables(Base):
    """The part of the store that keeps comparables."""

    def comparables(self) -> tuple[KeptComparable, ...]:
        """Give all of them with their changes, in the order they came in."""
        table = tables.comparable
        with self._db.read() as connection:
            return _KEPT.kept(connection, list(connection.execute(select(table).order_by(table.c.id)).mappings()))

    def comparables_that_hold(self) -> tuple[tuple[int | None, Comparable], ...]:
        """Give those that hold, each with the entry of the ledger it was taken from; without their changes, quickly."""
        table = tables.comparable
        query = select(*(table.c[name] for name in _COLUMNS)).where(table.c.holds).order_by(table.c.id)
        with self._db.read() as connection:
            return tuple((row["sale"], comparable_of(row)) for row in connection.execute(query).mappings())

    def sales_noted(self) -> frozenset[int]:
        """Give the entries of the ledger that comparables were taken from, those that do not hold too."""
        sale = tables.comparable.c.sale
        with self._db.read() as connection:
            found = connection.execute(select(sale).where(sale.is_not(None))).scalars().all()
            return frozenset(one for one in found if one is not None)

    def cars_told(self, names: Iterable[str], facts: Sequence[str]) -> dict[str, CarTold]:
        """Give a little of many cars by their whole names; one that there is not is left out."""
        with self._db.read() as connection:
            return cars_told(connection, names, facts)

    def comparable(self, ref: str) -> KeptComparable:
        """Give one by its id; raises NotFoundError (slug ``comparable-unknown``)."""
        with self._db.read() as connection:
            return _KEPT.one(connection, ref)

    def comparable_ids(self, begin: str) -> tuple[str, ...]:
        """Give the ids that begin so, ten at most."""
        ref = tables.comparable.c.ref
        with self._db.read() as connection:
            query = select(ref).where(ref.startswith(begin, autoescape=True)).order_by(ref).limit(10)
            return tuple(connection.execute(query).scalars())

    def add_comparable(self, comparable: Comparable, *, author: str, sale: int | None = None) -> KeptComparable:
        """Keep a comparable that was noted by hand, or that was taken from a sale of the ledger.

        One that says the same as one that is there is that one, and holds again if it was taken back. That of a sale
        has ``sale-`` and the number of its entry as its id.
        """
        check_person(author)
        table = tables.comparable
        says = says_of(comparable)
        with self._db.write() as connection:
            _lock(connection)
            same = table.c.says == says if sale is None else table.c.sale == sale
            query = select(table).where(same).order_by(table.c.holds.desc(), table.c.id)
            row = connection.execute(query).mappings().first()
            at = self._db.now()
            if row is not None:
                return _KEPT.change(
                    connection,
                    row,
                    lambda present: replace(present, holds=True),
                    author=author,
                    action=_WORDS["again"],
                    at=at,
                )[0]
            count = connection.execute(select(func.count()).select_from(table)).scalar_one()
            ref = digest("comparable", says, str(count)) if sale is None else sale_id(sale)
            values = {"ref": ref, "came_as": "", "came_saying": "", "sale": sale, "created_by": author}
            _KEPT.enter(
                connection,
                {**values, "comparable_file_id": None, **stored_of(comparable, holds=True)},
                plain_of(comparable, holds=True),
                author=author,
                action="noted" if sale is None else "taken from the ledger",
                at=at,
            )
            return _KEPT.one(connection, ref)

    def change_comparable(
        self,
        ref: str,
        *,
        action: ComparableAction,
        author: str,
        comparable: Comparable | None = None,
        expected_version: int | None = None,
    ) -> KeptComparable:
        """Do what a person decided about a comparable.

        Parameters
        ----------
        ref : str
            Its id.
        action : ComparableAction
            What is done.
        author : str
            Who decided.
        comparable : Comparable, optional
            What it says from now on; with ``amend``, and then it must be given.
        expected_version : int, optional
            Refuse it when the comparable is at another version.

        Raises
        ------
        NotFoundError
            There is none of that id (slug ``comparable-unknown``).
        StaleError
            Somebody changed it since `expected_version`.
        """
        check_person(author)
        if (action == "amend") != (comparable is not None):
            raise ValueError("a comparable goes with amend, and with nothing else")
        with self._db.write() as connection:
            return _KEPT.change(
                connection,
                _KEPT.row(connection, ref, lock=True),
                lambda present: replace(
                    present,
                    holds=action != "take back",
                    comparable=replace(comparable or present.comparable, line=present.comparable.line),
                ),
                author=author,
                action=_WORDS[action],
                at=self._db.now(),
                expected_version=expected_version,
            )[0]

    def add_comparable_file(
        self, name: str, sha256: str, columns: Plain, apart: Sequence[Apart], *, author: str
    ) -> ComparableFile:
        """Keep that a file was taken in, and its rows that could not be read; the others are added afterwards."""
        check_person(author)
        table = tables.comparable_file
        with self._db.write() as connection:
            _lock(connection)
            count = connection.execute(select(func.count()).select_from(table)).scalar_one()
            ref = digest("comparable file", sha256, str(count))
            values = {"ref": ref, "name": name, "sha256": sha256, "columns": columns}
            row = {**values, "apart": [asdict(one) for one in apart]}
            connection.execute(insert(table).values(**row, created_at=self._db.now(), created_by=author))
            return file_of(connection.execute(select(table).where(table.c.ref == ref)).mappings().one())

    def comparable_files(self) -> tuple[ComparableFile, ...]:
        """Give the files that were taken in, in their order."""
        table = tables.comparable_file
        with self._db.read() as connection:
            return tuple(map(file_of, connection.execute(select(table).order_by(table.c.id)).mappings()))

    def add_rows_of_file(self, file: str, rows: Sequence[RowOfFile], *, author: str) -> tuple[Came, ...]:
        """Keep rows of a file that was taken in, all of them or none, and tell what became of each.

        A row whose entries came before, or that says what one says that is there, adds nothing; where the columns were
        said to be others since, what a row says is read anew, unless a person changed it.

        Parameters
        ----------
        file : str
            The id of the file.
        rows : sequence of RowOfFile
        author : str
        """
        check_person(author)
        with self._db.write() as connection:
            _lock(connection)
            table = tables.comparable_file
            number = connection.execute(select(table.c.id).where(table.c.ref == file)).scalar_one()
            at = self._db.now()
            there = _Present(connection, rows)
            new: list[tuple[Plain, Plain]] = []
            anew: dict[str, Comparable] = {}
            found: dict[int, Came] = {}
            places: dict[int, str] = {}
            # Those that came before come first: another row may say now what one of them says now.
            order = sorted(range(len(rows)), key=lambda place: (rows[place].came_as not in there.came, place))
            for place in order:
                row = rows[place]
                says = says_of(row.comparable)
                kept = there.of(row.came_as, says)
                if kept is None:
                    stored = {
                        "ref": digest("comparable of a file", row.came_as),
                        "came_as": row.came_as,
                        "came_saying": says,
                        "sale": None,
                        "comparable_file_id": number,
                        "created_by": author,
                        **stored_of(row.comparable, holds=True),
                    }
                    new.append((stored, plain_of(row.comparable, holds=True)))
                    there.add(stored)
                    found[place] = "new"
                elif kept["came_as"] != row.came_as or kept["says"] == says:
                    found[place] = "there" if kept["holds"] else "taken back"
                else:
                    anew[kept["ref"]] = row.comparable
                    places[place] = kept["ref"]
                    there.add({**kept, "says": says})
            _KEPT.enter_all(connection, new, author=author, action="taken in", at=at)
            became = _read_anew(connection, anew, author=author, at=at)
            return tuple(became[places[place]] if place in places else found[place] for place in range(len(rows)))

    def comparable_columns(self, headings: Sequence[str]) -> KeptColumns | None:
        """Give which column of files with these headings is what, in whatever order; None where nobody said."""
        table = tables.comparable_map
        with self._db.read() as connection:
            rows = connection.execute(select(table).where(table.c.ref == _heading(headings))).mappings().all()
            return next(iter(_MAPS.kept(connection, rows)), None)

    def keep_comparable_columns(
        self, headings: Sequence[str], columns: Plain, *, author: str, expected_version: int | None = None
    ) -> KeptColumns:
        """Keep which column of files with these headings is what; another one is a new version.

        Raises
        ------
        StaleError
            Somebody said otherwise since `expected_version`.
        """
        check_person(author)
        table, ref = tables.comparable_map, _heading(headings)
        with self._db.write() as connection:
            _lock(connection)
            row = connection.execute(select(table).where(table.c.ref == ref)).mappings().one_or_none()
            at = self._db.now()
            if row is None:
                values = {"ref": ref, "headings": list(headings), "columns": columns}
                _MAPS.enter(connection, values, {"columns": columns}, author=author, action="said", at=at)
                return _MAPS.one(connection, ref)
            return _MAPS.change(
                connection,
                row,
                lambda present: replace(present, columns=columns),
                author=author,
                action="said anew",
                at=at,
                expected_version=expected_version,
            )[0]


class _Present:
    """The comparables that are there already, by what they came as and by what they say."""

    def __init__(self, connection: Connection, rows: Sequence[RowOfFile]) -> None:
        table = tables.comparable.c
        self.came: dict[str, Plain] = {}
        self._says: dict[str, Plain] = {}
        for some in in_chunks(rows):
            came, says = [row.came_as for row in some], [says_of(row.comparable) for row in some]
            same = or_(table.came_as.in_(came), table.says.in_(says), table.came_saying.in_(says))
            query = select(table.ref, table.came_as, table.came_saying, table.says, table.holds).where(same)
            for row in connection.execute(query.order_by(table.id)).mappings():
                self.add(dict(row))

    def add(self, row: Plain) -> None:
        if row["came_as"]:
            self.came.setdefault(row["came_as"], row)
        for says in {row["says"], row["came_saying"]} - {""}:
            # Of two that say the same, one that holds is the one that is meant.
            if says not in self._says or (row["holds"] and not self._says[says]["holds"]):
                self._says[says] = row

    def of(self, came_as: str, says: str) -> Plain | None:
        return self.came.get(came_as) or self._says.get(says)


def _read_anew(connection: Connection, wanted: Mapping[str, Comparable], *, author: str, at: str) -> dict[str, Came]:
    """Read rows anew that are there, by their ids, unless a person changed them; gives what became of each."""
    table = tables.comparable
    rows = [
        row
        for some in in_chunks(list(wanted))
        for row in connection.execute(select(table).where(table.c.ref.in_(some)).with_for_update()).mappings()
    ]
    found: dict[str, Came] = {}

    def anew(present: KeptComparable) -> KeptComparable:
        if not present.holds:
            found[present.id] = "taken back"
        elif any(change.action in _WORDS.values() for change in present.changes):
            found[present.id] = "changed"
        else:
            found[present.id] = "anew"
            comparable = replace(wanted[present.id], line=present.comparable.line)
            return replace(present, comparable=comparable)
        return present

    _KEPT.change_all(connection, rows, anew, author=author, action="read anew", at=at)
    return found


def _lock(connection: Connection) -> None:
    """Keep others from adding comparables until the end; SQLite has one writer as it is."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("LOCK TABLE comparable, comparable_file, comparable_map IN EXCLUSIVE MODE"))


def _heading(headings: Sequence[str]) -> str:
    return digest("headings", *sorted(headings))


_KEPT: Versions[KeptComparable] = Versions(
    name="comparable",
    table=tables.comparable,
    changes=tables.comparable_change,
    record=kept_of,
    columns=lambda kept: plain_of(kept.comparable, holds=kept.holds),
    stored=lambda kept, _: stored_of(kept.comparable, holds=kept.holds),
    slug="comparable-unknown",
    advice="List them: shutline comparables list.",
)

_MAPS: Versions[KeptColumns] = Versions(
    name="comparable_map",
    table=tables.comparable_map,
    changes=tables.comparable_map_change,
    record=lambda row, changes: KeptColumns(
        row["ref"], tuple(row["headings"]), row["columns"], row["version"], changes
    ),
    columns=lambda kept: {"columns": kept.columns},
    slug="comparable-unknown",
    advice="List them: shutline comparables list.",
)
