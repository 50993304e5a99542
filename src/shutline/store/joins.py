"""Cars that are one: what is kept of one is shown under the other, and nothing of it is moved.

Each row stays with the car it came to. A car that is joined with another names it in ``joined_to``, and whatever is
read of a car is read of those joined with it too; so taking one out again gives each what it had. Of a film or picture
that both have, one is left out as a twin, and of what was drawn from both films one of each pair.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from sqlalchemy import Connection, RowMapping, Table, select, update

from shutline.car.carfile import CarSummary, KeptFact, KeptFinding
from shutline.car.errors import UserError
from shutline.store import errors, tables
from shutline.store.base import PROGRAM, Base, under
from shutline.store.cars import expect_version, summary_of, write_car_change
from shutline.store.database import in_chunks
from shutline.store.decisions import TOLD_ONCE, check_person, told_once
from shutline.store.rows import Plain
from shutline.store.statements import FACT, FINDING, Kept, S, Sort, change, load, statement_of, values_at

K = TypeVar("K", KeptFinding, KeptFact)

# What two decisions about the same thing may differ in.
_DECIDED = ("part", "side", "position", "condition", "found", "severity", "remedy", "value", "unit", "state")


@dataclass(frozen=True, slots=True)
class JoinedCar:
    """A car that is shown under another: its name and title, and when and by whom it was joined."""

    name: str
    title: str
    at: str
    author: str


class Joins(Base):
    """The part of the store that lets two cars be one."""

    def join_cars(self, name: str, other: str, *, author: str, expected_version: int | None = None) -> CarSummary:
        """Show all that is kept of one car under another; it is no car of its own then, and found by both names.

        Of a recording or picture that both have, one is shown. What was drawn from it is taken from the first car, but
        for what a person decided about the other's alone; where both were decided about otherwise, both are shown.

        Parameters
        ----------
        name : str
            The car that stays, by its whole name.
        other : str
            The one that comes under it.
        author : str
            Who says that they are one.
        expected_version : int, optional
            Refuse it when the car that stays is at another version.

        Raises
        ------
        NotFoundError
            The store holds no such car.
        UserError
            They are one already (slug ``join-itself``), others came under the second (``join-chain``), or a recording
            that both have is not read to its end (``join-unread``); nothing was done.
        StaleError
            The car was changed since `expected_version`.
        """
        check_person(author)
        with self._db.write() as connection:
            row = self._car(connection, name, lock=True)
            coming = self._car(connection, other, lock=True, own=True)
            expect_version(row, expected_version, {})
            if coming["id"] == row["id"] or coming["joined_to"] is not None:
                raise _one_already(coming["name"], coming["joined_to"] or row["name"])
            if len(below := under(connection, coming["id"])) > 1:
                raise _others_under(coming["name"], [one for one in below.values() if one != coming["name"]])
            at = self._db.now()
            cars = under(connection, row["id"])
            twins = _find_twins(connection, cars, coming["id"])
            for number, ref in twins.recordings.items():
                _name_twin(connection, tables.recording, number, ref)
            for number, ref in twins.pictures.items():
                _name_twin(connection, tables.picture, number, ref)
            _leave_out_one_of_each(connection, FINDING, coming["id"], at=at)
            _leave_out_one_of_each(connection, FACT, coming["id"], at=at)
            under_it = {"joined": coming["name"], "title": coming["title"]}
            of = {"joined_to": row["name"]}
            write_car_change(connection, row, before={}, after=under_it, author=author, action="joined", at=at)
            write_car_change(
                connection, coming, before={"joined_to": None}, after=of, author=author, action="joined", at=at
            )
            self._count(connection, row["id"])
            return summary_of(self._car(connection, row["name"]))

    def try_join(self, name: str, other: str, *, author: str) -> CarSummary:
        """Give how a car would stand if another came under it; nothing is done. Errors as for `join_cars`."""
        with self._db.write() as connection:
            trial = connection.begin_nested()
            try:
                return self.join_cars(name, other, author=author)
            finally:
                trial.rollback()

    def separate_cars(self, name: str, other: str, *, author: str) -> CarSummary:
        """Take a car out again from under another; what was decided since stays with what it was decided about.

        Returns
        -------
        CarSummary
            The car that was taken out.

        Raises
        ------
        NotFoundError
            The store holds no such car.
        UserError
            It is not joined with it (slug ``not-joined``), or one that was joined later has a film of it
            (``join-order``); nothing was done.
        """
        check_person(author)
        with self._db.write() as connection:
            row = self._car(connection, name, lock=True)
            going = self._car(connection, other, lock=True, own=True)
            if going["joined_to"] != row["name"]:
                raise _not_joined(row["name"], going["name"])
            at = self._db.now()
            cars = under(connection, row["id"])
            _refuse_later(connection, cars, going)
            own = {shown: ref for ref, shown in twins_of(connection, [going["id"]]).items()}
            _give_back(connection, FINDING, going["id"], own, at=at)
            _give_back(connection, FACT, going["id"], own, at=at)
            for table in (tables.recording, tables.picture):
                connection.execute(update(table).where(table.c.car_id == going["id"]).values(twin_of=None))
            was = {"joined": going["name"], "title": going["title"]}
            write_car_change(connection, row, before=was, after={}, author=author, action="separated", at=at)
            write_car_change(
                connection,
                going,
                before={"joined_to": row["name"]},
                after={"joined_to": None},
                author=author,
                action="separated",
                at=at,
            )
            for number in (row["id"], going["id"]):
                self._count(connection, number)
            return summary_of(self._car(connection, going["name"]))

    def joined_cars(self, name: str) -> tuple[JoinedCar, ...]:
        """Give the cars that are shown under another, in the order they were joined."""
        car, change_ = tables.car.c, tables.change.c
        with self._db.read() as connection:
            row = self._car(connection, name)
            query = (
                select(car.name, car.title, change_.at, change_.author)
                .join(tables.change, change_.car_id == car.id)
                .where(car.joined_to == row["name"], change_.finding_id.is_(None), change_.fact_id.is_(None))
                .where(change_.action == "joined")
                .order_by(change_.id)
            )
            # One that was taken out and joined again has several: the last one counts.
            last = {found.name: JoinedCar(*found) for found in connection.execute(query)}
            return tuple(sorted(last.values(), key=lambda one: one.at))

    def films_of_both(self, name: str, other: str) -> tuple[str, ...]:
        """Give the SHA-256 of the recordings and pictures that two cars both have."""
        with self._db.read() as connection:
            cars = under(connection, self._car(connection, name)["id"])
            coming = self._car(connection, other, own=True)["id"]
            found = [
                row["sha256"]
                for table in (tables.recording, tables.picture)
                for row in _of_both(connection, table, cars, coming)
            ]
            return tuple(dict.fromkeys(found))


def twins_of(connection: Connection, cars: Collection[int]) -> dict[str, str]:
    """Give, for the recordings and pictures of some cars that are left out, the id of the one that is shown."""
    return {
        row.ref: row.twin_of
        for table in (tables.recording, tables.picture)
        for row in connection.execute(
            select(table.c.ref, table.c.twin_of).where(table.c.car_id.in_(list(cars)), table.c.twin_of.is_not(None))
        )
    }


def twins_for(connection: Connection, shown: Sequence[str]) -> dict[str, str]:
    """Give, for recordings and pictures that are shown, the ids of those that are left out in their favour."""
    # By way of the joined cars, which are few and indexed.
    joined = select(tables.car.c.id).where(tables.car.c.joined_to.is_not(None))
    return {
        row.ref: row.twin_of
        for table in (tables.recording, tables.picture)
        for some in in_chunks(list(dict.fromkeys(shown)))
        for row in connection.execute(
            select(table.c.ref, table.c.twin_of).where(table.c.car_id.in_(joined), table.c.twin_of.in_(some))
        )
    }


def as_shown(kept: K, twins: Mapping[str, str]) -> K:
    """Give a finding or a fact with the recordings and pictures that are shown in place of their twins."""
    if isinstance(kept, KeptFinding):
        footings = tuple(replace(one, source=twins.get(one.source, one.source)) for one in kept.finding.footings)
        return replace(kept, finding=replace(kept.finding, footings=footings))
    footings = tuple(replace(one, source=twins.get(one.source, one.source)) for one in kept.fact.footings)
    return replace(kept, fact=replace(kept.fact, footings=footings))


def owner(connection: Connection, sources: Iterable[str], cars: Mapping[int, str]) -> int:
    """Give, of some cars that are joined, the one whose work, recording or picture is among sources; else the first."""
    for table in (tables.prep_done, tables.recording, tables.picture):
        here = (table.c.ref.in_(list(sources)), table.c.car_id.in_(list(cars)))
        found = connection.execute(select(table.c.car_id).where(*here).order_by(table.c.id)).scalars().first()
        if found is not None:
            return int(found)
    return next(iter(cars))


@dataclass(frozen=True, slots=True)
class _Twins:
    """Of the recordings and pictures of a car, by number, the id of the same bytes in the other."""

    recordings: dict[int, str]
    pictures: dict[int, str]


def _of_both(connection: Connection, table: Table, cars: Collection[int], coming: int) -> list[RowMapping]:
    there = table.alias()
    query = (
        select(
            table.c.id,
            table.c.ref,
            there.c.ref.label("twin"),
            tables.original.c.sha256,
            *((table.c.complete,) if "complete" in table.c else ()),
        )
        .join(there, there.c.original_id == table.c.original_id)
        .join(tables.original, tables.original.c.id == table.c.original_id)
        .where(table.c.car_id == coming, there.c.car_id.in_(list(cars)), there.c.twin_of.is_(None))
        .order_by(table.c.id)
    )
    return list(connection.execute(query).mappings())


def _find_twins(connection: Connection, cars: Collection[int], coming: int) -> _Twins:
    recordings = _of_both(connection, tables.recording, cars, coming)
    for row in recordings:
        if not row["complete"]:
            raise errors.refused(
                slug="join-unread",
                where=f"recording {row['ref']!r}",
                found="both cars have this recording, and it is not read to its end under the one that is to come",
                allowed="cars of which the recordings that both have are read; nothing was done",
                advice="Go on with it under Add, or with `shutline unfinished --go-on`, and join them then.",
            )
    pictures = _of_both(connection, tables.picture, cars, coming)
    return _Twins({row["id"]: row["twin"] for row in recordings}, {row["id"]: row["twin"] for row in pictures})


def _name_twin(connection: Connection, table: Table, number: int, ref: str) -> None:
    connection.execute(update(table).where(table.c.id == number).values(twin_of=ref))


def _pairs(connection: Connection, sort: Sort[S], coming: int) -> Iterator[tuple[Kept[S], Kept[S] | None]]:
    """Give what was drawn from the twins of a car, each with the same as drawn from the recording that is shown."""
    recording = tables.recording
    rows = connection.execute(
        select(recording.c.id, recording.c.ref, recording.c.twin_of).where(
            recording.c.car_id == coming, recording.c.twin_of.is_not(None)
        )
    ).all()
    for row in rows:
        number = connection.execute(select(recording.c.id).where(recording.c.ref == row.twin_of)).scalar_one()
        shown = {
            _drawn_key(sort, kept, {}): kept for kept in load(connection, sort, sort.table.c.recording_id == number)
        }
        for kept in load(connection, sort, sort.table.c.recording_id == row.id):
            yield kept, shown.get(_drawn_key(sort, kept, {row.ref: row.twin_of}))


def _drawn_key(sort: Sort[S], kept: Kept[S], twins: Mapping[str, str]) -> str:
    """Give the key of a statement as it was drawn, whatever was done to it since."""
    drawn = statement_of(sort, values_at(kept, 1))
    footings = tuple(replace(one, source=twins.get(one.source, one.source)) for one in drawn.footings)
    return replace(drawn, footings=footings).key()


def _leave_out_one_of_each(connection: Connection, sort: Sort[S], coming: int, *, at: str) -> None:
    for kept, same in _pairs(connection, sort, coming):
        if kept.row["withdrawn"]:
            continue
        out: Kept[Any] | None
        if not kept.row["touched"]:
            out = kept
        elif same is None or same.row["withdrawn"]:
            out = None
        elif not same.row["touched"]:
            out = same
        else:
            out = kept if _decided(kept.values) == _decided(same.values) else None
        if out is not None:
            _withdraw(connection, sort, out, withdrawn=True, action=TOLD_ONCE, at=at)


def _give_back(connection: Connection, sort: Sort[S], going: int, own: Mapping[str, str], *, at: str) -> None:
    for kept, same in _pairs(connection, sort, going):
        for one in (kept, same):
            if one is not None and one.row["withdrawn"] and told_once(one):
                _withdraw(connection, sort, one, withdrawn=False, action="separated", at=at)
    if not own:
        return
    for kept in load(connection, sort, sort.table.c.car_id == going):
        footings = [{**one, "source": own.get(one["source"], one["source"])} for one in kept.values["footings"]]
        after = {**kept.values, "footings": footings}
        change(connection, sort, kept, after, author=PROGRAM, action="separated", at=at)


def _withdraw(connection: Connection, sort: Sort[S], kept: Kept[S], *, withdrawn: bool, action: str, at: str) -> None:
    change(connection, sort, kept, {**kept.values, "withdrawn": withdrawn}, author=PROGRAM, action=action, at=at)


def _decided(values: Plain) -> list[object]:
    return [values.get(name) for name in _DECIDED]


def _refuse_later(connection: Connection, cars: Mapping[int, str], going: RowMapping) -> None:
    """Refuse to take a car out whose film stands for the same film of one that was joined later."""
    for table in (tables.recording, tables.picture):
        own = select(table.c.ref).where(table.c.car_id == going["id"])
        later = select(table.c.car_id).where(table.c.car_id.in_(list(cars)), table.c.twin_of.in_(own))
        number = connection.execute(later).scalars().first()
        if number is not None:
            raise errors.refused(
                slug="join-order",
                where=f"car {going['name']!r}",
                found=f"{cars[number]!r} was joined later, and a film of this one stands for the same film of it",
                allowed="the one that was joined last is taken out first; nothing was done",
                advice=f"Take {cars[number]!r} out first.",
            )


def _one_already(other: str, name: str) -> UserError:
    return errors.refused(
        slug="join-itself",
        where=f"car {other!r}",
        found=f"it is shown under {name!r} already" if other != name else "it is this car itself",
        allowed="two cars that are not joined yet; nothing was done",
        advice="Name another car.",
    )


def _others_under(other: str, names: list[str]) -> UserError:
    return errors.refused(
        slug="join-chain",
        where=f"car {other!r}",
        found=f"{', '.join(names)} came under it before",
        allowed="a car under which no other came; nothing was done",
        advice=f"Join this one with {other!r} in its stead, or take those out first.",
    )


def _not_joined(name: str, other: str) -> UserError:
    return errors.refused(
        slug="not-joined",
        where=f"car {other!r}",
        found=f"it is not joined with {name!r}",
        allowed="a car that was joined with it; nothing was done",
        advice="Look at the car for those that were.",
    )
