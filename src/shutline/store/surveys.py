"""What people decided about the survey of a car, kept as changes of the car; the last word on a thing stands."""

from __future__ import annotations

from shutline.car.carfile import CarSummary
from shutline.store.base import Base
from shutline.store.cars import summary_of, write_car_change
from shutline.store.decisions import check_person
from shutline.store.rows import Plain


class Surveys(Base):
    """The part of the store that keeps such decisions."""

    def decide_survey(self, car: str, *, action: str, what: Plain, author: str) -> CarSummary:
        """Keep a decision that changes none of a car's own details; read it from the `changes` of its car file.

        Parameters
        ----------
        car : str
            The car's whole name.
        action : str
            What was decided; see `survey.choices`.
        what : Plain
            What it is about, in JSON's values; it must name none of the car's own details.
        author : str
            Who decided.
        """
        check_person(author)
        with self._db.write() as connection:
            row = self._car(connection, car, lock=True)
            write_car_change(connection, row, before={}, after=what, author=author, action=action, at=self._db.now())
            return summary_of(self._car(connection, car))
