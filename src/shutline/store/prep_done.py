"""Work on a car that was ticked off: one line for each trade of a task, changed with who and when."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from sqlalchemy import Connection, RowMapping, select

from shutline.car.changes import Change
from shutline.car.prep_done import PutRight, WorkDone, put_right, sent_with
from shutline.store import errors, tables
from shutline.store.base import Base, under
from shutline.store.decisions import check_person
from shutline.store.rows import Plain, digest
from shutline.store.versions import Versions

_FIXED = ("task", "job", "words", "remedy", "trade")
_LISTS = ("findings", "needs")
_SAID = ("hours", "setup_hours", "places", "of_places", "picture", "found", "done_on", "holds")


class WorksDone(Base):
    """The part of the store that keeps what was ticked off."""

    def tick_work(self, car: str, work: WorkDone, *, author: str, expected_version: int | None = None) -> WorkDone:
        """Keep that work is done; of one task, trade and findings there is one line.

        Parameters
        ----------
        car : str
            The car's whole name.
        work : WorkDone
            What is said; `id`, `version` and `changes` do not count. A message with the token of one that came before
            changes nothing.
        author : str
            Who says so.
        expected_version : int, optional
            The version of the line that the person had before them; None where they knew of none that holds.

        Raises
        ------
        NotFoundError
            The store holds no such car (slug ``car-unknown``).
        StaleError
            Somebody changed the line since, or ticked it off meanwhile and said otherwise.
        """
        check_person(author)
        with self._db.write() as connection:
            row = self._car(connection, car, lock=True)
            rows = _rows(connection, row["id"])
            sent = sent_with(_WORKS.kept(connection, rows), work.token)
            if sent is not None:
                return sent
            kept = next((one for one in rows if _key(one) == (work.task, work.trade, list(work.findings))), None)
            at = self._db.now()
            if kept is None:
                # Of cars that are joined, it is of the one whose finding it cures, and goes with that one.
                car_id, name = _owner(connection, row["id"], work.findings)
                ref = digest("work", name, work.task, work.trade, *work.findings)
                if expected_version is not None:
                    # Nothing is kept of any version: told as an id that there is not.
                    _WORKS.row(connection, ref)
                new = replace(work, id=ref)
                values = {name: getattr(new, name) for name in (*_FIXED, "token")}
                values |= {name: list(getattr(new, name)) for name in _LISTS}
                _WORKS.enter(
                    connection,
                    {"ref": ref, "car_id": car_id, **values, **_said(new)},
                    {**_said(new), "token": new.token},
                    author=author,
                    action="ticked off",
                    at=at,
                )
                self._count(connection, row["id"])
                return _WORKS.one(connection, ref)
            return self._changed(connection, kept, work, author=author, at=at, expected_version=expected_version)

    def take_back_work(
        self, car: str, ref: str, *, author: str, token: str = "", expected_version: int | None = None
    ) -> WorkDone:
        """Take back that work is done; the line is kept and does not hold. As `tick_work` otherwise."""
        check_person(author)
        with self._db.write() as connection:
            row = self._car(connection, car, lock=True)
            rows = _rows(connection, row["id"])
            sent = sent_with(_WORKS.kept(connection, rows), token)
            if sent is not None:
                return sent
            kept = next((one for one in rows if one["ref"] == ref), None)
            if kept is None:
                raise errors.not_found(
                    slug=_WORKS.slug,
                    where=f"{car}, work {ref[:60]!r}",
                    found="nothing that was ticked off of this car has that id",
                    allowed="the id of work that was ticked off",
                    advice=_WORKS.advice,
                )
            found, changed = _WORKS.change(
                connection,
                kept,
                lambda present: replace(present, holds=False, token=token if present.holds else present.token),
                author=author,
                action="taken back",
                at=self._db.now(),
                expected_version=expected_version,
            )
            if changed:
                self._count(connection, row["id"])
            return found

    def works_done(self, car: str) -> tuple[WorkDone, ...]:
        """Give what was ticked off of a car and those joined with it, in the order in which it first was.

        Lines that were taken back are among them. Raises NotFoundError where there is no such car.
        """
        with self._db.read() as connection:
            return works_of(connection, self._car(connection, car)["id"])

    def every_work_done(self) -> tuple[tuple[str, WorkDone], ...]:
        """Give what was ticked off of all cars and holds, each with the name of the car that it was ticked off on."""
        table, car = tables.prep_done, tables.car.c
        with self._db.read() as connection:
            query = select(table, car.name.label("car")).join(tables.car, car.id == table.c.car_id)
            rows = connection.execute(query.where(table.c.holds).order_by(table.c.id)).mappings().all()
            return tuple(zip([row["car"] for row in rows], _WORKS.kept(connection, rows), strict=True))

    def _changed(
        self,
        connection: Connection,
        kept: RowMapping,
        work: WorkDone,
        *,
        author: str,
        at: str,
        expected_version: int | None,
    ) -> WorkDone:
        present = _WORKS.kept(connection, [kept])[0]
        wanted = replace(present, token=work.token, **{name: getattr(work, name) for name in _SAID})
        if present.holds and _said(wanted) == _said(present):
            return present
        if present.holds and expected_version is None:
            raise errors.StaleError(
                where=f"prep_done {present.id!r}", expected_version=0, present=present, wanted=wanted
            )
        found, changed = _WORKS.change(
            connection,
            kept,
            lambda _: wanted,
            author=author,
            action="ticked off",
            at=at,
            expected_version=expected_version,
        )
        if changed:
            self._count(connection, kept["car_id"])
        return found


def works_of(connection: Connection, car_id: int) -> tuple[WorkDone, ...]:
    """Give what was ticked off of a car and those joined with it."""
    return _WORKS.kept(connection, _rows(connection, car_id))


def put_right_of(connection: Connection, car_id: int) -> dict[str, PutRight]:
    """Give what is put right of a car and those joined with it, by the ids of the findings."""
    return put_right(works_of(connection, car_id))


def _rows(connection: Connection, car_id: int) -> list[RowMapping]:
    table = tables.prep_done
    query = select(table).where(table.c.car_id.in_(list(under(connection, car_id)))).order_by(table.c.id)
    return list(connection.execute(query).mappings())


def _owner(connection: Connection, car_id: int, findings: tuple[str, ...]) -> tuple[int, str]:
    names = under(connection, car_id)
    query = select(tables.finding.c.car_id).where(tables.finding.c.ref.in_(findings)).order_by(tables.finding.c.id)
    of = next((one for one in connection.execute(query).scalars() if one in names), car_id)
    return of, names[of]


def _key(row: RowMapping) -> tuple[str, str, list[str]]:
    return row["task"], row["trade"], row["findings"]


def _said(work: WorkDone) -> Plain:
    values = {name: getattr(work, name) for name in _SAID}
    return {name: str(value) if isinstance(value, Decimal) else value for name, value in values.items()}


def _record(row: RowMapping, changes: tuple[Change, ...]) -> WorkDone:
    values: Plain = {name: row[name] for name in (*_FIXED, *_SAID, "token", "version")}
    values |= {name: tuple(row[name]) for name in _LISTS}
    values |= {name: None if row[name] is None else Decimal(row[name]) for name in ("hours", "setup_hours")}
    return WorkDone(id=row["ref"], changes=changes, **values)


_WORKS: Versions[WorkDone] = Versions(
    name="prep_done",
    table=tables.prep_done,
    changes=tables.prep_done_change,
    record=_record,
    columns=lambda kept: {**_said(kept), "token": kept.token},
    slug="work-unknown",
    advice="Show what is done: shutline prep CAR --plan.",
)
