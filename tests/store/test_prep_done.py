"""Work that was ticked off: one line for each trade of a task, with who and when; a message sent twice counts once."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.car.findings import Finding, Footing, FootingKind, Found
from shutline.car.prep_done import WorkDone
from shutline.store import StaleError, Store

CAR, OTHER = "corvane-ninety", "corvane-again"
IDA, BEN = "Ida Quill", "Ben Marl"
ONE, TWO, THREE, FOUR = "sent-first", "sent-second", "sent-third", "sent-fourth"
NONE = ""
PAINT = WorkDone(
    id="",
    task="repaint@bonnet",
    job="repaint",
    words="repaint the panel",
    remedy="repaint",
    findings=("aa", "bb"),
    trade="paint",
    needs=("paint", "trim"),
    hours=Decimal("3.25"),
    setup_hours=None,
    places=1,
    picture="",
    found="a dent under it",
    done_on="2026-11-26",
    holds=True,
    token=ONE,
)


@pytest.fixture
def cars(store: Store) -> Store:
    store.create_car(CAR)
    store.create_car(OTHER)
    return store


def test_a_line_comes_back_as_it_went_in_and_each_change_is_kept(cars: Store) -> None:
    first = cars.tick_work(CAR, PAINT, author=IDA)
    assert first == replace(PAINT, id=first.id, changes=first.changes)
    assert (first.author, first.changes[0].action, first.changes[0].after["hours"]) == (IDA, "ticked off", "3.25")
    longer = replace(PAINT, hours=Decimal(4), token=TWO)
    second = cars.tick_work(CAR, longer, author=BEN, expected_version=1)
    assert (second.hours, second.version, second.changes[1].before["hours"]) == (Decimal(4), 2, "3.25")
    back = cars.take_back_work(CAR, second.id, author=IDA, token=THREE, expected_version=2)
    again = cars.tick_work(CAR, replace(PAINT, token=NONE), author=BEN)
    assert [one.holds for one in (second, back, again)] == [True, False, True]
    assert [one.action for one in again.changes] == ["ticked off", "ticked off", "taken back", "ticked off"]
    assert cars.works_done(CAR) == (again,)


def test_a_message_sent_again_changes_nothing_even_after_others(cars: Store) -> None:
    first = cars.tick_work(CAR, PAINT, author=IDA)
    assert cars.tick_work(CAR, PAINT, author=IDA) == first
    back = cars.take_back_work(CAR, first.id, author=IDA, token=TWO)
    assert cars.tick_work(CAR, PAINT, author=IDA) == back
    again = cars.tick_work(CAR, replace(PAINT, token=THREE), author=IDA)
    assert cars.take_back_work(CAR, first.id, author=IDA, token=TWO) == again
    assert cars.works_done(CAR) == (again,)


def test_two_who_tick_at_once_do_not_write_over_each_other(cars: Store) -> None:
    there = cars.tick_work(CAR, PAINT, author=IDA)
    assert cars.tick_work(CAR, replace(PAINT, token=TWO), author=BEN) == there
    with pytest.raises(StaleError) as caught:
        cars.tick_work(CAR, replace(PAINT, hours=Decimal(9), token=FOUR), author=BEN)
    assert (caught.value.present, caught.value.wanted.hours) == (there, Decimal(9))  # type: ignore[attr-defined]
    with pytest.raises(StaleError):
        cars.take_back_work(CAR, there.id, author=BEN, expected_version=7)
    assert cars.works_done(CAR) == (there,)


def test_other_findings_of_the_same_task_are_another_line(cars: Store) -> None:
    cars.tick_work(CAR, PAINT, author=IDA)
    cars.tick_work(CAR, replace(PAINT, findings=("cc",), token=NONE), author=IDA)
    assert [one.findings for one in cars.works_done(CAR)] == [("aa", "bb"), ("cc",)]


def test_joined_cars_tell_both_and_taken_apart_each_has_its_own(cars: Store) -> None:
    mine = cars.tick_work(CAR, PAINT, author=IDA)
    theirs = cars.tick_work(OTHER, PAINT, author=BEN)
    assert mine.id != theirs.id
    cars.join_cars(CAR, OTHER, author=IDA)
    assert cars.works_done(OTHER) == (mine, theirs)
    cars.separate_cars(CAR, OTHER, author=IDA)
    assert (cars.works_done(CAR), cars.works_done(OTHER)) == ((mine,), (theirs,))
    assert cars.every_work_done() == ((CAR, mine), (OTHER, theirs))


def test_of_joined_cars_the_work_goes_with_the_finding_that_it_cures(cars: Store) -> None:
    dent = Finding("bonnet", "dent", Found.YES, footings=(Footing(FootingKind.SEEN, "x"),))
    theirs = cars.add_finding(OTHER, dent, author=BEN)
    before = cars.find_car(OTHER).findings_standing
    cars.join_cars(CAR, OTHER, author=IDA)
    cars.tick_work(CAR, replace(PAINT, trade="", findings=(theirs.id,)), author=IDA)
    assert [one.id for one in cars.car_file(CAR).put_right()] == [theirs.id]
    cars.separate_cars(CAR, OTHER, author=IDA)
    assert cars.works_done(CAR) == ()
    assert [one.id for one in cars.car_file(OTHER).put_right()] == [theirs.id]
    assert (before, cars.find_car(OTHER).findings_standing, cars.find_car(CAR).findings_standing) == (1, 0, 0)


def test_nobody_and_nothing_are_refused(cars: Store) -> None:
    with pytest.raises(UserError) as refused:
        cars.tick_work(CAR, PAINT, author="program")
    assert refused.value.problem.slug == "no-author"
    with pytest.raises(NotFoundError) as unknown:
        cars.take_back_work(CAR, "nothing", author=IDA)
    assert unknown.value.problem.slug == "work-unknown"
    with pytest.raises(NotFoundError):
        cars.works_done("nobody")
