"""Notes made at the car, each with the place it was made at."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from sqlalchemy import Connection, RowMapping, Select, select

from shutline.car.findings import Position, Side
from shutline.car.notes import Note, NoteKind
from shutline.car.vocabulary import vocabulary
from shutline.store import errors, tables
from shutline.store.base import Base, under
from shutline.store.database import insert_missing
from shutline.store.decisions import check_person
from shutline.store.joins import twins_of
from shutline.store.rows import digest


class Notes(Base):
    """The part of the store that keeps notes."""

    def add_note(
        self,
        car: str,
        kind: NoteKind,
        *,
        part: str,
        side: Side | None,
        position: Position | None,
        author: str,
        token: str,
        at: str,
        source: str = "",
        words: str = "",
    ) -> Note:
        """Keep a note; the same token again adds nothing, and gives the note that is kept.

        Parameters
        ----------
        car : str
            The car's whole name.
        kind : NoteKind
            What it is.
        part, side, position
            The place it was made at.
        author : str
            Who made it.
        token : str
            What makes it once: anything that no other note of this car was sent with.
        at : str
            When it was made, ISO 8601.
        source : str
            Id of the picture or recording.
        words : str
            What was typed.

        Raises
        ------
        UserError
            The part is not in the vocabulary (slug ``unknown-part``).
        """
        check_person(author)
        if part not in vocabulary().parts:
            raise errors.refused(
                slug="unknown-part",
                where="note",
                found=f"{part!r} is not in the vocabulary",
                allowed=f"one of the {len(vocabulary().parts)} ids of the vocabulary",
                advice="Choose the nearest of them.",
            )
        with self._db.write() as connection:
            row = self._car(connection, car, lock=True)
            kept = _sent_with(connection, row["id"], token)
            if kept is not None:
                return kept
            ref = note_id(row["name"], token)
            values = {
                "ref": ref,
                "car_id": row["id"],
                "part": part,
                "side": side and side.value,
                "position": position and position.value,
                "kind": kind.value,
                "source": source,
                "words": words,
                "at": at,
                "created_at": self._db.now(),
                "created_by": author,
            }
            insert_missing(connection, tables.note, [values], unique=("ref",))
            self._count(connection, row["id"])
            return _note_of(connection.execute(_notes().where(tables.note.c.ref == ref)).mappings().one())

    def find_note(self, car: str, token: str) -> Note | None:
        """Give the note of a car that was sent with a token; None where there is none."""
        with self._db.read() as connection:
            return _sent_with(connection, self._car(connection, car)["id"], token)

    def spoken_at(self, recording: str) -> Note | None:
        """Give the note that a recording is; None for a recording that was not made at one place."""
        with self._db.read() as connection:
            spoken = (tables.note.c.source == recording, tables.note.c.kind == NoteKind.SPOKEN.value)
            row = connection.execute(_notes().where(*spoken).limit(1)).mappings().one_or_none()
            return None if row is None else _note_of(row)


def note_id(car: str, token: str) -> str:
    """Give the id of the note of a car that was sent with a token."""
    return digest("note", car, token)


def _sent_with(connection: Connection, car_id: int, token: str) -> Note | None:
    """Give the note that was sent with a token to a car, or to one that is joined with it now."""
    refs = [note_id(name, token) for name in under(connection, car_id).values()]
    row = connection.execute(_notes().where(tables.note.c.ref.in_(refs))).mappings().first()
    return None if row is None else _note_of(row)


def notes_of(connection: Connection, car_id: int) -> tuple[Note, ...]:
    """Give the notes of a car, and of those joined with it, in the order they came in."""
    cars = under(connection, car_id)
    twins = twins_of(connection, cars)
    rows = connection.execute(_notes().where(tables.note.c.car_id.in_(list(cars)))).mappings()
    notes = (_note_of(row) for row in rows)
    return tuple(replace(note, source=twins.get(note.source, note.source)) for note in notes)


def _notes() -> Select[Any]:
    return select(tables.note).order_by(tables.note.c.id)


def _note_of(row: RowMapping) -> Note:
    return Note(
        id=row["ref"],
        part=row["part"],
        side=None if row["side"] is None else Side(row["side"]),
        position=None if row["position"] is None else Position(row["position"]),
        kind=NoteKind(row["kind"]),
        source=row["source"],
        words=row["words"],
        at=row["at"],
        kept_at=row["created_at"],
        author=row["created_by"],
    )
