"""Cars: made, listed, found by name, and their own details changed with a history."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from typing import Any, TypedDict, Unpack

from sqlalchemy import ColumnElement, Connection, RowMapping, func, insert, select, update

from shutline.car.carfile import CarSummary, Change
from shutline.car.findings import Drive
from shutline.store import errors, tables
from shutline.store.base import PROGRAM, Base
from shutline.store.decisions import check_person
from shutline.store.rows import Plain, plain

_NAME = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_LONGEST = 60

# The columns of a line of a list, in the order of `CarSummary`.
LINE = tuple(
    tables.car.c[name]
    for name in (
        *("name", "title", "drive", "created_at", "changed_at", "body", "doors"),
        *("recording_count", "picture_count", "heard_count", "stands_count", "struck_count", "version"),
        *("heard_fact_count", "stands_fact_count", "set_aside"),
    )
)


class CarDetails(TypedDict, total=False):
    """The details of a car that a person may change."""

    title: str
    drive: Drive
    body: str | None
    doors: int | None


class Cars(Base):
    """The part of the store that keeps cars."""

    def create_car(
        self,
        name: str | None = None,
        *,
        title: str = "",
        drive: Drive = Drive.RHD,
        body: str | None = None,
        doors: int | None = None,
        author: str = PROGRAM,
    ) -> CarSummary:
        """Make a car.

        Parameters
        ----------
        name : str, optional
            Letters, digits and single hyphens, at most 60, kept in small letters; made from `title` when left out.
        title : str
            How it is shown; the name when left out.
        drive, body, doors
            What chooses its drawing.
        author : str
            Who makes it.

        Raises
        ------
        UserError
            The name cannot be one (slug ``car-name``) or is taken (slug ``car-name-taken``).
        """
        wanted = None if name is None else checked_name(name)
        _check_doors(doors)
        with self._db.write() as connection:
            taken = set(connection.execute(select(tables.car.c.name)).scalars())
            if wanted is None:
                wanted = _free(_slug(title) or "car", taken)
            elif wanted in taken:
                raise errors.refused(
                    slug="car-name-taken",
                    where=f"car {wanted!r}",
                    found="the store holds a car of that name already",
                    allowed="each car has a name of its own",
                    advice=f"Add to that car, or take another name, for example {_free(wanted, taken)!r}.",
                )
            at = self._db.now()
            connection.execute(
                insert(tables.car).values(
                    name=wanted,
                    title=title or wanted,
                    drive=drive.value,
                    body=body,
                    doors=doors,
                    created_at=at,
                    created_by=author,
                    changed_at=at,
                )
            )
            return summary_of(self._car(connection, wanted))

    def cars(
        self, *, limit: int | None = None, skip: int = 0, only_heard: bool = False, aside: bool = False
    ) -> tuple[CarSummary, ...]:
        """List the cars of the yard, newest first; one that is joined with another is no car of its own.

        Parameters
        ----------
        limit : int, optional
            At most so many.
        skip : int
            Leave out so many first.
        only_heard : bool
            Only cars with findings or facts that nobody has looked at yet.
        aside : bool
            Those that are set aside, in place of the others.
        """
        here = listed(only_heard=only_heard, aside=aside)
        query = select(*LINE).where(*here).order_by(tables.car.c.created_at.desc(), tables.car.c.id.desc())
        if limit is not None:
            query = query.limit(limit)
        if skip:
            # SQLite knows no OFFSET without LIMIT; SQLAlchemy writes one.
            query = query.offset(skip)
        with self._db.read() as connection:
            return tuple(line_of(row) for row in connection.execute(query))

    def car_named(self, name: str) -> CarSummary | None:
        """Give the car of a whole name, that of the other for a joined one; None where the store holds none."""
        with self._db.read() as connection:
            here = tables.car.c.name == name.strip().lower()
            there = connection.execute(select(tables.car.c.id).where(here)).first() is not None
            return summary_of(self._car(connection, name.strip())) if there else None

    def find_car(self, text: str) -> CarSummary:
        """Find a car by its name or by a beginning of it that no other has; a joined one is found by its old name too.

        Raises
        ------
        NotFoundError
            No name begins so (slug ``car-unknown``).
        UserError
            Several do (slug ``car-ambiguous``).
        """
        name = text.strip().lower()
        car = tables.car
        with self._db.read() as connection:
            if name and connection.execute(select(car.c.id).where(car.c.name == name)).first() is not None:
                return summary_of(self._car(connection, name))
            begins = car.c.name.startswith(name, autoescape=True)
            rows = connection.execute(select(car).where(begins).order_by(car.c.name)).mappings().all() if name else []
            # Cars that are joined are one, by whichever of their names.
            shown = {row["joined_to"] or row["name"]: row for row in rows}
            rows = [row if row["name"] == one else self._car(connection, one) for one, row in shown.items()]
            if len(rows) == 1:
                return summary_of(rows[0])
            if rows:
                some = ", ".join(row["name"] for row in rows[:5]) + (" and more" if len(rows) > 5 else "")
                raise errors.refused(
                    slug="car-ambiguous",
                    where=f"car {text!r}",
                    found=f"{len(rows)} names begin so: {some}",
                    allowed="a beginning that one car alone has is enough",
                    advice="Write more of the name.",
                )
            return summary_of(self._car(connection, name))

    def shown_under(self, text: str) -> tuple[str, str] | None:
        """Give, for the name of a car that was joined with another or a beginning of it, that name and the other's.

        None for any other words, also where the beginning is that of a car which is shown under its own name.
        """
        name = text.strip().lower()
        car = tables.car.c
        with self._db.read() as connection:
            query = select(car.name, car.joined_to)
            rows = connection.execute(query.where(car.name == name)).all()
            if not rows and name:
                begins = car.name.startswith(name, autoescape=True)
                rows = connection.execute(query.where(begins).order_by(car.name)).all()
        heads = {head for _, head in rows}
        return (rows[0][0], rows[0][1]) if len(heads) == 1 and None not in heads else None

    def set_car_details(
        self, name: str, *, author: str, expected_version: int | None = None, **details: Unpack[CarDetails]
    ) -> CarSummary:
        """Change a car's title, drive, body or doors; what stood before is kept.

        Parameters
        ----------
        name : str
            The car's whole name.
        author : str
            Who changes it.
        expected_version : int, optional
            Refuse the change when the car stands at another version.
        **details
            The new values; those left out stay.

        Raises
        ------
        StaleError
            The car was changed since `expected_version`.
        """
        _check_doors(details.get("doors"))
        wanted = plain(details)
        with self._db.write() as connection:
            row = self._car(connection, name, lock=True)
            before = {field: row[field] for field in wanted}
            expect_version(row, expected_version, wanted)
            changed = [field for field in wanted if wanted[field] != before[field]]
            if changed:
                write_car_change(
                    connection,
                    row,
                    before={field: before[field] for field in changed},
                    after={field: wanted[field] for field in changed},
                    author=author,
                    action="amended",
                    at=self._db.now(),
                )
            return summary_of(self._car(connection, name))

    def set_car_aside(self, name: str, *, aside: bool, author: str, expected_version: int | None = None) -> CarSummary:
        """Leave a car out of the yard, or bring it back; nothing else of it changes, and what is so already is none.

        Parameters and errors are those of `set_car_details`.
        """
        check_person(author)
        with self._db.write() as connection:
            row = self._car(connection, name, lock=True)
            wanted = {"set_aside": aside}
            expect_version(row, expected_version, wanted)
            if row["set_aside"] != aside:
                before = {"set_aside": row["set_aside"]}
                action = "set aside" if aside else "brought back"
                at = self._db.now()
                write_car_change(connection, row, before=before, after=wanted, author=author, action=action, at=at)
            return summary_of(self._car(connection, name))

    def count_aside(self) -> int:
        """Count the cars that are set aside."""
        with self._db.read() as connection:
            query = select(func.count()).select_from(tables.car).where(*listed(only_heard=False, aside=True))
            return connection.execute(query).scalar_one()


def expect_version(row: RowMapping, version: int | None, wanted: Mapping[str, object]) -> None:
    """Refuse a change to another version of a car than the one kept; the error carries both."""
    if version is not None and version != row["version"]:
        raise errors.StaleError(
            where=f"car {row['name']!r}",
            expected_version=version,
            present=summary_of(row),
            wanted=summary_of({**row, **wanted}),  # type: ignore[arg-type]
        )


def listed(*, only_heard: bool, aside: bool) -> tuple[ColumnElement[bool], ...]:
    """Give the conditions by which a car stands in the yard."""
    car = tables.car.c
    here: list[ColumnElement[bool]] = [car.set_aside.is_(aside), car.joined_to.is_(None)]
    if only_heard:
        here.append((car.heard_count > 0) | (car.heard_fact_count > 0))
    return tuple(here)


def write_car_change(
    connection: Connection, row: RowMapping, *, before: Plain, after: Plain, author: str, action: str, at: str
) -> None:
    """Change the details of a car that stand on both sides, and add a line to its history."""
    version = row["version"] + 1
    of = {"car_id": row["id"], "version": version, "at": at, "author": author, "action": action}
    connection.execute(insert(tables.change).values(**of, before=before, after=after))
    values = {field: value for field, value in after.items() if field in before}
    connection.execute(
        update(tables.car).where(tables.car.c.id == row["id"]).values(**values, version=version, changed_at=at)
    )


def car_changes(connection: Connection, car_id: int) -> tuple[Change, ...]:
    """Give the changes of a car's own details, oldest first."""
    change = tables.change.c
    rows = connection.execute(
        select(tables.change)
        .where(change.car_id == car_id, change.finding_id.is_(None), change.fact_id.is_(None))
        .order_by(change.id)
    ).mappings()
    return tuple(Change(row["at"], row["author"], row["action"], row["before"], row["after"]) for row in rows)


def line_of(row: Sequence[Any]) -> CarSummary:
    """Give the line of a list that a row of `LINE` holds; by place, not by name, for there may be 10,000."""
    name, title, drive, *others = row
    return CarSummary(name, title, Drive(drive), *others)


def summary_of(row: RowMapping) -> CarSummary:
    """Give the line of a list that a row of cars holds."""
    name, title, drive, *others = (row[column.name] for column in LINE)
    return CarSummary(name, title, Drive(drive), *others)


def checked_name(name: str) -> str:
    """Give a name as it is kept: small letters; raises UserError (slug ``car-name``) for what cannot be one."""
    small = name.strip().lower()
    if len(small) > _LONGEST or not _NAME.fullmatch(small):
        raise errors.refused(
            slug="car-name",
            where=f"car {name!r}",
            found="this cannot be the name of a car",
            allowed=f"letters a to z, digits and single hyphens between them, at most {_LONGEST}",
            advice=f"Take for example {_slug(name) or 'car'!r}; the title may hold anything.",
        )
    return small


def _check_doors(doors: int | None) -> None:
    if doors is not None and not 0 <= doors <= 9:
        raise errors.refused(
            slug="doors",
            where="doors",
            found=f"{doors} doors",
            allowed="a whole number from 0 to 9, or none while it is not known",
            advice="Count the doors again.",
        )


def _slug(title: str) -> str:
    bare = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    return "-".join(re.findall(r"[a-z0-9]+", bare))[: _LONGEST - 5].strip("-")


def _free(name: str, taken: set[str]) -> str:
    number = 1
    free = name
    while free in taken:
        number += 1
        free = f"{name[: _LONGEST - 5].rstrip('-')}-{number}"
    return free
