"""The page of papers: the same record as the command line; papers sent, read, decided about, let out, refused."""

from __future__ import annotations

import io
import json
import sys
import time
from pathlib import Path

import pytest
from PIL import Image
from starlette.applications import Starlette
from starlette.testclient import TestClient

from shutline.cli.commands import run
from shutline.store import Store
from shutline.usecases.papers_intake import enter_papers

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))

from papers_made import locked_pdf, pdf_of

CAR = "ostrel-pavane"
HERE = f"/cars/{CAR}/papers"
OPENS = "salt märsh"
INVOICE = """= Invoice
Invoice date: 12/03/2019 \\
Mileage: 41,206 miles \\
Customer: Mrs Augusta Harbottle
"""


@pytest.fixture
def asking(client: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    """The same browser, asking for JSON as the pages' scripts do."""
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "settings.toml"))
    client.headers["accept"] = "application/json"
    return client


def told(store: Store, capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    assert run([*words, "--store", str(store.folder), "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def bring(asking: TestClient, *files: tuple[str, bytes], opens: str = "") -> dict:
    sent = []
    for name, data in files:
        arrived = asking.post(f"{HERE}/arrive?name={name}", content=data)
        assert arrived.status_code == 201
        sent.append(arrived.json())
    headers = {"shutline-opens": opens} if opens else {}
    assert asking.post(f"{HERE}/read", json={"files": sent}, headers=headers).status_code == 202
    for _ in range(600):
        now = asking.get(f"{HERE}/now.json").json()
        if now["ended"]:
            return now
        time.sleep(0.1)
    raise AssertionError("the reading did not end")


def test_papers_are_sent_read_and_shown_as_by_command(
    asking: TestClient, store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "No papers were brought in yet" in asking.get(HERE, headers={"accept": "text/html"}).text
    data = pdf_of(INVOICE)
    now = bring(asking, ("..%2F%3Cb%3Einvoice.pdf", data), ("letter.txt", b"Dear sir"))
    assert [one["error"] and one["error"]["slug"] for one in now["came"]["papers"]] == [None, "not-a-paper"]
    shown = asking.get(f"{HERE}.json").json()
    assert shown == told(store, capsys, "papers", CAR)
    (paper,) = shown["papers"]
    assert (paper["name"], paper["kept_by"]) == ("<b>invoice.pdf", "Ida Quill")
    # Nothing of what was sent lies about.
    assert list((store.folder / "papers-arriving").iterdir()) == []
    page = asking.get(HERE, headers={"accept": "text/html"}).text
    assert "<b>invoice" not in page
    assert 'aria-current="page">Papers' in page
    assert 'class="ring"' in page
    assert f"/stills/{paper['sheets'][0]['picture']}" in page
    assert asking.get(f"/stills/{paper['sheets'][0]['picture']}").headers["content-type"] == "image/jpeg"
    for read in paper["reads"]:
        one = asking.get(f"{HERE}?read={read['id']}", headers={"accept": "text/html"}).text
        assert f'id="read-{read["id"]}"' in one


def test_a_password_comes_beside_the_file_and_stays_nowhere(asking: TestClient, store: Store) -> None:
    data = locked_pdf("Mileage 41,206 miles", OPENS)
    refused = bring(asking, ("locked.pdf", data))
    assert refused["came"]["papers"][0]["error"]["slug"] == "paper-password"
    assert asking.get(f"{HERE}.json").json()["papers"] == []
    came = bring(asking, ("locked.pdf", data), opens="salt%20m%C3%A4rsh")
    assert came["came"]["papers"][0]["error"] is None
    for path in (path for path in store.folder.rglob("*") if path.is_file()):
        assert OPENS.encode("latin-1") not in path.read_bytes()
        assert OPENS.encode() not in path.read_bytes()


@pytest.fixture
def paper(asking: TestClient, store: Store, tmp_path: Path) -> dict:
    (tmp_path / "invoice.pdf").write_bytes(pdf_of(INVOICE))
    enter_papers(store, CAR, [tmp_path / "invoice.pdf"], author="Ida Quill")
    return asking.get(f"{HERE}.json").json()["papers"][0]


def test_what_was_read_is_decided_about_and_a_stale_change_is_refused(asking: TestClient, paper: dict) -> None:
    reads = {one["kind"]: one for one in paper["reads"]}
    mileage = reads["mileage"]
    sent = {"id": mileage["id"], "verb": "amend", "version": 1, "value": "42206", "unit": "mi", "day": "2019-03-12"}
    done = asking.post(f"{HERE}/decide", json=sent)
    assert (done.status_code, done.json()["read"]["value"], done.json()["read"]["by"]) == (200, "42206", "Ida Quill")
    stale = asking.post(f"{HERE}/decide", json={"id": mileage["id"], "verb": "strike", "version": 1})
    assert stale.status_code == 409
    assert (stale.json()["present"]["value"], stale.json()["wanted"]["state"]) == ("42206", "struck")
    said = asking.post(f"{HERE}/said", json={"id": paper["id"], "version": 1, "state": "other"})
    assert (said.json()["counts"], said.json()["state"]) == (False, "other")
    apart = asking.post(f"{HERE}/decide", json={"id": reads["date"]["id"], "verb": "take", "version": 1})
    assert (apart.status_code, apart.json()["error"]["slug"]) == (400, "paper-apart")
    again = asking.post(f"{HERE}/said", json={"id": paper["id"], "version": 1, "kind": "letter"})
    assert again.status_code == 409


def test_a_paper_is_looked_at_and_let_out(
    asking: TestClient, store: Store, paper: dict, capsys: pytest.CaptureFixture[str]
) -> None:
    here = f"{HERE}/{paper['id']}/out"
    shown = asking.get(f"{here}.json").json()
    assert shown == told(store, capsys, "paper-out", CAR, paper["id"])
    picture = asking.get(f"{here}/1.jpg")
    assert picture.headers["cache-control"] == "private, no-store"
    assert Image.open(io.BytesIO(picture.content)).format == "JPEG"
    page = asking.get(here, headers={"accept": "text/html"}).text
    assert "It stays in the house" in page
    box = {"left": 0.1, "top": 0.5, "width": 0.2, "height": 0.1}
    covered = asking.post(f"{here}/let", json={"version": shown["version"], "covers": [{"page": 1, "box": box}]}).json()
    assert len(covered["pages"][0]["boxes"]) == len(shown["pages"][0]["boxes"]) + 1
    refused = asking.post(f"{here}/let", json={"version": covered["version"], "mark": shown["mark"]})
    assert (refused.status_code, refused.json()["error"]["slug"]) == (400, "paper-not-looked")
    out = asking.post(f"{here}/let", json={"version": covered["version"], "mark": covered["mark"]}).json()
    assert out["out"]
    assert "It goes out as you see it here" in asking.get(here, headers={"accept": "text/html"}).text
    assert asking.post(f"{here}/let", json={"version": 1}).status_code == 409
    assert not asking.post(f"{here}/let", json={"version": out["version"]}).json()["out"]


def test_what_cannot_be_is_refused(asking: TestClient, bench: Starlette, paper: dict) -> None:
    for address, body, code in (
        ("decide", {"id": "zz", "verb": "take", "version": 1}, 404),
        ("decide", {"id": "zz", "verb": "burn", "version": 1}, 400),
        ("said", {"id": "zz", "version": 1, "state": "same"}, 404),
        ("read", {"files": [{"token": "../store", "name": "x"}]}, 404),
        ("read", {"files": [{"token": "0" * 32, "name": "x"}]}, 202),
    ):
        assert asking.post(f"{HERE}/{address}", json=body).status_code == code
    for address in (f"{HERE}/zz/out", f"{HERE}/{paper['id']}/out/2.jpg", "/cars/nobody/papers"):
        assert asking.get(address).status_code == 404
    bench.state.paper_readings.close()


def test_only_one_reading_of_a_car_goes_on_at_a_time(
    asking: TestClient, bench: Starlette, monkeypatch: pytest.MonkeyPatch
) -> None:
    import threading

    from shutline.web import papers_page

    go = threading.Event()
    monkeypatch.setattr(papers_page, "read_on", lambda *_, **__: go.wait(60))
    assert asking.post(f"{HERE}/read", json={}).status_code == 202
    busy = asking.post(f"{HERE}/read", json={})
    assert (busy.status_code, busy.json()["error"]["slug"]) == (400, "paper-busy")
    assert asking.post(f"{HERE}/stop", json={}).status_code == 202
    go.set()
    bench.state.paper_readings.close()
