"""Readings of instruments: how each came in, and what people made of it; nothing is lost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import msgspec
from sqlalchemy import Connection, RowMapping, select

from shutline.car.changes import Change
from shutline.car.findings import State
from shutline.car.readings import KeptReading, Reading, Way
from shutline.store import tables
from shutline.store.base import PROGRAM, Base, under
from shutline.store.decisions import check_person
from shutline.store.joins import twins_of
from shutline.store.rows import Plain, digest
from shutline.store.versions import Versions

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
            by_ref = {one.id: one for one in _READINGS.some(connection, refs)}
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
            row = _READINGS.row(connection, ref, lock=True)
            kept, changed = _READINGS.change(
                connection,
                row,
                lambda present: replace(present, state=_STATES[action], reading=reading or present.reading),
                author=author,
                action=_WORDS[action],
                at=self._db.now(),
                expected_version=expected_version,
            )
            if changed:
                self._count(connection, row["car_id"])
            return kept


def readings_of(connection: Connection, car_id: int) -> tuple[KeptReading, ...]:
    """Give all readings of a car and of those joined with it, in the order they came in."""
    cars = under(connection, car_id)
    twins = twins_of(connection, cars)
    table = tables.reading
    query = select(table).where(table.c.car_id.in_(list(cars))).order_by(table.c.id)
    kept = _READINGS.kept(connection, list(connection.execute(query).mappings()))
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


def _write(connection: Connection, car_id: int, ref: str, reading: Reading, *, at: str, author: str) -> None:
    state = State.HEARD if reading.way in _WAITING and author == PROGRAM else State.STANDS
    values = {
        "ref": ref,
        "car_id": car_id,
        "state": state.value,
        "source": reading.source or None,
        **_of_reading(reading),
    }
    after = {**msgspec.to_builtins(reading), "state": state.value}
    _READINGS.enter(connection, values, after, author=author, action="came in", at=at)


def _of_reading(reading: Reading) -> Plain:
    return {"reading": msgspec.to_builtins(reading), "quantity": reading.quantity}


def _record(row: RowMapping, changes: tuple[Change, ...]) -> KeptReading:
    return KeptReading(
        id=row["ref"],
        reading=msgspec.convert(row["reading"], Reading),
        state=State(row["state"]),
        kept_at=row["created_at"],
        version=row["version"],
        changes=changes,
    )


_READINGS: Versions[KeptReading] = Versions(
    name="reading",
    table=tables.reading,
    changes=tables.reading_change,
    record=_record,
    columns=lambda kept: {**msgspec.to_builtins(kept.reading), "state": kept.state.value},
    stored=lambda kept, _: {"state": kept.state.value, **_of_reading(kept.reading)},
    slug="reading-unknown",
    advice="List the readings of the car: shutline readings CAR.",
)
