"""Damp held against the driest places of the same car."""

from __future__ import annotations

import importlib.util
import sys
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest

from shutline.car.findings import Finding, Footing, FootingKind, Found, State
from shutline.car.readings import Reading
from shutline.gauge.damp import DampPlace, against, compare_damp, proposals
from shutline.gauge.damp.tables import against_rows, places, settings, words


@pytest.fixture(scope="module")
def made() -> ModuleType:
    spec = importlib.util.spec_from_file_location("made_cabins", Path(__file__).with_name("made_cabins.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["made_cabins"] = module
    spec.loader.exec_module(module)
    return module


def read(
    part: str, *values: float, spot: str = "", unit: str = "%", instrument: str = "moisture_meter"
) -> list[Reading]:
    return [Reading("moisture", value, unit, 0.9, part, spot=spot, instrument=instrument) for value in values]


def dry() -> list[Reading]:
    return [
        *read("carpet", 9, 10, spot="off front"),
        *read("carpet", 10, 11, spot="near rear"),
        *read("carpet", 8, 9, spot="off rear"),
        *read("headlining", 8, 8),
        *read("boot_floor", 11, 10),
    ]


def test_a_wet_footwell_stands_out_of_its_own_car() -> None:
    result = compare_damp([*dry(), *read("carpet", 27, 29, spot="near front")])
    (meter,) = result.meters
    assert meter.known
    assert 6 < meter.ground.low < 9.4 < meter.ground.high < 13
    told = {one.place.name: one.told for one in meter.places}
    assert told.pop("carpet, near front") == "damper"
    assert set(told.values()) == {"own"}
    wet = next(one for one in meter.places if one.told == "damper")
    assert wet.ratio.low < 28 / 9.4 < wet.ratio.high
    assert wet.sentence.startswith("Carpet, near front reads 3.0 times")
    assert "felt" in wet.notes[0]


def test_the_driest_places_are_the_ground_though_most_of_the_car_is_wet() -> None:
    wet = [
        one
        for i, spot in enumerate(("near front", "off front", "near rear", "off rear"))
        for one in read("carpet", 30 + i, 31 + i, spot=spot)
    ]
    (meter,) = compare_damp(
        [*wet, *read("boot_floor", 29, 30), *read("headlining", 9, 10), *read("dash", 10, 9)]
    ).meters
    assert 9 < meter.ground.figure < 15
    assert [one.place.part for one in meter.places if one.told == "damper"] == ["carpet"] * 4 + ["boot_floor"]


def test_meters_and_scales_are_kept_apart() -> None:
    result = compare_damp(
        [*dry(), *read("carpet", 170, 180, spot="near front", unit="rel"), *read("seat", 9, instrument="other")]
    )
    assert [(one.unit, one.known, len(one.places)) for one in result.meters] == [
        ("%", True, 5),
        ("rel", False, 1),
        ("%", False, 1),
    ]
    assert [one.told for one in result.meters[1].places] == ["alone"]
    assert "too little to hold it against" in result.meters[1].places[0].sentence


def test_a_scale_of_its_own_is_compared_all_the_same() -> None:
    scaled = [
        replace(one, value=17 * one.value, uncertainty=17 * one.uncertainty, unit="rel")
        for one in [*dry(), *read("carpet", 27, 29, spot="near front")]
    ]
    (meter,) = compare_damp(scaled).meters
    assert [one.place.words for one in meter.places if one.told == "damper"] == ["near front"]


def test_a_finding_is_proposed_unsure_and_never_stands_by_itself() -> None:
    (proposed,) = proposals(compare_damp([*dry(), *read("carpet", 27, 29, spot="near front")]))
    assert (proposed.part, proposed.condition, proposed.found, proposed.state) == (
        "carpet",
        "damp",
        Found.UNSURE,
        State.HEARD,
    )
    assert proposed.footings[0].kind is FootingKind.MEASURED
    assert not proposals(compare_damp(dry()))


def test_no_damp_and_a_wet_carpet_are_at_odds() -> None:
    said = Finding("interior", "damp", Found.NO, footings=(Footing(FootingKind.SAID, quote="no damp anywhere in it"),))
    wet = compare_damp([*dry(), *read("carpet", 27, 29, spot="near front")])
    (case,) = against([said], wet)
    assert (case.finding, case.place, case.rule) == (0, DampPlace("carpet", words="near front"), "no_damp")
    assert case.sureness > 0.8
    assert "no damp anywhere in it" in case.sentence
    assert not against([said], compare_damp(dry()))
    assert not against([replace(said, part="headlining")], wet)
    assert not against([replace(said, found=Found.UNSURE)], wet)


def test_one_wrong_reading_is_not_told_as_damp() -> None:
    (meter,) = compare_damp([*dry(), *read("seat", 30)]).meters
    lone = next(one for one in meter.places if one.place.part == "seat")
    again = next(
        one for one in compare_damp([*dry(), *read("seat", 30, 31, 30)]).meters[0].places if one.place.part == "seat"
    )
    assert again.damper > lone.damper
    assert again.told == "damper"


def test_made_cabins_are_found_out_and_dry_ones_left_alone(made: ModuleType) -> None:
    # A small part of bench/damp_cars.py, whose counts stand in docs/damp.md.
    hits = wet = alarms = plain = 0
    for seed in range(8):
        for count in (0, 2):
            readings, times = made.make_cabin(seed, count)
            for one in compare_damp(readings).meters[0].places:
                told = one.told == "damper"
                if times[one.place] >= 2:
                    wet += 1
                    hits += told
                elif times[one.place] == 1:
                    plain += 1
                    alarms += told
    assert wet >= 8
    assert plain > 80
    # Four in five over the whole bench; these are few.
    assert hits >= 0.6 * wet
    assert alarms <= 0.05 * plain


def test_no_readings_and_nought_are_no_trouble() -> None:
    assert compare_damp([]).meters == ()
    (meter,) = compare_damp([*dry(), *read("dash", 0, 0)]).meters
    assert next(one for one in meter.places if one.place.part == "dash").told in {"own", "unclear"}
    assert settings().relative.ground != settings().usual.ground
    assert places()["carpet"].note
    assert against_rows()
    assert words()["cautions"]["electric"]
