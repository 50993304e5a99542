"""Decisions about preparation: one for each thing, with who and when, told of joined cars together."""

from __future__ import annotations

import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.car.prep_decisions import PrepKind
from shutline.store import StaleError, Store

CAR, OTHER = "corvane-ninety", "corvane-again"
IDA, BEN = "Ida Quill", "Ben Marl"


@pytest.fixture
def cars(store: Store) -> Store:
    store.create_car(CAR)
    store.create_car(OTHER)
    return store


def test_a_decision_is_one_and_each_change_of_it_is_kept(cars: Store) -> None:
    first = cars.decide_prep(CAR, PrepKind.REFUSED, "repaint@bonnet", words="too dear", author=IDA)
    assert cars.decide_prep(CAR, PrepKind.REFUSED, "repaint@bonnet", words="too dear", author=BEN) == first
    back = cars.decide_prep(CAR, PrepKind.REFUSED, "repaint@bonnet", holds=False, author=BEN, expected_version=1)
    budget = cars.decide_prep(CAR, PrepKind.BUDGET, pence=80_000, author=BEN)
    assert (back.holds, budget.pence) == (False, 80_000)
    assert [(one.author, one.action, one.before) for one in back.changes[1:]] == [
        (BEN, "taken back", {"holds": True, "words": "too dear"})
    ]
    assert cars.prep_decisions(CAR) == (back, budget)
    assert cars.prep_decisions(OTHER) == ()


def test_of_joined_cars_the_first_ones_counts_and_taken_apart_each_has_its_own(cars: Store) -> None:
    cars.decide_prep(OTHER, PrepKind.BUDGET, pence=1, author=BEN)
    theirs = cars.decide_prep(OTHER, PrepKind.ASKING, pence=9, author=BEN)
    ours = cars.decide_prep(CAR, PrepKind.BUDGET, pence=2, author=IDA)
    cars.join_cars(CAR, OTHER, author=IDA)
    assert cars.prep_decisions(OTHER) == (theirs, ours)
    changed = cars.decide_prep(OTHER, PrepKind.BUDGET, pence=3, author=BEN)
    cars.separate_cars(CAR, OTHER, author=IDA)
    assert cars.prep_decisions(CAR) == (changed,)
    assert [one.pence for one in cars.prep_decisions(OTHER)] == [1, 9]


def test_what_comes_too_late_or_from_nobody_is_refused(cars: Store) -> None:
    cars.decide_prep(CAR, PrepKind.BUDGET, pence=2, author=IDA)
    there = cars.decide_prep(CAR, PrepKind.BUDGET, pence=3, author=IDA)
    with pytest.raises(StaleError) as caught:
        cars.decide_prep(CAR, PrepKind.BUDGET, pence=4, author=BEN, expected_version=1)
    assert caught.value.present == there
    with pytest.raises(UserError) as refused:
        cars.decide_prep(CAR, PrepKind.BUDGET, pence=4, author="program")
    assert refused.value.problem.slug == "no-author"
    with pytest.raises(NotFoundError):
        cars.decide_prep("nobody", PrepKind.BUDGET, pence=4, author=BEN)
