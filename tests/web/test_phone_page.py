"""What the phone sends from beside the car: taken once, at its place, under whoever sent it, and nothing else."""

from __future__ import annotations

import io
import json
import random
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest
from PIL import Image
from starlette.applications import Starlette
from starlette.testclient import TestClient

from shutline.car.figures import FigureState
from shutline.car.findings import FootingKind, State
from shutline.cli import main
from shutline.store import Store
from shutline.usecases.add import AddedItem
from shutline.usecases.at_the_car import at_the_car
from shutline.usecases.progress import Stop
from shutline.web import jobs, phone_page

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))

from drawn_figures import as_photographed, odometer

CAR = "ostrel-pavane"
PAGE = f"/cars/{CAR}/at-the-car"
ONE, TWO, WEB = "token-one", "token-two", "token-web"


@pytest.fixture
def bench(bench: Starlette) -> Iterator[Starlette]:
    yield bench
    bench.state.jobs.close()


def picture(shade: int = 90) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (64, 48), (shade, 60, 40)).save(out, "JPEG")
    return out.getvalue()


def send(client: TestClient, data: bytes, **asked: str):
    asked = {"token": ONE, "kind": "picture", "place": "sill-near", "at": "2026-03-01T10:15:00.000Z", **asked}
    return client.post(f"{PAGE}/file", params=asked, content=data, headers={"accept": "application/json"})


def arriving(store: Store) -> list[Path]:
    return [path for path in (store.folder / "arriving-notes").glob("*") if path.is_file()]


def test_the_page_has_each_place_once_and_its_twin_is_what_the_use_case_gives(client: TestClient, store: Store) -> None:
    text = client.get(PAGE).text
    told = at_the_car(store, CAR)
    assert all(text.count(f'data-place="{place.key}"') == 1 for place in told.places)
    assert client.get(f"{PAGE}.json").json() == json.loads(msgspec.json.encode(told))
    assert {one.line for one in told.known} >= {"dent, slight (said)"}


def test_nothing_of_the_page_needs_a_script_or_style_within_it(client: TestClient) -> None:
    text = client.get(PAGE).text
    assert "<style" not in text
    assert " style=" not in text
    assert " onclick" not in text


def test_a_picture_is_read_for_figures_in_its_turn_and_what_it_shows_waits(
    client: TestClient, bench: Starlette, store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # As shipped: the settings of the tests leave it out.
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "settings.toml"))
    rng = random.Random(5)
    out = io.BytesIO()
    Image.fromarray(as_photographed(odometer(rng).picture, rng, trouble=0.3)).save(out, "PNG")
    sent = send(client, out.getvalue(), place="instruments").json()["note"]
    while bench.state.jobs.adding().deliveries:
        time.sleep(0.05)
    (figure,) = store.car_file(CAR).figures
    assert (figure.source, figure.state) == (sent["source"], FigureState.WAITS)


def test_it_can_be_stopped_and_gone_on_with(
    client: TestClient, bench: Starlette, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, go = threading.Event(), threading.Event()

    def slow(*_: object, stop: Stop, **more: object) -> AddedItem:
        begun.set()
        assert go.wait(60)
        stop.heed("picture")
        return AddedItem("picture")

    monkeypatch.setattr(jobs, "read_picture", slow)
    send(client, picture(), place="sill-near")
    assert begun.wait(60)
    (delivery,) = client.get("/add.json").json()["deliveries"]
    assert (delivery["state"], delivery["note"]) == ("working", "nearside sill")
    assert "Its picture is being read for figures" in client.get("/add", headers={"accept": "text/html"}).text
    client.post(f"/add/deliveries/{delivery['id']}/stop")
    go.set()
    while (delivery := client.get("/add.json").json()["deliveries"][0])["state"] == "working":
        time.sleep(0.05)
    assert delivery["state"] == "stopped"
    client.post(f"/add/deliveries/{delivery['id']}/go-on")
    while client.get("/add.json").json()["deliveries"]:
        time.sleep(0.05)


def test_a_picture_is_taken_once_under_whoever_sent_it(client: TestClient, store: Store) -> None:
    first = send(client, picture(), name="../../IMG_1.jpg")
    again = send(client, picture(), name="../../IMG_1.jpg")
    assert (first.status_code, again.status_code) == (201, 200)
    assert again.json()["note"] == first.json()["note"]
    car = store.car_file(CAR)
    (kept,) = car.pictures
    assert (kept.original.name, car.notes[0].author, car.notes[0].at) == (
        "IMG_1.jpg",
        "Ida Quill",
        "2026-03-01T10:15:00.000Z",
    )
    assert client.get(f"/originals/{kept.original.sha256}").content == picture()
    assert arriving(store) == []


def test_what_it_shows_may_be_new_or_what_was_heard(client: TestClient, store: Store) -> None:
    send(client, picture())
    headers = {"accept": "application/json"}
    new = {"token": TWO, "note": ONE, "says": {"condition": "rust", "severity": "severe"}}
    for _ in range(2):
        answer = client.post(f"{PAGE}/shows", json=new, headers=headers)
        assert answer.status_code == 200
    heard = next(kept for kept in store.car_file(CAR).findings if kept.finding.state is State.HEARD)
    tied = client.post(f"{PAGE}/shows", json={"token": "token-tri", "note": ONE, "finding": heard.id}, headers=headers)
    assert tied.json()["finding"]["finding"]["state"] == "stands"
    seen = [
        kept.finding.condition
        for kept in store.car_file(CAR).findings
        if any(footing.kind is FootingKind.SEEN for footing in kept.finding.footings)
    ]
    assert sorted(seen) == sorted(["rust", heard.finding.condition])


def test_typed_words_are_taken_once(client: TestClient, store: Store) -> None:
    sent = {"token": ONE, "place": "carpet", "words": "<i>wet</i> & cold", "says": {"condition": "damp"}}
    for _ in range(2):
        answer = client.post(f"{PAGE}/words", json=sent, headers={"accept": "application/json"})
        assert answer.status_code in {200, 201}
    assert [note.words for note in store.car_file(CAR).notes] == ["<i>wet</i> & cold"]
    assert "<i>wet" not in client.get(f"/cars/{CAR}").text


@pytest.mark.parametrize(
    ("slug", "asked", "data"),
    [
        ("place-unknown", {"place": "flux"}, picture()),
        ("note-token", {"token": "../up"}, picture()),
        ("note-kind", {"kind": "typed"}, picture()),
        ("note-kind", {"kind": "spoken"}, picture()),
        ("not-a-recording", {}, b"no picture at all"),
        ("empty-file", {}, b""),
    ],
)
def test_what_cannot_be_taken_is_refused_with_words_and_leaves_nothing(
    client: TestClient, store: Store, slug: str, asked: dict[str, str], data: bytes
) -> None:
    answer = send(client, data, **asked)
    assert (answer.status_code, answer.json()["error"]["slug"]) == (400, slug)
    car = store.car_file(CAR)
    assert (car.notes, car.pictures) == ((), ())
    assert arriving(store) == []


def test_more_than_is_taken_is_refused(client: TestClient, store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(phone_page, "MOST_BYTES", 100)
    answer = send(client, picture())
    assert answer.json()["error"]["slug"] == "note-too-large"
    assert arriving(store) == []
    long = client.post(f"{PAGE}/words", content=b"x" * 70_000, headers={"accept": "application/json"})
    assert long.json()["error"]["slug"] == "note-too-large"
    assert store.car_file(CAR).notes == ()


@pytest.mark.parametrize("body", [b"", b"{}", b"[1]", b'{"token":"token-one","place":"car","words":3}', b"\xff"])
def test_what_is_no_note_is_refused(client: TestClient, body: bytes) -> None:
    answer = client.post(f"{PAGE}/words", content=body, headers={"accept": "application/json"})
    assert (answer.status_code, answer.json()["error"]["slug"]) == (400, "web-asked")


def test_nothing_is_taken_without_the_proof_or_for_a_car_that_is_not_there(client: TestClient, store: Store) -> None:
    gone = client.post(
        "/cars/nobody/at-the-car/words",
        json={"token": ONE, "place": "car", "words": "low"},
        headers={"accept": "application/json"},
    )
    assert gone.status_code == 404
    del client.headers["shutline-proof"]
    assert send(client, picture()).json()["error"]["slug"] == "web-not-proven"
    assert store.car_file(CAR).pictures == ()


def test_the_worker_comes_with_the_right_to_serve_the_pages_of_cars(client: TestClient) -> None:
    answer = client.get("/at-the-car/worker.js")
    assert answer.headers["content-type"].startswith("text/javascript")
    assert answer.headers["service-worker-allowed"] == "/"
    for line in answer.text.splitlines():
        if line.strip().startswith('"/'):
            assert client.get(line.strip().strip('",')).status_code == 200, line


def test_the_page_and_the_command_line_tell_the_same_and_keep_the_same(
    client: TestClient, store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    def command(*words: str) -> str:
        assert main([*words, "--store", str(store.folder)]) == 0
        return capsys.readouterr().out

    path = tmp_path / "sill.jpg"
    path.write_bytes(picture())
    by = ("--by", "Ida Quill", "--json")
    there = json.loads(command("note", CAR, "nearside sill", str(path), "--shows", "rust", "--severity", "slight", *by))
    send(client, picture(30), token=WEB, name="sill.jpg")
    new = {"token": TWO, "note": WEB, "says": {"condition": "rust", "severity": "slight"}}
    here = client.post(f"{PAGE}/shows", json=new, headers={"accept": "application/json"}).json()
    for told in (here, there):
        for name in ("id", "at", "kept_at", "source"):
            del told["note"][name]
        del told["finding"]["id"], told["finding"]["changes"], told["finding"]["finding"]["footings"][0]["source"]
    assert here == there
    typed = json.loads(command("note", CAR, "carpet", "--words", "wet", *by))
    assert typed["note"]["kind"] == "typed"
    assert json.loads(command("notes", CAR, "--json")) == client.get(f"{PAGE}.json").json()
    assert "Carpet: wet" in command("notes", CAR)
    assert main(["note", CAR, "carpet", "--store", str(store.folder)]) == 2
