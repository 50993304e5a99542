"""One car as a page needs it: all findings as they stand, and neither histories nor words that are not shown."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from sqlalchemy import Connection, func, select

from shutline.car.carfile import CarFile, KeptFinding
from shutline.car.findings import Drive, Finding, Footing
from shutline.car.recordings import Still
from shutline.car.speech import Stretch
from shutline.store import tables
from shutline.store.base import Base, under
from shutline.store.database import in_chunks
from shutline.store.joins import as_shown, twins_of
from shutline.store.notes import notes_of
from shutline.store.prep_done import put_right_of
from shutline.store.recordings import pictures_of, problems_of, recordings_of
from shutline.store.rows import finding_of_row, footing_of_row, stretch_of
from shutline.store.second import second_readings_of
from shutline.store.statements import FACT, kept_fact, load
from shutline.store.stills import stills_of

_FINDING = tables.finding.c
_STATEMENT = tuple(_FINDING[name] for name in Finding.__dataclass_fields__ if name != "footings")
_FOOTING = tuple(tables.footing.c[name] for name in Footing.__dataclass_fields__)


@dataclass(frozen=True, slots=True)
class CarOutline:
    """A car file without histories, stills and words, and when the car was changed last.

    `car` is not to be kept or sent as a car file: its recordings have no words, its findings no stills and no changes.
    """

    car: CarFile
    changed_at: str


class Outlines(Base):
    """The part of the store that reads what the page of a car needs."""

    def car_outline(self, name: str) -> CarOutline:
        """Give one car, and those joined with it, as they stand now; findings in the order of `car_file`.

        Parameters
        ----------
        name : str
            The car's whole name.

        Raises
        ------
        NotFoundError
            The store holds no such car.
        """
        with self._db.read() as connection:
            row = self._car(connection, name)
            recordings = recordings_of(connection, row["id"], words=False)
            order = {recording.id: number for number, recording in enumerate(recordings)}
            cars = under(connection, row["id"])
            twins = twins_of(connection, cars)
            there = (tables.fact.c.car_id.in_(list(cars)), tables.fact.c.withdrawn.is_(False))
            facts = [kept_fact(kept) for kept in load(connection, FACT, *there)]
            findings, right = _findings(connection, list(cars), order, twins), put_right_of(connection, row["id"])
            car = CarFile(
                name=row["name"],
                title=row["title"],
                drive=Drive(row["drive"]),
                created_at=row["created_at"],
                body=row["body"],
                doors=row["doors"],
                recordings=recordings,
                pictures=pictures_of(connection, row["id"]),
                findings=tuple(replace(kept, put_right=right.get(kept.id)) for kept in findings) if right else findings,
                facts=tuple(as_shown(kept, twins) for kept in facts),
                problems=problems_of(connection, row["id"]),
                version=row["version"],
                second_readings=second_readings_of(connection, row["id"]),
                notes=notes_of(connection, row["id"]),
            )
            return CarOutline(car, row["changed_at"])

    def stills_shown(self, findings: Sequence[str]) -> dict[str, tuple[Still, ...]]:
        """Give the stills of some findings by the finding's id; one without any is left out."""
        found: dict[str, tuple[Still, ...]] = {}
        with self._db.read() as connection:
            for some in in_chunks(list(findings)):
                here = _FINDING.ref.in_(some)
                names = {row[0]: row[1] for row in connection.execute(select(_FINDING.id, _FINDING.ref).where(here))}
                found |= {names[number]: stills for number, stills in stills_of(connection, here).items()}
        return found

    def first_still(self, recording: str) -> str | None:
        """Give the SHA-256 of a still of a recording: of the earliest finding drawn from it that nobody has struck."""
        still, link = tables.still.c, tables.finding_still.c
        with self._db.read() as connection:
            row = self._recording(connection, recording)
            here = (_FINDING.car_id == row["car_id"], _FINDING.recording_id == row["id"])
            query = (
                select(still.sha256)
                .join(tables.finding_still, link.still_id == still.id)
                .join(tables.finding, _FINDING.id == link.finding_id)
                .where(*here, _FINDING.withdrawn.is_(False), _FINDING.state != "struck")
                .where(link.put_aside.is_(False), still.recording_id == row["id"])
                .order_by(_FINDING.start_s, link.place)
                .limit(1)
            )
            return connection.execute(query).scalar_one_or_none()

    def first_pictures(self, names: Sequence[str]) -> dict[str, str]:
        """Give for each of some cars the SHA-256 of the first picture put beside it; one without is left out."""
        if not names:
            return {}
        car, picture, original = tables.car.c, tables.picture.c, tables.original.c
        first = select(func.min(picture.id)).where(picture.car_id == car.id, picture.twin_of.is_(None))
        query = (
            select(car.name, original.sha256)
            .join(tables.picture, picture.id == first.correlate(tables.car).scalar_subquery())
            .join(tables.original, original.id == picture.original_id)
            .where(car.name.in_(list(names)))
        )
        with self._db.read() as connection:
            return {row[0]: row[1] for row in connection.execute(query)}

    def stretch_starts(self, recording: str) -> tuple[float, ...]:
        """Give when each stretch of the words of a recording begins, seconds, in their order."""
        stretch = tables.stretch.c
        with self._db.read() as connection:
            row = self._recording(connection, recording)
            here = (stretch.recording_id == row["id"], stretch.edition == row["edition"])
            return tuple(
                connection.execute(select(stretch.start_s).where(*here).order_by(stretch.place)).scalars().all()
            )

    def stretches(self, recording: str, *, skip: int = 0, limit: int | None = None) -> tuple[Stretch, ...]:
        """Give the words of a recording: at most so many stretches, after leaving out so many."""
        stretch = tables.stretch.c
        with self._db.read() as connection:
            row = self._recording(connection, recording)
            here = (stretch.recording_id == row["id"], stretch.edition == row["edition"])
            query = select(tables.stretch).where(*here).order_by(stretch.place).offset(skip)
            rows = connection.execute(query if limit is None else query.limit(limit)).mappings()
            return tuple(stretch_of(one) for one in rows)

    def changed_at(self, name: str) -> str:
        """Give when a car was changed last, by its whole name."""
        with self._db.read() as connection:
            return str(self._car(connection, name)["changed_at"])


def _findings(
    connection: Connection, cars: Sequence[int], order: Mapping[str, int], twins: Mapping[str, str]
) -> tuple[KeptFinding, ...]:
    """Give the findings of some cars as they stand, in the order of the recordings and of the moments in them."""
    here = (_FINDING.car_id.in_(cars), _FINDING.withdrawn.is_(False))
    footing = tables.footing.c
    footings: dict[int, list[Footing]] = defaultdict(list)
    # By place, not by name: a car may have thousands of them.
    for row in connection.execute(
        select(*_FOOTING, footing.finding_id)
        .join(tables.finding, _FINDING.id == footing.finding_id)
        .where(*here, footing.until_version.is_(None))
        .order_by(footing.finding_id, footing.place)
    ).all():
        footings[row[-1]].append(footing_of_row(row))
    last = len(order)
    numbered = []
    for row in connection.execute(select(*_STATEMENT, _FINDING.version, _FINDING.ref, _FINDING.id).where(*here)).all():
        own = tuple(footings.get(row[-1], ()))
        if twins:
            own = tuple(replace(one, source=twins.get(one.source, one.source)) for one in own)
        times = [(order.get(f.source, last), f.start_s) for f in own if f.start_s is not None]
        first, start_s = min(times, default=(last, float("inf")))
        numbered.append((first, start_s, row[-1], KeptFinding(row[-2], finding_of_row(row, own), (), row[-3])))
    numbered.sort(key=lambda one: one[:3])
    return tuple(one[3] for one in numbered)
