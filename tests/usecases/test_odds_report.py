"""The report tells what is at odds as the page does: by the user's own tables, and with what was decided."""

from __future__ import annotations

import html
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from shutline.car.findings import Fact, Finding, Footing, FootingKind, Found, Severity, Side
from shutline.car.going_out import PrivateKind
from shutline.gauge.readings import Keyed
from shutline.publish.handover import build_handover
from shutline.store import Store
from shutline.survey.odds import OddsKind
from shutline.usecases.add import add
from shutline.usecases.buyers_page import public_report
from shutline.usecases.car_view import view_car
from shutline.usecases.look import find_car
from shutline.usecases.odds import OddsCase, odds
from shutline.usecases.odds_deciding import decide_odds
from shutline.usecases.outputs import make_outputs, outputs
from shutline.usecases.own_odds import ODDS_VARIABLE
from shutline.usecases.private import keep_private
from shutline.usecases.readings import enter_reading
from shutline.usecases.readings_round import readings_round
from shutline.usecases.report import make_report
from shutline.usecases.review import confirm

CAR = "ostrel-pavane"
MOMENT = datetime(2026, 11, 26, 10, 0, tzinfo=UTC)
WORDS = """WEBVTT

00:00:01.000 --> 00:00:04.000
There are no dents in the nearside front wing.

00:01:30.000 --> 00:01:34.000
There's a dent in the nearside front wing.
"""


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("odds")
    words = folder / "walk.vtt"
    words.write_text(WORDS, encoding="utf-8")
    with Store.open(folder / "store") as opened:
        add(opened, [words], car=CAR, title="Ostrel Pavane", by="Ida")
        for number, value in enumerate((1966, 1968)):
            footing = Footing(FootingKind.WRITTEN, f"paper {number}", quote=f"first of {value}")
            opened.add_fact(CAR, Fact("year", value, footings=(footing,)), author="Ida", token=str(number))
    return folder / "store"


@pytest.fixture
def store(told: Path, tmp_path: Path) -> Iterator[Store]:
    shutil.copytree(told, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


def page(store: Store, tmp_path: Path) -> str:
    make_report(store, CAR, out=tmp_path / "out", only=["html"], made_at=MOMENT)
    return (tmp_path / "out" / "report.html").read_text(encoding="utf-8")


def section(text: str) -> str:
    """Cut out what the page says of what is at odds."""
    _, found, rest = text.partition('<section id="at-odds"')
    return rest.partition('<section id="silent"')[0] if found else ""


def case_of(store: Store, rule: str) -> OddsCase:
    return next(one for one in odds(store, CAR).open if one.odds.rule == rule)


def test_each_open_case_stands_in_the_report_with_all_its_sides(store: Store, tmp_path: Path) -> None:
    shown = odds(store, CAR)
    assert len(shown.open) == 2
    text = page(store, tmp_path)
    told = section(text).casefold()
    for case in shown.open:
        for words in case.words:
            assert words.casefold() in told
    assert "at 0:01" in told
    assert "at 1:30" in told
    assert "At odds with" in text
    assert "two different values were given" in text


def test_a_row_of_ones_own_counts_in_the_report_and_on_the_page_of_the_car(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = tmp_path / "own"
    own.mkdir()
    monkeypatch.setenv(ODDS_VARIABLE, str(own))
    make_outputs(store, CAR, made_at=MOMENT)
    (own / "odds_left_out.csv").write_text(
        "id,why,source\nodds_exclusions/denied,we ask the seller,house rules\n", encoding="utf-8"
    )
    told = section(page(store, tmp_path))
    assert "no dent" not in told.casefold()
    assert "year: 1966" in told.casefold()
    # What was made with the former tables is made anew.
    fresh = {one.what: one.fresh for one in outputs(store, CAR).outputs}
    assert (fresh["html"], fresh["pdf"], fresh["captions"]) == (False, False, True)


def test_a_mileage_that_is_no_round_one_by_ones_own_table_is_at_odds_everywhere(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for kind, value in ((FootingKind.SAID, 41_200), (FootingKind.SEEN, 41_206)):
        footing = Footing(kind, f"source of {value}", quote=str(value))
        store.add_fact(CAR, Fact("odometer", value, "mi", footings=(footing,)), author="Ida", token=str(value))

    def told() -> list[bool]:
        line = next(one for one in view_car(store, CAR).facts if one.label == "Odometer")
        on_page = "odometer" in {one.odds.rule for one in odds(store, CAR).open}
        return [on_page, bool(line.odds), "Odometer: 41,206 miles" in section(page(store, tmp_path))]

    assert told() == [False, False, False]
    monkeypatch.setenv(ODDS_VARIABLE, str(tmp_path))
    (tmp_path / "odds.toml").write_text("[limits]\nround_steps = [10000]\n", encoding="utf-8")
    assert told() == [True, True, True]


def test_what_was_decided_stands_there_with_who_and_why_and_what_was_struck_does_not(
    store: Store, tmp_path: Path
) -> None:
    case = case_of(store, "denied")
    decide_odds(store, CAR, case.odds.id, holds="2", reason="looked at it again", author="Ben Hask")
    told = section(page(store, tmp_path))
    assert "Nearside front wing: dent. This stands, and what was told otherwise was struck." in told
    assert "Ben Hask" in told
    assert "looked at it again" in told
    assert "no dent" not in told.casefold()


def test_what_can_all_stand_is_told_as_settled_and_the_fact_says_so(store: Store, tmp_path: Path) -> None:
    decide_odds(store, CAR, case_of(store, "year").odds.id, holds="all", reason="made and registered", author="Ida")
    text = page(store, tmp_path)
    assert "Both can stand. Ida," in section(text)
    assert "Two different values were given, and all can stand. Ida," in text
    assert "Neither has been chosen" not in text


def test_an_answer_about_a_fact_stands_beside_the_value_that_is_left(store: Store, tmp_path: Path) -> None:
    decide_odds(store, CAR, case_of(store, "year").odds.id, holds="1", reason="the plate says so", author="Ida")
    text = page(store, tmp_path)
    assert "Another value was given and has been struck. Ida," in text
    assert "1968" not in text
    # Taken back, nothing of it is told any more.
    decide_odds(store, CAR, odds(store, CAR).past[0].id, holds="open", author="Ida")
    assert "the plate says so" not in page(store, tmp_path)


def test_an_answer_to_what_has_changed_since_is_told_as_one(store: Store, tmp_path: Path) -> None:
    case = case_of(store, "denied")
    decide_odds(store, CAR, case.odds.id, holds="all", reason="the dent is new", author="Ida")
    kept = store.finding(case.odds.told[1].id)
    store.change_finding(kept.id, action="amend", author="Ben", expected_version=kept.version, severity=Severity.SLIGHT)
    assert "It was decided before, and what was told has changed since, or is back. Ida," in section(
        page(store, tmp_path)
    )


def test_the_paper_is_set_with_all_of_it(store: Store, tmp_path: Path) -> None:
    decide_odds(store, CAR, case_of(store, "year").odds.id, holds="1", reason="the plate says so", author="Ida")
    make_report(store, CAR, out=tmp_path / "out", only=["pdf"], made_at=MOMENT)
    assert (tmp_path / "out" / "report.pdf").stat().st_size > 10_000


def test_what_was_measured_is_a_side_and_is_named_where_it_holds(store: Store, tmp_path: Path) -> None:
    filler = Finding(
        "rear_wing", "filler", Found.NO, Side.OFF, footings=(Footing(FootingKind.WRITTEN, "", quote="no filler"),)
    )
    store.add_finding(CAR, filler, author="Ida", token=filler.part)
    for number, stop in enumerate(readings_round(store, CAR, "paint_film").stops):
        wing = stop.part == "rear_wing" and stop.side == "off"
        value = str((300 if stop.spot == "top" else 900) if wing else 110 + number % 5)
        place = {"part": stop.part, "side": stop.side, "position": stop.position, "spot": stop.spot}
        for _ in range(3):
            keyed = Keyed("paint_film", value, series=f"{stop.name} {stop.spot}", **place)  # type: ignore[arg-type]
            enter_reading(store, CAR, keyed, author="Ida")
    case = next(one for one in odds(store, CAR).open if one.odds.kind is OddsKind.MEASURED)
    assert case.words[1].casefold() in html.unescape(section(page(store, tmp_path))).casefold()
    after = decide_odds(store, CAR, case.odds.id, holds="2", reason="the gauge is right", author="Ida")
    assert next(one for one in after.past if one.id == case.odds.id).holds == 2
    told = html.unescape(section(page(store, tmp_path)))
    assert f"{case.words[1].rstrip('.')}. This stands, and what was told otherwise was struck." in told
    assert "no filler" not in told


def _both_stand(store: Store) -> None:
    confirm(store, CAR, [one.id for one in find_car(store, CAR).findings], author="Ida")
    confirm(store, CAR, [one.id for one in find_car(store, CAR).facts], author="Ida")


def test_to_a_stranger_goes_what_stands_on_both_sides_without_names_and_private_words(store: Store) -> None:
    whole = find_car(store, CAR)
    assert [one.about for one in public_report(store, whole, MOMENT)[0].odds.open] == ["Year"]
    _both_stand(store)
    keep_private(store, CAR, "Augusta Harbottle", kind=PrivateKind.KEEPER, author="Ida")
    case = case_of(store, "denied")
    decide_odds(store, CAR, case.odds.id, holds="all", reason="Augusta Harbottle said so", author="Ben Hask")
    report, _ = public_report(store, find_car(store, CAR), MOMENT)
    (open_,), (settled,) = report.odds.open, report.odds.settled
    assert [side[0].words for side in open_.sides] == ["Year: 1966", "Year: 1968"]
    assert "The seller" in settled.answers[0]
    assert "Harbottle" not in settled.answers[0]
    assert "Ben Hask" not in str(report)
    sheet = build_handover(report, heard=(), number="0" * 64, fingerprint="0" * 64)
    assert sheet.odds == ("Year: 1966 / Year: 1968",)


def test_a_side_that_is_only_heard_is_kept_from_strangers(store: Store) -> None:
    dent = next(one for one in find_car(store, CAR).findings if one.finding.found is Found.YES)
    confirm(store, CAR, [dent.id], author="Ida")
    paper = Footing(FootingKind.WRITTEN, "paper", quote="not a dent")
    none = Finding("bodywork", "dent", Found.NO, footings=(paper,))
    store.add_finding(CAR, none, author="Ida", token=paper.quote)
    report, _ = public_report(store, find_car(store, CAR), MOMENT)
    sides = [[said.words for said in side] for side in report.odds.open[0].sides]
    assert sides == [["Bodywork as a whole: no dent"], ["Nearside front wing: dent"]]


def test_a_fact_that_is_only_heard_is_at_odds_to_strangers_too_and_marked_as_heard(
    store: Store, tmp_path: Path
) -> None:
    words = tmp_path / "second.vtt"
    words.write_text("WEBVTT\n\n00:00:01.000 --> 00:00:06.000\nOstrel Pavane, nineteen seventy, in blue.\n", "utf-8")
    add(store, [words], car=CAR, by="Ida")
    report, _ = public_report(store, find_car(store, CAR), MOMENT)
    sides = {said.words for one in report.odds.open for side in one.sides for said in side}
    assert sides == {"Year: 1966", "Year: 1968", "Year: 1970 (heard, not yet confirmed)"}
    (year,) = (line for line in report.facts if line.label == "Year")
    assert "three different values were given" in year.odds
