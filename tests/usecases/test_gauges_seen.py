"""What was measured of rust, blisters, colour and size: its part in the gauges, the report and the buyer's page."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import colour as independent
import pytest

from shutline.gauge.readings import Keyed
from shutline.store import Store
from shutline.usecases.buyers_page import make_buyers_page
from shutline.usecases.gauges import GaugeSection, car_gauges
from shutline.usecases.measuring import Measure, MeasuredPlace, Picked, measure_on_car
from shutline.usecases.readings import enter_reading
from shutline.usecases.report import make_report

CAR = "blue"
WING = {"part": "front_wing", "side": "near"}
DOOR = {"part": "door", "side": "near", "position": "front"}


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "store") as opened:
        opened.create_car(CAR, title="Ostrel Pavane, blue")
        yield opened


def key(store: Store, quantity: str, value: float, **more: object) -> None:
    enter_reading(store, CAR, Keyed(quantity, value, **more), author="Ida Quill")  # type: ignore[arg-type]


def key_colour(store: Store, lab: tuple[float, float, float], **more: object) -> None:
    for quantity, value in zip(("colour_lightness", "colour_red", "colour_yellow"), lab, strict=True):
        key(store, quantity, value, instrument="spectrophotometer", **more)


def section(store: Store, id_: str) -> GaugeSection:
    (found,) = [one for one in car_gauges(store, CAR).sections if one.id == id_]
    assert found.problems == ()
    return found


@pytest.mark.parametrize(
    ("share", "d610", "iso"),
    # ASTM D610-08 (2019), Table 1: up to 0.3, 3, 33 %; ISO 4628-3:2016, Table 1: 0.5, 1 to 8, 8 to 44.7 %.
    [(0.25, "7", "Ri2"), (2.5, "5", "Ri3"), (30.0, "2", "Ri5")],
)
def test_a_share_of_rust_is_told_with_what_the_standards_call_as_much(
    store: Store, share: float, d610: str, iso: str
) -> None:
    key(store, "rusted_share", share, uncertainty=share / 100, part="sill", side="near", spot="bottom")
    (line,) = section(store, "rust").lines
    assert line.sentence.startswith("Nearside sill, bottom: ")
    assert f"ASTM D610 {d610}" in line.sentence
    assert f"ISO 4628-3 {iso}" in line.sentence
    assert any("boundary" in note or "own rule" in note for note in line.notes)
    assert "bodyshop" in section(store, "rust").use


def test_no_share_is_told_for_certain_where_the_doubt_reaches_down_to_none(store: Store) -> None:
    key(store, "rusted_share", 1.0, uncertainty=1.0, part="sill", side="near")
    assert "no rust is told for certain" in section(store, "rust").lines[0].sentence


def test_blisters_of_one_rating_are_told_together_and_others_apart(store: Store) -> None:
    for density, size in ((3, 4), (0, 0)):
        rating = Picked(Measure.BLISTERS, density=density, size=size)
        measure_on_car(store, CAR, "", rating, keep=MeasuredPlace(**DOOR), author="Ida Quill")
    key(store, "blister_density", 5, **WING)
    key(store, "blister_density", 1, part="bonnet")
    key(store, "blister_size", 3.5, part="bonnet")
    told = [line.sentence for line in section(store, "rust").lines]
    assert told == [
        "Nearside front door: blisters 3(S4), density and size, by eye.",
        "Nearside front door: no blisters were seen.",
        "Nearside front wing: blister density 5; the size was not told.",
        "Bonnet: blisters of density 1 and size 3.5, which the drawn scale has no picture of.",
    ]


def test_keyed_colours_of_panels_that_meet_are_held_against_each_other(store: Store) -> None:
    """Against colour-science's CIEDE2000."""
    wing, door = (45.0, 12.0, -3.0), (46.5, 12.5, -3.5)
    key_colour(store, wing, **WING)
    key_colour(store, door, **DOOR)
    # Panels that do not meet, or lie on the other side, are left alone.
    key_colour(store, (30.0, 1.0, 1.0), part="boot_lid")
    key_colour(store, (30.0, 1.0, 1.0), part="door", side="off", position="front")
    lines = section(store, "colour").lines
    between = [line.sentence for line in lines if "CIEDE2000" in line.sentence]
    true = float(independent.delta_E(wing, door, method="CIE 2000"))
    assert len(between) == 1
    assert f"CIEDE2000 {true:.1f}" in between[0]
    assert between[0].startswith("The nearside front door differs from the nearside front wing, lighter")
    assert len(lines) == 5


def test_one_colour_is_no_more_apart_than_the_instrument_tells_and_two_instruments_are_not_compared(
    store: Store,
) -> None:
    key_colour(store, (45.0, 12.0, -3.0), **WING)
    key_colour(store, (45.0, 12.0, -3.02), **DOOR)
    (same,) = [line.sentence for line in section(store, "colour").lines if "CIEDE2000" in line.sentence]
    assert "by no more than what the instrument can tell" in same
    key(store, "colour_lightness", 46.0, part="door", side="near", position="rear", instrument="another one")
    lines = [line.sentence for line in section(store, "colour").lines]
    assert len([line for line in lines if "CIEDE2000" in line]) == 1
    assert "Nearside rear door: L* 46.0 (45.9 to 46.1); a* and b* not told." in lines


def test_spots_of_a_panel_that_differ_widen_what_is_told_of_it(store: Store) -> None:
    key_colour(store, (45.0, 12.0, -3.0), **WING)
    for light in (45.5, 46.5, 47.5):
        key_colour(
            store, (light, 12.0, -3.0), spot="bottom" if light > 47 else "top" if light > 46 else "middle", **DOOR
        )
    lines = [line.sentence for line in section(store, "colour").lines]
    assert any("mean of 3 spots" in line for line in lines)
    (between,) = [line for line in lines if "CIEDE2000" in line]
    low, high = (float(word) for word in between.partition("(")[2].split(",")[0].split(" to "))
    assert high - low > 1


def test_sizes_and_a_difference_are_told_with_their_interval(store: Store) -> None:
    key(store, "length", 4.5, unit="cm", uncertainty=0.05, **WING)
    key(store, "area", 12.0, uncertainty=0.5, **WING)
    key(store, "colour_difference", 0.2, uncertainty=0.2, **DOOR)
    sizes = [line.sentence for line in section(store, "size").lines]
    assert sizes == [
        "Nearside front wing: length 45.0 mm (44.0 to 46.0).",
        "Nearside front wing: area 12.0 cm² (11.0 to 13.0).",
    ]
    assert "no more than what was measured may be off" in section(store, "colour").lines[0].sentence


def test_the_report_and_the_buyers_page_tell_them_all(store: Store, tmp_path: Path) -> None:
    key(store, "rusted_share", 12.0, uncertainty=1.0, part="sill", side="near")
    key(store, "length", 45.0, uncertainty=0.5, **WING)
    key(store, "colour_difference", 2.0, uncertainty=0.2, **DOOR)
    make_report(store, CAR, out=tmp_path / "out", only=["html"])
    make_buyers_page(store, CAR, out=tmp_path / "page")
    page = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    page_of_the_buyer = (tmp_path / "page" / "index.html").read_text(encoding="utf-8")
    for words in ("ASTM D610 3", "length 45.0 mm", "CIEDE2000 2.0 (1.6 to 2.4)", "Rust and blisters"):
        assert words in page, words
        assert words in page_of_the_buyer, words
