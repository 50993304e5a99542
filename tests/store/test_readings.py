"""Readings: kept once, decided about with author and time, shown under the car that they came to."""

from dataclasses import replace

import pytest

from shutline.car.carfile import Recording
from shutline.car.errors import NotFoundError
from shutline.car.findings import Position, Side, State
from shutline.car.readings import Reading, Way
from shutline.store import StaleError, Store

CAR = "corvane-ninety"
ANNA, BEN = "Anna Pell", "Ben Oake"
FILM = Reading(
    "paint_film",
    412.0,
    "um",
    5.5,
    "door",
    side=Side.NEAR,
    position=Position.FRONT,
    spot="bottom",
    series="a",
    details={"method": "magnetic", "temperature_c": 11.5},
    instrument="grandad's \ud800 gauge",
    measured_at="2026-02-28",
)


def test_a_reading_comes_back_as_it_was(store: Store, recording: Recording) -> None:
    (kept,) = store.add_readings(CAR, [("t1", FILM)], author=ANNA)
    assert (kept.reading, kept.state, kept.version) == (FILM, State.STANDS, 1)
    assert kept.kept_at.startswith("2026-03-01T09:")
    assert [(one.author, one.action, one.after["value"]) for one in kept.changes] == [(ANNA, "came in", 412.0)]
    assert store.readings(CAR) == (kept,)
    assert store.car_file(CAR).readings == (kept,)


def test_two_equal_figures_are_two_readings_and_one_sent_twice_is_one(store: Store, recording: Recording) -> None:
    first = store.add_readings(CAR, [("t1", FILM), ("t2", FILM)], author=ANNA)
    assert len({one.id for one in first}) == 2
    store.change_reading(first[0].id, action="strike", author=BEN)
    again = store.add_readings(CAR, [("t1", replace(FILM, value=1.0)), ("t3", FILM)], author=BEN)
    assert [(one.id == first[0].id, one.state) for one in again] == [(True, State.STRUCK), (False, State.STANDS)]
    assert len(store.readings(CAR)) == 3


def test_what_was_heard_waits_for_a_person(store: Store, recording: Recording) -> None:
    spoken = replace(FILM, way=Way.SPOKEN, source=recording.id, start_s=3.0, end_s=3.5, quote="four twelve")
    (kept,) = store.add_readings(CAR, [("s", spoken)])
    assert kept.state is State.HEARD
    assert kept.changes[0].author == "program"
    stands = store.change_reading(kept.id, action="stand", author=ANNA, expected_version=1)
    assert (stands.state, stands.version) == (State.STANDS, 2)
    again = store.change_reading(kept.id, action="again", author=ANNA)
    assert again.state is State.HEARD
    assert [one.action for one in again.changes] == ["came in", "let stand", "waits again"]


def test_an_amended_reading_keeps_what_it_was(store: Store, recording: Recording) -> None:
    (kept,) = store.add_readings(CAR, [("t", FILM)], author=ANNA)
    amended = store.change_reading(kept.id, action="amend", author=BEN, reading=replace(FILM, value=421.0))
    assert amended.reading.value == 421.0
    assert (amended.changes[1].before, amended.changes[1].after) == ({"value": 412.0}, {"value": 421.0})
    assert store.change_reading(kept.id, action="amend", author=BEN, reading=amended.reading).version == 2


def test_a_stale_change_is_refused_with_both(store: Store, recording: Recording) -> None:
    (kept,) = store.add_readings(CAR, [("t", FILM)], author=ANNA)
    store.change_reading(kept.id, action="strike", author=ANNA, expected_version=1)
    with pytest.raises(StaleError) as caught:
        store.change_reading(kept.id, action="stand", author=BEN, expected_version=1)
    assert caught.value.present.version == 2
    assert store.readings(CAR)[0].state is State.STRUCK


def test_unknown_cars_and_readings_are_refused(store: Store, recording: Recording) -> None:
    with pytest.raises(NotFoundError):
        store.add_readings("nowhere", [("t", FILM)], author=ANNA)
    with pytest.raises(NotFoundError) as caught:
        store.change_reading("nothing", action="stand", author=ANNA)
    assert caught.value.problem.slug == "reading-unknown"
    with pytest.raises(ValueError, match="amend"):
        store.change_reading("nothing", action="stand", author=ANNA, reading=FILM)


def test_joined_cars_show_the_readings_of_both(store: Store, recording: Recording) -> None:
    store.create_car("corvane-again", title="Corvane again", author=BEN)
    store.add_readings(CAR, [("t", FILM)], author=ANNA)
    (theirs,) = store.add_readings("corvane-again", [("t", replace(FILM, value=120.0))], author=BEN)
    store.join_cars(CAR, "corvane-again", author=ANNA)
    assert [one.reading.value for one in store.readings(CAR)] == [412.0, 120.0]
    assert store.readings("corvane-again") == store.readings(CAR)
    # The phone that sends it once more under either name adds nothing.
    assert len(store.add_readings(CAR, [("t", FILM)], author=ANNA)) == 1
    assert len(store.readings(CAR)) == 2
    store.separate_cars(CAR, "corvane-again", author=ANNA)
    assert store.readings("corvane-again") == (theirs,)
