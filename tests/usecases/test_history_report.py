"""The car in use in the report, and on the buyer's page without marks, numbers and names."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from shutline.car.carfile import KeptFact
from shutline.car.findings import Fact, Footing, FootingKind, State
from shutline.car.going_out import PrivateKind
from shutline.car.past import PastKind
from shutline.store import Store
from shutline.usecases.add import add
from shutline.usecases.buyers_page import make_buyers_page
from shutline.usecases.history_report import public_history_section
from shutline.usecases.kept_tests import keep_tests
from shutline.usecases.past import enter_past
from shutline.usecases.private import keep_private
from shutline.usecases.report import make_report

CAR = "ostrel-pavane"
IDA = "Ida Quill"
MARK, OLD_MARK, NUMBER, TOWN = "FGY412H", "OLD 123", "AB12345678", "Brindlemere"
KEEPER, PLANTED = "Augusta Harbottle", "Marlowe Twistleton"
WORDS = """WEBVTT

00:00:01.000 --> 00:00:06.000
Ostrel Pavane, nineteen sixty-nine, in blue. Nearside front wing has a dent in it, only a little one.
"""


def one(day: str, miles: int, noted: str) -> dict:
    return {
        "completedDate": day,
        "testResult": "PASSED",
        "odometerValue": str(miles),
        "odometerUnit": "mi",
        "motTestNumber": f"91465576{day[:4]}",
        "registrationAtTimeOfTest": OLD_MARK if day < "2017" else MARK,
        "rfrAndComments": [{"text": noted, "type": "ADVISORY", "dangerous": False}],
    }


@pytest.fixture
def store(make_film: Callable[..., Path], tmp_path: Path) -> Iterator[Store]:
    film = make_film("walk.mp4", frames=100, rate=10, sound=None, gop=10)
    words = tmp_path / "walk.vtt"
    words.write_text(WORDS, encoding="utf-8")
    with Store.open(tmp_path / "store") as opened:
        add(opened, [film], car=CAR, title="Ostrel Pavane, blue", transcript=words)
        (recording,) = opened.car_file(CAR).recordings
        footing = (Footing(FootingKind.SAID, "", 3.0, 4.0, "so"),)
        values = [("registration_mark", "FGY 412H"), ("chassis_number", NUMBER), ("chassis_number", "A812345678")]
        opened.put_facts(recording.id, [Fact(name, value, footings=footing, sureness=0.9) for name, value in values])
        # 'windscreen chipped' twice at tests in a garage's own words, with a town that is private.
        noted = f"Windscreen chipped, seen at {TOWN}"
        tests = [one("2016.06.10", 70_100, noted), one("2018.06.10", 73_100, noted), one("2019.06.10", 13_100, "none")]
        record = {"registration": MARK, "make": "OSTREL", "model": "PAVANE", "motTests": tests}
        keep_tests(opened, CAR, json.dumps(record).encode(), called="history.json", author=IDA)
        for fields in (
            {"about": KEEPER, "start": "1969", "until": "1994", "on": f"letter of {PLANTED}"},
            {"about": "Zebediah", "start": "1996", "until": "now", "on": "registration"},
        ):
            enter_past(opened, CAR, PastKind.KEEPER, fields, author=IDA)
        enter_past(opened, CAR, PastKind.COUNTRY, {"about": "FR", "until": "1987", "on": PLANTED}, author=IDA)
        keep_private(opened, CAR, TOWN, kind=PrivateKind.OTHER, author=IDA)
        yield opened


def test_the_report_tells_the_car_in_use(store: Store, tmp_path: Path) -> None:
    made = make_report(store, CAR, out=tmp_path / "out", only=["html", "pdf"])
    page = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    assert "The car in use" in page
    assert "Timeline of the car" in page
    assert "not consistent" in page or "cannot be told" in page
    assert "sign 2 is 8 in one and B in the other" in page
    assert "At the test of 10 June 2016 it carried OLD123" in page
    assert "Keeper 1: Augusta Harbottle, from 1969 to 1994 (paper: letter of Marlowe Twistleton)." in page
    assert "Nobody is entered as keeper from 31 December 1994 to 1 January 1996." in page
    assert "In France to 1987" in page
    assert {file.what for file in made.files} == {"html", "pdf"}


def test_a_mileage_whose_day_is_not_known_is_told_beside_the_rest(store: Store) -> None:
    car = replace(store.car_file(CAR), tests=())
    said = (Footing(FootingKind.SAID, "nowhere", 3.0, 4.0, "so"),)
    fact = KeptFact("f1", Fact("odometer", 63_418, "mi", footings=said, state=State.STANDS))
    section = public_history_section(car, replace(car, facts=(fact,)), day=date(2026, 11, 27), told=str)
    assert section is not None
    (mileage,) = [one for one in section.gauges if one.name == "Mileage"]
    assert [line.words for line in mileage.lines] == [
        "63,418 mi, said, on a day that is not known.",
        "Of no mileage the day is known, so none can be held against another.",
    ]
    assert "No mileage is known" not in " ".join(one.alt for one in section.gauges)


def test_the_buyers_page_tells_it_without_marks_numbers_and_names(store: Store, tmp_path: Path) -> None:
    make_buyers_page(store, CAR, out=tmp_path / "page")
    page = (tmp_path / "page" / "index.html").read_text(encoding="utf-8")
    assert "The car in use" in page
    assert "Timeline of the car" in page
    assert "A mileage does not go on from the others." in page
    assert "It carried another registration mark at a test." in page
    assert "Keeper 1, from 1969 to 1994 (a paper)." in page
    assert "There is a time of which no keeper is entered." in page
    assert "In France to 1987 (a paper)." in page
    assert ">keeper 1<" in page
    for file in (tmp_path / "page").rglob("*"):
        if file.is_file() and file.suffix in {".html", ".vtt", ".js", ".css", ".json", ".svg"}:
            plain = re.sub(r"\s+", "", file.read_text(encoding="utf-8"))
            for planted in (MARK, "OLD123", NUMBER, "A812345678", TOWN, "IdaQuill", "91465576", "history.json"):
                assert planted not in plain, (file.name, planted)
            for planted in ("Harbottle", "Zebediah", "Twistleton"):
                assert planted not in plain, (file.name, planted)
