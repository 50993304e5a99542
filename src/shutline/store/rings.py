"""Rings on stills and pictures: one for each finding and picture, changed with who and when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from sqlalchemy import RowMapping, select

from shutline.car.changes import Change
from shutline.car.rings import Circle, Ring
from shutline.store import tables
from shutline.store.base import Base
from shutline.store.database import in_chunks
from shutline.store.decisions import check_person
from shutline.store.rows import Plain, digest
from shutline.store.statements import FINDING, load_one
from shutline.store.versions import Versions


class Rings(Base):
    """The part of the store that keeps where on a picture a finding is."""

    def put_ring(
        self,
        finding: str,
        picture: str,
        circle: Circle,
        *,
        author: str,
        holds: bool = True,
        expected_version: int | None = None,
    ) -> Ring:
        """Keep a ring; the one that the finding had on the picture is changed, with what stood before.

        Parameters
        ----------
        finding : str
            Its id.
        picture : str
            SHA-256 of the still or the picture.
        circle : Circle
            Where it is.
        author : str
            Who says so.
        holds : bool
            False for one that is taken back.
        expected_version : int, optional
            Refuse it when the ring is at another version; 0 for none yet.

        Raises
        ------
        NotFoundError
            There is no such finding (slug ``finding-unknown``).
        StaleError
            Somebody changed it since `expected_version`.
        """
        check_person(author)
        ref = digest("ring", finding, picture)
        wanted = Ring(ref, finding, picture, circle, holds)
        at, action = self._db.now(), "ringed" if holds else "taken back"
        with self._db.write() as connection:
            # The finding is held fast, so that two who ring it at once come one after the other.
            load_one(connection, FINDING, finding, lock=True)
            row = connection.execute(select(tables.ring).where(tables.ring.c.ref == ref)).mappings().one_or_none()
            if row is not None:
                return _RINGS.change(
                    connection,
                    row,
                    lambda present: replace(present, circle=circle, holds=holds),
                    author=author,
                    action=action,
                    at=at,
                    expected_version=expected_version,
                )[0]
            values = _columns(wanted)
            new = {"ref": ref, "finding": finding, "picture": picture, **values}
            _RINGS.enter(connection, new, values, author=author, action=action, at=at)
            return _RINGS.one(connection, ref)

    def rings(self, findings: Sequence[str]) -> tuple[Ring, ...]:
        """Give the rings of findings, by their ids, those too that were taken back, in the order they came in."""
        table = tables.ring
        with self._db.read() as connection:
            rows = [
                row
                for some in in_chunks(list(dict.fromkeys(findings)))
                for row in connection.execute(select(table).where(table.c.finding.in_(some))).mappings()
            ]
            return _RINGS.kept(connection, sorted(rows, key=lambda row: row["id"]))


def _record(row: RowMapping, changes: tuple[Change, ...]) -> Ring:
    return Ring(
        id=row["ref"],
        finding=row["finding"],
        picture=row["picture"],
        circle=Circle(row["x"], row["y"], row["radius"]),
        holds=row["holds"],
        version=row["version"],
        changes=changes,
    )


def _columns(kept: Ring) -> Plain:
    return {"x": kept.circle.x, "y": kept.circle.y, "radius": kept.circle.radius, "holds": kept.holds}


_RINGS: Versions[Ring] = Versions(
    name="ring",
    table=tables.ring,
    changes=tables.ring_change,
    record=_record,
    columns=_columns,
    slug="ring-unknown",
    advice="Show the preparation of the car: shutline prep CAR.",
)
