"""Originals, recordings and pictures as they come in, their words, and the problems met on the way."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from sqlalchemy import ColumnElement, Connection, Table, func, insert, select, update

from shutline.car.carfile import Picture, Recording
from shutline.car.errors import Problem
from shutline.car.recordings import Original, PrivateDetails, Probe
from shutline.car.speech import Stretch
from shutline.store import tables
from shutline.store.base import Base, under
from shutline.store.database import in_chunks, insert_missing
from shutline.store.rows import digest, original_of, plain, probe_of, record_of, stretch_columns, stretch_of


class Recordings(Base):
    """The part of the store that keeps what came in."""

    def add_original(self, original: Original, *, linked_path: Path | None = None) -> Original:
        """Keep that a file came in; the same bytes twice are one original with, perhaps, two names.

        Parameters
        ----------
        original : Original
            What `capture` says of it.
        linked_path : Path, optional
            Where its bytes stayed, when they were not copied. Private: given only by `linked_path`.

        Returns
        -------
        Original
            As it is kept, under the name it first came in with.
        """
        with self._db.write() as connection:
            at = self._db.now()
            insert_missing(
                connection,
                tables.original,
                [
                    {
                        "sha256": original.sha256,
                        "byte_size": original.byte_size,
                        "kind": original.kind.value,
                        "linked": original.linked,
                        "linked_path": None if linked_path is None else str(linked_path),
                        "created_at": at,
                    }
                ],
                unique=("sha256",),
            )
            row = self._original(connection, original.sha256)
            if row["linked"] and not original.linked:
                # Once the bytes lie in the store they are not looked for elsewhere.
                copied = {"linked": False, "linked_path": None}
                connection.execute(update(tables.original).where(tables.original.c.id == row["id"]).values(copied))
            elif original.linked and row["linked"] and linked_path is not None:
                moved = {"linked_path": str(linked_path)}
                connection.execute(update(tables.original).where(tables.original.c.id == row["id"]).values(moved))
            insert_missing(
                connection,
                tables.original_name,
                [{"original_id": row["id"], "name": original.name, "created_at": at}],
                unique=("original_id", "name"),
            )
            return self._kept_original(connection, row["id"])

    def original(self, sha256: str) -> Original:
        """Give an original; raises NotFoundError when the store does not hold it."""
        with self._db.read() as connection:
            return self._kept_original(connection, self._original(connection, sha256)["id"])

    def original_names(self, sha256: str) -> tuple[str, ...]:
        """Give the names an original came in with, the first one first."""
        with self._db.read() as connection:
            names = tables.original_name.c
            row = self._original(connection, sha256)
            found = select(names.name).where(names.original_id == row["id"]).order_by(names.id)
            return tuple(connection.execute(found).scalars())

    def linked_path(self, sha256: str) -> Path | None:
        """Give where the bytes of a linked original stayed; None when they lie in the store."""
        with self._db.read() as connection:
            path = self._original(connection, sha256)["linked_path"]
            return None if path is None else Path(path)

    def add_recording(self, car: str, original: Original, *, linked_path: Path | None = None) -> Recording:
        """Keep a recording of a car; the same original in the same car is the same recording.

        Parameters
        ----------
        car : str
            The car's whole name.
        original : Original
            What it consists of; kept as by `add_original`.
        linked_path : Path, optional
            As in `add_original`.

        Raises
        ------
        NotFoundError
            The store holds no such car.
        """
        with self._db.write() as connection:
            row = self._car(connection, car, lock=True)
            kept = self.add_original(original, linked_path=linked_path)
            original_id = self._original(connection, kept.sha256)["id"]
            present = _present(connection, tables.recording, row["id"], original_id)
            if present is not None:
                return self.recording(present)
            ref = digest("recording", row["name"], kept.sha256)
            values = {"ref": ref, "car_id": row["id"], "original_id": original_id, "created_at": self._db.now()}
            insert_missing(connection, tables.recording, [values], unique=("ref",))
            self._count(connection, row["id"])
            return self.recording(ref)

    def recording(self, recording: str) -> Recording:
        """Give a recording by its id; raises NotFoundError when the store does not hold it."""
        with self._db.read() as connection:
            car_id = self._recording(connection, recording)["car_id"]
            return next(kept for kept in recordings_of(connection, car_id, twins=True) if kept.id == recording)

    def cars_with(self, sha256: str) -> tuple[str, ...]:
        """Give the names of the cars that have a recording or picture of these bytes, the oldest first."""
        with self._db.read() as connection:
            found: dict[int, str] = {}
            for kept in (tables.recording, tables.picture):
                shown = func.coalesce(tables.car.c.joined_to, tables.car.c.name).label("name")
                rows = connection.execute(
                    select(tables.car.c.id, shown)
                    .join(kept, kept.c.car_id == tables.car.c.id)
                    .join(tables.original, tables.original.c.id == kept.c.original_id)
                    .where(tables.original.c.sha256 == sha256)
                )
                found.update({row.id: row.name for row in rows})
            return tuple(dict.fromkeys(found[number] for number in sorted(found)))

    def cars_with_like(self, name: str, byte_size: int) -> tuple[str, ...]:
        """Give the names of the cars that have a recording that came in under a name with so many bytes."""
        recording, original, named = tables.recording.c, tables.original.c, tables.original_name.c
        query = (
            select(func.coalesce(tables.car.c.joined_to, tables.car.c.name))
            .join(tables.recording, recording.car_id == tables.car.c.id)
            .join(tables.original, original.id == recording.original_id)
            .join(tables.original_name, named.original_id == original.id)
            .where(original.byte_size == byte_size, named.name == name)
            .order_by(tables.car.c.id)
        )
        with self._db.read() as connection:
            return tuple(dict.fromkeys(connection.execute(query).scalars()))

    def unfinished(self) -> tuple[tuple[str, str], ...]:
        """Give the recordings of which a stage is still to be done, oldest first: the car's name and the id."""
        recording = tables.recording.c
        query = (
            select(func.coalesce(tables.car.c.joined_to, tables.car.c.name).label("name"), recording.ref)
            .join(tables.car, tables.car.c.id == recording.car_id)
            .where(recording.complete.is_(False), recording.twin_of.is_(None))
            .order_by(recording.id)
        )
        with self._db.read() as connection:
            return tuple((row.name, row.ref) for row in connection.execute(query))

    def car_of(self, recording: str) -> str:
        """Give the name of the car that a recording is shown under."""
        with self._db.read() as connection:
            name: str = self._recording(connection, recording)["shown_under"]
            return name

    def set_probe(self, recording: str, probe: Probe, *, private: PrivateDetails | None = None) -> None:
        """Keep what a look inside a recording showed, its private part apart from it."""
        with self._db.write() as connection:
            row = self._recording(connection, recording, lock=True)
            values = {"probe": plain(probe)}
            connection.execute(update(tables.recording).where(tables.recording.c.id == row["id"]).values(values))
            self._keep_private(connection, row["original_id"], private)

    def complete(self, recording: str, *, done: bool = True) -> None:
        """Keep that all stages of a recording are done, or that one is to be done again."""
        with self._db.write() as connection:
            row = self._recording(connection, recording, lock=True)
            values = {"complete": done}
            connection.execute(update(tables.recording).where(tables.recording.c.id == row["id"]).values(values))

    def add_picture(
        self,
        car: str,
        original: Original,
        *,
        width: int,
        height: int,
        taken_at: str | None = None,
        private: PrivateDetails | None = None,
        linked_path: Path | None = None,
    ) -> Picture:
        """Keep a picture that came in by itself; the same original in the same car is the same picture.

        Parameters
        ----------
        car : str
            The car's whole name.
        original : Original
            What it consists of.
        width, height : int
            Pixels, upright.
        taken_at : str, optional
            As the file has it.
        private : PrivateDetails, optional
            Kept apart.
        linked_path : Path, optional
            As in `add_original`.
        """
        with self._db.write() as connection:
            row = self._car(connection, car, lock=True)
            kept = self.add_original(original, linked_path=linked_path)
            original_id = self._original(connection, kept.sha256)["id"]
            present = _present(connection, tables.picture, row["id"], original_id)
            ref = present or digest("picture", row["name"], kept.sha256)
            values = {
                "ref": ref,
                "car_id": row["id"],
                "original_id": original_id,
                "width": width,
                "height": height,
                "taken_at": taken_at,
                "created_at": self._db.now(),
            }
            insert_missing(connection, tables.picture, [values], unique=("ref",))
            self._keep_private(connection, original_id, private)
            self._count(connection, row["id"])
            return next(picture for picture in pictures_of(connection, row["id"]) if picture.id == ref)

    def private_details(self, sha256: str) -> PrivateDetails | None:
        """Give what an original tells of place and device. Not for anything that goes out unasked."""
        with self._db.read() as connection:
            row = self._original(connection, sha256)
            details = tables.private_details.c
            value = connection.execute(select(details.details).where(details.original_id == row["id"])).scalar()
            return None if value is None else record_of(value, PrivateDetails)

    def replace_stretches(self, recording: str, stretches: Sequence[Stretch]) -> None:
        """Keep the words of a recording in place of those kept before, which stay as an older edition."""
        with self._db.write() as connection:
            row = self._recording(connection, recording, lock=True)
            if row["edition"] and _stretches(connection, row["id"], row["edition"]) == tuple(stretches):
                return
            edition = row["edition"] + 1
            rows = [
                {"recording_id": row["id"], "edition": edition, **stretch_columns(stretch, place)}
                for place, stretch in enumerate(stretches)
            ]
            for chunk in in_chunks(rows):
                connection.execute(insert(tables.stretch), list(chunk))
            values = {"edition": edition}
            connection.execute(update(tables.recording).where(tables.recording.c.id == row["id"]).values(values))
            changed = {"changed_at": self._db.now()}
            connection.execute(update(tables.car).where(tables.car.c.name == row["shown_under"]).values(changed))

    def put_problems(
        self, problems: Sequence[Problem], *, car: str, recording: str | None = None, stage: str = ""
    ) -> None:
        """Keep the problems that a stage met, in place of those it met before, which stay as past ones.

        Parameters
        ----------
        problems : sequence of Problem
            All that this stage met this time.
        car : str
            The car's whole name.
        recording : str, optional
            The recording it was met in.
        stage : str
            Which stage met it.
        """
        with self._db.write() as connection:
            row = self._car(connection, car, lock=True)
            of = None if recording is None else self._recording(connection, recording)
            recording_id = None if of is None else of["id"]
            car_id = row["id"] if of is None else of["car_id"]
            problem = tables.problem.c
            here = (problem.car_id == car_id, problem.recording_id.is_not_distinct_from(recording_id))
            present = connection.execute(
                select(tables.problem).where(*here, problem.stage == stage, problem.past.is_(False))
            ).mappings()
            kept = {Problem(p["slug"], p["where"], p["found"], p["allowed"], p["advice"]): p["id"] for p in present}
            wanted = dict.fromkeys(problems)
            gone = [number for value, number in kept.items() if value not in wanted]
            for chunk in in_chunks(gone):
                connection.execute(update(tables.problem).where(problem.id.in_(chunk)).values(past=True))
            at = self._db.now()
            rows = [
                {**plain(p), "car_id": car_id, "recording_id": recording_id, "stage": stage, "created_at": at}
                for p in wanted
                if p not in kept
            ]
            if rows:
                connection.execute(insert(tables.problem), rows)

    def _keep_private(self, connection: Connection, original_id: int, private: PrivateDetails | None) -> None:
        if private is None or private == PrivateDetails():
            return
        values = {"original_id": original_id, "details": plain(private)}
        insert_missing(connection, tables.private_details, [values], unique=("original_id",))
        details = tables.private_details
        connection.execute(update(details).where(details.c.original_id == original_id).values(details=plain(private)))

    def _kept_original(self, connection: Connection, original_id: int) -> Original:
        query = select(*original_columns()).where(tables.original.c.id == original_id)
        return original_of(connection.execute(query).mappings().one())


def _present(connection: Connection, sort: Table, car_id: int, original_id: int) -> str | None:
    """Give the id under which a car, or one joined with it, has a recording or picture of these bytes."""
    here = (sort.c.car_id.in_(list(under(connection, car_id))), sort.c.original_id == original_id)
    query = select(sort.c.ref).where(*here, sort.c.twin_of.is_(None))
    return connection.execute(query).scalars().first()


def recordings_of(
    connection: Connection, car_id: int, *, words: bool = True, twins: bool = False
) -> tuple[Recording, ...]:
    """Give the recordings of a car, with the words that are in force or without, in the order they came in.

    Those of the cars joined with it come too; the same bytes twice are one, unless `twins`.
    """
    recording = tables.recording
    here = [recording.c.car_id.in_(list(under(connection, car_id)))]
    if not twins:
        here.append(recording.c.twin_of.is_(None))
    rows = connection.execute(
        select(
            recording.c.id.label("recording_id"),
            recording.c.ref,
            recording.c.probe,
            recording.c.complete,
            recording.c.edition,
            *original_columns(),
        )
        .join(tables.original, tables.original.c.id == recording.c.original_id)
        .where(*here)
        .order_by(recording.c.id)
    ).mappings()
    kept = []
    for row in rows.all():
        original = original_of(row)
        said = _stretches(connection, row["recording_id"], row["edition"]) if words else ()
        kept.append(Recording(row["ref"], original, probe_of(row["probe"], original), said, row["complete"]))
    return tuple(kept)


def pictures_of(connection: Connection, car_id: int) -> tuple[Picture, ...]:
    """Give the pictures of a car, and of those joined with it, in the order they came in; the same twice are one."""
    picture = tables.picture.c
    rows = connection.execute(
        select(picture.ref, picture.width, picture.height, picture.taken_at, *original_columns())
        .join(tables.original, tables.original.c.id == picture.original_id)
        .where(picture.car_id.in_(list(under(connection, car_id))), picture.twin_of.is_(None))
        .order_by(picture.id)
    ).mappings()
    return tuple(
        Picture(row["ref"], original_of(row), row["width"], row["height"], row["taken_at"]) for row in rows.all()
    )


def problems_of(connection: Connection, car_id: int) -> tuple[Problem, ...]:
    """Give the problems of a car, and of those joined with it, that were met when each stage last ran."""
    cars = under(connection, car_id)
    problem, recording = tables.problem.c, tables.recording.c
    twins = select(recording.id).where(recording.car_id.in_(list(cars)), recording.twin_of.is_not(None))
    rows = connection.execute(
        select(tables.problem)
        .where(problem.car_id.in_(list(cars)), problem.past.is_(False))
        .where(problem.recording_id.is_(None) | problem.recording_id.not_in(twins))
        .order_by(problem.id)
    ).mappings()
    found = (Problem(row["slug"], row["where"], row["found"], row["allowed"], row["advice"]) for row in rows)
    # That a film is in another car file too is none once the two are one.
    joined = [repr(name) for name in cars.values()] if len(cars) > 1 else []
    kept = (one for one in found if one.slug != "in-another-car" or not any(name in one.found for name in joined))
    return tuple(dict.fromkeys(kept))


def original_columns() -> tuple[ColumnElement[Any], ...]:
    """Give the columns that make an `Original`; the way to a linked one is not among them."""
    original, names = tables.original.c, tables.original_name.c
    first = select(names.name).where(names.original_id == original.id).order_by(names.id).limit(1).scalar_subquery()
    return (original.sha256, first.label("name"), original.byte_size, original.kind, original.linked)


def _stretches(connection: Connection, recording_id: int, edition: int) -> tuple[Stretch, ...]:
    stretch = tables.stretch.c
    rows = connection.execute(
        select(tables.stretch)
        .where(stretch.recording_id == recording_id, stretch.edition == edition)
        .order_by(stretch.place)
    ).mappings()
    return tuple(stretch_of(row) for row in rows)
