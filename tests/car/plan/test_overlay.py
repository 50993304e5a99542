"""Regions laid over one another; shapely is the judge of areas."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, unary_union

from shutline.car.plan import overlay as module
from shutline.car.plan.curves import Ring, area, box, inner_point, oval, soft
from shutline.car.plan.overlay import Region, overlay


@st.composite
def rings(draw: st.DrawFn) -> Ring:
    x, y = draw(st.integers(0, 60)), draw(st.integers(0, 60))
    across, up = draw(st.integers(4, 40)), draw(st.integers(4, 40))
    match draw(st.integers(0, 2)):
        case 0:
            return box(x, y, x + across, y + up, draw(st.sampled_from([0, 0, 3])))
        case 1:
            return oval((x, y), across / 2, up / 2)
        case _:
            return soft(((x, y, 0), (x + across, y + 1, 2), (x + across / 3, y + up, 2)))


@settings(deadline=None, max_examples=40)
@given(st.lists(rings(), min_size=1, max_size=7))
def test_every_label_shows_just_what_no_later_region_covers(stack: list[Ring]) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "CRUMB", 0.0)
        pieces, outlines = overlay([Region(i, ring) for i, ring in enumerate(stack)])

    polygons = [Polygon(ring) for ring in stack]
    for i, polygon in enumerate(polygons):
        shown = polygon.difference(unary_union(polygons[i + 1 :])).area
        own = sum(Polygon(p.outline, p.holes).area for p in pieces if p.label == i)
        # Meeting points are brought to the grid of 1/100: each moves a line by at most 0.0071 along its length.
        assert own == pytest.approx(shown, abs=0.01 * polygon.length * len(stack) + 0.05)
    covered = unary_union([Polygon(ring) for ring in outlines]).area
    assert covered >= unary_union(polygons).area - 0.5


@settings(deadline=None, max_examples=40)
@given(st.lists(rings(), min_size=1, max_size=7))
def test_pieces_are_valid_and_never_overlap(stack: list[Ring]) -> None:
    pieces, _ = overlay([Region(i, ring) for i, ring in enumerate(stack)])

    polygons = [Polygon(piece.outline, piece.holes) for piece in pieces]
    assert all(polygon.is_valid for polygon in polygons)
    whole = unary_union(polygons).area
    assert sum(polygon.area for polygon in polygons) == pytest.approx(whole, rel=1e-9)


def test_a_ring_within_a_ring_is_a_hole_of_the_outer_one() -> None:
    pieces, outlines = overlay([Region("tyre", oval((0, 0), 30)), Region("wheel", oval((0, 0), 20))])

    tyre, wheel = pieces
    assert [len(tyre.holes), len(wheel.holes), len(outlines)] == [1, 0, 1]
    assert sorted(tyre.holes[0]) == sorted(wheel.outline)


def test_a_clip_keeps_a_region_within_it() -> None:
    pieces, _ = overlay(
        [Region("tub", box(0, 0, 50, 20)), Region("arch", oval((10, 0), 8), clip=box(0, 0, 50, 20))],
    )

    arch = next(piece for piece in pieces if piece.label == "arch")
    assert min(y for _, y in arch.outline) == 0


def test_a_crumb_goes_to_the_neighbour_it_borders_longest() -> None:
    pieces, _ = overlay(
        [Region("sill", box(0, 0, 40, 20)), Region("crumb", box(20, 10, 22, 12)), Region("door", box(22, 0, 40, 20))],
    )

    assert {piece.label for piece in pieces} == {"sill", "door"}


@given(rings())
def test_the_inner_point_lies_inside(ring: Ring) -> None:
    x, y = inner_point(ring)

    polygon = Polygon(ring)
    assert polygon.buffer(1e-6).contains(Polygon([(x, y), (x + 1e-9, y), (x, y + 1e-9)]))


def test_area_is_positive_from_the_x_axis_towards_the_y_axis() -> None:
    assert area(((0, 0), (2, 0), (2, 3), (0, 3))) == 6
    assert area(((0, 0), (0, 3), (2, 3), (2, 0))) == -6


def test_an_oval_stands_off_its_circle_by_no_more_than_a_millimetre_of_the_car() -> None:
    ring = oval((0, 0), 30)

    apothem = 30 * math.cos(math.pi / len(ring))
    assert 30 - apothem < 0.1
