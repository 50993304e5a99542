"""What is done of each recording, so that a run that was stopped goes on where it was."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, RowMapping, select, update

from shutline.car.speech import Segment
from shutline.store import tables
from shutline.store.base import Base
from shutline.store.database import in_chunks, insert_missing
from shutline.store.rows import stretch_columns, stretch_of


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of one recording.

    `key` says what it is done with (settings, versions). `progress` is what the stage itself wrote down to go on from.
    """

    name: str
    key: str
    done: bool
    progress: dict[str, Any]
    started_at: str
    changed_at: str
    finished_at: str | None = None


class Stages(Base):
    """The part of the store that keeps how far the work has come."""

    def begin_stage(self, recording: str, stage: str, key: str) -> Stage:
        """Begin a stage, or go on with one that was begun with the same key.

        A stage done with another key is superseded: what it gave may be changed from now on, so it is not done any
        more, not even when its own key comes back.

        Parameters
        ----------
        recording : str
            Id of the recording.
        stage : str
            Name of the stage.
        key : str
            Hash of all that its result depends on.

        Returns
        -------
        Stage
            With `done` True when nothing is left to do, else with the progress to go on from.
        """
        with self._db.write() as connection:
            row = self._recording(connection, recording, lock=True)
            at = self._db.now()
            c = tables.stage.c
            here = (c.recording_id == row["id"], c.name == stage)
            connection.execute(
                update(tables.stage)
                .where(*here, c.key != key, c.state != "superseded")
                .values(state="superseded", changed_at=at)
            )
            again: dict[str, Any] = {
                "state": "started",
                "progress": {},
                "started_at": at,
                "changed_at": at,
                "finished_at": None,
            }
            connection.execute(update(tables.stage).where(*here, c.key == key, c.state == "superseded").values(again))
            new = {"recording_id": row["id"], "name": stage, "key": key, **again}
            insert_missing(connection, tables.stage, [new], unique=("recording_id", "name", "key"))
            kept = _present(connection, row["id"], stage, key)
            if kept is None:
                raise RuntimeError(f"stage {stage!r} was written and cannot be read back")
            return _stage_of(kept)

    def progress(self, recording: str, stage: str, key: str, progress: dict[str, Any]) -> None:
        """Write down how far a stage has come, in JSON's values; raises ValueError for a stage that was not begun."""
        self._note(recording, stage, key, {"progress": progress})

    def finish_stage(self, recording: str, stage: str, key: str) -> None:
        """Keep that a stage is done; raises ValueError for a stage that was not begun.

        Call it within `Store.together` with what the stage gave, so that either both are kept or neither.
        """
        self._note(recording, stage, key, {"state": "done", "finished_at": self._db.now()})

    def stage_done(self, recording: str, stage: str, key: str) -> bool:
        """Tell whether a stage was last done with this key."""
        with self._db.read() as connection:
            row = self._recording(connection, recording)
            kept = _present(connection, row["id"], stage, key)
            return kept is not None and kept["state"] == "done"

    def stages(self, recording: str) -> tuple[Stage, ...]:
        """Give the stages of a recording that are begun or done, in the order they were begun."""
        with self._db.read() as connection:
            row = self._recording(connection, recording)
            c = tables.stage.c
            rows = connection.execute(
                select(tables.stage)
                .where(c.recording_id == row["id"], c.state != "superseded")
                .order_by(c.started_at, c.id)
            ).mappings()
            return tuple(_stage_of(row) for row in rows)

    def put_segment(self, sha256: str, recogniser: str, segment: Segment) -> None:
        """Keep what a recogniser heard in one piece of an original; a piece that is kept already stays."""
        self.put_segments(sha256, recogniser, (segment,))

    def put_segments(self, sha256: str, recogniser: str, segments: Sequence[Segment]) -> None:
        """Keep several pieces at once.

        Parameters
        ----------
        sha256 : str
            The original.
        recogniser : str
            Id of the recogniser with all that its pieces depend on: weights, settings, how the sound was split.
        segments : sequence of Segment
            The pieces.
        """
        with self._db.write() as connection:
            original_id = self._original(connection, sha256)["id"]
            rows = [
                {
                    "original_id": original_id,
                    "recogniser": recogniser,
                    "broken_off": segment.broken_off,
                    **stretch_columns(segment.stretch, segment.index),
                }
                for segment in segments
            ]
            for chunk in in_chunks(rows):
                insert_missing(connection, tables.heard_segment, chunk, unique=("original_id", "recogniser", "place"))

    def segments(self, sha256: str, recogniser: str) -> dict[int, Segment]:
        """Give the pieces of an original that a recogniser has heard, by their index."""
        with self._db.read() as connection:
            original_id = self._original(connection, sha256)["id"]
            c = tables.heard_segment.c
            rows = connection.execute(
                select(tables.heard_segment)
                .where(c.original_id == original_id, c.recogniser == recogniser)
                .order_by(c.place)
            ).mappings()
            return {row["place"]: Segment(row["place"], stretch_of(row), row["broken_off"]) for row in rows}

    def _note(self, recording: str, stage: str, key: str, values: dict[str, Any]) -> None:
        with self._db.write() as connection:
            row = self._recording(connection, recording, lock=True)
            kept = _present(connection, row["id"], stage, key)
            if kept is None or kept["state"] == "superseded":
                raise ValueError(f"stage {stage!r} of recording {recording!r} was not begun with key {key!r}")
            connection.execute(
                update(tables.stage)
                .where(tables.stage.c.id == kept["id"])
                .values({**values, "changed_at": self._db.now()})
            )


def _present(connection: Connection, recording_id: int, stage: str, key: str) -> RowMapping | None:
    c = tables.stage.c
    return (
        connection.execute(select(tables.stage).where(c.recording_id == recording_id, c.name == stage, c.key == key))
        .mappings()
        .one_or_none()
    )


def _stage_of(row: RowMapping) -> Stage:
    return Stage(
        row["name"],
        row["key"],
        row["state"] == "done",
        row["progress"],
        row["started_at"],
        row["changed_at"],
        row["finished_at"],
    )
