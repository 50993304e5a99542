"""Notes of engines: one in force for each recording, those before it kept with who asked for them and when."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection, RowMapping, insert, select, update

from shutline.car.engine import ColdReadings, EngineNote, KeptEngineNote
from shutline.store import tables
from shutline.store.base import Base
from shutline.store.database import in_chunks
from shutline.store.rows import plain, record_of


class Engines(Base):
    """The part of the store that keeps what was heard of engines."""

    def put_engine_note(self, kept: KeptEngineNote) -> KeptEngineNote:
        """Keep a note of a recording in place of the one before it, which stays as a past one.

        Returns
        -------
        KeptEngineNote
            As it is kept, with its time.

        Raises
        ------
        NotFoundError
            There is no such recording (slug ``recording-unknown``).
        """
        with self._db.write() as connection:
            row = self._recording(connection, kept.note.recording, lock=True)
            here = tables.engine_note.c
            connection.execute(
                update(tables.engine_note).where(here.recording_id == row["id"], here.past.is_(False)).values(past=True)
            )
            at = self._db.now()
            connection.execute(
                insert(tables.engine_note).values(
                    recording_id=row["id"],
                    note=plain(kept.note),
                    cylinders_from=kept.cylinders_from,
                    readings=plain(kept.readings),
                    key=kept.key,
                    author=kept.author,
                    at=at,
                )
            )
            return KeptEngineNote(kept.note, kept.cylinders_from, kept.readings, kept.key, kept.author, at)

    def engine_notes(self, recordings: Sequence[str], *, past: bool = False) -> tuple[KeptEngineNote, ...]:
        """Give the notes in force of some recordings, in the order in which they were made; with `past`, the others."""
        with self._db.read() as connection:
            return engine_notes_of(connection, recordings, past=past)


def engine_notes_of(
    connection: Connection, recordings: Sequence[str], *, past: bool = False
) -> tuple[KeptEngineNote, ...]:
    """Give the notes in force of some recordings, in the order in which they were made; with `past`, the others."""
    here, recording = tables.engine_note.c, tables.recording.c
    found: list[RowMapping] = []
    for some in in_chunks(list(dict.fromkeys(recordings))):
        query = (
            select(tables.engine_note)
            .join(tables.recording, recording.id == here.recording_id)
            .where(recording.ref.in_(some), here.past.is_(past))
        )
        found += connection.execute(query).mappings().all()
    return tuple(_kept(row) for row in sorted(found, key=lambda row: row["id"]))


def _kept(row: RowMapping) -> KeptEngineNote:
    return KeptEngineNote(
        note=record_of(row["note"], EngineNote),
        cylinders_from=row["cylinders_from"],
        readings=record_of(row["readings"], ColdReadings),
        key=row["key"],
        author=row["author"],
        at=row["at"],
    )
