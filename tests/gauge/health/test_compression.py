"""Compression and leak-down: both rules on the worked example, what oil changes, words of the one page there is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.errors import BadInputError
from shutline.car.readings import Reading
from shutline.gauge.health import HEARD_AT, compression, leak_down, makers_compression
from shutline.gauge.health.compression import ratio_pct
from shutline.gauge.limits import Outcome, amount


def readings(*values: float, state: str = "dry", uncertainty: float = 1.0, unit: str = "psi") -> list[Reading]:
    return [
        Reading("compression", value, unit, uncertainty, "engine", spot=str(number), details={"state": state})
        for number, value in enumerate(values, 1)
    ]


# check_values.md 12: 130/130/130/100 is 76.9 %, which one maker's 75 % lets be and the common 10 % does not.
def test_the_two_rules_disagree_and_both_are_named() -> None:
    (told,) = compression(readings(130, 130, 130, 100, uncertainty=0.5))
    assert told.amount is not None
    assert told.amount.value == pytest.approx(76.9, abs=0.05)
    assert [(one.limit.id, one.outcome) for one in told.held] == [
        ("compression-75", Outcome.WITHIN),
        ("compression-90", Outcome.OUTSIDE),
    ]
    assert told.outcome is Outcome.NEAR
    assert "at least 75 % of the highest" in told.sentence
    assert "no more than 10 % between cylinders" in told.sentence
    assert "Which of them is for this car is not known." in told.sentence


# iol.co.za's example of one engine: standard 12.7 bar, least 9.8, spread at most 0.97 (check_values.md 12). As a
# maker's figure that a user enters.
def test_a_maker_s_figure_is_entered_and_told_as_such() -> None:
    maker = makers_compression("bar", least=9.8, source="the book, page 12")
    told = compression(readings(12.5, 12.6, 12.2, 9.0, unit="bar", uncertainty=0.1), maker=maker)[1]
    assert [one.outcome for one in told.held] == [Outcome.WITHIN] * 3 + [Outcome.OUTSIDE]
    assert told.outcome is Outcome.OUTSIDE
    assert "entered out of the book, page 12" in told.sentence
    # 9.8 bar is 142.14 psi (pint).
    (_, low) = compression(readings(130, 128), maker=maker)
    assert low.held[0].limit.value == pytest.approx(pint.UnitRegistry().Quantity(9.8, "bar").to("psi").magnitude)
    assert "at least 142.1 psi, the maker's figure as entered out of the book, page 12, 9.8 bar there" in low.sentence
    assert low.outcome is Outcome.OUTSIDE
    high = compression(
        readings(15, 15, unit="bar", uncertainty=0.1), maker=makers_compression("bar", least=9, most=12, source="b")
    )
    assert [one.id for one in high[1].meanings] == ["all_high"]


@pytest.mark.parametrize(
    ("dry", "wet", "meanings"),
    [
        ((130, 130, 130, 90), (132, 132, 131, 125), ["wet_rises"]),
        ((130, 130, 130, 90), (132, 132, 131, 91), ["wet_stays"]),
        ((130, 90, 90, 130), (132, 91, 91, 131), ["wet_neighbours"]),
        ((130, 130, 130, 130), (132, 132, 131, 131), []),
    ],
)
def test_what_oil_changes_is_told_in_plain_words(
    dry: tuple[float, ...], wet: tuple[float, ...], meanings: list[str]
) -> None:
    told = compression([*readings(*dry), *readings(*wet, state="wet")])[-1]
    assert [one.id for one in told.meanings] == meanings
    assert "cylinder 1: oil hardly changes it" in told.sentence
    assert all("common practice" in one.source for one in told.meanings)


def test_a_rise_within_the_tester_s_doubt_is_not_told() -> None:
    told = compression([*readings(130, 100, uncertainty=8), *readings(131, 108, state="wet", uncertainty=8)])[-1]
    assert "may lift it or not" in told.sentence
    assert not told.meanings


def test_what_was_not_measured_is_said() -> None:
    (told,) = compression(readings(130, 128), cylinders=4)
    assert "Not measured: 3, 4." in told.notes


def test_the_highest_of_several_counts() -> None:
    (told,) = compression([*readings(130, 120), *readings(131, 125), *readings(100, 100)])
    assert "1: 131, 2: 125" in told.sentence


@pytest.mark.parametrize(
    ("given_readings", "named"),
    [
        ([*readings(130, 130), *readings(9, unit="bar")], "units bar, psi"),
    ],
)
def test_what_tells_nothing_is_refused(given_readings: list[Reading], named: str) -> None:
    with pytest.raises(BadInputError, match=named):
        compression(given_readings)


@pytest.mark.parametrize("some", [[], readings(130), readings(0, 0), readings(130, 128, state="wet")])
def test_too_few_tell_nothing_and_it_is_said(some: list[Reading]) -> None:
    (told,) = compression(some)
    assert told.held == ()
    assert "they tell by each other" in told.sentence


def test_a_figure_of_no_cylinder_is_left_out() -> None:
    (told,) = compression([*readings(130, 128), Reading("compression", 60, "psi", 1, "engine")])
    assert told.amount is not None
    assert told.amount.value > 95
    assert any("Left out" in note for note in told.notes)


def test_a_ratio_to_nothing_is_refused() -> None:
    with pytest.raises(BadInputError, match="nought in every cylinder"):
        ratio_pct(amount(1, "psi"), amount(0, "psi"))


def test_a_dead_cylinder_that_oil_brings_back_is_told() -> None:
    told = compression([*readings(130, 0), *readings(131, 40, state="wet")])[-1]
    assert "cylinder 2: nothing dry, 40.0 psi" in told.sentence


def test_the_ratio_s_uncertainty_is_that_of_drawn_pairs() -> None:
    draw = np.random.default_rng(4)
    low, high = 100 + 3 * draw.standard_normal(200_000), 130 + 4 * draw.standard_normal(200_000)
    figure = ratio_pct(amount(100, "psi", 3), amount(130, "psi", 4))
    assert figure.uncertainty == pytest.approx(float((100 * low / high).std()), rel=0.02)


@given(st.lists(st.floats(10, 250), min_size=2, max_size=12), st.floats(0.01, 100))
def test_the_unit_makes_no_difference(values: list[float], factor: float) -> None:
    one = compression(readings(*values))[0].amount
    other = compression(readings(*(v * factor for v in values), uncertainty=factor, unit="other"))[0].amount
    assert one is not None
    assert other is not None
    assert other.value == pytest.approx(one.value)
    assert other.uncertainty == pytest.approx(one.uncertainty)


def leak(value: float, uncertainty: float = 0.5, spot: str = "2") -> Reading:
    return Reading("leak_down", value, "%", uncertainty, "engine", spot=spot)


# iol.co.za (check_values.md 12): 5 to 10 % top class, up to 20 % good, from 30 % bad.
@pytest.mark.parametrize(
    ("value", "words"),
    [(7, "top class"), (15, "calls good (up to"), (25, "between what it calls good"), (45, "calls bad")],
)
def test_a_leak_is_told_in_the_words_of_the_page(value: float, words: str) -> None:
    (told,) = leak_down([leak(value)])
    assert words in told.sentence
    assert told.outcome is None
    assert " or " not in told.sentence


def test_near_a_bound_both_are_told() -> None:
    assert "up to 20 %) or between" in leak_down([leak(20, 2)])[0].sentence


def test_where_it_is_heard_tells_where_it_goes() -> None:
    for place in HEARD_AT:
        (told,) = leak_down([replace(leak(40), details={"heard_at": place})])
        assert [one.id for one in told.meanings] == [f"leak_{place}"]
    with pytest.raises(BadInputError, match="heard at boot"):
        leak_down([replace(leak(40), details={"heard_at": "boot"})])
    assert "a cylinder nobody named" in leak_down([leak(40, spot="")])[0].sentence.casefold()
