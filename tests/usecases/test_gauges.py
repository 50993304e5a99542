"""What readings come to: by gauge, against what was said, proposed, and told in the report."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from shutline.car.errors import NotFoundError
from shutline.car.findings import FootingKind, Found, Side, State
from shutline.cli import main
from shutline.gauge.readings import Keyed
from shutline.store import Store
from shutline.survey.measured import first_use
from shutline.survey.odds import OddsKind
from shutline.usecases.add import add
from shutline.usecases.buyers_page import make_buyers_page
from shutline.usecases.gauges import car_gauges, enter_measured
from shutline.usecases.odds import odds
from shutline.usecases.odds_deciding import decide_odds
from shutline.usecases.readings import car_readings, decide_reading, enter_reading
from shutline.usecases.readings_round import readings_round
from shutline.usecases.report import make_report

CAR = "blue"
IDA = "Ida Quill"
WORDS = """WEBVTT

00:00:01.000 --> 00:00:04.000
Offside rear wing now. There is no filler in this wing at all.

00:00:04.500 --> 00:00:08.000
Nearside front door is straight. It was first registered in nineteen eighty four.
"""


@pytest.fixture
def store(make_film: Callable[..., Path], tmp_path: Path) -> Iterator[Store]:
    film = make_film("walk.mp4", frames=100, rate=10, sound=None, gop=10)
    words = tmp_path / "walk.vtt"
    words.write_text(WORDS, encoding="utf-8")
    with Store.open(tmp_path / "store") as opened:
        add(opened, [film], car=CAR, title="Ostrel Pavane, blue", transcript=words)
        yield opened


def key(store: Store, quantity: str, value: float, **more: object) -> None:
    enter_reading(store, CAR, Keyed(quantity, value, **more), author=IDA)  # type: ignore[arg-type]


@pytest.fixture
def filmed(store: Store) -> Store:
    """A car whose paint was measured all round: one wing carries eight times as much at the bottom."""
    for number, stop in enumerate(readings_round(store, CAR, "paint_film").stops):
        wing = stop.part == "rear_wing" and stop.side == "off"
        base = (300 if stop.spot == "top" else 900) if wing else 110 + number % 5
        for k in range(3):
            place = {"part": stop.part, "side": stop.side, "position": stop.position, "spot": stop.spot}
            key(store, "paint_film", base + k, series=f"{stop.name} {stop.spot}", **place)
    return store


def section(store: Store, id_: str):
    return next(one for one in car_gauges(store, CAR, day=date(2026, 4, 1)).sections if one.id == id_)


def test_nothing_measured_tells_nothing(store: Store) -> None:
    told = car_gauges(store, CAR)
    assert (told.sections, told.against, told.proposals) == ((), (), ())


def test_the_paint_of_one_panel_stands_out_beside_the_cars_own(filmed: Store) -> None:
    paint = section(filmed, "paint")
    out = [line for line in paint.lines if not line.plain and line.part != "paintwork"]
    assert {(line.part, line.side) for line in out} == {("rear_wing", Side.OFF)}
    assert "<svg" in paint.picture
    assert "bodyshop" in paint.use


def test_said_against_measured_is_a_case_that_a_person_decides(filmed: Store) -> None:
    shown = odds(filmed, CAR)
    case = next(one for one in shown.open if one.odds.kind is OddsKind.MEASURED)
    assert set(case.odds.kinds) == {FootingKind.SAID, FootingKind.MEASURED}
    assert any("filler" in words for words in case.words)
    assert [one.finding for one in car_gauges(filmed, CAR).against] == [case.odds.told[0].id]
    # The remark that the door is straight is about no film of paint.
    assert len([one for one in shown.open if one.odds.kind is OddsKind.MEASURED]) == 1
    decide_odds(filmed, CAR, case.odds.id, holds="2", reason="a spot was sanded", author=IDA)
    assert filmed.finding(case.odds.told[0].id).finding.state is State.STRUCK
    assert not [one for one in odds(filmed, CAR).open if one.odds.kind is OddsKind.MEASURED]


def test_one_more_reading_leaves_it_the_same_case(filmed: Store) -> None:
    before = next(one for one in odds(filmed, CAR).open if one.odds.kind is OddsKind.MEASURED)
    key(filmed, "paint_film", 890, part="rear_wing", side="off", spot="bottom", series="again")
    after = next(one for one in odds(filmed, CAR).open if one.odds.kind is OddsKind.MEASURED)
    assert after.odds.id == before.odds.id


def test_struck_readings_stand_against_nothing(filmed: Store) -> None:
    for kept in car_readings(filmed, CAR).readings:
        if kept.reading.part == "rear_wing" and kept.reading.side is Side.OFF:
            decide_reading(filmed, CAR, kept.id, "strike", author=IDA)
    assert not [one for one in odds(filmed, CAR).open if one.odds.kind is OddsKind.MEASURED]
    assert car_gauges(filmed, CAR).proposals == ()


def test_what_was_measured_is_proposed_and_entered_by_a_person_alone(filmed: Store) -> None:
    (proposal,) = car_gauges(filmed, CAR).proposals
    assert not proposal.entered
    assert not [one for one in filmed.car_file(CAR).findings if one.finding.part == "rear_wing" and
                any(footing.kind is FootingKind.MEASURED for footing in one.finding.footings)]  # fmt: skip
    kept = enter_measured(filmed, CAR, proposal.key, author=IDA)
    assert (kept.finding.state, kept.finding.found) == (State.STANDS, Found.UNSURE)
    assert {footing.kind for footing in kept.finding.footings} == {FootingKind.MEASURED}
    assert kept.changes[0].author == IDA
    assert car_gauges(filmed, CAR).proposals[0].entered
    assert enter_measured(filmed, CAR, proposal.key, author=IDA).id == kept.id
    with pytest.raises(NotFoundError):
        enter_measured(filmed, CAR, "bonnet-filler", author=IDA)


def test_gauges_beside_the_cars_own_facts(store: Store) -> None:
    """Compression 130, 130, 130, 100: 76.9 %, within one rule and outside the other (check_values.md 12)."""
    for number, psi in enumerate((130, 130, 130, 100), 1):
        key(store, "compression", psi, unit="psi", uncertainty=0.5, spot=str(number), details={"state": "dry"})
    key(store, "carbon_monoxide", 4.0, uncertainty=0.05, details={"speed": "idle"})
    key(store, "rest_voltage", 12.65, uncertainty=0.01, details={"system": "12 V", "hours": 12, "temperature_c": 26.7})
    key(store, "tread_depth", 1.2, uncertainty=0.05, side="near", position="rear", spot="middle")
    key(store, "brake_effort", 200, side="near", position="front", details={"brake": "service"})
    engine = section(store, "engine").lines[0]
    assert "76.9 %" in engine.sentence
    assert len(engine.limits) == 2
    # First used in 1984: 4.5 % CO from August 1975 to July 1986 (check_values.md 7).
    first = first_use(store.car_file(CAR))
    assert first is not None
    assert first.earliest.year == 1984
    assert "4.5" in section(store, "exhaust").lines[0].sentence
    assert section(store, "exhaust").lines[0].outcome == "within"
    assert "charged" in section(store, "electrics").lines[0].sentence
    assert section(store, "tyres").lines[0].outcome == "outside"
    # A weight is missing: that is told, and the other gauges go on.
    brakes = section(store, "brakes")
    assert brakes.lines or brakes.problems


def test_the_report_tells_it_and_leaves_out_what_was_struck(filmed: Store, tmp_path: Path) -> None:
    key(filmed, "tread_depth", 3.33, side="near", position="rear", spot="middle")
    key(filmed, "oil_pressure", 7.77)
    struck = next(one for one in car_readings(filmed, CAR).readings if one.reading.value == 7.77)
    decide_reading(filmed, CAR, struck.id, "strike", author=IDA)
    made = make_report(filmed, CAR, out=tmp_path / "out", only=["html", "pdf", "json"])
    page = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    assert "What was measured" in page
    assert "3.3 mm" in page
    assert "7.8 bar" not in page
    assert "do not stand out" in page
    file = json.loads((tmp_path / "out" / "car-file.json").read_text(encoding="utf-8"))
    assert 3.33 in [one["reading"]["value"] for one in file["readings"]]
    assert 7.77 not in [one["reading"]["value"] for one in file["readings"]]
    assert {one.what for one in made.files} == {"html", "pdf", "json"}


def test_gauges_by_commands(
    filmed: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("SHUTLINE_STORE", str(tmp_path / "store"))
    monkeypatch.setenv("SHUTLINE_AUTHOR", IDA)
    assert main(["gauges", CAR]) == 0
    told = capsys.readouterr().out
    assert "Paint film" in told
    assert "At odds" in told
    (proposal,) = car_gauges(filmed, CAR).proposals
    assert main(["gauges", CAR, "--enter", proposal.key, "--found", "yes"]) == 0
    assert "Entered, yes" in capsys.readouterr().out
    assert main(["gauges", CAR, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["proposals"][0]["entered"]
    assert main(["gauges", CAR, "--enter", proposal.key, "--found", "perhaps"]) == 2


def test_first_use_is_not_told_where_the_facts_differ(store: Store) -> None:
    car = store.car_file(CAR)
    (kept,) = [one for one in car.facts if one.fact.name in ("first_registered", "year")][:1]
    other = replace(kept, id="other", fact=replace(kept.fact, value=1971))
    assert first_use(replace(car, facts=(kept, other))) is None


def test_the_buyers_page_tells_it_and_nobodys_name(filmed: Store, tmp_path: Path) -> None:
    key(filmed, "tread_depth", 3.3, side="near", position="rear", spot="middle", instrument="Augusta Harbottle's gauge")
    made = make_buyers_page(filmed, CAR, out=tmp_path / "page")
    page = (tmp_path / "page" / "index.html").read_text(encoding="utf-8")
    assert "What was measured" in page
    assert "3.3 mm" in page
    assert made.files
    for file in (tmp_path / "page").rglob("*"):
        if file.is_file():
            data = file.read_bytes()
            assert b"Harbottle" not in data, file.name
            assert IDA.encode() not in data, file.name
