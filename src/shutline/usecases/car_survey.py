"""The survey of a car that is shown without its words: by the guides of the user's own, and by what people decided."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from shutline.car.errors import BadInputError, Problem
from shutline.survey import Coverage, coverage, shelf
from shutline.survey.choices import ASKED_AGAIN, GUIDE_CHOSEN, LEFT_OUT
from shutline.usecases.guides import own_shelf

if TYPE_CHECKING:
    from shutline.car.carfile import CarFile
    from shutline.store import Store

_DECISIONS = frozenset({GUIDE_CHOSEN, LEFT_OUT, ASKED_AGAIN})


def outline_coverage(store: Store, car: CarFile) -> tuple[Coverage, tuple[Problem, ...]]:
    """Hold the outline of a car (`Store.car_outline`) against its guide, as `shutline to-show` holds the car file.

    Where a guide of the user's own cannot be used, those that come with the program are gone by, and the problem is
    told: the film and the words are there to be looked at all the same.

    Raises
    ------
    NotFoundError
        The store holds no such car.
    """
    told = store.survey_told(car.name, actions=_DECISIONS)
    problems: tuple[Problem, ...] = ()
    try:
        on = own_shelf()
    except BadInputError as refused:
        on, problems = shelf(), (refused.problem,)
    return coverage(replace(car, changes=told.changes), on=on, said=told.said), problems
