"""Readings of instruments: how each came in, and what people made of it; nothing is lost."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import msgspec
from sqlalchemy import Connection, RowMapping, insert, select, update

from shutline.car.findings import State
from shutline.car.readings import KeptReading, Reading, ReadingChange, Way
from shutline.store import errors, tables
from shutline.store.base import PROGRAM, Base, under
from shutline.store.database import in_chunks
from shutline.store.decisions import check_person
from shutline.store.joins import twins_of
from shutline.store.rows import Plain, digest

ReadingAction = Literal["stand", "strike", "amend", "again"]
"""What a person may do: let it stand, strike it, amend it (it stands then), let it wait again."""

_WORDS = {"stand": "let stand", "strike": "struck", "amend": "amended", "again": "waits again"}
_STATES = {"stand": State.STANDS, "amend": State.STANDS, "strike": State.STRUCK, "again": State.HEARD}
_WAITING = (Way.SPOKEN, Way.PICTURE)


class Readings(Base):
    """The part of the store that keeps readings."""

    def add_readings(
        self, car: str, readings: Sequence[tuple[str, Reading]], *, author: str = PROGRAM
    ) -> tuple[KeptReading, ...]:
        """Keep readings; one with a token that this car has had is left as it is, whatever a person has made of it.

        Parameters
        ----------
        car : str
            The car's whole name.
        readings : sequence of (str, Reading)
            Each with what makes it once: anything that no other reading of this car was sent with.
        author : str
            Who entered them; the program for those it heard.

        Returns
        -------
        tuple of KeptReading
            As they are kept, in the order given.

        Raises
        ------
        NotFoundError
            The store holds no such car (slug ``car-unknown``).
        """
        if author != PROGRAM:
            check_person(author)
        with self._db.write() as connection:
            row = self._car(connection, car, lock=True)
            names = under(connection, row["id"]).values()
            at = self._db.now()
            refs = []
            for token, reading in readings:
                known = [_id(name, token) for name in names]
                query = select(tables.reading.c.ref).where(tables.reading.c.ref.in_(known))
                kept = connection.execute(query.limit(1)).scalar()
                refs.append(kept or _id(row["name"], token))
                if kept is None:
                    _write(connection, row["id"], refs[-1], reading, at=at, author=author)
            self._count(connection, row["id"])
            by_ref = {one.id: one for one in _kept(connection, _rows(connection, refs))}
            return tuple(by_ref[ref] for ref in refs)

    def readings(self, car: str) -> tuple[KeptReading, ...]:
        """Give all readings of a car and of those joined with it, struck ones too, in the order they came in."""
        with self._db.read() as connection:
            return readings_of(connection, self._car(connection, car)["id"])

    def change_reading(
        self,
        ref: str,
        *,
        action: ReadingAction,
        author: str,
        expected_version: int | None = None,
        reading: Reading | None = None,
    ) -> KeptReading:
        """Do what a person decided about a reading.

        Parameters
        ----------
        ref : str
            Its id.
        action : ReadingAction
            What is done.
        author : str
            Who decided.
        expected_version : int, optional
            Refuse it when the reading is at another version.
        reading : Reading, optional
            What it is from now on; with ``amend``, and then it must be given.

        Raises
        ------
        NotFoundError
            There is no such reading (slug ``reading-unknown``).
        StaleError
            Somebody changed it since `expected_version`.
        """
        check_person(author)
        if (action == "amend") != (reading is not None):
            raise ValueError("a reading goes with amend, and with nothing else")
        with self._db.write() as connection:
            row = _row(connection, ref, lock=True)
            present = _kept(connection, [row])[0]
            wanted = replace(present, state=_STATES[action], reading=reading or present.reading)
            if expected_version is not None and expected_version != present.version:
                raise errors.StaleError(
                    where=f"reading {ref!r}", expected_version=expected_version, present=present, wanted=wanted
                )
            before, after = _plain(present.reading, present.state), _plain(wanted.reading, wanted.state)
            changed = [name for name in after if after[name] != before[name]]
            if changed:
                version = present.version + 1
                connection.execute(
                    update(tables.reading)
                    .where(tables.reading.c.id == row["id"])
                    .values(
                        version=version,
                        state=wanted.state.value,
                        reading=msgspec.to_builtins(wanted.reading),
                        quantity=wanted.reading.quantity,
                    )
                )
                _write_change(
                    connection,
                    row["id"],
                    version,
                    at=self._db.now(),
                    author=author,
                    action=_WORDS[action],
                    before={name: before[name] for name in changed},
                    after={name: after[name] for name in changed},
                )
                self._count(connection, row["car_id"])
            return _kept(connection, [_row(connection, ref)])[0]


def readings_of(connection: Connection, car_id: int) -> tuple[KeptReading, ...]:
    """Give all readings of a car and of those joined with it, in the order they came in."""
    cars = under(connection, car_id)
    twins = twins_of(connection, cars)
    table = tables.reading
    query = select(table).where(table.c.car_id.in_(list(cars))).order_by(table.c.id)
    kept = _kept(connection, list(connection.execute(query).mappings()))
    if not twins:
        return kept
    # The same words heard in a recording that both cars have are one reading.
    seen = set()
    found = []
    for one in kept:
        source = twins.get(one.reading.source, one.reading.source)
        key = (source, one.reading.start_s, one.reading.quantity) if one.reading.start_s is not None else one.id
        if key not in seen:
            seen.add(key)
            found.append(replace(one, reading=replace(one.reading, source=source)))
    return tuple(found)


def _id(car: str, token: str) -> str:
    return digest("reading", car, token)


def _plain(reading: Reading, state: State) -> Plain:
    return {**msgspec.to_builtins(reading), "state": state.value}


def _write(connection: Connection, car_id: int, ref: str, reading: Reading, *, at: str, author: str) -> None:
    state = State.HEARD if reading.way in _WAITING and author == PROGRAM else State.STANDS
    values = {
        "ref": ref,
        "car_id": car_id,
        "quantity": reading.quantity,
        "state": state.value,
        "source": reading.source or None,
        "reading": msgspec.to_builtins(reading),
        "version": 1,
        "created_at": at,
    }
    number = connection.execute(insert(tables.reading).values(values).returning(tables.reading.c.id)).scalar_one()
    _write_change(
        connection, number, 1, at=at, author=author, action="came in", before={}, after=_plain(reading, state)
    )


def _write_change(
    connection: Connection,
    reading_id: int,
    version: int,
    *,
    at: str,
    author: str,
    action: str,
    before: Plain,
    after: Plain,
) -> None:
    connection.execute(
        insert(tables.reading_change).values(
            reading_id=reading_id, version=version, at=at, author=author, action=action, before=before, after=after
        )
    )


def _rows(connection: Connection, refs: Sequence[str]) -> list[RowMapping]:
    return [
        row
        for some in in_chunks(list(refs))
        for row in connection.execute(select(tables.reading).where(tables.reading.c.ref.in_(some))).mappings()
    ]


def _row(connection: Connection, ref: str, *, lock: bool = False) -> RowMapping:
    query = select(tables.reading).where(tables.reading.c.ref == ref)
    row = connection.execute(query.with_for_update() if lock else query).mappings().one_or_none()
    if row is None:
        raise errors.not_found(
            slug="reading-unknown",
            where=f"reading {ref[:60]!r}",
            found="the store holds no reading of that id",
            allowed="the id of a reading, as the car's readings are listed",
            advice="List the readings of the car: shutline readings CAR.",
        )
    return row


def _kept(connection: Connection, rows: Sequence[RowMapping]) -> tuple[KeptReading, ...]:
    changes: dict[int, list[ReadingChange]] = defaultdict(list)
    table = tables.reading_change
    for some in in_chunks([row["id"] for row in rows]):
        query = select(table).where(table.c.reading_id.in_(some)).order_by(table.c.reading_id, table.c.version)
        for row in connection.execute(query).mappings():
            changes[row["reading_id"]].append(
                ReadingChange(row["at"], row["author"], row["action"], row["before"], row["after"])
            )
    return tuple(
        KeptReading(
            id=row["ref"],
            reading=msgspec.convert(row["reading"], Reading),
            state=State(row["state"]),
            kept_at=row["created_at"],
            version=row["version"],
            changes=tuple(changes[row["id"]]),
        )
        for row in rows
    )
