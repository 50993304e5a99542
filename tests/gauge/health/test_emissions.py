"""Exhaust gas by first use, as pages that quote the inspection manual have it (check_values.md 7)."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from shutline.car.readings import Reading
from shutline.gauge.health import CarAtTest, EngineKind, emissions
from shutline.gauge.health.rules import limits, treated
from shutline.gauge.limits import FirstUse, Outcome

PUBLISHED = Path(__file__).resolve().parents[2] / "published" / "mot_emissions.csv"
UNITS = {"carbon_monoxide": "%", "hydrocarbons": "ppm", "lambda": "1"}


def gas(quantity: str, value: float, speed: str = "idle", uncertainty: float = 0.0) -> Reading:
    details: dict[str, float | str] = {"speed": speed} if speed else {}
    return Reading(quantity, value, UNITS[quantity], uncertainty, "exhaust", details=details)


def one(
    quantity: str, value: float, first_used: str, speed: str = "idle", listed: bool | None = None
) -> Outcome | None:
    car = CarAtTest(FirstUse.of(first_used), listed=listed)
    return emissions([gas(quantity, value, speed)], car)[0].outcome


def rows() -> list[dict[str, str]]:
    with PUBLISHED.open(encoding="utf-8", newline="") as table:
        return list(csv.DictReader(table))


@pytest.mark.parametrize("row", rows(), ids=lambda row: row["id"])
def test_a_published_limit_holds_from_its_first_day_to_its_last(row: dict[str, str]) -> None:
    step = 0.001 if row["quantity"] == "lambda" else 0.01 if row["unit"] == "%" else 1
    for day in (row["first_day"], row["last_day"]):
        args = (day, row["speed"], None if row["listed"] == "" else row["listed"] == "yes")
        if row["most"]:
            assert one(row["quantity"], float(row["most"]), *args) is Outcome.WITHIN, row["source"]
            assert one(row["quantity"], float(row["most"]) + step, *args) is Outcome.OUTSIDE, row["source"]
        if row["least"]:
            assert one(row["quantity"], float(row["least"]), *args) is Outcome.WITHIN, row["source"]
            assert one(row["quantity"], float(row["least"]) - step, *args) is Outcome.OUTSIDE, row["source"]
        if not row["most"] and not row["least"]:
            assert one(row["quantity"], 8.0, *args) is Outcome.NOT_ASKED, row["source"]


def test_from_july_2002_on_it_is_to_be_looked_up() -> None:
    assert one("carbon_monoxide", 0.1, "2002-07-01", "idle", listed=False) is Outcome.LOOK_UP
    assert one("carbon_monoxide", 0.1, "2002-07-01", "fast idle", listed=False) is Outcome.LOOK_UP


def test_an_engine_in_the_tester_s_list_goes_by_the_maker_s_figure() -> None:
    assert one("carbon_monoxide", 0.1, "1994", "idle", listed=True) is Outcome.LOOK_UP
    assert one("lambda", 1.0, "1998", "fast idle", listed=True) is Outcome.LOOK_UP


def test_where_nobody_knows_whether_it_is_listed_both_are_shown() -> None:
    (told,) = emissions([gas("carbon_monoxide", 2.0)], CarAtTest(FirstUse.of("1994")))
    assert {held.limit.case for held in told.held} == {"listed", "unlisted"}
    assert told.outcome is Outcome.NEAR


def test_a_year_on_the_boundary_shows_both_sides() -> None:
    (told,) = emissions([gas("carbon_monoxide", 6.0)], CarAtTest(FirstUse.of("1975")))
    assert [held.outcome for held in told.held] == [Outcome.NOT_ASKED, Outcome.OUTSIDE]
    assert "Which of them is for this car is not known." in told.sentence


# ukmot.com 7.3: Q plated vehicles are to be treated as first used before 1 August 1975. ukmot.com, petrol engines: so
# are rotary engines first used before 1 August 1987 and kit cars first used before 1 August 1998.
@pytest.mark.parametrize(
    ("car", "outcome"),
    [
        (CarAtTest(FirstUse.of("1999"), q_plate=True), Outcome.NOT_ASKED),
        (CarAtTest(None, q_plate=True), Outcome.NOT_ASKED),
        (CarAtTest(FirstUse.of("1987-07-31"), engine=EngineKind.WANKEL), Outcome.NOT_ASKED),
        (CarAtTest(FirstUse.of("1987-08-01"), engine=EngineKind.WANKEL), Outcome.OUTSIDE),
        (CarAtTest(FirstUse.of("1998-07-31"), kit=True), Outcome.NOT_ASKED),
        (CarAtTest(FirstUse.of("1998-08-01"), kit=True, listed=False), Outcome.OUTSIDE),
    ],
)
def test_some_cars_are_tested_as_older_than_they_are(car: CarAtTest, outcome: Outcome) -> None:
    (told,) = emissions([gas("carbon_monoxide", 6.0)], car)
    assert told.outcome is outcome
    assert any("as if first used before August 1975" in note for note in told.notes) == (outcome is Outcome.NOT_ASKED)


def test_the_gas_test_is_not_for_two_strokes() -> None:
    (told,) = emissions([gas("carbon_monoxide", 6.0)], CarAtTest(FirstUse.of("1980"), engine=EngineKind.TWO_STROKE))
    assert told.held == ()
    assert "not for two-strokes" in told.sentence


# HC has a second try at about 2,000 turns, CO has not (a page of the manual of 1992; an owners' club).
def test_hc_may_be_tried_again_at_2000_turns() -> None:
    car = CarAtTest(FirstUse.of("1980"))
    idle, again = emissions([gas("hydrocarbons", 1500), gas("hydrocarbons", 900, "2000 rpm")], car)
    assert (idle.outcome, again.outcome) == (Outcome.OUTSIDE, Outcome.WITHIN)
    assert any("tried again" in note for note in idle.notes)
    (co,) = emissions([gas("carbon_monoxide", 3.0, "2000 rpm")], car)
    assert "the test asks none at that speed" in co.sentence


def test_the_analyser_s_doubt_is_carried() -> None:
    (told,) = emissions([gas("carbon_monoxide", 4.4, uncertainty=0.15)], CarAtTest(FirstUse.of("1980")))
    assert told.outcome is Outcome.NEAR


def test_a_speed_nobody_told_is_taken_and_said() -> None:
    (told,) = emissions([gas("lambda", 1.2, "")], CarAtTest(FirstUse.of("1998"), listed=False))
    assert any("taken as fast idle" in note for note in told.notes)
    assert [meaning.id for meaning in told.meanings] == ["lambda_high"]


def test_what_is_outside_may_mean_something_and_what_is_not_does_not() -> None:
    car = CarAtTest(FirstUse.of("1980"))
    told = emissions([gas("carbon_monoxide", 7), gas("hydrocarbons", 2000), gas("carbon_monoxide", 2)], car)
    assert [[meaning.id for meaning in each.meanings] for each in told] == [["co_high"], ["hc_high"], []]
    assert all("carbon monoxide" in each.use.cautions[0] for each in told)


def test_every_row_names_where_it_was_seen() -> None:
    assert all(one.seen.startswith("2026-11") for one in limits())
    assert set(treated()) == {"q_plate", "wankel", "kit"}
