"""The page of readings: the same record as the command line, entered, taken from a table, decided about, refused."""

from __future__ import annotations

import json

import pytest
from starlette.testclient import TestClient

from shutline.cli.commands import run
from shutline.store import Store

CAR = "ostrel-pavane"
HERE = f"/cars/{CAR}/readings"
ROUND = f"/cars/{CAR}/at-the-car/readings"
DOOR = {"quantity": "paint_film", "value": "122", "part": "door", "side": "near", "position": "front"}
SENT = "a-token-of-sixteen"


@pytest.fixture
def asking(client: TestClient) -> TestClient:
    """The same browser, asking for JSON as the pages' scripts do."""
    client.headers["accept"] = "application/json"
    return client


def test_an_entered_reading_is_shown_as_the_command_line_shows_it(
    client: TestClient, store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "Nothing was measured yet" in client.get(HERE).text
    made = client.post(f"{HERE}/enter", json={"reading": DOOR, "token": SENT})
    assert made.status_code == 201
    again = client.post(f"/cars/{CAR}/at-the-car/reading", json={"reading": DOOR, "token": SENT})
    assert again.json() == made.json()
    assert run(["readings", CAR, "--store", str(store.folder), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    shown = client.get(f"{HERE}.json").json()
    assert [line["kept"] for section in shown["sections"] for line in section["lines"]] == told["readings"]
    page = client.get(HERE).text
    assert "122 µm ± 3.3" in page
    assert "nearside front door" in page
    assert "Keyed in by Ida Quill" in page


def test_a_table_is_taken_and_what_cannot_be_is_told(asking: TestClient) -> None:
    data = b"part,value\nbonnet,96\nroof,high\n"
    came = asking.post(f"{HERE}/table?quantity=paint_film&name=..%2Ffilm.csv", content=data)
    assert came.status_code == 200
    assert [one["reading"]["value"] for one in came.json()["new"]] == [96]
    assert [one["where"] for one in came.json()["problems"]] == ["film.csv, line 3"]
    bad = asking.post(f"{HERE}/table", content=b"")
    assert bad.status_code == 400
    assert bad.json()["error"]["slug"] == "readings-table"


def test_decisions_and_a_stale_one(asking: TestClient) -> None:
    id_ = asking.post(f"{HERE}/enter", json={"reading": DOOR}).json()["reading"]["id"]
    body = {"id": id_, "verb": "amend", "version": 1, "reading": {"quantity": "", "value": "212"}}
    amended = asking.post(f"{HERE}/decide", json=body)
    assert amended.json()["reading"]["reading"]["value"] == 212
    stale = asking.post(f"{HERE}/decide", json={"id": id_, "verb": "strike", "version": 1})
    assert stale.status_code == 409
    assert stale.json()["error"]
    assert asking.post(f"{HERE}/decide", json={"id": id_, "verb": "strike", "version": 2}).status_code == 200
    assert "Let it wait again" in asking.get(HERE, headers={"accept": "text/html"}).text


@pytest.mark.parametrize(
    "body",
    [
        {"reading": {**DOOR, "value": "9999"}},
        {"reading": {**DOOR, "part": "<script>alert(1)</script>"}},
        {"reading": {**DOOR, "extra": 1}, "more": 2},
        {"reading": {}},
        {},
    ],
)
def test_what_cannot_be_is_refused_in_one_shape(asking: TestClient, body: dict[str, object]) -> None:
    answer = asking.post(f"{HERE}/enter", json=body)
    assert answer.status_code == 400
    assert set(answer.json()["error"]) == {"slug", "where", "found", "allowed", "advice"}
    assert asking.get(f"{HERE}.json").json()["sections"] == []


def test_a_stranger_and_a_page_without_proof_change_nothing(outside: TestClient, client: TestClient) -> None:
    del client.headers["shutline-proof"]
    assert client.post(f"{HERE}/enter", json={"reading": DOOR}).status_code == 403


def test_a_round_is_whole_in_its_page(client: TestClient) -> None:
    client.post(f"{HERE}/enter", json={"reading": {**DOOR, "spot": "bottom"}})
    found = client.get(f"{ROUND}.json?of=paint_film").json()
    assert found["each"] == 3
    door = next(stop for stop in found["stops"] if stop["part"] == "door" and stop["spot"] == "bottom")
    assert [one["value"] for one in door["read"]] == [122]
    assert "Do not scratch old paint" in client.get(f"{ROUND}?of=paint_film").text
    tyres = client.get(f"{ROUND}.json?of=tread_depth").json()["stops"]
    assert len([stop for stop in tyres if stop["part"] == "tyre"]) == 12
    unknown = client.get(f"{ROUND}.json?of=magic")
    assert unknown.status_code == 404
    assert unknown.json()["error"]["slug"] == "round-unknown"


def test_a_long_page_of_readings_stays_light(client: TestClient, store: Store) -> None:
    from shutline.gauge.readings import Keyed, reading_of

    readings = [(f"t{n}", reading_of(Keyed("paint_film", 90 + n % 60, part="bonnet"))) for n in range(600)]
    store.add_readings(CAR, readings, author="Ida Quill")
    answer = client.get(HERE)
    assert answer.status_code == 200
    assert answer.text.count('class="reading"') == 600
    assert int(answer.headers["content-length"]) < 300_000
