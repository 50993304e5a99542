"""The store as one thing: opened from a folder, used from many threads, closed at the end."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from types import TracebackType
from typing import Self

from sqlalchemy import URL, make_url

from shutline.car.carfile import CarFile
from shutline.car.findings import Drive
from shutline.store import errors, tables
from shutline.store.base import under
from shutline.store.cars import Cars, car_changes
from shutline.store.comparables import Comparables
from shutline.store.database import Clock, Database, make_engine, now_utc
from shutline.store.engine import Engines, engine_notes_of
from shutline.store.figures import Figures, figures_of
from shutline.store.findings import Findings
from shutline.store.going_out import GoingOut
from shutline.store.histories import Histories, tests_of
from shutline.store.joins import Joins, as_shown, twins_of
from shutline.store.ledger import Ledgers
from shutline.store.masks import Masks
from shutline.store.notes import Notes, notes_of
from shutline.store.odds import OddsDecisions
from shutline.store.offered import OfferedTexts
from shutline.store.outline import Outlines
from shutline.store.papers import Papers, papers_of
from shutline.store.passages import Passages
from shutline.store.past import Pasts, past_of
from shutline.store.picture_places import PicturePlaces
from shutline.store.prep import PrepDecisions
from shutline.store.prep_done import WorksDone, put_right_of
from shutline.store.prices import Prices
from shutline.store.questions import Questions
from shutline.store.readings import Readings, readings_of
from shutline.store.recordings import Recordings, pictures_of, problems_of, recordings_of
from shutline.store.rings import Rings
from shutline.store.search import Searches
from shutline.store.second import Seconds, second_readings_of
from shutline.store.stages import Stages
from shutline.store.statements import FACT, FINDING, kept_fact, kept_finding, load
from shutline.store.surveys import Surveys
from shutline.store.upgrade import look, set_log, upgrade

FILE = "shutline.sqlite"


class Store(
    Cars,
    Joins,
    Papers,
    Recordings,
    Stages,
    Findings,
    Notes,
    Seconds,
    Masks,
    OddsDecisions,
    Figures,
    PicturePlaces,
    Engines,
    Readings,
    Histories,
    Pasts,
    PrepDecisions,
    WorksDone,
    Rings,
    Ledgers,
    Prices,
    Comparables,
    Searches,
    Outlines,
    Passages,
    Surveys,
    GoingOut,
    Questions,
    OfferedTexts,
):
    """All that is kept of all cars.

    Make one with `Store.open`; it is a context manager. `folder` is where it lies, `originals` and `derived` the
    folders of the files beside the database (what came in, and what was made from it), which the store only names.
    `backup` is the copy that was made of the database because it had to be upgraded, None if it had not.
    """

    def __init__(self, database: Database, *, folder: Path, backup: Path | None = None) -> None:
        super().__init__(database)
        self.folder = folder
        self.originals = folder / "originals"
        self.derived = folder / "derived"
        self.backup = backup

    @classmethod
    def open(
        cls,
        folder: Path,
        *,
        create: bool = True,
        database: str | None = None,
        lock_timeout_s: float = 10.0,
        clock: Clock = now_utc,
    ) -> Self:
        """Open the store in a folder, made if it is not there, upgraded if it is older than this program.

        Parameters
        ----------
        folder : Path
            Where the database file and the folders of files lie.
        create : bool
            False refuses a folder that holds no store.
        database : str, optional
            Address of a database on a server, for example ``postgresql+psycopg://…``; the file in `folder` when left
            out.
        lock_timeout_s : float
            How long a write waits for another run, seconds.
        clock : callable
            Gives the present time; for tests.

        Raises
        ------
        UserError
            The folder is a file (slug ``store-not-a-folder``), holds no store and none may be made (``no-store``), or
            holds something else (``not-a-store``) or a newer store (``store-newer``); nothing was changed.
        BrokenWorldError
            Another run is writing (``store-locked``), the disk is full (``disk-full``), or the folder refuses
            (``store-no-access``).
        """
        folder = Path(folder)
        file = folder / FILE
        if folder.exists() and not folder.is_dir():
            raise errors.refused(
                slug="store-not-a-folder",
                where=str(folder),
                found="this is a file",
                allowed="a store is a folder",
                advice="Name a folder; it is made if it is not there.",
            )
        if not create and database is None and not file.is_file():
            raise errors.not_found(
                slug="no-store",
                where=str(folder),
                found="no store lies here",
                allowed=f"a store is a folder with {FILE} in it",
                advice="Name the folder of the store, or add a recording to make one.",
            )
        _make(folder)
        if database is None:
            url = URL.create("sqlite", database=str(file.resolve()))
            where = str(file)
            look(file)
            set_log(file, timeout_s=lock_timeout_s)
        else:
            url = make_url(database)
            where = url.render_as_string(hide_password=True)
        backup = upgrade(url, where=where, file=file if database is None else None, timeout_s=lock_timeout_s)
        # Only now is it known to be a store, or to have become one.
        _make(folder / "originals")
        _make(folder / "derived")
        engine = make_engine(url, timeout_s=lock_timeout_s)
        return cls(Database(engine, where=where, timeout_s=lock_timeout_s, clock=clock), folder=folder, backup=backup)

    def close(self) -> None:
        """Let go of the database; the store cannot be used afterwards."""
        self._db.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @contextmanager
    def together(self) -> Iterator[None]:
        """Keep all that this thread writes in the block at once, or, when the block ends badly, none of it.

        Other writers wait meanwhile: no long work inside.
        """
        with self._db.write():
            yield

    def car_file(self, name: str, *, withdrawn: bool = False) -> CarFile:
        """Give everything kept of one car, and of those joined with it, as it stood at one moment.

        Findings are in the order of the recordings and of the moments in them; those with no moment come last.

        Parameters
        ----------
        name : str
            The car's whole name.
        withdrawn : bool
            Give also the findings and facts that the program no longer draws.

        Raises
        ------
        NotFoundError
            The store holds no such car.
        """
        with self._db.read() as connection:
            row = self._car(connection, name)
            cars = under(connection, row["id"])
            recordings = recordings_of(connection, row["id"])
            order = {recording.id: number for number, recording in enumerate(recordings)}
            here = [tables.finding.c.car_id.in_(list(cars))]
            there = [tables.fact.c.car_id.in_(list(cars))]
            if not withdrawn:
                here.append(tables.finding.c.withdrawn.is_(False))
                there.append(tables.fact.c.withdrawn.is_(False))
            findings = [(kept.row["id"], kept_finding(kept)) for kept in load(connection, FINDING, *here)]
            if right := put_right_of(connection, row["id"]):
                findings = [(number, replace(kept, put_right=right.get(kept.id))) for number, kept in findings]
            facts = [kept_fact(kept) for kept in load(connection, FACT, *there)]
            if twins := twins_of(connection, cars):
                findings = [(number, as_shown(kept, twins)) for number, kept in findings]
                facts = [as_shown(kept, twins) for kept in facts]
            last = len(order)
            pictures = pictures_of(connection, row["id"])

            def moment(numbered: tuple[int, object]) -> tuple[int, float, int]:
                number, kept = numbered
                times = [
                    (order.get(f.source, last), f.start_s)
                    for f in kept.finding.footings  # type: ignore[attr-defined]
                    if f.start_s is not None
                ]
                return (*min(times, default=(last, float("inf"))), number)

            return CarFile(
                name=row["name"],
                title=row["title"],
                drive=Drive(row["drive"]),
                created_at=row["created_at"],
                body=row["body"],
                doors=row["doors"],
                recordings=recordings,
                pictures=pictures,
                findings=tuple(kept for _, kept in sorted(findings, key=moment)),
                facts=tuple(facts),
                problems=problems_of(connection, row["id"]),
                version=row["version"],
                changes=car_changes(connection, row["id"]),
                second_readings=second_readings_of(connection, row["id"]),
                notes=notes_of(connection, row["id"]),
                figures=figures_of(connection, (*order, *(picture.id for picture in pictures))),
                engine_notes=engine_notes_of(connection, tuple(order)),
                readings=readings_of(connection, row["id"]),
                tests=tests_of(connection, row["id"]),
                past=past_of(connection, row["id"]),
                papers=papers_of(connection, row["id"]),
            )


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise errors.of_system(error, where=folder) from error
