"""What is entered of a car's past: kept once, changed with who and when, told of joined cars together."""

from __future__ import annotations

from dataclasses import replace

import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.car.findings import State
from shutline.car.past import PastEntry, PastKind, RestsOn
from shutline.store import StaleError, Store

CAR, OTHER = "corvane-ninety", "corvane-again"
IDA, BEN = "Ida Quill", "Ben Marl"
ENTRY = PastEntry(PastKind.KEEPER, "Augusta Harbottle", "1987-03", "1994", rests_on=RestsOn.REGISTRATION)


@pytest.fixture
def cars(store: Store) -> Store:
    store.create_car(CAR)
    store.create_car(OTHER)
    return store


def test_an_entry_is_kept_once_and_each_change_of_it_with_who_and_what_stood_before(cars: Store) -> None:
    kept = cars.add_past(CAR, ENTRY, author=IDA)
    assert cars.add_past(CAR, ENTRY, author=BEN) == kept
    longer = replace(ENTRY, until="1996-05-02")
    amended = cars.change_past(CAR, kept.id, action="amend", author=BEN, entry=longer, expected_version=1)
    struck = cars.change_past(CAR, kept.id, action="strike", author=IDA, expected_version=2)
    again = cars.change_past(CAR, kept.id, action="again", author=BEN)
    assert (amended.entry, struck.state, again.state) == (longer, State.STRUCK, State.STANDS)
    assert [(one.author, one.action, one.before, one.after) for one in again.changes[1:]] == [
        (BEN, "amended", {"until": "1994"}, {"until": "1996-05-02"}),
        (IDA, "struck", {"state": "stands"}, {"state": "struck"}),
        (BEN, "stands again", {"state": "struck"}, {"state": "stands"}),
    ]
    assert cars.car_file(CAR).past == (again,)


def test_a_struck_entry_may_be_entered_anew(cars: Store) -> None:
    first = cars.add_past(CAR, ENTRY, author=IDA)
    cars.change_past(CAR, first.id, action="strike", author=IDA)
    assert cars.add_past(CAR, ENTRY, author=IDA).id != first.id
    assert [one.state for one in cars.car_file(CAR).past] == [State.STRUCK, State.STANDS]


def test_joined_cars_have_their_entries_together_each_once_and_go_apart_again(cars: Store) -> None:
    mine = cars.add_past(CAR, ENTRY, author=IDA)
    cars.add_past(OTHER, ENTRY, author=BEN)
    abroad = cars.add_past(OTHER, PastEntry(PastKind.COUNTRY, "FR", "1969", "1987"), author=BEN)
    cars.join_cars(CAR, OTHER, author=IDA)
    assert cars.car_file(CAR).past == cars.car_file(OTHER).past == (mine, abroad)
    assert cars.change_past(CAR, abroad.id, action="strike", author=IDA).state is State.STRUCK
    # What is struck under the first stays struck, though the other has it too.
    struck = cars.change_past(CAR, mine.id, action="strike", author=IDA)
    assert [(one.id, one.state) for one in cars.car_file(CAR).past] == [
        (mine.id, State.STRUCK),
        (abroad.id, State.STRUCK),
    ]
    cars.separate_cars(CAR, OTHER, author=IDA)
    assert cars.car_file(CAR).past == (struck,)
    assert [one.state for one in cars.car_file(OTHER).past] == [State.STANDS, State.STRUCK]


def test_what_was_entered_while_joined_may_be_entered_anew_when_the_cars_are_apart(cars: Store) -> None:
    cars.add_past(OTHER, PastEntry(PastKind.COUNTRY, "FR"), author=BEN)
    cars.join_cars(CAR, OTHER, author=IDA)
    first = cars.add_past(CAR, ENTRY, author=IDA)
    cars.change_past(CAR, first.id, action="strike", author=IDA)
    cars.separate_cars(CAR, OTHER, author=IDA)
    again = cars.add_past(CAR, ENTRY, author=IDA)
    assert again.id != first.id
    assert [one.state for one in cars.car_file(CAR).past] == [State.STRUCK, State.STANDS]


def test_a_change_that_came_too_late_carries_both_and_changes_nothing(cars: Store) -> None:
    kept = cars.add_past(CAR, ENTRY, author=IDA)
    there = cars.change_past(CAR, kept.id, action="amend", author=BEN, entry=replace(ENTRY, until="1995"))
    with pytest.raises(StaleError) as caught:
        cars.change_past(CAR, kept.id, action="strike", author=IDA, expected_version=1)
    assert (caught.value.present, caught.value.wanted.state) == (there, State.STRUCK)
    assert cars.car_file(CAR).past == (there,)


def test_what_is_not_there_or_nobodys_is_refused(cars: Store) -> None:
    kept = cars.add_past(CAR, ENTRY, author=IDA)
    for car, ref in ((OTHER, kept.id), (CAR, "nothing")):
        with pytest.raises(NotFoundError) as caught:
            cars.change_past(car, ref, action="strike", author=IDA)
        assert caught.value.problem.slug == "past-unknown"
    with pytest.raises(UserError) as refused:
        cars.add_past(CAR, ENTRY, author="program")
    assert refused.value.problem.slug == "no-author"
    with pytest.raises(ValueError, match="amend"):
        cars.change_past(CAR, kept.id, action="amend", author=IDA)
