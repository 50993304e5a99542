"""Questions of strangers: kept once each, put onto the page and taken off it and the list with who did so."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Connection, RowMapping, Select, insert, select, update

from shutline.car.errors import NotFoundError
from shutline.car.questions import KeptQuestion, PageSaid
from shutline.store import errors, tables
from shutline.store.base import Base, under
from shutline.store.database import insert_missing
from shutline.store.decisions import check_person
from shutline.store.rows import digest


class Questions(Base):
    """The part of the store that keeps questions."""

    def keep_question(self, car: str, words: str, *, author: str) -> KeptQuestion:
        """Keep a question; the same words again give the one that is kept, and put it back on the list.

        Raises
        ------
        NotFoundError
            The store holds no such car.
        """
        check_person(author)
        table = tables.question
        with self._db.write() as connection:
            row = self._car(connection, car, lock=True)
            ref = question_id(row["name"], words)
            values = {
                "ref": ref,
                "car_id": row["id"],
                "words": words,
                "created_at": self._db.now(),
                "created_by": author,
            }
            insert_missing(connection, table, [values], unique=("ref",))
            connection.execute(update(table).where(table.c.ref == ref).values(ended_at=None, ended_by=None))
            return _one(connection, ref)

    def questions(self, car: str) -> tuple[KeptQuestion, ...]:
        """Give the questions of a car, and of those joined with it, that are on the list; the first that came first."""
        table = tables.question
        with self._db.read() as connection:
            cars = list(under(connection, self._car(connection, car)["id"]))
            query = _questions().where(table.c.car_id.in_(cars), table.c.ended_at.is_(None))
            rows = list(connection.execute(query).mappings())
            said = _said(connection, [row["id"] for row in rows])
            return tuple(_question_of(row, said.get(row["id"], ())) for row in rows)

    def end_question(self, car: str, question: str, *, author: str) -> KeptQuestion:
        """Take a question off the list, and off the buyer's page; one that is off it stays as it was.

        Raises
        ------
        NotFoundError
            The car has no such question (slug ``question-unknown``).
        """
        check_person(author)
        with self._db.write() as connection:
            there = self._asked(connection, car, question)
            if there.ended_at is None:
                ended = {"ended_at": self._db.now(), "ended_by": author}
                table = tables.question
                connection.execute(update(table).where(table.c.ref == question).values(**ended))
                self._say(connection, there, shown=False, author=author)
            return _one(connection, question)

    def show_question(self, car: str, question: str, *, shown: bool, author: str) -> KeptQuestion:
        """Put a question onto the buyer's page, or take it off; one that is so already stays as it was.

        Raises
        ------
        NotFoundError
            The car has no such question on its list (slug ``question-unknown``).
        """
        check_person(author)
        with self._db.write() as connection:
            there = self._asked(connection, car, question)
            if there.ended_at is not None:
                raise _unknown(car, question)
            self._say(connection, there, shown=shown, author=author)
            return _one(connection, question)

    def _asked(self, connection: Connection, car: str, question: str) -> KeptQuestion:
        """Find a question of a car or of those joined with it."""
        table = tables.question
        cars = list(under(connection, self._car(connection, car, lock=True)["id"]))
        here = select(table.c.id).where(table.c.ref == question, table.c.car_id.in_(cars))
        if connection.execute(here).first() is None:
            raise _unknown(car, question)
        return _one(connection, question)

    def _say(self, connection: Connection, there: KeptQuestion, *, shown: bool, author: str) -> None:
        if there.on_page == shown:
            return
        table = tables.question
        number = connection.execute(select(table.c.id).where(table.c.ref == there.id)).scalar_one()
        values = {"question_id": number, "shown": shown, "created_at": self._db.now(), "created_by": author}
        connection.execute(insert(tables.question_page).values(**values))


def _unknown(car: str, question: str) -> NotFoundError:
    return errors.not_found(
        slug="question-unknown",
        where=f"car {car!r}",
        found=f"no question {question!r}",
        allowed="a question that was kept of this car",
        advice="Look at the car's open questions.",
    )


def question_id(car: str, words: str) -> str:
    """Give the id of a question of a car; small letters and white space make no difference."""
    return digest("question", car, " ".join(words.casefold().split()))


def _questions() -> Select[Any]:
    return select(tables.question).order_by(tables.question.c.id)


def _one(connection: Connection, ref: str) -> KeptQuestion:
    row = connection.execute(_questions().where(tables.question.c.ref == ref)).mappings().one()
    return _question_of(row, _said(connection, [row["id"]]).get(row["id"], ()))


def _said(connection: Connection, numbers: Sequence[int]) -> dict[int, tuple[PageSaid, ...]]:
    """Give what was said of questions and the page, by the number of the question."""
    table = tables.question_page
    query = select(table).where(table.c.question_id.in_(numbers)).order_by(table.c.id)
    said: dict[int, tuple[PageSaid, ...]] = {}
    for row in connection.execute(query).mappings():
        one = PageSaid(row["shown"], row["created_at"], row["created_by"])
        said[row["question_id"]] = (*said.get(row["question_id"], ()), one)
    return said


def _question_of(row: RowMapping, said: tuple[PageSaid, ...]) -> KeptQuestion:
    return KeptQuestion(
        row["ref"],
        row["words"],
        row["created_at"],
        row["created_by"],
        row["ended_at"],
        row["ended_by"] or "",
        said,
        bool(said) and said[-1].on,
    )
