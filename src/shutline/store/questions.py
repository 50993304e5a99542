"""Questions that had no answer: kept once each, and taken off the list with who did so."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, RowMapping, Select, select, update

from shutline.car.questions import KeptQuestion
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
            return tuple(_question_of(row) for row in connection.execute(query).mappings())

    def end_question(self, car: str, question: str, *, author: str) -> KeptQuestion:
        """Take a question off the list; one that is off it stays as it was.

        Raises
        ------
        NotFoundError
            The car has no such question (slug ``question-unknown``).
        """
        check_person(author)
        table = tables.question
        with self._db.write() as connection:
            cars = list(under(connection, self._car(connection, car)["id"]))
            here = (table.c.ref == question, table.c.car_id.in_(cars))
            if connection.execute(select(table.c.id).where(*here)).first() is None:
                raise errors.not_found(
                    slug="question-unknown",
                    where=f"car {car!r}",
                    found=f"no question {question!r}",
                    allowed="a question that was kept of this car",
                    advice="Look at the car's open questions.",
                )
            ended = {"ended_at": self._db.now(), "ended_by": author}
            connection.execute(update(table).where(*here, table.c.ended_at.is_(None)).values(**ended))
            return _one(connection, question)


def question_id(car: str, words: str) -> str:
    """Give the id of a question of a car; small letters and white space make no difference."""
    return digest("question", car, " ".join(words.casefold().split()))


def _questions() -> Select[Any]:
    return select(tables.question).order_by(tables.question.c.id)


def _one(connection: Connection, ref: str) -> KeptQuestion:
    return _question_of(connection.execute(_questions().where(tables.question.c.ref == ref)).mappings().one())


def _question_of(row: RowMapping) -> KeptQuestion:
    return KeptQuestion(
        row["ref"], row["words"], row["created_at"], row["created_by"], row["ended_at"], row["ended_by"] or ""
    )
