"""The page of the timeline: the same record as the command line; files brought in, records decided about, refused."""

from __future__ import annotations

import json

import pytest
from starlette.testclient import TestClient

from shutline.cli.commands import run
from shutline.store import Store

CAR = "ostrel-pavane"
HERE = f"/cars/{CAR}/timeline"
TEST = {
    "completedDate": "2016.06.10 10:00:00",
    "testResult": "PASSED",
    "odometerValue": "70100",
    "odometerUnit": "mi",
    "odometerResultType": "READ",
    "rfrAndComments": [{"text": "<script>alert(1)</script> sill corroded", "type": "ADVISORY", "dangerous": False}],
}
RECORD = {"registration": "FGY412H", "make": "OSTREL", "model": "<b>PAVANE", "motTests": [TEST]}


@pytest.fixture
def asking(client: TestClient) -> TestClient:
    """The same browser, asking for JSON as the pages' scripts do."""
    client.headers["accept"] = "application/json"
    return client


def told(store: Store, capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    assert run(["timeline", CAR, "--store", str(store.folder), "--json", *words]) == 0
    return json.loads(capsys.readouterr().out)


def test_page_and_command_line_tell_the_same(
    asking: TestClient, store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "Nothing of this car has a day yet" in asking.get(HERE, headers={"accept": "text/html"}).text
    came = asking.post(f"{HERE}/tests?name=..%2Fhistory.json", content=json.dumps([RECORD]))
    assert came.status_code == 200
    (line,) = came.json()["records"]
    assert (line["name"], line["counts"], line["kept_by"]) == ("history.json", False, "Ida Quill")
    said = asking.post(f"{HERE}/decide", json={"id": line["id"], "verb": "same"})
    assert said.json()["counts"]
    shown = asking.get(f"{HERE}.json?day=2026-11-26").json()
    assert shown == told(store, capsys, "--day", "2026-11-26")
    assert len(shown["tests"]) == 1
    page = asking.get(f"{HERE}?day=2026-11-26", headers={"accept": "text/html"}).text
    assert "<script>alert" not in page
    assert "<b>PAVANE" not in page
    assert "70,100 mi" in page
    assert 'aria-current="page">Timeline' in page


def test_the_same_decisions_by_command(
    asking: TestClient, store: Store, capsys: pytest.CaptureFixture[str], tmp_path
) -> None:
    file = tmp_path / "history.json"
    file.write_text(json.dumps(RECORD), encoding="utf-8")
    came = told(store, capsys, "--tests", str(file), "--by", "Ben Arkle")
    again = asking.post(f"{HERE}/tests?name=history.json", content=file.read_bytes()).json()
    assert (came["new"], again["new"]) == (1, 0)
    assert again["records"] == came["records"]
    id_ = came["records"][0]["id"]
    other = told(store, capsys, "--other", id_[:6], "--by", "Ben Arkle")
    assert other == asking.get(f"{HERE}.json").json()["records"][0]
    assert run(["timeline", CAR, "--store", str(store.folder)]) == 0
    assert "kept apart: Ben Arkle said that it is another car" in capsys.readouterr().out


@pytest.mark.parametrize("body", [b"", b"[]", b"[" * 9_999, b'{"registration": 1}'])
def test_a_file_that_gives_nothing_is_refused_in_one_shape(asking: TestClient, body: bytes) -> None:
    answer = asking.post(f"{HERE}/tests?name=x.json", content=body)
    assert answer.status_code == 400
    assert answer.json()["error"]["slug"] == "mot-history"


@pytest.mark.parametrize("sent", [{}, {"id": "x"}, {"id": "x", "verb": "gone"}, {"id": "x", "verb": "same", "more": 1}])
def test_what_cannot_be_decided_is_refused(asking: TestClient, sent: dict[str, object]) -> None:
    answer = asking.post(f"{HERE}/decide", json=sent)
    assert answer.status_code == 400
    assert answer.json()["error"]["slug"] == "web-sent"


def test_an_unknown_record_and_a_day_that_is_none(
    asking: TestClient, store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    assert asking.post(f"{HERE}/decide", json={"id": "nothing", "verb": "same"}).status_code == 404
    assert asking.get(f"{HERE}.json?day=soon").status_code == 400
    assert run(["timeline", CAR, "--store", str(store.folder), "--day", "soon"]) == 2
    assert run(["timeline", CAR, "--store", str(store.folder), "--same", "a", "--other", "b"]) == 2
    assert "one of --tests, --same, --other, --open" in capsys.readouterr().err
