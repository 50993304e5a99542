"""What people decided where statements of a car cannot all be true: each answer is kept, and the last one counts."""

from __future__ import annotations

from sqlalchemy import insert, select

from shutline.car.odds import OddsAnswer, OddsDecision
from shutline.store import tables
from shutline.store.base import Base, under
from shutline.store.decisions import check_person


class OddsDecisions(Base):
    """The part of the store that keeps answers to statements at odds."""

    def add_odds_decision(
        self,
        car: str,
        odds: str,
        *,
        answer: OddsAnswer,
        reason: str,
        author: str,
        mark: str,
        told: tuple[str, ...],
        holds: str = "",
        struck: tuple[str, ...] = (),
    ) -> OddsDecision:
        """Keep an answer; those before it stay.

        Parameters
        ----------
        car : str
            The car's whole name.
        odds : str
            The id of the case.
        answer, reason, author, mark, told, holds, struck
            As `OddsDecision` has them; its time is set by the store's clock.

        Raises
        ------
        NotFoundError
            The store holds no such car.
        """
        check_person(author)
        with self._db.write() as connection:
            row = self._car(connection, car)
            at = self._db.now()
            connection.execute(
                insert(tables.odds_decision).values(
                    car_id=row["id"],
                    odds=odds,
                    answer=answer.value,
                    holds=holds,
                    reason=reason,
                    mark=mark,
                    told=list(told),
                    struck=list(struck),
                    created_at=at,
                    created_by=author,
                )
            )
        return OddsDecision(odds, answer, reason, author, at, mark, told, holds, struck)

    def odds_decisions(self, car: str) -> tuple[OddsDecision, ...]:
        """Give all answers of a car, and of those joined with it, the oldest first.

        Raises
        ------
        NotFoundError
            The store holds no such car.
        """
        table = tables.odds_decision
        with self._db.read() as connection:
            cars = list(under(connection, self._car(connection, car)["id"]))
            rows = connection.execute(select(table).where(table.c.car_id.in_(cars)).order_by(table.c.id)).mappings()
            return tuple(
                OddsDecision(
                    odds=row["odds"],
                    answer=OddsAnswer(row["answer"]),
                    reason=row["reason"],
                    author=row["created_by"],
                    at=row["created_at"],
                    mark=row["mark"],
                    told=tuple(row["told"]),
                    holds=row["holds"],
                    struck=tuple(row["struck"]),
                )
                for row in rows
            )
