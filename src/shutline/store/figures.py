"""Figures read off pictures: what the program read, and what people made of it; nothing is lost."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import msgspec
from sqlalchemy import Connection, RowMapping, insert, select, update

from shutline.car.figures import Figure, FigureChange, FigureState, ReadFigure
from shutline.car.findings import Position, Side
from shutline.store import errors, tables
from shutline.store.base import PROGRAM, Base, check_source
from shutline.store.database import in_chunks, insert_missing
from shutline.store.decisions import check_person
from shutline.store.rows import Plain, digest

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
                        "version": 1,
                        "created_at": at,
                    }
                    done = connection.execute(insert(tables.figure).values(values).returning(tables.figure.c.id))
                    _write_change(
                        connection, done.scalar_one(), 1, at=at, author=PROGRAM, action="read", before={}, after=columns
                    )
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
            return _kept(connection, [_row(connection, ref)])[0]

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
        with self._db.write() as connection:
            row = _row(connection, ref, lock=True)
            present = _kept(connection, [row])[0]
            wanted = replace(present, state=_STATES[action], fact=fact or present.fact)
            if value is not None:
                wanted = replace(wanted, value=value, unit=unit)
            if place is not None:
                part, side, position = place
                wanted = replace(wanted, part=part, side=side, position=position)
            if expected_version is not None and expected_version != present.version:
                raise errors.StaleError(
                    where=f"figure {ref!r}", expected_version=expected_version, present=present, wanted=wanted
                )
            before, after = _columns(present), _columns(wanted)
            changed = [name for name in after if after[name] != before[name]]
            if changed:
                version = present.version + 1
                connection.execute(
                    update(tables.figure)
                    .where(tables.figure.c.id == row["id"])
                    .values(version=version, **{name: after[name] for name in changed})
                )
                _write_change(
                    connection,
                    row["id"],
                    version,
                    at=self._db.now(),
                    author=author,
                    action=_WORDS[action],
                    before={name: before[name] for name in changed},
                    after={name: after[name] for name in changed},
                )
            return _kept(connection, [_row(connection, ref)])[0]


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
    return _kept(connection, rows)


def _id(source: str, at_s: float | None, read: ReadFigure) -> str:
    at = "" if at_s is None else f"{at_s:.3f}"
    return digest("figure", source, at, read.kind.value, read.text, *(f"{edge:.3f}" for edge in read.box))


def _row(connection: Connection, ref: str, *, lock: bool = False) -> RowMapping:
    query = select(tables.figure).where(tables.figure.c.ref == ref)
    row = connection.execute(query.with_for_update() if lock else query).mappings().one_or_none()
    if row is None:
        raise errors.not_found(
            slug="figure-unknown",
            where=f"figure {ref[:60]!r}",
            found="the store holds no figure of that id",
            allowed="the id of a figure, as the car's figures are listed",
            advice="List the figures of the car: shutline figures CAR.",
        )
    return row


def _write_change(
    connection: Connection,
    figure_id: int,
    version: int,
    *,
    at: str,
    author: str,
    action: str,
    before: Plain,
    after: Plain,
) -> None:
    connection.execute(
        insert(tables.figure_change).values(
            figure_id=figure_id, version=version, at=at, author=author, action=action, before=before, after=after
        )
    )


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


def _kept(connection: Connection, rows: Sequence[RowMapping]) -> tuple[Figure, ...]:
    changes: dict[int, list[FigureChange]] = defaultdict(list)
    table = tables.figure_change
    for some in in_chunks([row["id"] for row in rows]):
        query = select(table).where(table.c.figure_id.in_(some)).order_by(table.c.figure_id, table.c.version)
        for row in connection.execute(query).mappings():
            changes[row["figure_id"]].append(
                FigureChange(row["at"], row["author"], row["action"], row["before"], row["after"])
            )
    return tuple(_figure_of(row, tuple(changes[row["id"]])) for row in rows)


def _figure_of(row: RowMapping, changes: tuple[FigureChange, ...]) -> Figure:
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
