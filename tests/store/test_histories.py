"""Test histories in the store: kept once, told of joined cars together, decided about, refused."""

from __future__ import annotations

import pytest

from shutline.car.errors import NotFoundError
from shutline.car.kept_tests import RecordState
from shutline.store import StaleError, Store

CAR, OTHER = "corvane-ninety", "corvane-again"
IDA = "Ida Quill"
RECORD = {"registration": "FGY 412H", "make": "CORVANE", "motTests": []}


@pytest.fixture
def cars(store: Store) -> Store:
    store.create_car(CAR)
    store.create_car(OTHER)
    return store


def test_a_record_is_kept_once_whatever_the_order_of_its_fields(cars: Store) -> None:
    ((kept, new),) = cars.add_tests(CAR, [("FGY412H", RECORD)], name="tests.json", author=IDA)
    ((again, second),) = cars.add_tests(
        CAR, [("FGY412H", dict(reversed(RECORD.items())))], name="tests (1).json", author="Ben"
    )
    assert (new, second) == (True, False)
    assert again == kept
    assert (kept.state, kept.record, kept.kept_by) == (RecordState.OPEN, RECORD, IDA)
    assert cars.car_file(CAR).tests == (kept,)
    assert cars.car_file(OTHER).tests == ()


def test_joined_cars_have_their_records_together_and_go_apart_again(cars: Store) -> None:
    ((kept, _),) = cars.add_tests(CAR, [("FGY412H", RECORD)], name="a.json", author=IDA)
    more = {**RECORD, "registration": "OLD 1"}
    ((other, _),) = cars.add_tests(OTHER, [("OLD1", more)], name="b.json", author=IDA)
    cars.add_tests(OTHER, [("FGY412H", RECORD)], name="c.json", author=IDA)
    cars.join_cars(CAR, OTHER, author=IDA)
    assert cars.car_file(CAR).tests == cars.car_file(OTHER).tests == (kept, other)
    ((again, new),) = cars.add_tests(CAR, [("OLD1", more)], name="b.json", author=IDA)
    assert (again, new) == (other, False)
    cars.separate_cars(CAR, OTHER, author=IDA)
    assert cars.car_file(CAR).tests == (kept,)
    assert [one.mark for one in cars.car_file(OTHER).tests] == ["OLD1", "FGY412H"]


def test_what_a_person_said_is_kept_with_who_and_when(cars: Store) -> None:
    ((kept, _),) = cars.add_tests(CAR, [("FGY412H", RECORD)], name="a.json", author=IDA)
    said = cars.decide_tests(CAR, kept.id, RecordState.OTHER, author="Ben")
    assert (said.state, said.decided_by) == (RecordState.OTHER, "Ben")
    assert said.decided_at
    again = cars.decide_tests(CAR, kept.id, RecordState.OPEN, author=IDA, expected_version=2)
    assert [(one.author, one.action, one.after.get("state")) for one in again.changes] == [
        (IDA, "came in", "open"),
        ("Ben", "said to be another car", "other"),
        (IDA, "taken back", "open"),
    ]
    assert cars.car_file(CAR).tests == (again,)
    for car, ref in ((OTHER, kept.id), (CAR, "nothing")):
        with pytest.raises(NotFoundError) as caught:
            cars.decide_tests(car, ref, RecordState.SAME, author=IDA)
        assert caught.value.problem.slug == "tests-unknown"


def test_a_decision_that_came_too_late_is_refused_with_both(cars: Store) -> None:
    ((kept, _),) = cars.add_tests(CAR, [("FGY412H", RECORD)], name="a.json", author=IDA)
    said = cars.decide_tests(CAR, kept.id, RecordState.OTHER, author="Ben", expected_version=1)
    with pytest.raises(StaleError) as caught:
        cars.decide_tests(CAR, kept.id, RecordState.SAME, author=IDA, expected_version=1)
    assert (caught.value.present, caught.value.wanted.state) == (said, RecordState.SAME)
    assert cars.car_file(CAR).tests == (said,)
