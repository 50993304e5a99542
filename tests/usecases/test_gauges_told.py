"""Readings of tyres, brakes, engine and electrics, entered as people enter them, and what they come to."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest

from shutline.car.findings import FootingKind, State
from shutline.cli import main
from shutline.gauge.readings import Keyed
from shutline.store import Store
from shutline.survey.odds import OddsKind
from shutline.usecases.add import add
from shutline.usecases.gauges import GaugeSection, car_gauges
from shutline.usecases.odds import odds
from shutline.usecases.odds_deciding import decide_odds
from shutline.usecases.readings import enter_reading, enter_table

CAR = "blue"
WORDS = """WEBVTT

00:00:01.000 --> 00:00:04.000
It was first registered in nineteen seventy two.
"""
SHEET = """
[blue]
brake_circuits = 1
system = "12 V"
meant = "155/80 R13"

[[blue.maker]]
of = "oil_pressure"
state = "hot"
least = 40
unit = "psi"
source = "the book, section A"

[[blue.tyre]]
position = "front"
side = "near"
marking = "165 SR 13"
date = "346"

[[blue.tyre]]
position = "front"
side = "off"
marking = "5.60-13"
"""


@pytest.fixture
def store(make_film: Callable[..., Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    sheet = tmp_path / "gauges.toml"
    sheet.write_text(SHEET, encoding="utf-8")
    monkeypatch.setenv("SHUTLINE_GAUGES", str(sheet))
    words = tmp_path / "walk.vtt"
    words.write_text(WORDS, encoding="utf-8")
    film = make_film("walk.mp4", frames=50, rate=10, sound=None, gop=10)
    with Store.open(tmp_path / "store") as opened:
        add(opened, [film], car=CAR, title="Ostrel Pavane, blue", transcript=words)
        yield opened


def key(store: Store, quantity: str, value: float, **more: object) -> None:
    enter_reading(store, CAR, Keyed(quantity, value, **more), author="Ida Quill")  # type: ignore[arg-type]


def section(store: Store, id_: str) -> GaugeSection:
    (found,) = [one for one in car_gauges(store, CAR, day=date(2026, 11, 26)).sections if one.id == id_]
    assert found.problems == ()
    return found


def told(found: GaugeSection) -> str:
    return " ".join(line.sentence for line in found.lines)


def test_tyres_by_readings_and_by_what_stands_on_them(store: Store) -> None:
    for spot, depth in (("inner", 1.2), ("middle", 4.0), ("outer", 4.0)):
        key(store, "tread_depth", depth, part="tyre", side="near", position="front", spot=spot)
    key(store, "tread_depth", "6", unit="/32 in", part="tyre", side="off", position="front", spot="middle")
    tyres = section(store, "tyres")
    text = told(tyres)
    assert [line.outcome for line in tyres.lines[:2]] == ["outside", "within"]
    assert "more worn on the inside" in text
    assert "week 34 of 1986 or 1996" in text
    assert "Cross-ply and radial in front, held against no two constructions on one axle: it is outside that" in text
    assert "when 60 mph is shown" in text
    assert "5.60-13 tells no height" in text
    assert "axle stands" in " ".join(tyres.cautions)


def test_brakes_by_first_use_and_circuit(store: Store) -> None:
    for position, side, effort in (
        ("front", "near", 186),
        ("front", "off", 215),
        ("rear", "near", 86),
        ("rear", "off", 72),
    ):
        key(store, "brake_effort", effort, part="brakes", side=side, position=position)
    for side, newton in (("near", 922), ("off", 941)):
        details = {"brake": "parking"}
        key(store, "brake_effort", newton, unit="N", part="brakes", side=side, position="rear", details=details)
    key(store, "test_weight", 950)
    text = told(section(store, "brakes"))
    assert "Efficiency 58.8 %" in text
    assert "held against at least 50 % of the test weight: it is within that" in text
    assert "at least 25 % of the test weight, the footbrake having one circuit" in text
    assert "at least 16 %" not in text


def test_wheels_that_locked_and_where_a_leak_is_heard_come_by_table_and_by_command(
    store: Store, tmp_path: Path
) -> None:
    wheels = [
        ("near", "front", 190, "yes"),
        ("off", "front", 200, "yes"),
        ("near", "rear", 80, ""),
        ("off", "rear", 75, ""),
    ]
    rows = [f"{value},{side},{position},{locked}" for side, position, value, locked in wheels]
    table = tmp_path / "rollers.csv"
    table.write_text("\n".join(["value,side,position,locked", *rows]), encoding="utf-8")
    where = ["--store", str(tmp_path / "store"), "--by", "Ida Quill"]
    usual = Keyed("brake_effort", "", part="brakes", details={"brake": "service"})
    enter_table(store, CAR, table, usual=usual, author="Ida Quill")
    key(store, "test_weight", 950)
    (service,) = [line for line in section(store, "brakes").lines if "together, on a test weight" in line.sentence]
    assert "2 wheels locked on the rollers (the front nearside, the front offside)" in service.notes[0]
    leak = ["--enter", "leak_down", "--value", "35", "--spot", "2", "--detail", "heard_at=exhaust"]
    assert main(["readings", CAR, *leak, *where]) == 0
    assert "air heard at the tail pipe: an exhaust valve" in told(section(store, "engine"))
    assert main(["readings", CAR, *leak[:-1], "heard_at=boot", *where]) == 2


def test_the_engine_by_cylinders_and_the_book(store: Store) -> None:
    for cylinder, psi in enumerate((130, 130, 130, 90), 1):
        key(store, "compression", psi, unit="psi", spot=str(cylinder), uncertainty=1)
        key(store, "compression", psi + 1, unit="psi", spot=str(cylinder), uncertainty=1, details={"state": "wet"})
    key(store, "oil_pressure", 20, unit="psi", details={"state": "hot", "rpm": 3000})
    text = told(section(store, "engine"))
    assert "75 % of the highest: it is outside that" in text
    assert "a valve that does not shut or a head gasket" in text
    # Keyed in psi and so told in psi, beside the book's own psi.
    assert "Compression, psi: 1: 130, 2: 130, 3: 130, 4: 90; lowest 4" in text
    assert "20.0 psi" in text
    assert "at least 40 psi, the maker's figure as entered out of the book, section A: it is outside that" in text
    assert "bar" not in text
    key(store, "compression", 9.0, unit="bar", spot="4", uncertainty=0.05)
    text = told(section(store, "engine"))
    assert "Compression, bar: 1: 8.96" in text
    key(store, "carbon_monoxide", 3.0, details={"speed": "idle"})
    assert "visible smoke alone" in told(section(store, "exhaust"))


def test_electrics_with_what_is_known_of_the_battery(store: Store) -> None:
    key(store, "rest_voltage", 12.4, details={"temperature_c": 20, "hours": 12})
    key(store, "cranking_voltage", 8.5)
    key(store, "rest_current", 50, details={"capacity_ah": 40})
    key(store, "insulation_resistance", 2, part="motor", details={"system_v": 300, "test_v": 500})
    electrics = section(store, "electrics")
    text = told(electrics)
    assert "% charged by the table" in text
    assert "It drops by 3.9 V" in text
    assert "is flat after" in text
    assert not any("taken to be full" in note for line in electrics.lines for note in line.notes)
    assert "High voltage kills" in text
    assert any("licensed" in caution for caution in electrics.cautions)


def test_good_brakes_and_tyres_like_new_are_at_odds_with_what_was_measured(
    store: Store, make_film: Callable[..., Path], tmp_path: Path
) -> None:
    words = tmp_path / "said.vtt"
    words.write_text(
        "WEBVTT\n\n00:00:01.000 --> 00:00:04.000\nThe brakes are good.\n\n"
        "00:00:04.500 --> 00:00:08.000\nThe tyres are like new.\n",
        encoding="utf-8",
    )
    film = make_film("said.mp4", frames=100, rate=10, sound=None, gop=10)
    add(store, [film], car=CAR, transcript=words)
    details = {"brake": "service"}
    for side, position, effort in (
        ("near", "front", 100),
        ("off", "front", 100),
        ("near", "rear", 75),
        ("off", "rear", 75),
    ):
        key(store, "brake_effort", effort, part="brakes", side=side, position=position, details=details)
    key(store, "test_weight", 1000)
    key(store, "tread_depth", 3.0, part="tyre", side="near", position="front", spot="middle")
    cases = [one for one in odds(store, CAR).open if one.odds.kind is OddsKind.MEASURED]
    assert {one.odds.rule for one in cases} == {"brakes_sound", "tyre_like_new"}
    for one in cases:
        assert set(one.odds.kinds) == {FootingKind.SAID, FootingKind.MEASURED}
    against = car_gauges(store, CAR, day=date(2026, 11, 26)).against
    assert {one.finding for one in against} == {one.odds.told[0].id for one in cases}
    brakes = next(one for one in cases if one.odds.rule == "brakes_sound")
    # One more reading leaves it the same case.
    key(store, "brake_effort", 101, part="brakes", side="near", position="front", details=details)
    assert brakes.odds.id in {one.odds.id for one in odds(store, CAR).open}
    decide_odds(store, CAR, brakes.odds.id, holds="2", reason="on the rollers", author="Ida Quill")
    assert store.finding(brakes.odds.told[0].id).finding.state is State.STRUCK


def test_figures_of_which_nothing_can_be_told_are_at_odds_with_nothing(store: Store) -> None:
    key(store, "tread_depth", 0.5, part="tyre", side="near", position="front", spot="edge")
    assert not [one for one in odds(store, CAR).open if one.odds.kind is OddsKind.MEASURED]
