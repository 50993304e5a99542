"""Words that were accepted in the place of the draft: all are kept, and the last that was not taken back counts."""

from __future__ import annotations

import json
from collections.abc import Sequence

from sqlalchemy import Connection, insert, select, update

from shutline.car.going_out import OfferedText
from shutline.store import errors, tables
from shutline.store.base import Base, under
from shutline.store.decisions import check_person


class OfferedTexts(Base):
    """The part of the store that keeps accepted words."""

    def add_offered(
        self,
        car: str,
        words: str,
        *,
        former: str,
        mark: str,
        author: str,
        vouched: Sequence[str] = (),
        expected: int | None = None,
    ) -> OfferedText:
        """Keep words that were accepted.

        Parameters
        ----------
        car : str
            The car's whole name.
        words, former, mark, author, vouched
            As `OfferedText` has them; its time is set by the store's clock.
        expected : int, optional
            The id of the words that the person saw as those in force, 0 for the draft; looked at when it is given.

        Raises
        ------
        NotFoundError
            The store holds no such car.
        UserError
            Others are in force by now (slug ``offered-changed``).
        """
        check_person(author)
        with self._db.write() as connection:
            row = self._car(connection, car, lock=True)
            _check_expected(car, self._offered(connection, row["id"]), expected)
            values = {"words": words, "former": former, "mark": mark, "vouched": json.dumps(list(vouched))}
            connection.execute(
                insert(tables.offered_text).values(
                    **values, car_id=row["id"], created_at=self._db.now(), created_by=author
                )
            )
            return self._offered(connection, row["id"])[-1]

    def offered_texts(self, car: str) -> tuple[OfferedText, ...]:
        """Give the words that were accepted of a car, and of those joined with it, the oldest first."""
        with self._db.read() as connection:
            return self._offered(connection, self._car(connection, car)["id"])

    def end_offered(self, car: str, *, author: str, expected: int | None = None) -> OfferedText:
        """Take back the words in force: those before them, or the draft, count again.

        Raises
        ------
        NotFoundError
            No such car, or no words are in force (slug ``offered-unknown``).
        UserError
            Others than `expected` are in force by now (slug ``offered-changed``).
        """
        check_person(author)
        table = tables.offered_text
        with self._db.write() as connection:
            row = self._car(connection, car, lock=True)
            there = self._offered(connection, row["id"])
            _check_expected(car, there, expected)
            last = in_force(there)
            if last is None:
                raise errors.not_found(
                    slug="offered-unknown",
                    where=f"car {car!r}",
                    found="no words were accepted in the place of the draft",
                    allowed="words that were accepted and not taken back",
                    advice="There is nothing to take back: the draft goes out.",
                )
            ended = {"ended_at": self._db.now(), "ended_by": author}
            connection.execute(update(table).where(table.c.id == last.id).values(**ended))
            return next(one for one in self._offered(connection, row["id"]) if one.id == last.id)

    def _offered(self, connection: Connection, car_id: int) -> tuple[OfferedText, ...]:
        table = tables.offered_text
        cars = list(under(connection, car_id))
        rows = connection.execute(select(table).where(table.c.car_id.in_(cars)).order_by(table.c.id)).mappings()
        return tuple(
            OfferedText(
                row["id"],
                row["words"],
                row["former"],
                row["mark"],
                row["created_at"],
                row["created_by"],
                row["ended_at"],
                row["ended_by"],
                tuple(json.loads(row["vouched"])),
            )
            for row in rows
        )


def in_force(texts: tuple[OfferedText, ...]) -> OfferedText | None:
    """Give the last words that were not taken back."""
    return next((one for one in reversed(texts) if one.ended_at is None), None)


def _check_expected(car: str, there: tuple[OfferedText, ...], expected: int | None) -> None:
    last = in_force(there)
    if expected is not None and expected != (0 if last is None else last.id):
        raise errors.refused(
            slug="offered-changed",
            where=f"car {car!r}",
            found="somebody accepted other words, or took them back, since you looked",
            allowed="a change to the words that are in force now",
            advice="Look at what goes out now, and hold the rewrite against it again.",
        )
