"""What every part of the store stands on: one database, and the rows that others hang from."""

from __future__ import annotations

import difflib
from typing import Any

from sqlalchemy import ColumnElement, Connection, RowMapping, Select, bindparam, exists, func, or_, select, update

from shutline.store import errors, tables
from shutline.store.database import Database

PROGRAM = "program"
"""Author of what the pipeline draws."""


class Base:
    """The database, and how a car or a recording is found in it."""

    def __init__(self, database: Database) -> None:
        self._db = database

    def _car(self, connection: Connection, name: str, *, lock: bool = False, own: bool = False) -> RowMapping:
        """Give the row of a car by its whole name; `lock` keeps others from writing to that car until the end.

        For a car that is joined with another it is the other's row, unless `own`.
        """
        query = select(tables.car).where(tables.car.c.name == name.lower())
        row = connection.execute(query.with_for_update() if lock else query).mappings().one_or_none()
        if row is not None and row["joined_to"] is not None and not own:
            return self._car(connection, row["joined_to"], lock=lock)
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
        """Give the row of a recording with its own car's name and that of the car it is shown under; `lock` as above.

        The two differ where its own car is joined with another.
        """
        car = tables.car.c
        query = (
            select(tables.recording, car.name.label("car"), func.coalesce(car.joined_to, car.name).label("shown_under"))
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
        """Write a car's counts anew from its rows and those of the cars joined with it.

        What was put right counts neither as heard nor as standing: nobody need decide about it any more.
        """
        from shutline.store.prep_done import put_right_of

        joined_to = connection.execute(select(tables.car.c.joined_to).where(tables.car.c.id == car_id)).scalar_one()
        if joined_to is not None:
            car_id = self._car(connection, joined_to)["id"]
        numbers = list(under(connection, car_id))
        finding, fact, other = tables.finding.c, tables.fact.c, tables.fact.alias().c
        right = list(put_right_of(connection, car_id))

        def findings(state: str) -> Any:
            here = [finding.car_id.in_(numbers), finding.withdrawn.is_(False), finding.state == state]
            if right and state != "struck":
                here.append(finding.ref.not_in(right))
            return select(func.count()).where(*here).scalar_subquery()

        def facts(state: str, *also: ColumnElement[bool]) -> Any:
            here = (fact.car_id.in_(numbers), fact.withdrawn.is_(False), fact.state == state, *also)
            return select(func.count(fact.name.distinct())).where(*here).scalar_subquery()

        def rows(table: Any) -> Any:
            here = (table.c.car_id.in_(numbers), table.c.twin_of.is_(None))
            return select(func.count()).where(*here).scalar_subquery()

        open_too = (other.car_id.in_(numbers), other.name == fact.name, other.withdrawn.is_(False))
        connection.execute(
            update(tables.car)
            .where(tables.car.c.id == car_id)
            .values(
                heard_count=findings("heard"),
                stands_count=findings("stands"),
                struck_count=findings("struck"),
                heard_fact_count=facts("heard"),
                stands_fact_count=facts("stands", ~exists().where(*open_too, other.state == "heard")),
                recording_count=rows(tables.recording),
                picture_count=rows(tables.picture),
                changed_at=self._db.now(),
            )
        )


def under(connection: Connection, car_id: int) -> dict[int, str]:
    """Give the cars whose rows make one car file, by number, with their names: the car, then those joined with it."""
    return {row.id: row.name for row in connection.execute(_UNDER, {"number": car_id})}


def _under() -> Select[int, str]:
    car, head = tables.car.c, tables.car.alias().c
    name = select(head.name).where(head.id == bindparam("number")).scalar_subquery()
    here = or_(car.id == bindparam("number"), car.joined_to == name)
    return select(car.id, car.name).where(here).order_by(car.joined_to.is_not(None), car.id)


_UNDER = _under()
"""Put together once: one page asks it many times, and that takes longer than the asking."""


def check_source(connection: Connection, source: str, *, what: str) -> None:
    """Refuse what is said of a picture or a recording that the store does not hold (slug ``<what>-source-unknown``)."""
    for table in (tables.recording, tables.picture):
        if connection.execute(select(table.c.id).where(table.c.ref == source)).first() is not None:
            return
    raise errors.not_found(
        slug=f"{what}-source-unknown",
        where=f"{what} in {source[:60]!r}",
        found="the store holds no picture and no recording of that id",
        allowed="the id of a picture or a recording of the car",
        advice="Show the car for the ids of its recordings and pictures.",
    )
