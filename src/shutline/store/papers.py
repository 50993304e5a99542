"""Papers of a car: pages as they were read, what was read off them, and what people said; nothing is lost."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import msgspec
from sqlalchemy import ColumnElement, Connection, RowMapping, func, select, update

from shutline.car.errors import NotFoundError
from shutline.car.kept_papers import Cover, KeptPage, KeptPaper, KeptRead, PaperSaid
from shutline.car.papers import PaperKind, PaperState, Proposal, ReadKind, ReadState
from shutline.store import errors, tables
from shutline.store.base import PROGRAM, under
from shutline.store.database import in_chunks, insert_missing
from shutline.store.decisions import check_person
from shutline.store.paper_rows import (
    HOW_TO_LIST,
    PAPERS,
    READS,
    line_row,
    page_of,
    read_columns,
    read_id,
    said_columns,
    undecided,
)
from shutline.store.recordings import Recordings, original_columns
from shutline.store.rows import Plain, digest, original_of

if TYPE_CHECKING:
    from shutline.car.recordings import Original

ReadAction = Literal["take", "amend", "strike", "again"]
"""What a person may do: take it as it stands, amend it (it is taken then), strike it, let it wait again."""

_STATES = {
    "take": ReadState.TAKEN,
    "amend": ReadState.TAKEN,
    "strike": ReadState.STRUCK,
    "again": ReadState.OPEN,
}
_WORDS = {"take": "taken", "amend": "amended", "strike": "struck", "again": "waits again"}


class Papers(Recordings):
    """The part of the store that keeps papers."""

    def add_paper(
        self, car: str, original: Original, *, form: str, pages: int, author: str, linked_path: Path | None = None
    ) -> tuple[KeptPaper, bool]:
        """Keep that a paper came in; the same bytes in the same car, or one joined with it, are the same paper.

        Parameters
        ----------
        car : str
            The car's whole name.
        original : Original
            What it consists of.
        form : {'pdf', 'picture'}
            What it is.
        pages : int
            How many it has.
        author : str
            Who brought it.
        linked_path : Path, optional
            As in `add_original`.

        Returns
        -------
        KeptPaper, bool
            As it is kept, and whether it is new.

        Raises
        ------
        NotFoundError
            The store holds no such car (slug ``car-unknown``).
        """
        check_person(author)
        with self._db.write() as connection:
            row = self._car(connection, car, lock=True)
            kept = self.add_original(original, linked_path=linked_path)
            names = under(connection, row["id"]).values()
            known = [digest("paper", name, kept.sha256) for name in names]
            query = select(tables.paper.c.ref).where(tables.paper.c.ref.in_(known)).order_by(tables.paper.c.id)
            there = connection.execute(query.limit(1)).scalar()
            ref = there or digest("paper", row["name"], kept.sha256)
            if there is None:
                said = PaperSaid(ref, None, PaperState.OPEN, (), "")
                values = {
                    "ref": ref,
                    "car_id": row["id"],
                    "original_id": self._original(connection, kept.sha256)["id"],
                    "form": form,
                    "pages": pages,
                    "kinds": [],
                    "created_by": author,
                    **said_columns(said),
                }
                after = {"name": original.name, "pages": pages}
                PAPERS.enter(connection, values, after, author=author, action="came in", at=self._db.now())
                self._count(connection, row["id"])
            return _one(connection, ref), there is None

    def put_page(self, paper: str, page: KeptPage) -> None:
        """Keep a page as it was read; one that is there is left as it is. Raises NotFoundError (``paper-unknown``)."""
        with self._db.write() as connection:
            row = PAPERS.row(connection, paper)
            values = {
                "paper_id": row["id"],
                "number": page.number,
                "turned": page.turned,
                "width": page.width,
                "height": page.height,
                "picture": page.picture,
                "by_sight": page.by_sight,
                "lines": [line_row(line) for line in page.lines],
                "created_at": self._db.now(),
            }
            insert_missing(connection, tables.paper_page, [values], unique=("paper_id", "number"))

    def paper_pages(self, paper: str) -> tuple[KeptPage, ...]:
        """Give the pages of a paper that were read, in their order; raises NotFoundError (slug ``paper-unknown``)."""
        with self._db.read() as connection:
            row = PAPERS.row(connection, paper)
            table = tables.paper_page
            query = select(table).where(table.c.paper_id == row["id"]).order_by(table.c.number)
            return tuple(page_of(one) for one in connection.execute(query).mappings())

    def put_reads(
        self,
        paper: str,
        kinds: Sequence[tuple[PaperKind, float]],
        reads: Sequence[tuple[Proposal, str]],
        *,
        pages: int,
    ) -> None:
        """Keep what the words of a paper tell.

        What is kept already stays, whatever a person made of it; what is told no more, and nobody decided about, is
        withdrawn, and comes back when it is told again.

        Parameters
        ----------
        paper : str
            Its id.
        kinds : sequence of (PaperKind, float)
            What it may be, likeliest first.
        reads : sequence of (Proposal, str)
            What was read, each with the day it may be of, empty where none shows.
        pages : int
            How many pages were told from.

        Raises
        ------
        NotFoundError
            There is no such paper (slug ``paper-unknown``).
        """
        with self._db.write() as connection:
            row = PAPERS.row(connection, paper, lock=True)
            told = {"kinds": [[kind.value, chance] for kind, chance in kinds], "told_pages": pages}
            connection.execute(update(tables.paper).where(tables.paper.c.id == row["id"]).values(told))
            there = {one.id: one for one in _reads_of(connection, [row["id"]])[row["id"]]}
            fresh: dict[str, tuple[Proposal, str]] = {}
            for read, day in reads:
                fresh.setdefault(read_id(paper, read), (read, day))
            for ref, (read, day) in fresh.items():
                if ref not in there:
                    first = read.values[0] if read.values else None
                    kept = KeptRead(
                        id=ref,
                        read=read,
                        kind=read.kind,
                        role=read.role,
                        value=first.text if first else read.words,
                        unit=first.unit if first else "",
                        day=day,
                        state=ReadState.OPEN,
                    )
                    columns = read_columns(kept)
                    values = {"ref": ref, "paper_id": row["id"], "reading": msgspec.to_builtins(read), **columns}
                    READS.enter(connection, values, columns, author=PROGRAM, action="read", at=self._db.now())
            for ref, kept in there.items():
                gone = ref not in fresh and kept.state is ReadState.OPEN and kept.version == 1
                if gone != kept.withdrawn:
                    here = tables.paper_read.c.ref == ref
                    connection.execute(update(tables.paper_read).where(here).values(withdrawn=gone))

    def told_pages(self, paper: str) -> int:
        """Give from how many of its pages a paper was told last."""
        with self._db.read() as connection:
            return int(PAPERS.row(connection, paper)["told_pages"])

    def papers(self, car: str) -> tuple[KeptPaper, ...]:
        """Give the papers of a car and of those joined with it, in the order they came in."""
        with self._db.read() as connection:
            return papers_of(connection, self._car(connection, car)["id"])

    def change_paper(
        self,
        car: str,
        ref: str,
        *,
        action: str,
        author: str,
        expected_version: int | None = None,
        kind: PaperKind | None = None,
        state: PaperState | None = None,
        covers: tuple[Cover, ...] | None = None,
        out_mark: str | None = None,
    ) -> KeptPaper:
        """Keep what a person said of a paper; what is left out stays.

        Parameters
        ----------
        car : str
            The car's whole name.
        ref : str
            The paper's id.
        action : str
            What was done, in words.
        author : str
            Who said so.
        expected_version : int, optional
            Refuse it when the paper is at another version.
        kind, state, covers, out_mark : optional
            As in `KeptPaper`.

        Raises
        ------
        NotFoundError
            No such car, or it has no such paper (slug ``paper-unknown``).
        StaleError
            Somebody changed it since `expected_version`.
        """
        check_person(author)
        given: Plain = {"kind": kind, "state": state, "covers": covers, "out_mark": out_mark}
        told = {name: value for name, value in given.items() if value is not None}
        with self._db.write() as connection:
            cars = under(connection, self._car(connection, car, lock=True)["id"])
            row = _of_car(PAPERS.row(connection, ref, lock=True), cars, ref)
            _, changed = PAPERS.change(
                connection,
                row,
                lambda present: replace(present, **told),
                author=author,
                action=action,
                at=self._db.now(),
                expected_version=expected_version,
            )
            if changed:
                self._count(connection, row["car_id"])
            return _one(connection, ref)

    def change_read(
        self,
        car: str,
        ref: str,
        *,
        action: ReadAction,
        author: str,
        expected_version: int | None = None,
        fact: str | None = None,
        fields: Mapping[str, str] | None = None,
    ) -> KeptRead:
        """Do what a person decided about something read off a paper.

        Parameters
        ----------
        car : str
            The car's whole name.
        ref : str
            The id of what was read.
        action : ReadAction
            What is done.
        author : str
            Who decided.
        expected_version : int, optional
            Refuse it when it is at another version.
        fact : str, optional
            Id of the fact that it gave; kept from then on.
        fields : mapping, optional
            With ``amend``: kind, role, value, unit or day as they are from now on.

        Raises
        ------
        NotFoundError
            No such car, or nothing of that id was read off a paper of it (slug ``paper-read-unknown``).
        StaleError
            Somebody changed it since `expected_version`.
        """
        check_person(author)
        if fields and action != "amend":
            raise ValueError(f"{action} changes none of {', '.join(fields)}")
        new: Plain = dict(fields or {})
        if "kind" in new:
            new["kind"] = ReadKind(new["kind"])

        def wanted(present: KeptRead) -> KeptRead:
            return replace(present, state=_STATES[action], fact=fact or present.fact, **new)

        with self._db.write() as connection:
            cars = under(connection, self._car(connection, car, lock=True)["id"])
            row = READS.row(connection, ref, lock=True)
            paper = select(tables.paper.c.car_id).where(tables.paper.c.id == row["paper_id"])
            if connection.execute(paper).scalar_one() not in cars:
                raise _unknown_read(ref)
            kept, changed = READS.change(
                connection,
                row,
                wanted,
                author=author,
                action=_WORDS[action],
                at=self._db.now(),
                expected_version=expected_version,
            )
            if changed:
                self._count(connection, next(iter(cars)))
            return kept


def papers_of(connection: Connection, car_id: int) -> tuple[KeptPaper, ...]:
    """Give the papers of a car and of those joined with it, in the order they came in; the same of both once."""
    found: dict[str, KeptPaper] = {}
    for one in _papers(connection, tables.paper.c.car_id.in_(list(under(connection, car_id)))):
        before = found.get(one.original.sha256)
        # Of a paper that both have, the one that people decided about is shown.
        if before is None or (not _decided(before) and _decided(one)):
            found[one.original.sha256] = one
    return tuple(found.values())


def _decided(one: KeptPaper) -> bool:
    return one.version > 1 or any(read.version > 1 for read in one.reads)


def _one(connection: Connection, ref: str) -> KeptPaper:
    return _papers(connection, tables.paper.c.ref == ref)[0]


def _papers(connection: Connection, here: ColumnElement[bool]) -> list[KeptPaper]:
    paper, page = tables.paper, tables.paper_page.c
    read_pages = select(func.count()).where(page.paper_id == paper.c.id).scalar_subquery()
    query = (
        select(paper, *_original_columns(), read_pages.label("pages_read"))
        .join(tables.original, tables.original.c.id == paper.c.original_id)
        .where(here)
        .order_by(paper.c.id)
    )
    rows = list(connection.execute(query).mappings())
    reads = _reads_of(connection, [row["id"] for row in rows])
    return [
        KeptPaper(
            id=row["ref"],
            original=original_of({**row, "kind": row["original_kind"]}),  # type: ignore[arg-type]
            form=row["form"],
            pages=row["pages"],
            pages_read=row["pages_read"],
            kinds=tuple((PaperKind(kind), chance) for kind, chance in row["kinds"]),
            kind=said.kind,
            state=said.state,
            covers=said.covers,
            out_mark=said.out_mark,
            reads=reads[row["id"]],
            kept_at=row["created_at"],
            kept_by=row["created_by"],
            version=said.version,
            changes=said.changes,
        )
        for row, said in zip(rows, PAPERS.kept(connection, rows), strict=True)
    ]


def _original_columns() -> Iterator[ColumnElement[Any]]:
    kind = tables.original.c.kind
    for column in original_columns():
        # A paper has a kind too.
        yield kind.label("original_kind") if column is kind else column


def _reads_of(connection: Connection, papers: Sequence[int]) -> dict[int, tuple[KeptRead, ...]]:
    table = tables.paper_read
    rows = [
        row
        for some in in_chunks(list(papers))
        for row in connection.execute(select(table).where(table.c.paper_id.in_(some)).order_by(table.c.id)).mappings()
    ]
    # A long paper has thousands that nobody has decided about: how those came in stands in their own rows.
    decided = [row for row in rows if row["version"] > 1]
    kept = {row["id"]: one for row, one in zip(decided, READS.kept(connection, decided), strict=True)}
    found: dict[int, list[KeptRead]] = defaultdict(list)
    for row in rows:
        found[row["paper_id"]].append(kept.get(row["id"]) or undecided(row))
    return {paper: tuple(found[paper]) for paper in papers}


def _of_car(row: RowMapping, cars: Mapping[int, str], ref: str) -> RowMapping:
    if row["car_id"] not in cars:
        raise errors.not_found(
            slug="paper-unknown",
            where=f"paper {ref[:60]!r}",
            found="the car has no paper of that id",
            allowed="the id of a paper, as the car's papers are listed",
            advice=HOW_TO_LIST,
        )
    return row


def _unknown_read(ref: str) -> NotFoundError:
    return errors.not_found(
        slug="paper-read-unknown",
        where=f"proposal {ref[:60]!r}",
        found="nothing of that id was read off a paper of the car",
        allowed="the id of something read off a paper, as the car's papers are listed",
        advice=HOW_TO_LIST,
    )
