"""Which stills show a finding, in which order; a still that was put aside is kept."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from sqlalchemy import ColumnElement, Connection, insert, select, update

from shutline.car.recordings import Still
from shutline.store import tables
from shutline.store.database import insert_missing
from shutline.store.rows import Plain, plain, still_of

_STILL = tuple(tables.still.c[name] for name in Still.__dataclass_fields__)


def stills_of(connection: Connection, *here: ColumnElement[bool]) -> dict[int, tuple[Still, ...]]:
    """Give the stills of findings by the finding's number; `here` are conditions on the table of findings."""
    link = tables.finding_still
    found: dict[int, list[Still]] = defaultdict(list)
    # By place, not by name: a car may have thousands of them.
    for number, *values in connection.execute(
        select(link.c.finding_id, *_STILL)
        .join(tables.still, tables.still.c.id == link.c.still_id)
        .join(tables.finding, tables.finding.c.id == link.c.finding_id)
        .where(*here, link.c.put_aside.is_(False))
        .order_by(link.c.finding_id, link.c.place)
    ):
        found[number].append(Still(*values))
    return {number: tuple(stills) for number, stills in found.items()}


def named_stills(connection: Connection, finding_id: int) -> list[Plain]:
    """Give the stills of one finding in plain values, each with the id of its recording: enough to set them again."""
    link = tables.finding_still
    rows = connection.execute(
        select(tables.still, tables.recording.c.ref.label("recording"))
        .join(link, link.c.still_id == tables.still.c.id)
        .join(tables.recording, tables.recording.c.id == tables.still.c.recording_id)
        .where(link.c.finding_id == finding_id, link.c.put_aside.is_(False))
        .order_by(link.c.place)
    ).mappings()
    return [{**plain(still_of(row)), "recording": row["recording"]} for row in rows]


def chosen_by(connection: Connection, finding_id: int) -> set[str]:
    """Give who chose the stills that a finding has or ever had."""
    link = tables.finding_still.c
    return set(connection.execute(select(link.chosen_by).where(link.finding_id == finding_id).distinct()).scalars())


def set_stills(connection: Connection, finding_id: int, stills: Sequence[Plain], *, author: str, at: str) -> None:
    """Let these stills, in plain values with the id of their recording, show a finding, and put the others aside."""
    link, still, recording = tables.finding_still, tables.still, tables.recording
    connection.execute(
        update(link).where(link.c.finding_id == finding_id, link.c.put_aside.is_(False)).values(put_aside=True)
    )
    for place, values in enumerate(stills):
        bare = {name: value for name, value in values.items() if name != "recording"}
        recording_id = connection.execute(
            select(recording.c.id).where(recording.c.ref == values["recording"])
        ).scalar_one()
        unique = ("recording_id", "sha256", "at_s")
        insert_missing(connection, still, [{**bare, "recording_id": recording_id}], unique=unique)
        still_id = connection.execute(
            select(still.c.id).where(
                still.c.recording_id == recording_id,
                still.c.sha256 == values["sha256"],
                still.c.at_s == values["at_s"],
            )
        ).scalar_one()
        connection.execute(
            insert(link).values(finding_id=finding_id, still_id=still_id, place=place, chosen_by=author, chosen_at=at)
        )
