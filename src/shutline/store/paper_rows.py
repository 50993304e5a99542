"""Rows of papers and of what was read off them, and the records they are."""

from __future__ import annotations

import msgspec
from sqlalchemy import RowMapping

from shutline.car.changes import Change
from shutline.car.kept_papers import Cover, KeptPage, KeptRead, PaperSaid
from shutline.car.papers import Box, Line, PaperKind, PaperState, Proposal, ReadKind, ReadState
from shutline.store import tables
from shutline.store.base import PROGRAM
from shutline.store.rows import Plain, digest
from shutline.store.versions import Versions

HOW_TO_LIST = "List them: shutline papers CAR."

# Members by their value: a look-up takes a tenth of the time of a call of the class.
_KINDS = {member.value: member for member in ReadKind}
_READ_STATES = {member.value: member for member in ReadState}
_TOLD = ("kind", "role", "value", "unit", "day", "state", "fact")


def read_id(paper: str, read: Proposal) -> str:
    """Give the id of something read off a paper: the same words of the same place always get it."""
    box = (read.box.left, read.box.top, read.box.width, read.box.height)
    places = (f"{edge:.3f}" for edge in box)
    return digest("paper read", paper, str(read.page), read.kind.value, read.role, read.words, *places)


def line_row(line: Line) -> list[object]:
    """Give a line as it is kept."""
    box = line.box
    return [line.words, [round(edge, 5) for edge in (box.left, box.top, box.width, box.height)], line.score]


def page_of(row: RowMapping) -> KeptPage:
    """Give the page that a row holds."""
    return KeptPage(
        number=row["number"],
        turned=row["turned"],
        width=row["width"],
        height=row["height"],
        picture=row["picture"],
        by_sight=row["by_sight"],
        lines=tuple(Line(words, Box(*box), score) for words, box, score in row["lines"]),
    )


def said_columns(said: PaperSaid) -> Plain:
    """Give the columns of what people said of a paper."""
    return {
        "kind": said.kind and said.kind.value,
        "state": said.state.value,
        "covers": [msgspec.to_builtins(cover) for cover in said.covers],
        "out_mark": said.out_mark,
    }


def _said_of(row: RowMapping, changes: tuple[Change, ...]) -> PaperSaid:
    return PaperSaid(
        id=row["ref"],
        kind=None if row["kind"] is None else PaperKind(row["kind"]),
        state=PaperState(row["state"]),
        covers=msgspec.convert(row["covers"], tuple[Cover, ...]),
        out_mark=row["out_mark"],
        version=row["version"],
        changes=changes,
    )


def read_columns(read: KeptRead) -> Plain:
    """Give the columns of something read that a person may change."""
    return {
        "kind": read.kind.value,
        "role": read.role,
        "value": read.value,
        "unit": read.unit,
        "day": read.day,
        "state": read.state.value,
        "fact": read.fact,
    }


def _read_of(row: RowMapping, changes: tuple[Change, ...]) -> KeptRead:
    return KeptRead(
        id=row["ref"],
        read=msgspec.convert(row["reading"], Proposal),
        kind=_KINDS[row["kind"]],
        role=row["role"],
        value=row["value"],
        unit=row["unit"],
        day=row["day"],
        state=_READ_STATES[row["state"]],
        fact=row["fact"],
        withdrawn=row["withdrawn"],
        version=row["version"],
        changes=changes,
    )


def undecided(row: RowMapping) -> KeptRead:
    """Give something read that nobody has decided about: how it came in stands in its own row."""
    told = {name: row[name] for name in _TOLD}
    return _read_of(row, (Change(row["created_at"], PROGRAM, "read", {}, told),))


PAPERS: Versions[PaperSaid] = Versions(
    name="paper",
    table=tables.paper,
    changes=tables.paper_change,
    record=_said_of,
    columns=said_columns,
    slug="paper-unknown",
    advice=HOW_TO_LIST,
)
READS: Versions[KeptRead] = Versions(
    name="proposal",
    table=tables.paper_read,
    changes=tables.paper_read_change,
    record=_read_of,
    columns=read_columns,
    slug="paper-read-unknown",
    advice=HOW_TO_LIST,
)
