"""Rows of one's own are laid over the tables of what cannot be true together, and wrong ones are refused by line."""

from __future__ import annotations

import pytest

from shutline.car.errors import UserError
from shutline.survey.odds_data import CUE_COLUMNS, EXCLUSION_COLUMNS, FACT_COLUMNS, NOT_FITTED_COLUMNS, TRAIT_COLUMNS
from shutline.survey.odds_layer import LEFT_OUT_COLUMNS, odds_tables, with_own_rows


def table(columns: tuple[str, ...], *rows: str) -> str:
    return "\n".join((",".join(columns), *rows)) + "\n"


def test_without_rows_the_tables_are_ours() -> None:
    assert with_own_rows({}) == odds_tables()


def test_a_row_of_ones_own_is_added_and_one_with_our_id_takes_its_place() -> None:
    rows = table(
        EXCLUSION_COLUMNS,
        "new_and_peeling,peel,yes,,repaint,yes,,same,paint that was put on lately does not peel,house rules",
        "denied,rust,yes,severe,same,no,,same,only bad rust counts,house rules",
    )
    tables = with_own_rows({"odds_exclusions.csv": rows})
    by_id = {row.id: row for row in tables.exclusions}
    assert by_id["new_and_peeling"].first == {"peel"}
    assert by_id["denied"].first == {"rust"}
    assert len(by_id) == len(odds_tables().exclusions) + 1


def test_a_row_of_ours_can_be_left_out() -> None:
    rows = table(LEFT_OUT_COLUMNS, "odds_exclusions/bubbles_without_rust,aluminium bodies only,house rules")
    tables = with_own_rows({"odds_left_out.csv": rows})
    assert "bubbles_without_rust" not in {row.id for row in tables.exclusions}
    assert len(tables.exclusions) == len(odds_tables().exclusions) - 1


def test_what_such_a_car_does_not_have_goes_with_a_trait_that_is_left_out() -> None:
    rows = table(LEFT_OUT_COLUMNS, "odds_traits/electric,none are dealt in,house rules")
    tables = with_own_rows({"odds_left_out.csv": rows})
    assert "electric" not in {row.trait for row in tables.not_fitted}


def test_a_trait_of_ones_own_can_be_spoken_of() -> None:
    traits = table(TRAIT_COLUMNS, "no_heater,a car built without a heater,,,,,no heater fitted,house rules")
    absent = table(NOT_FITTED_COLUMNS, "heater_absent,no_heater,heater,,,it was built without one,house rules")
    tables = with_own_rows({"odds_traits.csv": traits, "odds_not_fitted.csv": absent})
    assert ("no_heater", "heater") in {(row.trait, row.part) for row in tables.not_fitted}


def test_a_fact_of_its_day_and_limits_of_ones_own() -> None:
    facts = table(FACT_COLUMNS, "seats,seats are taken out and put back,house rules")
    tables = with_own_rows(
        {"odds_facts.csv": facts, "odds.toml": "[limits]\nbreath_s = 5\n\n[several]\nparts = ['badge']\n"}
    )
    assert "seats" in tables.changing
    assert tables.limits.breath_s == 5
    assert tables.limits.surprise_s == odds_tables().limits.surprise_s
    assert tables.several == {"badge"}


@pytest.mark.parametrize(
    ("file", "text", "line", "found"),
    [
        ("odds_exclusions.csv", table(EXCLUSION_COLUMNS, "x,rusty,yes,,same,no,,within,why,source"), 2, "rusty"),
        ("odds_cues.csv", table(CUE_COLUMNS, "x,rest,leftover,the others,the sky,house"), 2, "in its example"),
        ("odds_cues.csv", table(CUE_COLUMNS, "x,rest,others,the others,no others,house"), 2, "counter-example"),
        ("odds_left_out.csv", table(LEFT_OUT_COLUMNS, "", "odds_exclusions/nonsense,why,source"), 3, "no row of ours"),
        ("odds_left_out.csv", table(LEFT_OUT_COLUMNS, "denied,why,source"), 2, "denied"),
        ("odds.toml", "[limits]\nbreath_s = 'long'\n", 2, "breath_s"),
        ("odds.toml", "[limits]\n\nbreath = 5\n", 3, "'breath'"),
        ("odds.toml", "[limits]\nround_steps = [0]\n", 2, "round_steps"),
        ("odds.toml", "[limits\n", 1, "cannot be read as TOML"),
        ("odds.toml", "[several]\nparts = ['bogie']\n", 2, "bogie"),
        ("odds_facts.csv", 'id,why,source\n"x\x00', 2, ""),
        ("own.csv", "id\n", 0, "a file of that name"),
    ],
)
def test_what_is_wrong_is_refused_with_file_and_line(file: str, text: str, line: int, found: str) -> None:
    with pytest.raises(UserError) as refused:
        with_own_rows({file: text}, names={file: f"mine/{file}"})
    assert refused.value.problem.slug == "survey-table-refused"
    told = str(refused.value)
    assert f"mine/{file}" in told
    assert found in told
    if line:
        assert f"line {line}" in told
