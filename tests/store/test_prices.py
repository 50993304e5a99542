"""What people said of the price of a car: one record for each, each change kept, told of joined cars together."""

from __future__ import annotations

import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.store import StaleError, Store

CAR, OTHER = "corvane-ninety", "corvane-again"
IDA, BEN = "Ida Quill", "Ben Marl"


@pytest.fixture
def cars(store: Store) -> Store:
    store.create_car(CAR)
    store.create_car(OTHER)
    return store


def test_what_is_not_named_stays_and_none_takes_back(cars: Store) -> None:
    assert cars.price_said(CAR) is None
    first = cars.say_price(CAR, attributes={"model": "Ninety", "age": ""}, figures={"allowed": 5.0}, author=IDA)
    assert (first.version, first.attributes, first.figures) == (1, {"age": "", "model": "Ninety"}, {"allowed": 5.0})
    same = cars.say_price(CAR, attributes={"model": "Ninety"}, figures={}, author=BEN)
    assert same == first
    changed = cars.say_price(
        CAR, attributes={"age": None}, figures={"premium": "Dock Street"}, author=BEN, expected_version=1
    )
    assert changed.attributes == {"model": "Ninety"}
    assert changed.figures == {"allowed": 5.0, "premium": "Dock Street"}
    assert [(one.author, one.before) for one in changed.changes] == [
        (IDA, {}),
        (BEN, {"attributes": {"age": "", "model": "Ninety"}, "figures": {"allowed": 5.0}}),
    ]
    assert cars.price_said(CAR) == changed
    assert cars.price_said(OTHER) is None


def test_of_joined_cars_the_first_ones_counts(cars: Store) -> None:
    theirs = cars.say_price(OTHER, attributes={"model": "Ninety"}, figures={}, author=BEN)
    cars.join_cars(CAR, OTHER, author=IDA)
    assert cars.price_said(CAR) == cars.price_said(OTHER) == theirs
    cars.separate_cars(CAR, OTHER, author=IDA)
    assert cars.price_said(CAR) is None
    ours = cars.say_price(CAR, attributes={"model": "Hundred"}, figures={}, author=IDA)
    cars.join_cars(CAR, OTHER, author=IDA)
    assert cars.price_said(OTHER) == ours


def test_what_comes_too_late_or_from_nobody_is_refused(cars: Store) -> None:
    there = cars.say_price(CAR, attributes={}, figures={"allowed": 5.0}, author=IDA, expected_version=0)
    with pytest.raises(StaleError) as caught:
        cars.say_price(CAR, attributes={}, figures={"allowed": 6.0}, author=BEN, expected_version=0)
    assert caught.value.present == there
    with pytest.raises(UserError) as refused:
        cars.say_price(CAR, attributes={}, figures={}, author="program")
    assert refused.value.problem.slug == "no-author"
    with pytest.raises(NotFoundError):
        cars.price_said("nobody")
