"""What moisture readings come to: told, against what was said, proposed, entered."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from shutline.car.findings import FootingKind, Found
from shutline.gauge.readings import Keyed
from shutline.store import Store
from shutline.survey.odds import OddsKind
from shutline.usecases.add import add
from shutline.usecases.buyers_page import make_buyers_page
from shutline.usecases.gauges import car_gauges, enter_measured
from shutline.usecases.odds import odds
from shutline.usecases.readings import enter_reading
from shutline.usecases.report import make_report

CAR = "blue"
WORDS = """WEBVTT

00:00:01.000 --> 00:00:04.000
Inside now. There is no damp in the carpet at all.
"""


@pytest.fixture
def store(make_film: Callable[..., Path], tmp_path: Path) -> Iterator[Store]:
    film = make_film("walk.mp4", frames=50, rate=10, sound=None, gop=10)
    words = tmp_path / "walk.vtt"
    words.write_text(WORDS, encoding="utf-8")
    with Store.open(tmp_path / "store") as opened:
        add(opened, [film], car=CAR, title="Ostrel Pavane, blue", transcript=words)
        places = {"off front": 9, "near rear": 10, "off rear": 9, "near front": 28, "": 10}
        for spot, value in places.items():
            for more in (0, 1):
                part = "carpet" if spot else "boot_floor"
                keyed = Keyed("moisture", value + more, part=part, spot=spot, instrument="moisture_meter")
                enter_reading(opened, CAR, keyed, author="Ida Quill")
        yield opened


def test_damp_has_a_section_of_its_own(store: Store) -> None:
    section = next(one for one in car_gauges(store, CAR).sections if one.id == "damp")
    told = [line.sentence for line in section.lines if not line.plain]
    assert told[0].startswith("This car's driest places read about")
    assert [one for one in told[1:] if one.startswith("Carpet, near front reads")]
    assert len(told) == 2
    assert "decides" in section.use
    assert section.cautions


def test_no_damp_and_a_wet_carpet_are_at_odds_and_proposed_once(store: Store) -> None:
    gauges = car_gauges(store, CAR)
    assert [one.sentence for one in gauges.against if "no damp" in one.sentence]
    (proposal,) = gauges.proposals
    assert (proposal.part, proposal.condition, proposal.entered) == ("carpet", "damp", False)
    cases = [one for one in odds(store, CAR).open if one.odds.kind is OddsKind.MEASURED]
    assert len(cases) == 1
    kept = enter_measured(store, CAR, proposal.key, author="Ida Quill")
    assert kept.finding.found is Found.UNSURE
    assert kept.finding.footings[0].kind is FootingKind.MEASURED
    assert car_gauges(store, CAR).proposals[0].entered


def test_the_inside_is_drawn_in_the_gauges_the_report_and_the_buyers_page(store: Store, tmp_path: Path) -> None:
    (damp,) = [one for one in car_gauges(store, CAR).sections if one.id == "damp"]
    assert "damp-figures" in damp.picture
    make_report(store, CAR, out=tmp_path / "out", only=["html", "pdf"])
    make_buyers_page(store, CAR, out=tmp_path / "page")
    for page in (tmp_path / "out" / "report.html", tmp_path / "page" / "index.html"):
        text = page.read_text(encoding="utf-8")
        assert 'id="damp-figures"' in text
        assert "Damp on the Plan" in text
