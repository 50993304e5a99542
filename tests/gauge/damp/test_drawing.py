"""Damp on the Plan: what is drawn where, and what is not."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import pytest

from shutline.car.plan import draw
from shutline.gauge.damp import DampResult, compare_damp, damp_svg
from shutline.gauge.damp.drawing import _point
from shutline.gauge.readings import Keyed, reading_of

PLAN = draw(None)
DRY = [
    ("carpet", 9, {"spot": "off front"}),
    ("carpet", 11, {"spot": "near rear"}),
    ("seat", 9, {"side": "near", "position": "front"}),
    ("headlining", 8, {}),
    ("dash", 9, {}),
]
WET = ("carpet", 30, {"spot": "near front"})


def compared(*places: tuple[str, float, dict[str, str]], instrument: str = "moisture meter") -> DampResult:
    readings = [
        reading_of(Keyed("moisture", value, part=part, instrument=instrument, **where)) for part, value, where in places
    ]
    return compare_damp(readings)


def svg(result: DampResult) -> str:
    return damp_svg(PLAN, result, title="Damp")


def parsed(drawn: str) -> ET.Element:
    return ET.fromstring(drawn)  # noqa: S314


def words(drawn: str) -> list[str]:
    return [one.text or "" for one in parsed(drawn).iter("{http://www.w3.org/2000/svg}text")]


def test_each_place_has_its_figure_and_how_many_times_the_driest_that_is() -> None:
    result = compared(*DRY, WET)
    told = words(svg(result))
    for one in result.meters[0].places:
        assert f"{one.mean:.0f}" in told
        assert f"\u00d7{one.ratio.figure:.1f}" in told
    assert any("times this car's driest places" in one for one in told)
    assert "not read" in told


def test_what_is_drawn_is_told_in_words_too() -> None:
    result = compared(*DRY, WET)
    root = parsed(svg(result))
    assert root.get("role") == "img"
    (title, desc) = (root.find(f"{{http://www.w3.org/2000/svg}}{name}") for name in ("title", "desc"))
    assert title is not None
    assert desc is not None
    assert title.text == "Damp"
    for one in result.meters[0].places:
        assert one.sentence in (desc.text or "")


def test_a_wet_spot_shades_a_piece_of_its_part_and_a_part_read_as_a_whole_is_shaded_whole() -> None:
    drawn = svg(compared(*DRY, WET))
    pieces = re.findall(r'<circle clip-path="[^"]+" cx="[^"]+" cy="[^"]+" r="18" fill="url\(#damp-grain_(\d)\)"', drawn)
    assert sorted(pieces) == ["1", "1", "5"]
    assert re.search(r'id="damp-carpet"[^>]*fill="url', drawn) is None
    assert re.search(r'id="damp-headlining"[^>]*fill="url\(#damp-grain_1\)"', drawn)


@pytest.mark.parametrize("spot", ["near front", "off front", "near rear", "off rear"])
def test_a_spot_lies_on_its_own_quarter(spot: str) -> None:
    shape = PLAN.shape("carpet")
    point = _point(shape, spot.split())
    assert point is not None
    xs, ys = zip(*shape.outline, strict=True)
    # Inside view: nose to the left, nearside below.
    assert (point[0] < (min(xs) + max(xs)) / 2) == ("front" in spot)
    assert (point[1] > (min(ys) + max(ys)) / 2) == ("near" in spot)


def test_figures_lie_over_no_other() -> None:
    drawn = svg(compared(*DRY, WET, ("floor", 12, {"side": "near"}), ("boot_floor", 14, {})))
    boxes = [
        tuple(map(float, box))
        for box in re.findall(r'<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)" rx="2"', drawn)
    ]
    assert len(boxes) == 8
    for at, (x, y, wide, high) in enumerate(boxes):
        for left, top, width, height in boxes[:at]:
            assert x >= left + width or left >= x + wide or y >= top + height or top >= y + high


def test_too_few_places_have_figures_and_no_grain() -> None:
    drawn = svg(compared(WET, DRY[0]))
    assert "too few places" in drawn
    assert "url(#damp-grain" not in drawn
    assert "30" in words(drawn)


def test_one_meter_alone_is_drawn_and_the_other_is_said_not_to_be() -> None:
    one, other = compared(*DRY, WET), compared(("seat", 77, {"side": "off", "position": "front"}), instrument="other")
    both = DampResult((*other.meters, *one.meters), one.good_for, one.decides, one.cautions, one.note)
    told = words(svg(both))
    assert "77" not in told
    assert any("another meter is not drawn" in word for word in told)


def test_nothing_is_drawn_of_places_that_the_plan_does_not_have() -> None:
    assert svg(compared(("interior", 20, {}))) == ""
    assert svg(compare_damp([])) == ""
