"""What people decided about the survey of a car, kept as changes of the car; the last word on a thing stands."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import select

from shutline.car.carfile import CarSummary, Change
from shutline.store import tables
from shutline.store.base import Base, under
from shutline.store.cars import car_changes, summary_of, write_car_change
from shutline.store.decisions import check_person
from shutline.store.rows import Plain


@dataclass(frozen=True, slots=True)
class SurveyTold:
    """What a survey goes by beside the outline of a car: decisions, oldest first, and all that was said of it."""

    changes: tuple[Change, ...]
    said: str


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

    def survey_told(self, car: str, *, actions: Collection[str]) -> SurveyTold:
        """Give what a survey goes by and the outline of a car lacks.

        Parameters
        ----------
        car : str
            The car's whole name.
        actions : collection of str
            Which decisions; see `survey.choices`.

        Raises
        ------
        NotFoundError
            The store holds no such car.
        """
        recording, stretch = tables.recording.c, tables.stretch.c
        with self._db.read() as connection:
            row = self._car(connection, car)
            query = (
                select(stretch.text)
                .join(tables.recording, recording.id == stretch.recording_id)
                .where(recording.car_id.in_(list(under(connection, row["id"]))), recording.twin_of.is_(None))
                .where(stretch.edition == recording.edition)
                .order_by(recording.id, stretch.place)
            )
            said = " ".join(connection.execute(query).scalars())
            decided = car_changes(connection, row["id"])
        return SurveyTold(tuple(one for one in decided if one.action in actions), said)
