"""The shapes cover each view once, on every body; shapely is the judge."""

from __future__ import annotations

import itertools

import pytest
from shapely import Polygon, STRtree, unary_union

from shutline.car.findings import Drive, Position, Side
from shutline.car.plan import Layout, Plan, draw
from shutline.car.plan.bodies import bodies

EVERY = [
    pytest.param(body, doors, drive, id=f"{body}-{doors}-{drive}")
    for body, doors, drive in itertools.product(bodies(), (2, 4), Drive)
]
NAMES = tuple(bodies())


def polygons(plan: Plan, view: str) -> dict[str, Polygon]:
    return {shape.key: Polygon(shape.outline, shape.holes) for shape in plan.shapes if shape.view == view}


@pytest.mark.parametrize(("body", "doors", "drive"), EVERY)
def test_shapes_cover_each_view_without_gap_or_overlap(body: str, doors: int, drive: Drive) -> None:
    plan = draw(body, doors=doors, drive=drive)

    for view in plan.views:
        shapes = polygons(plan, view.key)
        assert shapes
        invalid = [key for key, polygon in shapes.items() if not polygon.is_valid]
        assert not invalid, view.key
        whole = unary_union([Polygon(ring) for ring in view.outlines])
        assert len(view.outlines) == (1 if whole.geom_type == "Polygon" else len(whole.geoms))
        together = unary_union(list(shapes.values()))
        assert together.area == pytest.approx(whole.area, rel=1e-6), view.key
        assert together.symmetric_difference(whole).area < 1e-6 * whole.area, view.key
        listed = list(shapes.values())
        tree = STRtree(listed)
        for a, b in tree.query(listed, predicate="intersects").T:
            if a < b:
                assert listed[a].intersection(listed[b]).area < 1e-6 * whole.area, view.key


@pytest.mark.parametrize("body", NAMES)
def test_the_folded_strip_has_the_same_shapes_only_moved(body: str) -> None:
    long, folded = draw(body), draw(body, layout=Layout.FOLDED)

    assert folded.width < 0.6 * long.width
    assert [shape.key for shape in folded.shapes] == [shape.key for shape in long.shapes]
    for one, two in zip(long.shapes, folded.shapes, strict=True):
        assert Polygon(one.outline, one.holes).area == pytest.approx(Polygon(two.outline, two.holes).area, rel=1e-9)


@pytest.mark.parametrize("layout", Layout)
@pytest.mark.parametrize("body", NAMES)
def test_views_and_tags_keep_off_one_another_and_on_the_sheet(body: str, layout: Layout) -> None:
    plan = draw(body, layout=layout)
    faces = [unary_union([Polygon(ring) for ring in view.outlines]) for view in plan.views]
    faces += [Polygon(tag.outline) for tag in plan.tags]

    for a, b in itertools.combinations(faces, 2):
        assert a.distance(b) > 2
    left, top, right, foot = unary_union(faces).bounds
    assert left > 0
    assert top > 0
    assert right < plan.width
    assert foot < plan.height


@pytest.mark.parametrize("body", NAMES)
def test_the_strip_runs_front_near_rear_off_as_one_walks(body: str) -> None:
    plan = draw(body)

    strip = sorted((view for view in plan.views if view.band == 1), key=lambda view: view.leaf[0])
    assert [view.key for view in strip] == ["front", "near", "rear", "off"]


@pytest.mark.parametrize("body", NAMES)
def test_wheels_are_round_and_all_of_one_size(body: str) -> None:
    plan = draw(body)

    tyres = [shape for shape in plan.shapes if shape.part == "tyre" and shape.view in {"near", "off"}]
    assert len(tyres) == 4
    for tyre in tyres:
        xs, ys = [x for x, _ in tyre.outline], [y for _, y in tyre.outline]
        diameter = 2 * bodies()[body].tyre_radius
        assert max(xs) - min(xs) == pytest.approx(diameter, abs=0.05)
        assert max(ys) - min(ys) == pytest.approx(diameter, abs=0.05)


@pytest.mark.parametrize("body", NAMES)
def test_front_wheels_are_at_the_ends_where_the_fronts_meet_in_the_walk(body: str) -> None:
    plan = draw(body)

    near = {p: plan.place("tyre", Side.NEAR, p)[0].point[0] for p in (Position.FRONT, Position.REAR)}
    off = {p: plan.place("tyre", Side.OFF, p)[0].point[0] for p in (Position.FRONT, Position.REAR)}
    assert near[Position.FRONT] < near[Position.REAR] < off[Position.REAR] < off[Position.FRONT]


@pytest.mark.parametrize("body", NAMES)
def test_the_wheel_and_pedals_change_sides_with_the_drive(body: str) -> None:
    right, left = draw(body, drive=Drive.RHD), draw(body, drive=Drive.LHD)

    for part in ("steering_wheel", "pedals", "instruments"):
        middle = (right.view("dash").leaf[0] + right.view("dash").leaf[2]) / 2
        r, le = right.place(part)[0].point[0], left.place(part)[0].point[0]
        assert r > middle > le, part
    for view in ("front", "near", "rear", "off", "underside"):
        assert polygons(right, view) == polygons(left, view)


@pytest.mark.parametrize("body", NAMES)
def test_near_and_off_mirror_one_another(body: str) -> None:
    plan = draw(body)

    near, off = polygons(plan, "near"), polygons(plan, "off")
    assert len(near) == len(off)
    assert sorted(round(p.area, 1) for p in near.values()) == sorted(round(p.area, 1) for p in off.values())
    sides = {shape.side for shape in plan.shapes if shape.view == "off"}
    assert Side.NEAR not in sides


@pytest.mark.parametrize("body", NAMES)
@pytest.mark.parametrize("doors", [2, 4])
def test_there_is_a_rear_door_only_with_four(body: str, doors: int) -> None:
    plan = draw(body, doors=doors)

    rear_doors = [s for s in plan.shapes if s.part == "door" and s.position is Position.REAR]
    assert bool(rear_doors) == (doors == 4)


def test_keys_are_unique_and_the_largest_of_a_part_has_the_plain_one() -> None:
    for body in NAMES:
        plan = draw(body)
        keys = [item.key for item in (*plan.shapes, *plan.spots, *plan.tags)]
        assert len(set(keys)) == len(keys)
        assert plan.shape("bonnet").view == "over_front"
        assert plan.shape("front_wing-near").view == "near"
        assert plan.find_shape("front_wing-near-and-more") is None


def test_shapes_are_large_enough_to_see() -> None:
    for body in NAMES:
        small = {s.key: s for s in draw(body).shapes if Polygon(s.outline, s.holes).area < 5}
        assert not small, body


def test_anchors_lie_within_their_shapes() -> None:
    for body in NAMES:
        for shape in draw(body).shapes:
            x, y = shape.anchor
            speck = Polygon([(x, y), (x + 1e-6, y), (x, y + 1e-6)])
            assert Polygon(shape.outline, shape.holes).buffer(0.02).contains(speck), (body, shape.key)


def test_coordinates_are_hundredths_of_a_unit() -> None:
    for shape in draw("coupe").shapes:
        for x, y in shape.outline:
            assert (x, y) == (round(x, 2), round(y, 2))


def test_a_body_not_known_is_a_saloon_that_says_so() -> None:
    unknown, saloon = draw(None), draw("saloon")

    assert not unknown.body_known
    assert saloon.body_known
    assert unknown.shapes == saloon.shapes
