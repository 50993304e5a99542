"""The tables, and what is read from words and readings: cold or not, how many cylinders."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest

from shutline.car.engine import ColdReadings, EngineFigure
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.gauge.engine import settings as settings_module
from shutline.gauge.engine.said import cold_read, cold_said, cylinders_said, is_cold
from shutline.gauge.engine.tables import (
    cold_phrases,
    cylinder_phrases,
    figure_names,
    meaning_of,
    meanings,
    reasons,
)
from shutline.publish.engine import cold_words

SOURCES = Path(settings_module.__file__).parent


def words(text: str) -> tuple[object, ...]:
    return (stretch_of(text, 10.0, 14.0, origin=StretchOrigin.TRANSCRIPT),)


@pytest.mark.parametrize("row", cold_phrases(), ids=lambda row: row.id)
def test_words_of_cold_fit_their_example_and_not_their_counter_example(row) -> None:
    (found,) = cold_said(words(row.example), recording="r")
    assert found.cold is (row.says == "cold")
    assert (found.start_s or 0) >= 10.0
    assert not [one for one in cold_said(words(row.counter_example), recording="r") if one.cold is (row.says == "cold")]


@pytest.mark.parametrize("row", cylinder_phrases(), ids=lambda row: row.id)
def test_words_of_cylinders_fit_their_example_and_not_their_counter_example(row) -> None:
    found = cylinders_said(words(row.example))
    assert [f"{one.cylinders} {one.strokes}" for one in found] == [row.says]
    assert row.says not in [f"{one.cylinders} {one.strokes}" for one in cylinders_said(words(row.counter_example))]


def test_words_at_odds_and_no_words_claim_nothing() -> None:
    assert is_cold(()) is None
    assert is_cold(cold_said(words("This is from cold. Well, I had it running."), recording="r")) is None
    assert is_cold(cold_said(words("It's a four-cylinder, stone-cold."), recording="r")) is True


@pytest.mark.parametrize(
    ("readings", "cold"),
    [
        (ColdReadings(), None),
        (ColdReadings(outside_c=-5.0), True),
        (ColdReadings(outside_c=25.0), True),
        (ColdReadings(outside_c=25.1), None),
        (ColdReadings(outside_c=-5.0, standing_h=1.0), False),
        (ColdReadings(outside_c=-5.0, coolant_c=70.0), False),
        (ColdReadings(coolant_c=11.0), True),
        (ColdReadings(coolant_c=80.0), False),
        (ColdReadings(coolant_c=36.0, outside_c=30.0), True),
        (ColdReadings(standing_h=12.0), True),
        (ColdReadings(standing_h=1.0), False),
        (ColdReadings(coolant_c=80.0, standing_h=12.0), None),
    ],
)
def test_readings_make_it_cold_by_themselves_and_the_day_where_there_is_nothing_else(
    readings: ColdReadings, cold: bool | None
) -> None:
    assert is_cold(cold_read(readings)) is cold


def test_the_temperature_outside_alone_is_a_doubtful_footing_and_yields_to_any_other() -> None:
    outside = cold_read(ColdReadings(outside_c=8.0))
    assert [(one.words, one.doubtful) for one in outside] == [("8 °C outside", True)]
    assert "may have been warm" in cold_words(is_cold(outside), outside)
    warm = cold_said(words("Well, I had it running."), recording="r")
    both = (*warm, *outside)
    assert is_cold(both) is False
    assert cold_words(is_cold(both), both).startswith("Not from cold: said at")
    assert "°C" not in cold_words(is_cold(both), both)
    said = (*cold_said(words("This is from cold."), recording="r"), *outside)
    assert cold_words(is_cold(said), said).startswith("Started from cold: said at")
    assert "°C" not in cold_words(is_cold(said), said)


def test_every_figure_has_a_meaning_for_every_value_and_says_that_it_has_no_source() -> None:
    for name in figure_names().values():
        rows = [one for one in meanings() if one.figure == name.id]
        assert rows[0].low is not None
        assert rows[-1].high is None
        for first, second in pairwise(rows):
            assert first.high == second.low
        for value in (rows[0].low, *(one.low for one in rows[1:]), 1e6):
            assert meaning_of(EngineFigure(name.id, float(value or 0), 0, 0, name.unit)) is not None
    assert {one.source for one in meanings()} == {"common practice, no source"}


def test_every_reason_given_is_in_the_table_and_none_is_there_in_vain() -> None:
    text = "".join(path.read_text(encoding="utf-8") for path in SOURCES.glob("*.py"))
    given = set(re.findall(r'"([a-z]+(?:-[a-z]+)+|hum|twin|rival|speech|wind|silent|clipped)"', text))
    assert set(reasons()) <= given


def test_settings_with_an_entry_too_many_or_missing_are_refused() -> None:
    text = (SOURCES / "data" / "settings.toml").read_text(encoding="utf-8")
    assert settings_module.parse_settings(text) == settings_module.settings()
    with pytest.raises(ValueError, match="speed"):
        settings_module.parse_settings(text.replace("lowest_rpm", "slowest_rpm"))
    with pytest.raises(ValueError, match="sections"):
        settings_module.parse_settings(text + "\n[more]\nx = 1\n")
