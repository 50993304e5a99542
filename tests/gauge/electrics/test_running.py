"""Cranking, charging, what drains a car, and insulation with its caution."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.errors import BadInputError
from shutline.car.readings import Reading
from shutline.gauge.electrics import (
    Current,
    System,
    charging,
    cranking,
    days_until,
    drain,
    insulation,
    makers_charging,
)
from shutline.gauge.electrics.running import least_cranking_v
from shutline.gauge.limits import Outcome, amount

PUBLISHED = Path(__file__).resolve().parents[2] / "published" / "battery_load_test.csv"


def volts(quantity: str, value: float, uncertainty: float = 0.03, **details: float | str) -> Reading:
    return Reading(quantity, value, "V", uncertainty, "battery", details=details)


def test_the_least_volts_are_those_of_the_makers_table() -> None:
    with PUBLISHED.open(encoding="utf-8", newline="") as table:
        rows = list(csv.DictReader(table))
    assert len(rows) == 8
    for row in rows:
        assert least_cranking_v(float(row["temperature_c"])) == float(row["volts"])
    assert least_cranking_v(35) == least_cranking_v(None) == 9.6


@pytest.mark.parametrize(
    ("value", "details", "outcome"),
    [
        (10.2, {}, Outcome.WITHIN),
        (9.0, {}, Outcome.OUTSIDE),
        (9.6, {}, Outcome.NEAR),
        (9.0, {"temperature_c": -10}, Outcome.WITHIN),
        (5.1, {"system": "6 V"}, Outcome.WITHIN),
        (4.2, {"system": "6 V"}, Outcome.OUTSIDE),
    ],
)
def test_cranking_goes_by_temperature_and_system(
    value: float, details: dict[str, float | str], outcome: Outcome
) -> None:
    told = cranking(volts("cranking_voltage", value, **details))
    assert told.outcome is outcome
    assert told.held[0].limit.standing == "common practice"
    assert [one.id for one in told.meanings] == (["cranking_low"] if outcome is Outcome.OUTSIDE else [])


def test_a_figure_of_6_v_or_a_flat_12_is_asked_about() -> None:
    for told in (cranking(volts("cranking_voltage", 5.0)), charging(volts("charging_voltage", 7.1))):
        assert told.held == ()
        assert "say which the car has" in told.sentence


def test_the_drop_from_rest_is_told() -> None:
    told = cranking(volts("cranking_voltage", 10.2), rest=amount(12.5, "V", 0.04))
    assert told.sentence.startswith("It drops by 2.3 V (2.2 to 2.4) from rest.")


@pytest.mark.parametrize(
    ("value", "outcome", "meaning"),
    [
        (14.1, Outcome.WITHIN, []),
        (13.82, Outcome.NEAR, []),
        (13.0, Outcome.OUTSIDE, ["charging_low"]),
        (15.5, Outcome.OUTSIDE, ["charging_high"]),
    ],
)
def test_an_alternator_is_held_against_what_is_common(value: float, outcome: Outcome, meaning: list[str]) -> None:
    told = charging(volts("charging_voltage", value, source="alternator", rpm=2000))
    assert told.outcome is outcome
    assert [one.id for one in told.meanings] == meaning
    assert told.held[0].limit.source == "from memory"


def test_six_volts_are_half_of_it_and_said_to_be() -> None:
    told = charging(volts("charging_voltage", 7.05, source="alternator", rpm=2000), system=System.SIX)
    assert told.outcome is Outcome.WITHIN
    assert "half of this on 6 V (from memory)" in told.sentence


def test_a_dynamo_has_no_figure_here() -> None:
    reading = volts("charging_voltage", 13.2, source="dynamo", rpm=900)
    told = charging(reading, rest=amount(12.4, "V", 0.03))
    assert told.outcome is Outcome.LOOK_UP
    assert "it charges" in told.sentence
    assert any("at idle" in note for note in told.notes)
    maker = makers_charging(least_v=14.0, most_v=15.0, source="the book, N4")
    assert charging(reading, maker=maker).outcome is Outcome.OUTSIDE


@pytest.mark.parametrize(
    ("value", "words"), [(12.1, "does not charge"), (12.41, "cannot be told"), (13.9, "it charges")]
)
def test_against_rest_it_is_told_whether_it_charges(value: float, words: str) -> None:
    assert words in charging(volts("charging_voltage", value), rest=amount(12.4, "V", 0.03)).sentence


# By hand: 40 Ah, of which 20 to 40 are left, at 50 mA: 400 to 800 hours, 16.7 to 33.3 days; half of it to half charge.
def test_days_until_flat() -> None:
    assert days_until(amount(50, "mA"), 40) == pytest.approx((400 / 24, 800 / 24))
    assert days_until(amount(50, "mA"), 40, down_to_pct=50) == pytest.approx((200 / 24, 400 / 24))
    told = drain(Reading("rest_current", 50, "mA", 0.0, "battery", details={"capacity_ah": 40}))
    assert "may no longer start after 8 to 17 days, and is flat after 17 to 33 days" in told.sentence


def test_the_charge_and_the_meter_widen_the_range() -> None:
    low, high = days_until(amount(50, "mA", 5), 40)
    assert low < 400 / 24
    assert high > 800 / 24
    low, high = days_until(amount(50, "mA"), 40, charge_pct=amount(60, "%", 10))
    assert low == pytest.approx(400 / 24 * (60 - 19.6) / 100, rel=1e-3)
    assert high == pytest.approx(800 / 24 * (60 + 19.6) / 100, rel=1e-3)


def test_nothing_that_surely_drains_gives_no_end() -> None:
    assert days_until(amount(1, "mA", 2), 40)[1] == math.inf or days_until(amount(0, "mA"), 40) == (math.inf, math.inf)
    told = drain(Reading("rest_current", 2, "mA", 5, "battery", details={"capacity_ah": 40}))
    assert "days or more" in told.sentence
    none = drain(Reading("rest_current", 0, "mA", 0, "battery", details={"capacity_ah": 40}))
    assert "no time that can be told" in none.sentence


def test_without_a_capacity_no_days_are_told() -> None:
    told = drain(Reading("rest_current", 80, "mA", 1, "battery"))
    assert "without the capacity" in told.sentence
    assert [one.outcome for one in told.held] == [Outcome.OUTSIDE, Outcome.OUTSIDE]
    with pytest.raises(BadInputError, match="capacity"):
        days_until(amount(50, "mA"), 0)


@given(st.floats(1, 5000), st.floats(0, 50), st.floats(5, 200), st.floats(0, 100))
def test_the_range_is_a_range_and_flat_comes_last(ma: float, own: float, ah: float, charge: float) -> None:
    now = amount(charge, "%", 5, floor=0, ceiling=100)
    half = days_until(amount(ma, "mA", own, floor=0), ah, charge_pct=now, down_to_pct=50)
    flat = days_until(amount(ma, "mA", own, floor=0), ah, charge_pct=now)
    assert 0 <= half[0] <= half[1]
    assert half[0] <= flat[0] <= flat[1]
    assert half[1] <= flat[1]


def insulated(megohm: float, uncertainty: float = 0.0, **details: float | str) -> Reading:
    return Reading("insulation_resistance", megohm, "Mohm", uncertainty, "motor", details=details)


# UN Regulation 100, 5.1.3: 100 ohms for each volt on direct, 500 on alternating current: on 300 V 0.03 and 0.15 Mohm.
@pytest.mark.parametrize(
    ("megohm", "current", "outcome"),
    [
        (0.0301, Current.DC, Outcome.WITHIN),
        (0.0299, Current.DC, Outcome.OUTSIDE),
        (0.1501, Current.AC, Outcome.WITHIN),
        (0.1499, Current.AC, Outcome.OUTSIDE),
        (0.08, None, Outcome.NEAR),
        (2.0, None, Outcome.WITHIN),
    ],
)
def test_insulation_against_the_regulation(megohm: float, current: Current | None, outcome: Outcome) -> None:
    assert insulation(insulated(megohm, system_v=300, test_v=500), current=current).outcome is outcome


def test_every_word_on_high_voltage_begins_with_the_caution() -> None:
    told = insulation(insulated(2.0, system_v=300))
    assert told.sentence.startswith("High voltage kills")
    assert "licensed" in told.use.decides
    assert "trained and licensed" in told.use.cautions[0]
    assert any("With which voltage it was tested was not told" in note for note in told.notes)


def test_too_little_test_voltage_is_held_against_nothing() -> None:
    told = insulation(insulated(2.0, system_v=300, test_v=100))
    assert told.held == ()
    assert "less than half of that" in told.sentence


def test_without_a_working_voltage_nothing_is_told() -> None:
    told = insulation(insulated(2.0))
    assert told.held == ()
    assert "only beside the working voltage" in told.sentence
    assert told.sentence.startswith("High voltage kills")
    assert any("more than 60 V" in note for note in insulation(insulated(2.0, system_v=48, test_v=50)).notes)
