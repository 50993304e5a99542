"""Pins stand clear of one another, of words, and of shapes that are not their own; shapely is the judge."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, unary_union

from shutline.car.findings import Position, Side
from shutline.car.plan import Layout, Pin, PinForm, Plan, draw
from shutline.car.plan.bodies import bodies
from shutline.car.plan.pins import RADIUS, PinLayout, _Board, place_pins
from shutline.car.vocabulary import vocabulary

PLACES = st.tuples(
    st.sampled_from(list(vocabulary().parts)), st.sampled_from([None, *Side]), st.sampled_from([None, *Position])
)


def pins(places: list[tuple[str, Side | None, Position | None]]) -> list[Pin]:
    forms = itertools.cycle(PinForm)
    return [Pin(i, *place, next(forms)) for i, place in enumerate(places, 1)]


def check(plan: Plan, layout: PinLayout) -> None:
    for a, b in itertools.combinations(layout.places, 2):
        assert math.dist(a.at, b.at) >= 2 * RADIUS, (a, b)
    for place in layout.places:
        x, y = place.at
        assert RADIUS <= x <= plan.width - RADIUS
        assert RADIUS <= y <= layout.foot - RADIUS


@settings(deadline=None, max_examples=15)
@given(st.sampled_from(list(bodies())), st.sampled_from(Layout), st.lists(PLACES, max_size=60))
def test_up_to_sixty_pins_never_overlap(
    body: str, layout: Layout, places: list[tuple[str, Side | None, Position | None]]
) -> None:
    plan = draw(body, layout=layout)
    set_out = place_pins(plan, pins(places))

    check(plan, set_out)
    wanted = sum(len(plan.place(*place)) for place in places)
    assert len(set_out.places) == wanted


@pytest.mark.parametrize(
    "place", [("badge", None, None), ("tyre", Side.BOTH, Position.BOTH), ("papers", None, None)], ids=lambda p: p[0]
)
def test_a_hundred_pins_for_one_place_still_find_room(place: tuple[str, Side | None, Position | None]) -> None:
    plan = draw("hatchback", layout=Layout.FOLDED)

    check(plan, place_pins(plan, pins([place] * 100)))


EVERYWHERE = [
    (part.id, side, position)
    for part in vocabulary().parts.values()
    for side in ((Side.NEAR, Side.OFF) if part.sided else (None,))
    for position in ((Position.FRONT, Position.REAR) if part.ended else (None,))
]


@pytest.mark.parametrize("body", ["saloon", "van"])
def test_a_pin_lies_in_its_own_shape_or_in_the_white(body: str) -> None:
    plan = draw(body)
    faces = unary_union([Polygon(ring) for view in plan.views for ring in view.outlines])
    tags = unary_union([Polygon(tag.outline) for tag in plan.tags])

    for place in place_pins(plan, pins(EVERYWHERE[::3])).places:
        disc = Point(place.at).buffer(RADIUS)
        shape = plan.find_shape(place.key)
        if shape is not None and Polygon(shape.outline, shape.holes).contains(disc):
            continue
        assert disc.intersection(faces).area < 0.5, place
        assert disc.intersection(tags).area < 0.5, place


@pytest.mark.parametrize("body", ["saloon", "pickup"])
@pytest.mark.parametrize("layout", Layout)
def test_the_lines_of_forty_pins_cross_no_other_line_and_run_under_no_pin(body: str, layout: Layout) -> None:
    plan = draw(body, layout=layout)
    set_out = place_pins(plan, pins(EVERYWHERE[::4][:40]))

    lines = [(leader.key, LineString([leader.start, leader.end])) for leader in set_out.leaders]
    for (key, line), (other_key, other) in itertools.combinations(lines, 2):
        if key != other_key:
            assert not line.crosses(other), (key, other_key)
    for _, line in lines:
        for place in set_out.places:
            assert line.distance(Point(place.at)) > RADIUS - 0.1


def test_a_line_leads_to_the_place_that_its_pin_is_for() -> None:
    plan = draw("saloon")
    set_out = place_pins(plan, pins([("badge", None, None), ("roof", None, None)]))

    (leader,) = set_out.leaders
    assert leader.end == plan.place("badge")[0].point
    roof = next(place for place in set_out.places if place.pin.number == 2)
    shape = plan.shape(roof.key)
    assert Polygon(shape.outline, shape.holes).contains(Point(roof.at).buffer(RADIUS))


def test_the_same_pins_stand_in_the_same_places() -> None:
    plan = draw("estate")
    one, two = (place_pins(plan, pins(EVERYWHERE[::5])) for _ in range(2))

    assert one == two


def test_no_pins_need_no_room() -> None:
    plan = draw("saloon")

    assert place_pins(plan, []) == PinLayout((), (), plan.height)


@pytest.mark.parametrize("anchor", [(0.0, 0.0), (-90.0, 700.0), (611.3, 402.9), (5_000.0, 20.0)])
def test_free_slots_are_sought_the_nearest_first_and_none_is_left_out(anchor: tuple[float, float]) -> None:
    board = _Board(draw("saloon", doors=4), spare=3)
    x, y = anchor
    every = sorted(((sx - x) ** 2 + (sy - y) ** 2, slot) for slot, (sx, sy) in board._free.items())
    assert list(board._around(anchor)) == every
