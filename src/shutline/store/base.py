"""What every part of the store stands on: one database, and the rows that others hang from."""

from __future__ import annotations

import difflib
from typing import Any

from sqlalchemy import Connection, RowMapping, func, select, update

from shutline.store import errors, tables
from shutline.store.database import Database

PROGRAM = "program"
"""Author of what the pipeline draws."""


class Base:
    """The database, and how a car or a recording is found in it."""

    def __init__(self, database: Database) -> None:
        self._db = database

    def _car(self, connection: Connection, name: str, *, lock: bool = False) -> RowMapping:
        """Give the row of a car by its whole name; `lock` keeps others from writing to that car until the end."""
        query = select(tables.car).where(tables.car.c.name == name.lower())
        row = connection.execute(query.with_for_update() if lock else query).mappings().one_or_none()
        if row is None:
            names = connection.execute(select(tables.car.c.name)).scalars().all()
            near = difflib.get_close_matches(name.lower(), names, n=3)
            raise errors.not_found(
                slug="car-unknown",
                where=f"car {name!r}",
                found="the store holds no car of that name",
                allowed=f"near it: {', '.join(near)}" if near else f"the store holds {len(names)} cars",
                advice="Look in the list of cars for the name.",
            )
        return row

    def _recording(self, connection: Connection, ref: str, *, lock: bool = False) -> RowMapping:
        """Give the row of a recording with its car's name; `lock` as in `_car`."""
        query = (
            select(tables.recording, tables.car.c.name.label("car"))
            .join(tables.car, tables.car.c.id == tables.recording.c.car_id)
            .where(tables.recording.c.ref == ref)
        )
        row = connection.execute(query.with_for_update() if lock else query).mappings().one_or_none()
        if row is None:
            raise errors.not_found(
                slug="recording-unknown",
                where=f"recording {ref!r}",
                found="the store holds no recording of that id",
                allowed="a recording is named by the id it got when it came in",
                advice="Show the car for the ids of its recordings.",
            )
        return row

    def _original(self, connection: Connection, sha256: str) -> RowMapping:
        """Give the row of an original."""
        row = (
            connection.execute(select(tables.original).where(tables.original.c.sha256 == sha256))
            .mappings()
            .one_or_none()
        )
        if row is None:
            raise errors.not_found(
                slug="original-unknown",
                where=f"original {sha256!r}",
                found="the store holds no original of that SHA-256",
                allowed="an original is named by the SHA-256 of its bytes",
                advice="Add the file first.",
            )
        return row

    def _count(self, connection: Connection, car_id: int) -> None:
        """Write a car's counts anew from its rows."""
        finding = tables.finding.c

        def findings(state: str) -> Any:
            here = (finding.car_id == car_id, finding.withdrawn.is_(False), finding.state == state)
            return select(func.count()).where(*here).scalar_subquery()

        def rows(table: Any) -> Any:
            return select(func.count()).where(table.c.car_id == car_id).scalar_subquery()

        connection.execute(
            update(tables.car)
            .where(tables.car.c.id == car_id)
            .values(
                heard_count=findings("heard"),
                stands_count=findings("stands"),
                struck_count=findings("struck"),
                recording_count=rows(tables.recording),
                picture_count=rows(tables.picture),
                changed_at=self._db.now(),
            )
        )
