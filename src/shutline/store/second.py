"""What second readers answered, and how their readings stand beside the findings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import msgspec
from sqlalchemy import Connection, RowMapping, insert, select, update

from shutline.car.second import PieceAnswer, Proposal, SecondReading, SecondView, SetAside
from shutline.store import tables
from shutline.store.base import PROGRAM, Base, under
from shutline.store.database import in_chunks, insert_missing
from shutline.store.rows import plain, record_of
from shutline.store.statements import FINDING, change, load


@dataclass(frozen=True, slots=True)
class KeptSecond:
    """A second reading with what it was made from.

    `words` is the hash of the words it is of; `proposals` are numbered by those words; `spans` are the stretches of
    time, seconds, to which there is an answer.
    """

    reading: SecondReading
    words: str
    proposals: tuple[Proposal, ...]
    spans: tuple[tuple[float, float], ...]


class Seconds(Base):
    """The part of the store that keeps second readings."""

    def put_second_answer(self, key: str, answer: PieceAnswer, *, service: str, model: str) -> None:
        """Keep what was answered to one piece of words under the hash of all that was asked; the first one stays."""
        with self._db.write() as connection:
            values = {
                "key": key,
                "service": service,
                "model": model,
                "answer": plain(answer),
                "created_at": self._db.now(),
            }
            insert_missing(connection, tables.second_answer, [values], unique=("key",))

    def second_answers(self, keys: Sequence[str]) -> dict[str, PieceAnswer]:
        """Give the answers that are kept under these hashes."""
        answer = tables.second_answer.c
        found: dict[str, PieceAnswer] = {}
        with self._db.read() as connection:
            for some in in_chunks(list(dict.fromkeys(keys))):
                rows = connection.execute(select(answer.key, answer.answer).where(answer.key.in_(some)))
                found.update({row.key: record_of(row.answer, PieceAnswer) for row in rows})
        return found

    def second_service_known(self, service: str) -> bool:
        """Tell whether this service has ever answered from this store."""
        answer = tables.second_answer.c
        with self._db.read() as connection:
            return connection.execute(select(answer.id).where(answer.service == service).limit(1)).first() is not None

    def put_second_reading(self, kept: KeptSecond) -> None:
        """Keep a second reading of a recording in place of the one before it, which stays as a past one."""
        reading = kept.reading
        with self._db.write() as connection:
            row = self._recording(connection, reading.recording, lock=True)
            self._drop(connection, row["id"])
            connection.execute(
                insert(tables.second_reading).values(
                    recording_id=row["id"],
                    service=reading.service,
                    model=reading.model,
                    words=kept.words,
                    pieces=reading.pieces,
                    answered=reading.answered,
                    proposals=plain(kept.proposals),
                    spans=[list(span) for span in kept.spans],
                    set_aside=plain(reading.set_aside),
                    views=plain(reading.views),
                    asked_at=reading.asked_at,
                )
            )

    def drop_second_reading(self, recording: str) -> None:
        """Make the second reading of a recording a past one: its words are no longer those that were read."""
        with self._db.write() as connection:
            self._drop(connection, self._recording(connection, recording, lock=True)["id"])

    def second_reading(self, recording: str) -> KeptSecond | None:
        """Give the second reading of a recording, None where there is none."""
        with self._db.read() as connection:
            reading = tables.second_reading.c
            here = reading.recording_id == self._recording(connection, recording)["id"]
            query = select(tables.second_reading).where(here, reading.past.is_(False))
            row = connection.execute(query).mappings().first()
            if row is None:
                return None
            return KeptSecond(
                reading=_reading_of(row, recording),
                words=row["words"],
                proposals=msgspec.convert(row["proposals"], tuple[Proposal, ...]),
                spans=msgspec.convert(row["spans"], tuple[tuple[float, float], ...]),
            )

    def weigh_findings(self, recording: str, sureness: Mapping[str, float]) -> int:
        """Change the sureness of findings that the program drew and nobody has decided about; tell how many changed.

        Parameters
        ----------
        recording : str
            Id of the recording they are of; others are left alone.
        sureness : mapping of str to float
            By id of the finding, in [0, 1].

        Raises
        ------
        ValueError
            A sureness lies outside [0, 1].
        """
        if not all(0.0 <= value <= 1.0 for value in sureness.values()):
            raise ValueError("a sureness lies outside [0, 1]")
        with self._db.write() as connection:
            row = self._recording(connection, recording, lock=True)
            at = self._db.now()
            changed = 0
            for kept in load(connection, FINDING, tables.finding.c.recording_id == row["id"]):
                wanted = sureness.get(kept.row["ref"])
                if wanted is None or kept.row["touched"] or kept.row["created_by"] != PROGRAM:
                    continue
                after = {**kept.values, "sureness": wanted}
                changed += change(connection, FINDING, kept, after, author=PROGRAM, action="weighed again", at=at)
            return changed

    def _drop(self, connection: Connection, recording_id: int) -> None:
        reading = tables.second_reading
        connection.execute(
            update(reading).where(reading.c.recording_id == recording_id, reading.c.past.is_(False)).values(past=True)
        )


def second_readings_of(connection: Connection, car_id: int) -> tuple[SecondReading, ...]:
    """Give the second readings of a car, and of those joined with it, in the order of the recordings."""
    recording, reading = tables.recording.c, tables.second_reading.c
    rows = connection.execute(
        select(tables.second_reading, recording.ref)
        .join(tables.recording, recording.id == reading.recording_id)
        .where(
            recording.car_id.in_(list(under(connection, car_id))), recording.twin_of.is_(None), reading.past.is_(False)
        )
        .order_by(recording.id)
    ).mappings()
    return tuple(_reading_of(row, row["ref"]) for row in rows)


def _reading_of(row: RowMapping, recording: str) -> SecondReading:
    return SecondReading(
        recording=recording,
        service=row["service"],
        model=row["model"],
        asked_at=row["asked_at"],
        pieces=row["pieces"],
        answered=row["answered"],
        views=msgspec.convert(row["views"], tuple[SecondView, ...]),
        set_aside=msgspec.convert(row["set_aside"], tuple[SetAside, ...]),
    )
