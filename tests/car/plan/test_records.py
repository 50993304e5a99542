"""Every part of the vocabulary has a place on every body, and none takes a side that nobody spoke of."""

from __future__ import annotations

import pytest

from shutline.car.findings import Position, Side
from shutline.car.plan import Plan, draw
from shutline.car.plan.bodies import bodies
from shutline.car.vocabulary import vocabulary

NAMES = tuple(bodies())
PARTS = vocabulary().parts.values()
ABSENT = {
    # What a body does not have, or what is elsewhere on it: common practice, no source.
    "saloon": {"hood", "tailgate"},
    "coupe": {"hood", "tailgate"},
    "hatchback": {"hood", "boot_lid"},
    "estate": {"hood", "boot_lid"},
    "convertible": {"roof", "gutter", "sunroof", "headlining", "tailgate", "c_post"},
    "roadster": {"roof", "gutter", "sunroof", "headlining", "tailgate", "c_post", "b_post", "rear_screen"},
    "van": {"hood", "boot_lid", "sunroof"},
    "pickup": {"hood", "boot_lid", "sunroof"},
    "4x4": {"hood", "boot_lid"},
}


def keys(plan: Plan, part: str, side: Side | None = None, position: Position | None = None) -> set[str]:
    return {anchor.key for anchor in plan.place(part, side, position)}


@pytest.mark.parametrize("body", NAMES)
@pytest.mark.parametrize("doors", [2, 4])
def test_every_part_has_a_place_however_it_is_asked_for(body: str, doors: int) -> None:
    plan = draw(body, doors=doors)

    for part in PARTS:
        for side in (None, *Side):
            for position in (None, *Position):
                anchors = plan.place(part.id, side, position)
                assert anchors
                for anchor in anchors:
                    assert 0 < anchor.point[0] < plan.width
                    assert 0 < anchor.point[1] < plan.height


@pytest.mark.parametrize("body", NAMES)
def test_every_part_that_the_body_has_has_a_place_of_its_own_for_each_side_and_end(body: str) -> None:
    plan = draw(body, doors=4)

    for part in PARTS:
        if part.id in ABSENT[body]:
            assert not any(anchor.exact for anchor in plan.place(part.id)), part.id
            continue
        for side in (Side.NEAR, Side.OFF) if part.sided else (None,):
            for position in (Position.FRONT, Position.REAR) if part.ended else (None,):
                if (body, part.id, position) == ("roadster", "screen_seal", Position.REAR):
                    continue
                (anchor,) = plan.place(part.id, side, position)
                assert anchor.exact, (part.id, side, position)
                assert anchor.key.startswith(part.id)


def test_both_gives_both_places() -> None:
    plan = draw("saloon")

    assert keys(plan, "sill", Side.BOTH) == {"sill-near", "sill-off"}
    assert keys(plan, "bumper", None, Position.BOTH) == {"bumper-front", "bumper-rear"}
    assert len(plan.place("wheel", Side.BOTH, Position.BOTH)) == 4


def test_a_side_that_nobody_spoke_of_is_left_open() -> None:
    plan = draw("saloon")

    assert keys(plan, "front_wing") == {"bodywork"}
    assert keys(plan, "headlight") == {"lights"}
    assert keys(plan, "seat") == {"interior"}
    assert keys(plan, "suspension") == {"name-underside"}
    assert not any(a.exact for part in ("front_wing", "seat", "wheel") for a in plan.place(part))


def test_what_is_known_of_one_side_or_one_end_goes_to_the_name_of_that_view() -> None:
    plan = draw("saloon")

    assert keys(plan, "wheel", Side.NEAR) == {"name-near"}
    assert keys(plan, "wheel", None, Position.FRONT) == {"name-front"}


def test_the_only_door_of_a_side_needs_no_end() -> None:
    (anchor,) = draw("coupe").place("door", Side.OFF)

    assert (anchor.key, anchor.exact) == ("door-front-off", True)


def test_the_end_of_a_bumper_on_a_side_is_where_it_wraps_round() -> None:
    plan = draw("saloon")

    (wrap,) = plan.place("bumper", Side.NEAR, Position.FRONT)
    assert (wrap.view, wrap.exact) == ("near", True)


def test_a_part_that_the_body_lacks_goes_to_what_stands_in_for_it() -> None:
    (lid,) = draw("estate").place("boot_lid")
    (hood,) = draw("saloon").place("hood")

    assert (lid.key, lid.exact) == ("tailgate", False)
    assert (hood.key, hood.exact) == ("roof", False)


def test_papers_and_the_whole_car_hang_in_the_margin() -> None:
    plan = draw("van")

    for part in PARTS:
        if part.group in {"whole", "papers"}:
            (anchor,) = plan.place(part.id)
            assert (anchor.key, anchor.view, anchor.exact) == (part.id, "tags", True)


def test_an_unknown_part_is_a_mistake_of_the_caller() -> None:
    with pytest.raises(KeyError):
        draw("saloon").place("wing_nut_tree")


def test_the_keys_of_a_part_are_all_its_pieces_in_all_views_and_no_others() -> None:
    plan = draw("saloon")

    keys = plan.keys_of("front_wing", Side.NEAR)
    shown = [plan.shape(key) for key in keys]
    assert {shape.view for shape in shown} == {"front", "near"}
    assert {(shape.part, shape.side) for shape in shown} == {("front_wing", Side.NEAR)}
    assert plan.keys_of("papers") == ("papers",)
    assert set(plan.keys_of("sill", Side.BOTH)) == {*plan.keys_of("sill", Side.NEAR), *plan.keys_of("sill", Side.OFF)}


def test_no_shape_is_given_for_a_side_that_nobody_spoke_of_or_a_part_that_is_not_there() -> None:
    plan = draw("saloon")

    assert plan.keys_of("front_wing") == ("bodywork",)
    assert plan.keys_of("hood") == ()
