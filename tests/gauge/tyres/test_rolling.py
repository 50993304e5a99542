"""Diameters, rolling circumferences and speedometers, held to worked sizes that others print (check_values.md 10)."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.errors import BadInputError
from shutline.gauge.limits import amount
from shutline.gauge.tyres.markings import marking
from shutline.gauge.tyres.rolling import (
    rolling_circumference,
    size_of,
    speed_ratio,
    speedometer_effect,
    timed_mile_mph,
)


# mvwautotechniek.nl works 205/55 R16 out: side 112.75, diameter 631.9 mm. To the tenth that it prints.
def test_a_worked_size() -> None:
    size = size_of(marking("205/55 R16 91V"))
    assert size.side_mm.value == pytest.approx(112.75, abs=0.005)
    assert size.diameter_mm.value == pytest.approx(631.9, abs=0.05)
    assert math.pi * size.diameter_mm.value == pytest.approx(1985.2, abs=0.05)
    assert size.circumference_mm.value == pytest.approx(1927, abs=0.5)


# team.net prints 25.311 in for 215/55R16; to the thousandth of an inch.
def test_another_worked_size() -> None:
    assert size_of(marking("215/55R16")).diameter_mm.value / 25.4 == pytest.approx(25.311, abs=0.0005)


# Recomputed for check_values.md: 145/80 R10, 486.0 mm.
def test_a_small_size() -> None:
    assert size_of(marking("145/80 R10 69S")).diameter_mm.value == pytest.approx(486.0, abs=0.05)


# diracdelta.co.uk quotes 1,854 mm for 245/35 R17; the figure is good to 1 %, as is stated.
def test_a_quoted_rolling_circumference_lies_within_one_per_cent() -> None:
    size = size_of(marking("245/35 R17"))
    assert size.circumference_mm.value == pytest.approx(1854, rel=0.01)
    assert size.circumference_mm.low < 1854 < size.circumference_mm.high


def test_a_size_without_a_ratio_lies_between_those_of_the_sources_and_says_which() -> None:
    size = size_of(marking("165 R 15"))
    assert size.diameter_mm.low == pytest.approx(381 + 2 * 165 * 0.80)
    assert size.diameter_mm.high == pytest.approx(381 + 2 * 165 * 0.82)
    assert "82 % (the MOT inspection manual (5.2.3))" in size.assumed
    assert "80 %" in rolling_circumference(marking("165 R 15")).sentence


def test_no_diameter_is_made_up_for_an_inch_size() -> None:
    with pytest.raises(BadInputError, match="tells no height"):
        size_of(marking("5.20-10"))
    size = size_of(marking("5.20-10"), measured_diameter=amount(508.0, "mm", 2.0))
    assert size.circumference_mm.value == pytest.approx(2.99 * 508)
    with pytest.raises(BadInputError, match="millimetres"):
        size_of(marking("5.20-10"), measured_diameter=amount(20.0, "in"))


def test_another_size_turns_speed_and_miles() -> None:
    told = speedometer_effect(marking("155/80 R13"), marking("175/70 R13"), shown_mph=60)
    assert told.amount is not None
    assert told.amount.value == pytest.approx(60 * (330.2 + 245) / (330.2 + 248))
    assert "look it up" in told.sentence
    assert told.amount.low < 60 < told.amount.high
    taller = speedometer_effect(marking("155/80 R13"), marking("185/80 R14"))
    assert taller.amount is not None
    assert taller.amount.low > 60
    assert "more than that" in taller.sentence


def test_an_inch_size_on_either_side_has_to_be_measured() -> None:
    for meant, fitted in (("5.20-10", "145/80 R10"), ("145/80 R10", "5.20-10")):
        told = speedometer_effect(marking(meant), marking(fitted))
        assert told.amount is None
        assert "5.20-10 tells no height" in told.sentence
    measured = speedometer_effect(marking("145/80 R10"), marking("5.20-10"), fitted_diameter=amount(508.0, "mm", 2.0))
    assert measured.amount is not None


# The law of propagation against drawing both circumferences evenly within their 1 %, 200,000 times: within 1 %.
def test_the_uncertainty_of_the_ratio_is_that_of_drawn_circumferences() -> None:
    meant, fitted = size_of(marking("155/80 R13")), size_of(marking("185/80 R14"))
    draw = np.random.default_rng(5)
    turns = [one.circumference_mm.value * draw.uniform(0.99, 1.01, 200_000) for one in (meant, fitted)]
    assert speed_ratio(meant, fitted).uncertainty == pytest.approx(float((turns[1] / turns[0]).std()), rel=0.01)


# discountpartcenter.com: 60 s over a mile is 60 mph, and mph = 3600 / t.
@pytest.mark.parametrize(("seconds", "mph"), [(60, 60), (72, 50), (90, 40)])
def test_a_timed_mile(seconds: float, mph: float) -> None:
    assert timed_mile_mph(seconds) == pytest.approx(mph)


@pytest.mark.parametrize("seconds", [0.0, -1.0, float("nan")])
def test_no_time_is_no_speed(seconds: float) -> None:
    with pytest.raises(BadInputError, match="above nought"):
        timed_mile_mph(seconds)
    with pytest.raises(BadInputError, match="above nought"):
        speedometer_effect(marking("155/80 R13"), marking("155/80 R13"), shown_mph=seconds)


@given(st.sampled_from(range(125, 305, 10)), st.integers(35, 85), st.integers(10, 20))
def test_a_size_on_itself_changes_nothing(width: int, ratio: int, rim: int) -> None:
    read = marking(f"{width}/{ratio} R{rim}")
    ratio_of = speed_ratio(size_of(read), size_of(read))
    assert ratio_of.value == 1
    assert ratio_of.low < 1 < ratio_of.high
