"""Test histories of a car: each record as its file had it, once, and what a person said of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import msgspec
from sqlalchemy import Connection, RowMapping, select

from shutline.car.changes import Change
from shutline.car.kept_tests import KeptTests, RecordState
from shutline.store import errors, tables
from shutline.store.base import Base, under
from shutline.store.decisions import check_person
from shutline.store.rows import digest
from shutline.store.versions import Versions

_WORDS = {
    RecordState.SAME: "said to be this car",
    RecordState.OTHER: "said to be another car",
    RecordState.OPEN: "taken back",
}


class Histories(Base):
    """The part of the store that keeps test histories."""

    def add_tests(
        self, car: str, records: Sequence[tuple[str, dict[str, Any]]], *, name: str, author: str
    ) -> tuple[tuple[KeptTests, bool], ...]:
        """Keep records of a file; one that this car has had, word for word, is left as it is.

        Parameters
        ----------
        car : str
            The car's whole name.
        records : sequence of (str, dict)
            Each mark without spaces, with its record as the file has it.
        name : str
            The name of the file.
        author : str
            Who brought it.

        Returns
        -------
        tuple of (KeptTests, bool)
            Each as it is kept, and whether it is new.

        Raises
        ------
        NotFoundError
            The store holds no such car (slug ``car-unknown``).
        """
        check_person(author)
        table = tables.test_history
        with self._db.write() as connection:
            row = self._car(connection, car, lock=True)
            names = list(under(connection, row["id"]).values())
            made = []
            for mark, record in records:
                token = msgspec.json.encode(record, order="sorted").decode()
                query = select(table).where(table.c.ref.in_([_id(one, token) for one in names])).limit(1)
                there = connection.execute(query).mappings().first()
                if there is None:
                    values = {
                        "ref": _id(row["name"], token),
                        "car_id": row["id"],
                        "mark": mark,
                        "name": name,
                        "record": record,
                        "state": RecordState.OPEN.value,
                        "created_by": author,
                    }
                    told = {"mark": mark, "name": name, "state": RecordState.OPEN.value}
                    _TESTS.enter(connection, values, told, author=author, action="came in", at=self._db.now())
                    made.append((_TESTS.one(connection, values["ref"]), True))
                else:
                    made.append((_TESTS.kept(connection, [there])[0], False))
            if any(new for _, new in made):
                self._count(connection, row["id"])
            return tuple(made)

    def decide_tests(
        self, car: str, ref: str, state: RecordState, *, author: str, expected_version: int | None = None
    ) -> KeptTests:
        """Keep what a person said of a record: it is this car, it is another, or it is open again.

        Raises
        ------
        NotFoundError
            No such car, or it has no such record (slug ``tests-unknown``).
        StaleError
            Somebody said something of it since `expected_version`.
        """
        check_person(author)
        with self._db.write() as connection:
            cars = under(connection, self._car(connection, car, lock=True)["id"])
            at = self._db.now()
            kept, changed = _TESTS.change(
                connection,
                _row(connection, ref, cars),
                lambda present: replace(present, state=state, decided_at=at, decided_by=author),
                author=author,
                action=_WORDS[state],
                at=at,
                expected_version=expected_version,
            )
            if changed:
                self._count(connection, next(iter(cars)))
            return kept


def tests_of(connection: Connection, car_id: int) -> tuple[KeptTests, ...]:
    """Give the records of a car and of those joined with it, in the order they came in."""
    table = tables.test_history
    query = select(table).where(table.c.car_id.in_(list(under(connection, car_id)))).order_by(table.c.id)
    # Both of two joined cars may have had the same record; what a person said of either counts for it.
    found: dict[str, KeptTests] = {}
    for one in _TESTS.kept(connection, list(connection.execute(query).mappings())):
        token = msgspec.json.encode(one.record, order="sorted").decode()
        before = found.get(token)
        if before is None or (before.state is RecordState.OPEN and one.state is not RecordState.OPEN):
            found[token] = one
    return tuple(found.values())


def _id(car: str, token: str) -> str:
    return digest("tests", car, token)


def _row(connection: Connection, ref: str, cars: dict[int, str]) -> RowMapping:
    table = tables.test_history
    query = select(table).where(table.c.ref == ref, table.c.car_id.in_(list(cars)))
    row = connection.execute(query.with_for_update()).mappings().one_or_none()
    if row is None:
        raise errors.not_found(
            slug="tests-unknown",
            where=f"test history {ref[:60]!r}",
            found="the car has no record of that id",
            allowed="the id of a record, as the timeline lists them",
            advice="List them: shutline timeline CAR.",
        )
    return row


def _record(row: RowMapping, changes: tuple[Change, ...]) -> KeptTests:
    return KeptTests(
        id=row["ref"],
        mark=row["mark"],
        name=row["name"],
        record=row["record"],
        state=RecordState(row["state"]),
        kept_at=row["created_at"],
        kept_by=row["created_by"],
        decided_at=row["decided_at"],
        decided_by=row["decided_by"],
        version=row["version"],
        changes=changes,
    )


_TESTS: Versions[KeptTests] = Versions(
    name="test_history",
    table=tables.test_history,
    changes=tables.test_history_change,
    record=_record,
    columns=lambda kept: {"state": kept.state.value},
    stored=lambda kept, changed: {**changed, "decided_at": kept.decided_at, "decided_by": kept.decided_by},
    slug="tests-unknown",
    advice="List them: shutline timeline CAR.",
)
