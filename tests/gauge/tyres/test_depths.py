"""Tread against regulation 27, tyres that may not run together, and what they carry."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.errors import BadInputError
from shutline.car.findings import Position, Side
from shutline.car.readings import Reading
from shutline.gauge.limits import FirstUse, Outcome, amount
from shutline.gauge.tyres import axle_load, carried_kg, marking, tread, tread_points, treads, tyres_together
from shutline.gauge.tyres.together import Wheel

OLD, LATER = FirstUse.of("1932"), FirstUse.of("1968-03")


def reading(value: float, spot: str = "", uncertainty: float = 0.06, unit: str = "mm") -> Reading:
    return Reading("tread_depth", value, unit, uncertainty, "tyre", Side.NEAR, Position.FRONT, spot)


def across(*depths: float, uncertainty: float = 0.06) -> list[Reading]:
    return [reading(one, spot, uncertainty) for one, spot in zip(depths, ("inner", "centre", "outer"), strict=True)]


# C&U regulation 27(4)(d) to (f) and 27(5), as quoted in check_values.md 7: 1.6 mm; before 3 January 1933 1.0 mm.
@pytest.mark.parametrize(
    ("depths", "first_used", "outcome"),
    [
        ((2.0, 2.5, 2.0), LATER, Outcome.WITHIN),
        ((1.65, 2.5, 2.0), LATER, Outcome.NEAR),
        ((1.55, 2.5, 2.0), LATER, Outcome.NEAR),
        ((1.4, 2.5, 2.0), LATER, Outcome.OUTSIDE),
        ((1.4, 1.4, 1.4), OLD, Outcome.WITHIN),
        ((0.8, 1.4, 1.4), OLD, Outcome.OUTSIDE),
        ((1.4, 1.4, 1.4), None, Outcome.NEAR),
        ((0.5, 1.4, 1.4), None, Outcome.OUTSIDE),
        ((5.0, 5.0, 5.0), None, Outcome.WITHIN),
    ],
)
def test_tread_against_the_rule(
    depths: tuple[float, float, float], first_used: FirstUse | None, outcome: Outcome
) -> None:
    assert tread(tread_points(across(*depths)), first_used=first_used).outcome is outcome


@pytest.mark.parametrize(
    ("day", "rule"),
    [("1933-01-03", ["tread-1.6"]), ("1933-01-02", ["tread-1.0"]), ("1933", ["tread-1.6", "tread-1.0"])],
)
def test_the_rule_goes_by_first_use(day: str, rule: list[str]) -> None:
    told = tread(tread_points(across(1.3, 1.3, 1.3)), first_used=FirstUse.of(day))
    assert [one.limit.id for one in told.held] == rule


def test_without_first_use_it_says_that_the_rule_is_not_known() -> None:
    told = tread(tread_points(across(1.3, 1.3, 1.3)), first_used=None)
    assert "Which of them is for this car is not known." in told.sentence


def test_the_sentence_tells_tyre_figure_rule_and_who_decides() -> None:
    (told,) = treads(across(1.4, 2.5, 2.0), first_used=LATER)
    assert told.sentence.startswith(
        "Front nearside tyre, shallowest of 3 at the inner 1.4 mm (1.3 to 1.5), held against"
    )
    assert "central three quarters" in told.sentence
    assert told.sentence.endswith("the MOT tester decides.")
    assert told.held[0].limit.seen == "2026-11-26"
    assert "regulation 27(4)(d)" in told.held[0].limit.source


def test_points_at_an_edge_do_not_count() -> None:
    told = tread(tread_points([*across(3, 3, 3), reading(0.5, "outer edge")]), first_used=LATER)
    assert told.outcome is Outcome.WITHIN
    assert any("left out" in note for note in told.notes)
    with pytest.raises(BadInputError, match="central three quarters"):
        tread(tread_points([reading(3, "edge")]), first_used=LATER)


def test_what_was_not_measured_is_said() -> None:
    told = tread(tread_points([reading(3, "centre")]), first_used=LATER)
    assert "Not measured at: inner, outer." in told.notes


def test_another_unit_is_refused() -> None:
    with pytest.raises(BadInputError, match="32in"):
        tread_points([reading(5, unit="32in")])


# Drawn: points of a true depth, read with the gauge's error, half of it common to all. Where all true depths meet the
# rule, 'outside' may come out in at most 2.5 of a hundred; where one does not, 'within' in no more.
@pytest.mark.parametrize("common", [0.0, 0.7, 1.0])
def test_what_is_told_is_wrong_no_more_often_than_stated(common: float) -> None:
    draw = np.random.default_rng(11)
    false_outside = false_within = 0
    tries = 2000
    for _ in range(tries):
        for truth, wrong in (((1.6, 1.6, 1.6), Outcome.OUTSIDE), ((1.599, 1.7, 1.7), Outcome.WITHIN)):
            errors = 0.1 * (common * draw.standard_normal() + (1 - common**2) ** 0.5 * draw.standard_normal(3))
            read = across(*(np.maximum(0, np.array(truth) + errors)).tolist(), uncertainty=0.1)
            got = tread(tread_points(read), first_used=LATER).outcome
            false_outside += got is wrong is Outcome.OUTSIDE
            false_within += got is wrong is Outcome.WITHIN
    assert false_within / tries < 0.025 + 3 * (0.025 * 0.975 / tries) ** 0.5
    assert false_outside / tries < 0.025 + 3 * (0.025 * 0.975 / tries) ** 0.5


@pytest.mark.parametrize(
    ("depths", "meaning"),
    [
        ((2.0, 4.0, 4.0), "inner_low"),
        ((4.0, 4.0, 2.0), "outer_low"),
        ((4.0, 2.5, 4.0), "centre_low"),
        ((2.5, 4.0, 2.5), "shoulders_low"),
        ((4.0, 3.6, 4.0), None),
    ],
)
def test_uneven_wear_is_told_beyond_the_readings_own_doubt(
    depths: tuple[float, float, float], meaning: str | None
) -> None:
    told = tread(tread_points(across(*depths)), first_used=LATER)
    assert [one.id for one in told.meanings] == ([meaning] if meaning else [])
    assert all(one.source == "common practice, no source" for one in told.meanings)
    assert not tread(tread_points(across(*depths, uncertainty=2.0)), first_used=LATER).meanings


@given(st.lists(st.floats(0, 12), min_size=1, max_size=9), st.floats(0.01, 1))
def test_the_shallowest_point_decides(depths: list[float], uncertainty: float) -> None:
    told = tread(tread_points([reading(one, "", uncertainty) for one in depths]), first_used=LATER)
    assert told.amount is not None
    assert told.amount.value == min(depths)
    deeper = tread(tread_points([reading(one + 1, "", uncertainty) for one in depths]), first_used=LATER)
    assert (told.held[0].probability or 0) <= (deeper.held[0].probability or 0) + 1e-9


FOUR: list[Wheel] = [(end, side) for end in (Position.FRONT, Position.REAR) for side in (Side.NEAR, Side.OFF)]


def car(*texts: str) -> dict[Wheel, object]:
    return {wheel: marking(text) for wheel, text in zip(FOUR, texts, strict=True)}


# MOT inspection manual 5.2.3 and 4.1 of an older one, as pages quote them: no mix on an axle, no radial in front with
# cross-ply behind. The other way round is no such mix.
@pytest.mark.parametrize(
    ("texts", "outcomes"),
    [
        (("165 R13",) * 4, [Outcome.WITHIN] * 3),
        (("5.60-13",) * 4, [Outcome.WITHIN] * 3),
        (("165 R13", "165 R13", "5.60-13", "5.60-13"), [Outcome.WITHIN, Outcome.WITHIN, Outcome.OUTSIDE]),
        (("5.60-13", "5.60-13", "165 R13", "165 R13"), [Outcome.WITHIN, Outcome.WITHIN, Outcome.WITHIN]),
        (("165 R13", "165 R13", "165 R13", "165-13"), [Outcome.WITHIN, Outcome.OUTSIDE, Outcome.OUTSIDE]),
    ],
)
def test_constructions_that_may_not_run_together(texts: tuple[str, ...], outcomes: list[Outcome]) -> None:
    told = tyres_together(car(*texts))
    assert [one.held[0].outcome for one in told] == outcomes


def test_a_size_without_a_ratio_may_run_with_eighty() -> None:
    told = tyres_together(car("165 R13", "165/80 R13", "165 R13", "165 R13"))[0]
    assert told.outcome is Outcome.WITHIN
    assert any("80 %" in note for note in told.notes)
    unlike = tyres_together(car("165 R13", "175/70 R13", "165 R13", "165 R13"))[0]
    assert [one.outcome for one in unlike.held] == [Outcome.WITHIN, Outcome.LOOK_UP]


def test_bias_belted_with_another_is_to_be_looked_up() -> None:
    told = tyres_together(car("175/75 B14", "175/75 B14", "175/75 R14", "175/75 R14"))
    assert Outcome.LOOK_UP in {one.outcome for one in told[-1].held}


def test_a_tyre_nobody_looked_at_leaves_it_open() -> None:
    told = tyres_together({FOUR[0]: marking("165 R13")})
    assert [one.outcome for one in told] == [Outcome.NEAR]
    both = tyres_together({(Position.FRONT, Side.BOTH): marking("165 R13"), FOUR[2]: marking("5.60-13")})
    assert [one.held[0].outcome for one in both] == [Outcome.WITHIN, Outcome.NEAR, Outcome.OUTSIDE]
    with pytest.raises(BadInputError, match="none"):
        tyres_together({})


# A maker's page multiplies 4 x 530 to 1,120; it is 2,120 (check_values.md 10).
def test_four_tyres_of_86_carry_2120_kg() -> None:
    assert carried_kg([marking("165 R15 86H")] * 4) == 2120
    assert carried_kg([marking("165 R15 86H"), marking("165 R15")]) is None


def test_what_tyres_carry_is_held_against_the_axle() -> None:
    pair = [marking("145/80 R10 69S")] * 2
    assert axle_load(pair, amount(500, "kg", 20)).outcome is Outcome.WITHIN
    assert axle_load(pair, amount(640, "kg", 20)).outcome is Outcome.NEAR
    assert axle_load(pair, amount(800, "kg", 20)).outcome is Outcome.OUTSIDE
    with pytest.raises(BadInputError, match="load index"):
        axle_load([marking("165 R15")], amount(500, "kg"))
    with pytest.raises(BadInputError, match="none"):
        carried_kg([])
