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


def test_a_decision_about_a_record_that_came_too_late_is_refused_with_both(asking: TestClient, store: Store) -> None:
    (line,) = asking.post(f"{HERE}/tests?name=h.json", content=json.dumps([RECORD])).json()["records"]
    said = {"id": line["id"], "verb": "same", "version": line["version"]}
    assert asking.post(f"{HERE}/decide", json=said).json()["version"] == 2
    late = asking.post(f"{HERE}/decide", json={**said, "verb": "other"})
    assert late.status_code == 409
    assert late.json()["said"] == {"present": "FGY412H: it is this car", "wanted": "FGY412H: it is another car"}
    assert store.car_file(CAR).tests[0].state == "same"


def past(store: Store, capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    assert run(["past", CAR, "--store", str(store.folder), "--by", "Ida Quill", "--json", *words]) == 0
    return json.loads(capsys.readouterr().out)


KEEPER = {"about": "Augusta <i>Harbottle", "start": "1969-09", "until": "1987-03", "on": "registration"}


def test_page_and_command_line_enter_amend_and_strike_the_same(
    asking: TestClient, store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    sent = asking.post(f"{HERE}/past", json={"verb": "enter", "kind": "keeper", "fields": KEEPER}).json()
    words = ("--keeper", KEEPER["about"], "--from", "1969-09", "--until", "1987-03", "--on", "registration")
    assert past(store, capsys, *words) == sent
    amended = past(store, capsys, "--amend", sent["id"][:6], "--until", "now", "--keeper", "A. Harbottle")
    assert amended == asking.get(f"{HERE}.json").json()["past"][0]
    assert (amended["entry"]["lasts"], amended["entry"]["about"], amended["version"]) == (True, "A. Harbottle", 2)
    change = {"verb": "strike", "id": sent["id"], "version": 1}
    late = asking.post(f"{HERE}/past", json=change)
    assert late.status_code == 409
    assert late.json()["said"]["wanted"].endswith("to this day (registration document): struck")
    assert asking.post(f"{HERE}/past", json={**change, "version": 2}).json()["state"] == "struck"
    assert past(store, capsys)["lines"] == asking.get(f"{HERE}.json").json()["past"]
    assert past(store, capsys, "--again", sent["id"])["state"] == "stands"
    past(store, capsys, "--country", "France", "--until", "1987-03", "--on", "carte grise")
    date = past(store, capsys, "--date", "registered", "--from", "1970", "--in", "France")
    assert date["words"] == "First registered in 1970 in France (said)"
    assert run(["past", CAR, "--store", str(store.folder)]) == 0
    assert "In France, to March 1987 (paper: carte grise); Ida Quill" in capsys.readouterr().out


def test_plain_forms_enter_and_change_without_script(client: TestClient, store: Store) -> None:
    page = client.get(HERE).text
    proof = page.split('name="shutline-proof" value="', 1)[1].split('"', 1)[0]
    form = {"shutline-proof": proof, "verb": "enter", "kind": "keeper", "paper": "log book", **KEEPER, "on": "paper"}
    came = client.post(f"{HERE}/past", data=form, follow_redirects=False)
    assert (came.status_code, came.headers["location"]) == (303, f"{HERE}#past-heading")
    (kept,) = store.car_file(CAR).past
    assert (kept.entry.paper, kept.entry.until) == ("log book", "1987-03")
    page = client.get(HERE).text
    assert "<i>Harbottle" not in page
    assert page.count("&lt;i&gt;Harbottle") >= 3
    change = {"shutline-proof": proof, "verb": "strike", "id": kept.id, "version": "1"}
    assert client.post(f"{HERE}/past", data=change, follow_redirects=False).status_code == 303
    late = client.post(f"{HERE}/past", data=change, headers={"accept": "text/html"})
    assert late.status_code == 409
    assert "log book): struck" in late.text
    assert store.car_file(CAR).past[0].state == "struck"


@pytest.mark.parametrize(
    ("sent", "slug"),
    [
        ({}, "web-sent"),
        ({"verb": "enter"}, "web-sent"),
        ({"verb": "enter", "kind": "colour"}, "web-sent"),
        ({"verb": "enter", "kind": "keeper", "more": 1}, "web-sent"),
        ({"verb": "enter", "kind": "country", "fields": {"about": "Atlantis"}}, "past-unfit"),
        ({"verb": "enter", "kind": "keeper", "fields": {"start": "soon"}}, "past-unfit"),
    ],
)
def test_what_cannot_be_entered_is_refused(asking: TestClient, sent: dict[str, object], slug: str) -> None:
    answer = asking.post(f"{HERE}/past", json=sent)
    assert (answer.status_code, answer.json()["error"]["slug"]) == (400, slug)


def test_an_entry_that_is_not_there_and_words_that_do_not_go_together(
    asking: TestClient, store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    assert asking.post(f"{HERE}/past", json={"verb": "strike", "id": "nothing"}).status_code == 404
    for words in (("--keeper", "A", "--country", "FR"), ("--strike", "a", "--again", "b"), ("--from", "1987")):
        assert run(["past", CAR, "--store", str(store.folder), *words]) == 2
    assert "does not go together" in capsys.readouterr().err
