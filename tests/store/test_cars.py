"""Cars have names a person can call, summaries that are right, and details with a history."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shutline.car.carfile import Recording
from shutline.car.errors import NotFoundError, UserError
from shutline.car.findings import Drive, Finding, Found, State
from shutline.store import StaleError, Store
from shutline.store.cars import _NAME

CAR = "corvane-ninety"


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(max_size=90))
def test_any_title_gives_a_name_of_its_own_and_comes_back(store: Store, title: str) -> None:
    one, two = store.create_car(title=title), store.create_car(title=title)
    assert one.name != two.name
    assert all(_NAME.fullmatch(car.name) and len(car.name) <= 60 for car in (one, two))
    assert one.title == (title or one.name)
    assert store.find_car(one.name) == one


@pytest.mark.parametrize("name", ["", "-", "a--b", "a b", "../a", "a/b", "ä", "a" * 61, "a\n"])
def test_a_name_that_cannot_be_one_is_refused(name: str, store: Store) -> None:
    if name == "a\n":
        assert store.create_car(name).name == "a"
        return
    with pytest.raises(UserError) as caught:
        store.create_car(name)
    assert caught.value.problem.slug == "car-name"


def test_a_name_is_one_whatever_its_capitals_and_is_given_once(store: Store) -> None:
    assert store.create_car("Blue-One").name == "blue-one"
    with pytest.raises(UserError) as caught:
        store.create_car("BLUE-ONE")
    assert caught.value.problem.slug == "car-name-taken"
    assert "blue-one-2" in caught.value.problem.advice


def test_a_car_is_found_by_a_beginning_that_it_alone_has(store: Store) -> None:
    for name in ("corvane", "corvane-ninety", "marl_s".replace("_", "-")):
        store.create_car(name)
    assert store.find_car("corvane").name == "corvane"
    assert store.find_car("Corvane-N").name == "corvane-ninety"
    assert store.find_car("m").name == "marl-s"
    with pytest.raises(UserError) as several:
        store.find_car("c")
    assert several.value.problem.slug == "car-ambiguous"
    for nothing in ("", "%", "corvane_ninety", "x"):
        with pytest.raises(NotFoundError) as none:
            store.find_car(nothing)
        assert none.value.problem.slug == "car-unknown"
    with pytest.raises(NotFoundError, match="corvane-ninety"):
        store.car_file("corvane-ninty")


def test_cars_are_listed_newest_first_and_by_pages(store: Store) -> None:
    for name in "abcde":
        store.create_car(name)
    assert [car.name for car in store.cars()] == list("edcba")
    assert [car.name for car in store.cars(limit=2, skip=1)] == ["d", "c"]
    assert [car.name for car in store.cars(skip=4)] == ["a"]


def test_counts_are_those_of_the_car_file(store: Store, recording: Recording, said) -> None:
    quotes = ["one", "two", "three", "four"]
    store.put_findings(recording.id, [said(quote) for quote in quotes])
    kept = store.car_file(CAR).findings
    store.change_finding(kept[0].id, action="confirm", author="Ann", expected_version=1)
    store.change_finding(kept[1].id, action="strike", author="Ann", expected_version=1)
    store.put_findings(recording.id, [said("three")])
    store.add_finding(CAR, Finding("boot_lid", "dent", Found.YES), author="Ann")
    (car,) = store.cars()
    states = [k.finding.state for k in store.car_file(CAR).findings]
    assert [car.findings_heard, car.findings_standing, car.findings_struck] == [
        states.count(s) for s in (State.HEARD, State.STANDS, State.STRUCK)
    ]
    assert (car.findings_heard, car.findings_standing, car.findings_struck) == (1, 2, 1)
    assert (car.recordings, car.pictures) == (1, 0)
    store.create_car("quiet")
    assert [c.name for c in store.cars(only_heard=True)] == [CAR]


def test_details_change_with_a_history_and_refuse_a_stale_change(store: Store) -> None:
    store.create_car("a", title="A")
    car = store.set_car_details("a", author="Ann", expected_version=1, drive=Drive.LHD, doors=2)
    assert (car.drive, car.doors, car.version) == (Drive.LHD, 2, 2)
    assert store.set_car_details("a", author="Ann", doors=2) == car
    (change,) = store.car_file("a").changes
    assert change.before == {"drive": "rhd", "doors": None}
    assert change.after == {"drive": "lhd", "doors": 2}
    with pytest.raises(StaleError) as caught:
        store.set_car_details("a", author="Bob", expected_version=1, title="B")
    assert (caught.value.present, caught.value.wanted.title) == (car, "B")
    with pytest.raises(UserError, match="doors"):
        store.set_car_details("a", author="Ann", doors=-1)


def test_a_clock_that_is_handed_in_gives_the_times(tmp_path: Path, store: Store) -> None:
    assert store.create_car("a").created_at == "2026-03-01T09:00:01.000Z"
