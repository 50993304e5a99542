"""What was entered of a car's past, as it came in and as people changed it; nothing is lost."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import msgspec
from sqlalchemy import Connection, RowMapping, func, select

from shutline.car.changes import Change
from shutline.car.findings import State
from shutline.car.past import KeptPast, PastEntry
from shutline.store import errors, tables
from shutline.store.base import Base, under
from shutline.store.decisions import check_person
from shutline.store.rows import Plain, digest
from shutline.store.versions import Versions

PastAction = Literal["strike", "amend", "again"]
"""What a person may do: strike an entry, amend it (it stands then), let it stand again."""

_WORDS = {"strike": "struck", "amend": "amended", "again": "stands again"}


class Pasts(Base):
    """The part of the store that keeps what was entered of a car's past."""

    def add_past(self, car: str, entry: PastEntry, *, author: str) -> KeptPast:
        """Keep an entry; one that says the same as one of this car that stands is that one.

        Raises
        ------
        NotFoundError
            The store holds no such car (slug ``car-unknown``).
        """
        check_person(author)
        with self._db.write() as connection:
            row = self._car(connection, car, lock=True)
            for one in past_of(connection, row["id"]):
                if one.entry == entry and one.state is State.STANDS:
                    return one
            own = select(func.count()).where(tables.past.c.car_id == row["id"])
            number = connection.execute(own).scalar_one()
            ref = digest("past", row["name"], str(number), *map(str, msgspec.to_builtins(entry).values()))
            values = {"ref": ref, "car_id": row["id"], "state": State.STANDS.value, **_stored(entry)}
            after = {**msgspec.to_builtins(entry), "state": State.STANDS.value}
            _PAST.enter(connection, values, after, author=author, action="entered", at=self._db.now())
            self._count(connection, row["id"])
            return _PAST.one(connection, ref)

    def change_past(
        self,
        car: str,
        ref: str,
        *,
        action: PastAction,
        author: str,
        entry: PastEntry | None = None,
        expected_version: int | None = None,
    ) -> KeptPast:
        """Do what a person decided about an entry.

        Parameters
        ----------
        car : str
            The car's whole name.
        ref : str
            The id of the entry.
        action : PastAction
            What is done.
        author : str
            Who decided.
        entry : PastEntry, optional
            What it says from now on; with ``amend``, and then it must be given.
        expected_version : int, optional
            Refuse it when the entry is at another version.

        Raises
        ------
        NotFoundError
            No such car, or it has no such entry (slug ``past-unknown``).
        StaleError
            Somebody changed it since `expected_version`.
        """
        check_person(author)
        if (action == "amend") != (entry is not None):
            raise ValueError("an entry goes with amend, and with nothing else")
        state = State.STRUCK if action == "strike" else State.STANDS
        with self._db.write() as connection:
            cars = under(connection, self._car(connection, car, lock=True)["id"])
            kept, changed = _PAST.change(
                connection,
                _row(connection, ref, cars),
                lambda present: replace(present, state=state, entry=entry or present.entry),
                author=author,
                action=_WORDS[action],
                at=self._db.now(),
                expected_version=expected_version,
            )
            if changed:
                self._count(connection, next(iter(cars)))
            return kept


def past_of(connection: Connection, car_id: int) -> tuple[KeptPast, ...]:
    """Give all entries of a car and of those joined with it, in the order they came in.

    An entry that two joined cars have is the first car's: what a person decided about it there counts.
    """
    cars = list(under(connection, car_id))
    query = select(tables.past).where(tables.past.c.car_id.in_(cars))
    rows = sorted(connection.execute(query).mappings(), key=lambda row: (cars.index(row["car_id"]), row["id"]))
    owners: dict[PastEntry, int] = {}
    found = [
        (row["id"], kept)
        for row, kept in zip(rows, _PAST.kept(connection, rows), strict=True)
        if owners.setdefault(kept.entry, row["car_id"]) == row["car_id"]
    ]
    return tuple(kept for _, kept in sorted(found, key=lambda one: one[0]))


def _row(connection: Connection, ref: str, cars: dict[int, str]) -> RowMapping:
    query = select(tables.past).where(tables.past.c.ref == ref, tables.past.c.car_id.in_(list(cars)))
    row = connection.execute(query.with_for_update()).mappings().one_or_none()
    if row is None:
        raise errors.not_found(
            slug="past-unknown",
            where=f"entry {ref[:60]!r}",
            found="nothing of that id was entered of the car's past",
            allowed="the id of an entry, as the car's past lists them",
            advice="List them: shutline past CAR.",
        )
    return row


def _stored(entry: PastEntry) -> Plain:
    return {"kind": entry.kind.value, "entry": msgspec.to_builtins(entry)}


def _record(row: RowMapping, changes: tuple[Change, ...]) -> KeptPast:
    return KeptPast(
        id=row["ref"],
        entry=msgspec.convert(row["entry"], PastEntry),
        state=State(row["state"]),
        kept_at=row["created_at"],
        version=row["version"],
        changes=changes,
    )


_PAST: Versions[KeptPast] = Versions(
    name="past",
    table=tables.past,
    changes=tables.past_change,
    record=_record,
    columns=lambda kept: {**msgspec.to_builtins(kept.entry), "state": kept.state.value},
    stored=lambda kept, _: {"state": kept.state.value, **_stored(kept.entry)},
    slug="past-unknown",
    advice="List them: shutline past CAR.",
)
