"""Figures read off pictures: what the program read, and what people made of it; nothing is lost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import msgspec
from sqlalchemy import Connection, RowMapping, select

from shutline.car.changes import Change
from shutline.car.figures import Figure, FigureState, ReadFigure
from shutline.car.findings import Position, Side
from shutline.store import tables
from shutline.store.base import PROGRAM, Base, check_source
from shutline.store.database import in_chunks, insert_missing
from shutline.store.decisions import check_person
from shutline.store.rows import Plain, digest
from shutline.store.versions import Versions

FigureAction = Literal["take", "amend", "aside", "again"]
"""What a person may do: take it as it stands, amend it (it is taken then), set it aside, let it wait again."""

_WORDS = {"take": "taken", "amend": "amended", "aside": "set aside", "again": "waits again"}
_STATES = {
    "take": FigureState.TAKEN,
    "amend": FigureState.TAKEN,
    "aside": FigureState.ASIDE,
    "again": FigureState.WAITS,
}


class Figures(Base):
    """The part of the store that keeps figures; each by the id of the picture or recording that it is in."""

    def put_figures(
        self,
        source: str,
        figures: Sequence[tuple[ReadFigure, str]],
        *,
        key: str,
        at_s: float | None = None,
        refused: int = 0,
        place: tuple[str | None, Side | None, Position | None] = (None, None, None),
    ) -> tuple[str, ...]:
        """Keep what was read off a picture or a frame, and that it was looked at.

        What is kept already is left as it is, whatever a person has made of it.

        Parameters
        ----------
        source : str
            Id of the picture or the recording.
        figures : sequence of (ReadFigure, str)
            What was read, each with the SHA-256 of the piece of picture it stands in.
        key : str
            Of all that the look depends on; see `looked_at`.
        at_s : float, optional
            Moment of the recording, seconds.
        refused : int
            How many were too unclear to offer.
        place : tuple
            Part, side and position that it shows, as far as they are known.

        Returns
        -------
        tuple of str
            Their ids.

        Raises
        ------
        NotFoundError
            The store holds no such picture or recording (slug ``figure-source-unknown``).
        """
        ids = tuple(_id(source, at_s, read) for read, _ in figures)
        with self._db.write() as connection:
            check_source(connection, source, what="figure")
            at = self._db.now()
            kept = set(connection.execute(select(tables.figure.c.ref).where(tables.figure.c.ref.in_(ids))).scalars())
            for ref, (read, crop) in dict(zip(ids, figures, strict=True)).items():
                if ref not in kept:
                    part, side, position = place
                    columns: Plain = {
                        "value": read.value,
                        "unit": read.unit,
                        "state": FigureState.WAITS.value,
                        "part": part,
                        "side": side and side.value,
                        "position": position and position.value,
                        "fact": None,
                    }
                    values = {
                        **columns,
                        "ref": ref,
                        "source": source,
                        "at_s": at_s,
                        "kind": read.kind.value,
                        "crop": crop,
                        "reading": msgspec.to_builtins(read),
                    }
                    _FIGURES.enter(connection, values, columns, author=PROGRAM, action="read", at=at)
            look = {"key": key, "source": source, "at_s": at_s, "refused": refused, "created_at": at}
            insert_missing(connection, tables.figure_look, [look], unique=("key",))
        return ids

    def looked_at(self, keys: Sequence[str]) -> frozenset[str]:
        """Give those of the keys that were looked at before, so that nothing is read twice."""
        table = tables.figure_look
        with self._db.read() as connection:
            return frozenset(
                key
                for some in in_chunks(list(keys))
                for key in connection.execute(select(table.c.key).where(table.c.key.in_(some))).scalars()
            )

    def figures(self, sources: Sequence[str]) -> tuple[Figure, ...]:
        """Give all figures of these pictures and recordings, those set aside too, by source and by time."""
        with self._db.read() as connection:
            return figures_of(connection, sources)

    def figure(self, ref: str) -> Figure:
        """Give one figure by its id; raises NotFoundError (slug ``figure-unknown``)."""
        with self._db.read() as connection:
            return _FIGURES.one(connection, ref)

    def change_figure(
        self,
        ref: str,
        *,
        action: FigureAction,
        author: str,
        expected_version: int | None = None,
        fact: str | None = None,
        value: int | str | None = None,
        unit: str | None = None,
        place: tuple[str | None, Side | None, Position | None] | None = None,
    ) -> Figure:
        """Do what a person decided about a figure.

        Parameters
        ----------
        ref : str
            Its id.
        action : FigureAction
            What is done.
        author : str
            Who decided.
        expected_version : int, optional
            Refuse it when the figure is at another version.
        fact : str, optional
            Id of the fact that it gave; kept from then on.
        value, unit, place : optional
            What changes; with ``amend`` only. The unit is set whenever a value is.

        Raises
        ------
        NotFoundError
            There is no such figure (slug ``figure-unknown``).
        StaleError
            Somebody changed it since `expected_version`.
        """
        check_person(author)
        if action != "amend" and (value is not None or place is not None):
            raise ValueError(f"{action} changes no value and no place")

        def wanted(present: Figure) -> Figure:
            new = replace(present, state=_STATES[action], fact=fact or present.fact)
            if value is not None:
                new = replace(new, value=value, unit=unit)
            if place is not None:
                part, side, position = place
                new = replace(new, part=part, side=side, position=position)
            return new

        with self._db.write() as connection:
            kept, _ = _FIGURES.change(
                connection,
                _FIGURES.row(connection, ref, lock=True),
                wanted,
                author=author,
                action=_WORDS[action],
                at=self._db.now(),
                expected_version=expected_version,
            )
            return kept


def figures_of(connection: Connection, sources: Sequence[str]) -> tuple[Figure, ...]:
    """Give all figures of some pictures and recordings, those set aside too, by source and by time."""
    table = tables.figure
    rows = [
        row
        for some in in_chunks(list(dict.fromkeys(sources)))
        for row in connection.execute(select(table).where(table.c.source.in_(some))).mappings()
    ]
    order = {source: number for number, source in enumerate(sources)}
    rows.sort(key=lambda row: (order[row["source"]], row["at_s"] or 0.0, row["id"]))
    return _FIGURES.kept(connection, rows)


def _id(source: str, at_s: float | None, read: ReadFigure) -> str:
    at = "" if at_s is None else f"{at_s:.3f}"
    return digest("figure", source, at, read.kind.value, read.text, *(f"{edge:.3f}" for edge in read.box))


def _columns(figure: Figure) -> Plain:
    return {
        "value": figure.value,
        "unit": figure.unit,
        "state": figure.state.value,
        "part": figure.part,
        "side": figure.side and figure.side.value,
        "position": figure.position and figure.position.value,
        "fact": figure.fact,
    }


def _figure_of(row: RowMapping, changes: tuple[Change, ...]) -> Figure:
    return Figure(
        id=row["ref"],
        read=msgspec.convert(row["reading"], ReadFigure),
        source=row["source"],
        at_s=row["at_s"],
        crop=row["crop"],
        value=row["value"],
        unit=row["unit"],
        state=FigureState(row["state"]),
        read_at=row["created_at"],
        part=row["part"],
        side=None if row["side"] is None else Side(row["side"]),
        position=None if row["position"] is None else Position(row["position"]),
        fact=row["fact"],
        version=row["version"],
        changes=changes,
    )


_FIGURES: Versions[Figure] = Versions(
    name="figure",
    table=tables.figure,
    changes=tables.figure_change,
    record=_figure_of,
    columns=_columns,
    slug="figure-unknown",
    advice="List the figures of the car: shutline figures CAR.",
)
