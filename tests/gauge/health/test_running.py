"""Oil pressure and coolant: the maker's figures are the user's, and none is shipped."""

from __future__ import annotations

import numpy as np
import pytest

from shutline.car.errors import BadInputError, UserError
from shutline.car.readings import Reading
from shutline.gauge.health import makers_coolant, makers_oil, oil_pressure, warming
from shutline.gauge.health.cooling import slope_per_minute
from shutline.gauge.health.rules import limits
from shutline.gauge.limits import Outcome, amount, makers_limit, read_limits


def oil(value: float, state: str = "hot", rpm: float | None = 3000, uncertainty: float = 1.0) -> Reading:
    details: dict[str, float | str] = {"state": state} if state else {}
    if rpm is not None:
        details["rpm"] = rpm
    return Reading("oil_pressure", value, "psi", uncertainty, "oil_pressure", details=details)


def test_no_maker_s_figure_is_shipped() -> None:
    assert not [one for one in limits() if "oil" in one.of or "coolant" in one.of or one.of == "compression"]
    head = "id,of,case,from,before,sense,value,upper,unit,standing,rule,decides,source,seen\n"
    row = "a,oil,,,,at least,40,,psi,maker's figure,at least 40,a mechanic,a book,2026-11\n"
    with pytest.raises(UserError, match="entered by the user"):
        read_limits(head + row, name="limits.csv")


def test_without_one_the_figure_alone_is_told() -> None:
    (told,) = oil_pressure([oil(60)])
    assert told.outcome is None
    assert "No maker's figure for that was entered" in told.sentence


@pytest.mark.parametrize(("value", "outcome"), [(60, Outcome.WITHIN), (41, Outcome.NEAR), (25, Outcome.OUTSIDE)])
def test_it_is_held_against_the_maker_s_figure(value: float, outcome: Outcome) -> None:
    maker = makers_oil("psi", least=40, rpm=3000, source="workshop manual, section A")
    (told,) = oil_pressure([oil(value)], makers=[maker])
    assert told.outcome is outcome
    assert "workshop manual, section A" in told.sentence
    assert [one.id for one in told.meanings] == (["oil_low"] if outcome is Outcome.OUTSIDE else [])


def test_too_much_pressure_is_told_too() -> None:
    maker = makers_oil("psi", least=40, most=70, rpm=3000, source="the book")
    assert [one.id for one in oil_pressure([oil(90)], makers=[maker])[0].meanings] == ["oil_high"]


@pytest.mark.parametrize("reading", [oil(60, "cold"), oil(60, rpm=900), oil(60, rpm=None), oil(60, "")])
def test_another_state_or_speed_is_not_held(reading: Reading) -> None:
    maker = makers_oil("psi", least=40, rpm=3000, source="the book")
    (told,) = oil_pressure([reading], makers=[maker])
    assert told.held == ()


def test_more_hot_than_cold_is_pointed_at() -> None:
    told = oil_pressure([oil(70, "hot"), oil(50, "cold")])
    assert all([one.id for one in each.meanings] == ["oil_hotter_higher"] for each in told)
    assert not oil_pressure([oil(51, "hot"), oil(50, "cold")])[0].meanings
    assert not oil_pressure([oil(70, "hot", 3000), oil(20, "cold", 900)])[0].meanings


@pytest.mark.parametrize(
    ("least", "most", "source"),
    [(None, None, "a"), (5, 5, "a"), (5, 4, "a"), (5, None, " "), (float("nan"), None, "a")],
)
def test_a_maker_s_figure_has_a_bound_and_a_source(least: float | None, most: float | None, source: str) -> None:
    with pytest.raises(BadInputError, match="where it was read"):
        makers_limit("oil", "psi", least=least, most=most, source=source)


def coolant(*points: tuple[float, float], uncertainty: float = 1.0) -> list[Reading]:
    return [
        Reading("coolant_temperature", value, "degC", uncertainty, "cooling", details={"minutes": minutes})
        for minutes, value in points
    ]


SETTLED = coolant((0, 15), (5, 60), (10, 84), (15, 85), (20, 86), (25, 85))
RISING = coolant((0, 15), (5, 60), (10, 84), (15, 92), (20, 100), (25, 108))


def test_where_it_settled_and_whether_it_still_rises() -> None:
    assert "not surely rising any more" in warming(SETTLED).sentence
    told = warming(RISING)
    assert "still rising by" in told.sentence
    assert [one.id for one in told.meanings] == ["cool_rising"]
    assert told.use.cautions[0].startswith("Hot coolant")


@pytest.mark.parametrize(
    ("readings", "outcome", "meanings"),
    [
        (SETTLED, Outcome.WITHIN, []),
        (RISING, Outcome.OUTSIDE, ["cool_rising", "cool_high"]),
        (coolant((5, 40), (15, 60), (20, 61), (25, 60)), Outcome.OUTSIDE, ["cool_low"]),
        (coolant((5, 30), (6, 35), (7, 40), (8, 45)), Outcome.OUTSIDE, ["cool_rising"]),
    ],
)
def test_it_is_held_against_what_the_user_entered(
    readings: list[Reading], outcome: Outcome, meanings: list[str]
) -> None:
    told = warming(readings, maker=makers_coolant(least_c=78, most_c=95, source="stamp of the thermostat, 82"))
    assert told.outcome is outcome
    assert [one.id for one in told.meanings] == meanings


def test_too_few_readings_tell_no_slope() -> None:
    assert "from so few" in warming(SETTLED[:2]).sentence
    assert slope_per_minute([(1.0, amount(50, "degC", 1))] * 4) is None


def test_without_minutes_the_figure_alone_is_told() -> None:
    told = warming([Reading("coolant_temperature", 88, "degC", 1, "cooling")])
    assert told.sentence.startswith("Coolant 88 °C (86 to 90); whether it had settled cannot be told")
    assert any("after how many minutes" in note for note in told.notes)


@pytest.mark.parametrize("readings", [[], [Reading("coolant_temperature", 180, "degF", 1, "cooling")]])
def test_nothing_and_fahrenheit_are_refused(readings: list[Reading]) -> None:
    with pytest.raises(BadInputError, match="coolant temperature"):
        warming(readings)


# Against numpy's own least squares, and its spread over 20,000 drawn sets.
def test_the_slope_is_that_of_least_squares() -> None:
    at, true = np.array([10.0, 15.0, 20.0, 25.0]), np.array([84.0, 88.0, 91.0, 93.0])
    own = np.array([1.0, 2.0, 1.0, 1.5])
    figure = slope_per_minute([(t, amount(v, "degC", u)) for t, v, u in zip(at, true, own, strict=True)])
    assert figure is not None
    assert figure.value == pytest.approx(float(np.polyfit(at, true, 1)[0]))
    drawn = true + own * np.random.default_rng(6).standard_normal((20_000, 4))
    slopes = np.polyfit(at, drawn.T, 1)[0]
    assert figure.uncertainty == pytest.approx(float(slopes.std()), rel=0.03)
