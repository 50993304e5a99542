"""The pictures page: what is shown, placed and handed out is what the use cases give."""

from __future__ import annotations

import json
from pathlib import Path

import av
import pytest
from PIL import Image
from starlette.testclient import TestClient

from shutline.cli import main
from shutline.store import Store
from shutline.usecases.add import add

CAR = "ostrel-pavane"
HERE = f"/cars/{CAR}/pictures"
JSON = {"accept": "application/json"}


@pytest.fixture
def picture(store: Store, tmp_path: Path) -> str:
    exif = Image.Exif()
    exif[0x010F] = "ZZMAKER"
    path = tmp_path / "sill.jpg"
    Image.new("RGB", (300, 200), "navy").save(path, exif=exif)
    add(store, [path], car=CAR)
    return store.car_file(CAR).pictures[0].id


def finding(store: Store, part: str):
    return next(kept for kept in store.car_file(CAR).findings if kept.finding.part == part)


def test_the_page_shows_stills_pictures_and_films(client: TestClient, store: Store, picture: str) -> None:
    text = client.get(HERE).text
    assert "Not placed yet" in text
    assert f"{HERE}/by-hand/{picture}" in text
    still = next(still for kept in store.car_file(CAR).findings for still in kept.stills)
    assert f"/stills/{still.sha256}" in text
    assert f"{HERE}/film/{store.car_file(CAR).recordings[0].id}" in text


def test_the_command_line_gives_the_same(
    client: TestClient, store: Store, picture: str, capsys: pytest.CaptureFixture[str]
) -> None:
    seen = client.get(f"{HERE}.json").json()
    assert main(["pictures", CAR, "--store", str(store.folder), "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == seen
    assert [one["id"] for one in seen["loose"]] == [picture]


def test_a_picture_is_placed_and_tied_by_whoever_is_let_in(client: TestClient, store: Store, picture: str) -> None:
    sent = {"picture": picture, "place": "sill-near", "version": 0}
    placed = client.post(f"{HERE}/place", json=sent)
    assert placed.status_code == 200
    assert placed.json()["picture"]["name"] == "Nearside sill"
    stale = client.post(f"{HERE}/place", json={**sent, "place": "roof"}, headers=JSON)
    assert stale.status_code == 409
    assert stale.json()["error"]["slug"] == "stale-picture"
    rust = finding(store, "sill")
    tied = client.post(f"{HERE}/shows", json={"picture": picture, "finding": rust.id, "version": rust.version})
    assert tied.status_code == 200
    kept = finding(store, "sill")
    assert {footing.kind.value for footing in kept.finding.footings} == {"said", "seen"}
    assert kept.finding.state.value == "stands"
    assert "Shows:" in client.get(HERE).text


def test_what_is_not_as_asked_is_refused(client: TestClient, picture: str) -> None:
    assert client.post(f"{HERE}/place", json={"picture": picture}).status_code == 400
    sent = {"picture": picture, "place": "flux", "version": 0}
    assert client.post(f"{HERE}/place", json=sent, headers=JSON).json()["error"]["slug"] == "place-unknown"
    assert client.get(f"{HERE}/by-hand/ffff").status_code == 404
    assert client.get(f"{HERE}/sheet/bonnet.gif").status_code == 404
    assert client.get(f"{HERE}/clip/ffffff").status_code == 404


def test_pictures_and_sheets_are_sent_bare(client: TestClient, store: Store, picture: str) -> None:
    shown = client.get(f"{HERE}/by-hand/{picture}")
    assert shown.headers["content-type"] == "image/jpeg"
    assert b"ZZMAKER" not in shown.content
    sheet = client.get(f"{HERE}/sheet/sill.pdf?keep")
    assert sheet.content.startswith(b"%PDF")
    assert sheet.headers["content-disposition"].startswith("attachment")


def test_a_clip_and_the_film_are_handed_out(client: TestClient, store: Store, tmp_path: Path) -> None:
    rust = finding(store, "sill")
    recording = store.car_file(CAR).recordings[0].id
    for address in (f"{HERE}/clip/{rust.id}", f"{HERE}/film/{recording}"):
        sent = client.get(address)
        assert sent.headers["content-type"] == "video/mp4"
        path = tmp_path / "sent.mp4"
        path.write_bytes(sent.content)
        with av.open(str(path)) as film:
            assert film.streams.video
