"""The pages of job cards: the same as the command line, ticked off, taken back, ringed; pictures are covered."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from starlette.applications import Starlette
from starlette.testclient import TestClient

from shutline.car.carfile import KeptFinding
from shutline.car.masks import Box, BoxAt, MaskKind
from shutline.cli.commands import run
from shutline.store import Store
from shutline.usecases.look import find_car
from shutline.usecases.masks import add_mask
from shutline.usecases.own_prep import PREP_VARIABLE
from shutline.usecases.prep_done import DoneAsked, tick_off
from shutline.usecases.settings import SETTINGS_VARIABLE

CAR = "ostrel-pavane"
HERE = f"/cars/{CAR}/preparation/cards"


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(PREP_VARIABLE, str(tmp_path / "prep"))
    monkeypatch.setenv(SETTINGS_VARIABLE, str(tmp_path / "settings" / "settings.toml"))


@pytest.fixture
def asking(client: TestClient) -> TestClient:
    """The same browser, asking for JSON as the pages' scripts do."""
    client.headers["accept"] = "application/json"
    return client


def dented(store: Store) -> KeptFinding:
    """Give the finding of the dent in the nearside front wing."""
    return next(one for one in find_car(store, CAR).findings if one.finding.condition == "dent")


def first_job(asking: TestClient) -> tuple[str, dict[str, Any]]:
    """Give the first trade and its first job."""
    card = asking.get(f"{HERE}.json").json()["cards"][0]
    return card["trade"], card["jobs"][0]


def test_cards_are_shown_as_the_command_line_shows_them(
    client: TestClient, store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    shown = client.get(f"{HERE}.json").json()
    page = client.get(HERE).text
    capsys.readouterr()
    assert run(["job-cards", CAR, "--store", str(store.folder), "--json"]) == 0
    assert shown == json.loads(capsys.readouterr().out)
    assert len(shown["cards"]) > 1
    for card in shown["cards"]:
        assert f'href="{HERE}/{card["trade"]}"' in page
    card = shown["cards"][0]
    assert run(["job-cards", CAR, "--trade", card["trade"], "--store", str(store.folder), "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == card == client.get(f"{HERE}/{card['trade']}.json").json()
    one = client.get(f"{HERE}/{card['trade']}").text
    for job in card["jobs"]:
        assert f">{job['number']}</text>" in one
        assert f'data-task="{job["task"]}"' in one
        assert all(fact in one for fact in job["facts"])
    assert "<b>the seat" not in one
    assert run(["job-cards", CAR, "--store", str(store.folder)]) == 0
    told = capsys.readouterr().out
    assert f"1. {card['jobs'][0]['name']}" in " ".join(told.split())
    assert client.get(f"{HERE}/nobody.json").json()["error"]["slug"] == "card-unknown"


def test_a_job_is_ticked_off_with_hours_a_picture_and_what_was_found_and_taken_back(
    asking: TestClient, store: Store
) -> None:
    trade, job = first_job(asking)
    place = job["spots"][0]["places"][0]["key"]
    jpeg = io.BytesIO()
    Image.new("RGB", (64, 48), (90, 120, 90)).save(jpeg, "JPEG")
    how = f"?token=picture-0001&kind=picture&place={place}&name=after.jpg"
    assert asking.post(f"/cars/{CAR}/at-the-car/file{how}", content=jpeg.getvalue()).status_code == 201
    body = {
        "task": job["task"],
        "trade": trade,
        "findings": job["findings"],
        "hours": "2.5",
        "picture": "picture-0001",
        "found": "the bolt is <b>seized</b>",
        "place": place,
        "token": "work-00000001",
    }
    done = asking.post(f"{HERE}/done", json=body)
    assert done.status_code == 200
    assert asking.post(f"{HERE}/done", json=body).json() == done.json()
    car = find_car(store, CAR)
    assert [one.id for one in car.pictures if one.original.name == "after.jpg"] == [done.json()["picture"]]
    (noted,) = [one for one in car.notes if one.words]
    assert (noted.words, noted.author) == ("the bolt is <b>seized</b>", "Ida Quill")
    card = asking.get(f"{HERE}/{trade}.json").json()
    assert [one["task"] for one in card["done"]] == [job["task"]]
    assert job["task"] not in [one["task"] for one in card["jobs"]]
    line = card["done"][0]["line"]
    assert (line["hours"], line["changes"][-1]["author"]) == ("2.5", "Ida Quill")
    page = asking.get(f"{HERE}/{trade}", headers={"accept": "text/html"}).text
    assert "the bolt is &lt;b&gt;seized&lt;/b&gt;" in page
    assert "2.5 hours, Ida Quill" in page
    line = done.json()
    back = {"work": line["id"], "version": line["version"], "token": "back-000001"}
    assert asking.post(f"{HERE}/back", json=back).json()["holds"] is False
    assert asking.post(f"{HERE}/back", json=back).json()["holds"] is False
    _, again = first_job(asking)
    assert again == job


def test_once_all_is_ticked_off_the_page_says_what_is_to_be_filmed_again(asking: TestClient, store: Store) -> None:
    jobs = {job["task"]: job for card in asking.get(f"{HERE}.json").json()["cards"] for job in card["jobs"]}
    fixed: set[str] = set()
    for task, job in jobs.items():
        fixed |= set(job["findings"])
        tick_off(store, CAR, DoneAsked(task, findings=tuple(job["findings"])), author="Ida Quill")
    found = asking.get(f"{HERE}.json").json()
    assert not [job for card in found["cards"] for job in card["jobs"]]
    assert {one["id"] for one in found["to_film"]} == fixed
    page = asking.get(HERE, headers={"accept": "text/html"}).text
    assert "All is ticked off: what was put right and no picture shows since." in page
    assert "nothing left to do" in page
    assert all(one["place"][1:] in page for one in found["to_film"])


def test_what_cannot_be_or_comes_too_late_is_refused(asking: TestClient) -> None:
    trade, job = first_job(asking)
    body = {"task": job["task"], "trade": trade, "token": "work-00000002"}
    for more, slug in (
        ({"hours": "-1"}, "work-refused"),
        ({"hours": "soon"}, "web-sent"),
        ({"picture": "never-sent-1"}, "note-unknown"),
        ({"trade": "nobody"}, "work-refused"),
    ):
        assert asking.post(f"{HERE}/done", json=body | more).json()["error"]["slug"] == slug
    done = asking.post(f"{HERE}/done", json=body).json()
    late = asking.post(f"{HERE}/done", json=body | {"hours": "3", "token": "work-00000003"})
    assert (late.status_code, late.json()["present"]["id"]) == (409, done["id"])
    assert late.json()["said"]["present"]
    back = {"work": done["id"], "version": 9, "token": "back-000002"}
    assert asking.post(f"{HERE}/back", json=back).status_code == 409
    assert asking.get(f"{HERE}/pictures/{'0' * 64}").json()["error"]["slug"] == "media-gone"


def test_a_ring_is_drawn_moved_and_taken_away_and_what_is_sent_twice_is_one(asking: TestClient, store: Store) -> None:
    kept = dented(store)
    still = kept.stills[0].sha256
    body = {"finding": kept.id, "picture": still, "version": 0, "x": 0.25, "y": 0.5, "radius": 0.125}
    first = asking.post(f"{HERE}/ring", json=body | {"token": "ring-000001"})
    assert first.json() == asking.post(f"{HERE}/ring", json=body | {"token": "ring-000001"}).json()
    assert first.json()["ring"]["version"] == 1
    late = asking.post(f"{HERE}/ring", json=body | {"x": 0.75})
    assert late.status_code == 409
    assert late.json()["said"]["present"] == "a ring 25% from the left, 50% from the top"
    assert asking.post(f"{HERE}/ring", json=body | {"x": 7, "version": 1}).json()["error"]["slug"] == "ring-refused"
    trade = next(
        card["trade"]
        for card in asking.get(f"{HERE}.json").json()["cards"]
        if any(kept.id in job["findings"] for job in card["jobs"])
    )
    page = asking.get(f"{HERE}/{trade}", headers={"accept": "text/html"}).text
    wide, high = kept.stills[0].width, kept.stills[0].height
    assert f'cx="{0.25 * wide}" cy="{0.5 * high}" r="{0.125 * wide}"' in page
    assert "The place is ringed." in page
    away = {"finding": kept.id, "picture": still, "version": 1}
    assert asking.post(f"{HERE}/ring", json=away).json()["ring"]["holds"] is False
    assert asking.post(f"{HERE}/ring", json=away).json()["ring"]["version"] == 2
    assert "The place is ringed." not in asking.get(f"{HERE}/{trade}", headers={"accept": "text/html"}).text


def test_a_picture_is_shown_covered_and_the_still_itself_is_not_touched(asking: TestClient, store: Store) -> None:
    kept = dented(store)
    still, film = kept.stills[0], find_car(store, CAR).recordings[0]
    before = asking.get(f"/stills/{still.sha256}").content
    bare = asking.get(f"{HERE}/pictures/{still.sha256}").content
    add_mask(store, CAR, film.id, MaskKind.MARK, [BoxAt(still.at_s, Box(0.25, 0.25, 0.75, 0.75))])
    covered = asking.get(f"{HERE}/pictures/{still.sha256}").content
    assert asking.get(f"/stills/{still.sha256}").content == before

    def middle(data: bytes) -> np.ndarray:
        pixels = np.asarray(Image.open(io.BytesIO(data)).convert("RGB"), dtype=int)
        high, wide = pixels.shape[:2]
        return pixels[3 * high // 8 : 5 * high // 8, 3 * wide // 8 : 5 * wide // 8]

    assert np.ptp(middle(covered), axis=(0, 1)).max() < 12
    assert np.ptp(middle(bare), axis=(0, 1)).max() > 40


def test_nobody_outside_sees_a_card_or_changes_one(outside: TestClient, bench: Starlette) -> None:
    del bench
    assert outside.get(HERE).status_code == 401
    assert outside.post(f"{HERE}/done", json={}).status_code == 401
