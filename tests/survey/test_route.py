from __future__ import annotations

from functools import cache

import pytest

from shutline.car.findings import Drive
from shutline.survey.checks import How
from shutline.survey.guides import shelf
from shutline.survey.route import Raised, Route, make_route

CARS = (
    (("monocoque_saloon",), "saloon", 4),
    (("small_saloon_subframes",), "saloon", 2),
    (("hatchback_estate", "electric_conversion"), "hatchback", 3),
    (("separate_chassis_open",), "roadster", 2),
    (("glassfibre_on_chassis",), "coupe", 2),
    (("rear_engined", "air_cooled"), "saloon", 2),
    (("wood_framed",), "estate", 5),
    (("monocoque_convertible",), "convertible", 2),
    (("ladder_frame",), "4x4", 3),
)


@cache
def route(names: tuple[str, ...], body: str, doors: int, **more: object) -> Route:
    guide = shelf().put_together(names)
    return make_route(guide, guide.asked(body, doors), ground=shelf().ground, **more)  # type: ignore[arg-type]


def order(found: Route) -> dict[str, int]:
    return {step.asked.key: step.number for step in found.steps}


@pytest.mark.parametrize(("names", "body", "doors"), CARS)
def test_each_check_is_made_once_in_its_order_and_what_is_underneath_last(
    names: tuple[str, ...], body: str, doors: int
) -> None:
    found = route(names, body, doors)
    guide = shelf().put_together(names)
    assert sorted(order(found)) == sorted(asked.key for asked in guide.asked(body, doors))
    assert [step.number for step in found.steps] == list(range(1, len(found.steps) + 1))
    raised = [stop.station.raised for stop in found.stops]
    assert raised == sorted(raised)
    place = order(found)
    for step in found.steps:
        for other in found.steps:
            asked, before = step.asked, other.asked
            if before.check.id in asked.check.after and before.side in (None, asked.side, before.side):
                same = None in (before.side, asked.side) or before.side == asked.side
                assert not same or place[before.key] < place[asked.key]


@pytest.mark.parametrize(("names", "body", "doors"), CARS)
def test_no_station_is_visited_twice_unless_something_made_elsewhere_had_to_come_first(
    names: tuple[str, ...], body: str, doors: int
) -> None:
    found = route(names, body, doors)
    visited: set[str] = set()
    steps = 0
    for stop in found.stops:
        if stop.station.id in visited:
            waited = {name for step in stop.steps for name in step.asked.check.after}
            assert waited & {step.asked.check.id for step in found.steps[:steps]}, stop.station.id
        visited.add(stop.station.id)
        steps += len(stop.steps)
    assert [stop.station.id for stop in found.stops].count("engine_bay") == 1


def test_the_engine_is_felt_cold_before_it_is_started_and_its_smoke_is_seen_after() -> None:
    place = order(route(("monocoque_saloon",), "saloon", 4))
    assert place["engine_cold"] < place["starting"] < place["exhaust_smoke"]
    assert place["starting"] < place["engine"]
    assert place["door_front-front-near"] < place["sill-near"]


def test_sides_are_walked_along_and_not_zigzagged() -> None:
    stations = [stop.station.id for stop in route(("monocoque_saloon",), "saloon", 4).stops]
    for side in ("near", "off"):
        places = [stations.index(f"{side}_{end}") for end in ("front", "middle", "rear")]
        assert places in (sorted(places), sorted(places, reverse=True))


def test_with_the_engine_behind_its_bay_is_where_the_boot_is_on_others() -> None:
    points = {stop.station.id: stop.station.point for stop in route(("rear_engined",), "saloon", 2).stops}
    assert points["engine_bay"] == "tail"
    assert points["boot"] == "nose"


def test_a_car_on_a_lift_is_seen_from_below_first_and_one_on_its_wheels_not_at_all() -> None:
    first = route(("monocoque_saloon",), "saloon", 4, raised=Raised.FIRST)
    raised = [stop.station.raised for stop in first.stops]
    assert raised == sorted(raised, reverse=True)
    on_wheels = route(("monocoque_saloon",), "saloon", 4, raised=Raised.NO)
    assert not any(stop.station.raised for stop in on_wheels.stops)
    assert {asked.check.id for asked in on_wheels.left_out} >= {"floor", "brakes_front", "exhaust"}
    assert len(on_wheels.left_out) + len(on_wheels.steps) == len(first.steps)


def test_the_driver_sits_on_the_side_of_the_wheel() -> None:
    for drive, side in ((Drive.RHD, "inside_off"), (Drive.LHD, "inside_near")):
        found = route(("monocoque_saloon",), "saloon", 4, drive=drive)
        assert next(step.station for step in found.steps if step.asked.check.id == "starting") == side


def test_a_short_walk_keeps_what_is_dearest_when_bad() -> None:
    short = route(("monocoque_saloon",), "saloon", 4, within_s=240.0)
    kept = {step.asked.check.id for step in short.steps}
    assert short.spoken_s[0] <= 240.0
    assert {"sill", "floor", "box_sections"} <= kept
    assert "keys" not in kept
    assert "keys" in {asked.check.id for asked in short.left_out}


def test_a_short_walk_that_looks_at_the_smoke_starts_the_engine_and_feels_first_that_it_is_cold() -> None:
    for minutes in range(1, 10):
        kept = {
            step.asked.check.id for step in route(("monocoque_saloon",), "saloon", 4, within_s=60.0 * minutes).steps
        }
        assert not kept & {"engine", "exhaust_smoke", "oil_pressure"} or {"starting", "engine_cold"} <= kept
        assert "starting" not in kept or "engine_cold" in kept


def test_what_to_bring_and_the_cautions_are_those_of_the_checks() -> None:
    found = route(("monocoque_saloon",), "saloon", 4)
    assert {"torch", "magnet", "axle_stands", "chocks"} <= {tool.id for tool in found.bring}
    assert {"lifting", "linings", "fuel", "fumes"} <= {caution.id for caution in found.cautions}
    wheels = route(("monocoque_saloon",), "saloon", 4, raised=Raised.NO, within_s=60.0)
    named = {name for step in wheels.steps for name in step.asked.check.cautions}
    assert {caution.id for caution in wheels.cautions} == named


def test_the_time_is_that_of_the_places_and_leaves_the_drive_out() -> None:
    found = route(("monocoque_saloon",), "saloon", 4)
    driven = sum(How.DRIVE in step.asked.check.how for step in found.steps)
    assert driven >= 4
    assert found.spoken_s == pytest.approx((5.4 * (len(found.steps) - driven), 7.8 * (len(found.steps) - driven)))


def test_the_same_car_gets_the_same_route_again() -> None:
    assert route(*CARS[5]) == route(*CARS[5])


def test_nothing_to_show_is_a_route_without_stops() -> None:
    guide = shelf().put_together(["general"])
    empty = make_route(guide, (), ground=shelf().ground)
    assert (empty.stops, empty.metres, empty.bring) == ((), 0, ())


@pytest.mark.parametrize(("names", "body", "doors"), CARS)
def test_what_one_look_answers_is_one_step_of_the_walk_and_each_check_stays_its_own(
    names: tuple[str, ...], body: str, doors: int
) -> None:
    found = route(names, body, doors)
    assert [look[0].look for look in found.looks] == list(range(1, len(found.looks) + 1))
    assert tuple(step for look in found.looks for step in look) == found.steps
    for look in found.looks:
        checks = {step.asked.check.id: step.asked.check for step in look}
        assert len({step.station for step in look}) == 1
        if len(checks) > 1:
            assert len({check.along_with or check.id for check in checks.values()}) == 1
            assert len({step.asked.side for step in look} - {None}) <= 1, "two sides are two looks"
            assert len({step.asked.position for step in look} - {None}) <= 1
    assert len(found.looks) < 0.8 * len(found.steps)


def test_what_belongs_together_is_together() -> None:
    looks = [{step.asked.key for step in look} for look in route(("monocoque_saloon",), "saloon", 4).looks]
    for together in (
        {"tyre-front-near", "wheel-front-near"},
        {"door_front-front-off", "door_seal-off", "a_post-off"},
        {"screen_seal-rear", "rear_screen"},
        {"suspension_front-front-near", "suspension_front-front-off"},
    ):
        assert together in looks
