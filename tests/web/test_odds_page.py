"""What is at odds is shown with its sides, decided by a script or a plain form, and refused with both when late."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from shutline.car.findings import Fact, Finding, Footing, FootingKind, Found, Side, State
from shutline.cli import main
from shutline.store import Store
from shutline.usecases.odds import odds

CAR = "ostrel-pavane"
AT = f"/cars/{CAR}/at-odds"


@pytest.fixture
def store(store: Store) -> Iterator[Store]:
    """The filmed car, with a paper that denies its dent, and a year that is told twice."""
    no_dent = Finding(
        "front_wing", "dent", Found.NO, Side.NEAR, footings=(Footing(FootingKind.WRITTEN, "", quote="no dents <b>"),)
    )
    store.add_finding(CAR, no_dent, author="Ben Hask", token=no_dent.part)
    plate = Footing(FootingKind.SEEN, "", quote="1971")
    store.add_fact(CAR, Fact("year", 1971, footings=(plate,)), author="Ben Hask", token=plate.quote)
    return store


def test_the_page_shows_both_sides_and_the_twin_is_what_the_command_prints(
    client: TestClient, store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    page = client.get(AT).text
    assert "2 things" in page
    assert "Nearside front wing has a dent in it" in page
    assert "no dents &lt;b&gt;" in page
    assert f'href="/cars/{CAR}?recording=1&amp;at=' in page
    assert page.count('name="holds" value="1"') == 2
    twin = client.get(f"{AT}.json").json()
    assert main(["odds", CAR, "--json", "--store", str(store.folder)]) == 0
    assert twin == json.loads(capsys.readouterr().out)
    (side, *_) = twin["open"][0]["sides"]
    assert side["looks"][0]["recording"] == 1
    assert side["looks"][0]["still"]["sha256"]


def test_a_general_denial_is_one_case_and_what_speaks_against_it_is_decided_together(
    client: TestClient, store: Store
) -> None:
    paper = Footing(FootingKind.WRITTEN, "", quote="not a dent on it")
    store.add_finding(
        CAR, Finding("bodywork", "dent", Found.NO, footings=(paper,)), author="Ben Hask", token=paper.quote
    )
    seen = Footing(FootingKind.SEEN, "", quote="a dent")
    store.add_finding(CAR, Finding("bonnet", "dent", Found.YES, footings=(seen,)), author="Ben Hask", token=seen.quote)
    (case,) = [one for one in odds(store, CAR).open if one.odds.general]
    page = client.get(AT).text
    assert "Two that speak against it" in page
    assert "These stand" in page
    assert page.count(f'id="case-{case.odds.id}"') == 1
    body = {"case": case.odds.id, "holds": "2", "reason": "seen them", "mark": case.odds.mark, "answers": 0}
    done = client.post(f"{AT}/decide", json=body)
    assert done.status_code == 200
    kept = {one.id: one.finding.state for one in store.car_file(CAR).findings}
    assert [kept[told.id] for told in case.odds.told] == [State.STRUCK, State.STANDS, State.STANDS]


def test_the_way_in_is_on_each_page_of_the_car(client: TestClient, store: Store) -> None:
    assert f'href="{AT}"' in client.get(f"/cars/{CAR}/particulars").text


def test_a_script_decides_with_the_name_of_who_did(client: TestClient, store: Store) -> None:
    case = odds(store, CAR).open[0]
    body = {"case": case.odds.id, "holds": "1", "reason": "seen it", "mark": case.odds.mark, "answers": 0}
    done = client.post(f"{AT}/decide", json=body)
    assert done.status_code == 200
    (past,) = done.json()["past"]
    assert (past["holds"], past["decisions"][0]["author"]) == (1, "Ida Quill")
    page = client.get(AT).text
    assert "number 1 stands, because seen it" in page
    assert "<s>Nearside front wing: no dent</s>" in page
    back = client.post(f"{AT}/decide", json={"case": past["id"], "holds": "open", "answers": 1})
    assert back.status_code == 200
    assert len(back.json()["open"]) == 2


def test_an_answer_that_is_late_is_refused_with_both(client: TestClient, store: Store) -> None:
    case = odds(store, CAR).open[0]
    body = {"case": case.odds.id, "holds": "1", "reason": "seen it", "mark": case.odds.mark, "answers": 0}
    assert client.post(f"{AT}/decide", json=body).status_code == 200
    late = client.post(f"{AT}/decide", json={**body, "holds": "2", "reason": "no"}, headers={"accept": "*/*"})
    assert late.status_code == 409
    told = late.json()
    assert told["error"]["slug"] == "odds-changed"
    assert "because seen it (Ida Quill)" in told["said"]["present"]
    assert told["said"]["wanted"] == "nearside front wing: no dent stands, because no"
    assert (told["wanted"]["reason"], told["expected_version"]) == ("no", 0)


def test_without_script_a_plain_form_decides_and_takes_back(client: TestClient, store: Store) -> None:
    page = client.get(AT).text
    proof = re.search(r'name="shutline-proof" value="([^"]+)"', page)
    assert proof
    year = next(one for one in odds(store, CAR).open if one.odds.rule == "year")
    form = {"shutline-proof": proof[1], "case": year.odds.id, "mark": year.odds.mark, "answers": "0"}
    del client.headers["shutline-proof"]
    sent = client.post(f"{AT}/decide", data={**form, "holds": "all", "reason": "two plates"})
    assert (sent.status_code, sent.headers["location"]) == (303, f"{AT}?done=kept#decided")
    assert "both can stand, because two plates" in client.get(AT).text
    late = client.post(f"{AT}/decide", data={**form, "holds": "none", "reason": "neither"})
    assert late.status_code == 409
    assert "As you wanted it" in late.text
    assert "neither stands, because neither" in late.text
    back = client.post(f"{AT}/decide", data={**form, "holds": "open", "answers": "1"})
    assert back.headers["location"] == f"{AT}?done=back#decided"
    assert len(odds(store, CAR).open) == 2


@pytest.mark.parametrize(
    ("holds", "reason", "slug"), [("5", "x", "odds-answer"), ("1", "  ", "odds-answer"), ("", "x", "odds-answer")]
)
def test_what_is_no_answer_is_refused(client: TestClient, store: Store, holds: str, reason: str, slug: str) -> None:
    case = odds(store, CAR).open[0]
    body = {"case": case.odds.id, "holds": holds, "reason": reason, "mark": case.odds.mark, "answers": 0}
    refused = client.post(f"{AT}/decide", json=body, headers={"accept": "*/*"})
    assert (refused.status_code, refused.json()["error"]["slug"]) == (400, slug)
    assert (
        client.post(f"{AT}/decide", json={"case": 1}, headers={"accept": "*/*"}).json()["error"]["slug"] == "web-sent"
    )
    assert all(kept.fact.state is not State.STRUCK for kept in store.car_file(CAR).facts)


def test_a_car_with_nothing_at_odds_says_that_this_is_no_good_news(client: TestClient, store: Store) -> None:
    store.create_car("quiet", title="Quiet")
    assert "That says nothing of what nobody told" in client.get("/cars/quiet/at-odds").text
