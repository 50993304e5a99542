"""A tyre by its marking: words, results, and what cannot be told; and the command."""

from __future__ import annotations

import json
from datetime import date

import pytest

from shutline.car.errors import BadInputError
from shutline.cli.commands import run
from shutline.gauge.tyres import marking
from shutline.usecases.tyre import marking_words, tyre_told


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (
            "205/55 R16 91V",
            "205 mm wide, side 55 % of that high, radial, on a rim of 16 in; up to 240 km/h; carries 615 kg",
        ),
        (
            "5.20-10",
            "5.20 in wide, no ratio marked, cross-ply, on a rim of 10 in; no speed marked; no load index marked",
        ),
        (
            "190/65 HR 390",
            "190 mm wide, side 65 % of that high, radial, on a rim of 390 mm; up to 210 km/h; no load index marked",
        ),
        (
            "205/70 VR 14",
            "205 mm wide, side 70 % of that high, radial, on a rim of 14 in; over 210 km/h; no load index marked",
        ),
    ],
)
def test_what_is_marked_is_told_and_what_is_not_too(text: str, words: str) -> None:
    assert marking_words(marking(text)) == words


def test_all_that_follows_is_told() -> None:
    told = tyre_told("165 SR 13", date_on_it="346", meant="155/80 R13", day="2026-11-26")
    assert [one.id for one in told.results] == ["rolling_circumference", "tyre_age", "speedometer_effect"]
    assert "week 34 of 1986 or 1996" in told.results[1].sentence
    assert told.problems == ()


def test_an_inch_size_asks_for_a_diameter_and_tells_the_rest() -> None:
    told = tyre_told("5.20-10", date_on_it="4308", meant="145/80 R10", day=date(2026, 11, 26))
    assert [one.id for one in told.results] == ["tyre_age", "speedometer_effect"]
    assert "5.20-10 tells no height" in told.results[1].sentence
    assert [one.found for one in told.problems] == ["5.20-10, whose marking tells no height"]
    measured = tyre_told("5.20-10", meant="145/80 R10", diameter_mm="508 mm")
    assert [one.id for one in measured.results] == ["rolling_circumference", "speedometer_effect"]


@pytest.mark.parametrize(
    ("asked", "named"),
    [
        ({"text": ""}, "tyre marking"),
        ({"text": "165 SR 13", "date_on_it": "0008"}, "tyre date code"),
        ({"text": "165 SR 13", "date_on_it": "4308", "day": "tomorrow"}, "a day as 2026-04-21"),
        ({"text": "165 SR 13", "date_on_it": "4308", "day": "2001-01-01"}, "has been by 2001-01-01"),
        ({"text": "165 SR 13", "meant": "round"}, "tyre marking"),
        ({"text": "5.20-10", "diameter_mm": "20 in"}, "Measure over the tread"),
    ],
)
def test_what_cannot_be_is_refused(asked: dict[str, str], named: str) -> None:
    with pytest.raises(BadInputError, match=named):
        tyre_told(**asked)  # type: ignore[arg-type]


def test_the_command_tells_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["tyre", "165 SR 13", "--date", "176", "--triangle", "--meant", "155/80 R13", "--on", "2026-11-26"]) == 0
    shown = capsys.readouterr().out
    assert shown.startswith("165 SR13: 165 mm wide, no ratio marked")
    assert "week 17 of 1996" in shown
    assert run(["tyre", "5.20-10", "--diameter", "508", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["marking"]["ratio_pct"] is None
    assert run(["tyre", "round"]) == 2
    assert "tyre marking: 'round'" in capsys.readouterr().err
