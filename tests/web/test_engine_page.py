"""The Engine page: the same record as the command line, listened to on request, refused in words."""

from __future__ import annotations

import importlib.util
import json
import sys
import wave
from pathlib import Path

import numpy as np
import pytest
from starlette.testclient import TestClient

from shutline.car.errors import Problem
from shutline.cli.commands import run
from shutline.store import Store
from shutline.usecases.add import add

CAR = "averley-drake"
HERE = f"/cars/{CAR}/engine"


@pytest.fixture(scope="module")
def filmed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a store with one car whose six-cylinder engine is started four seconds in."""
    path = Path(__file__).parents[1] / "gauge" / "engine" / "made_engine.py"
    spec = importlib.util.spec_from_file_location("made_engine", path)
    assert spec is not None
    assert spec.loader is not None
    made = importlib.util.module_from_spec(spec)
    sys.modules["made_engine"] = made
    spec.loader.exec_module(made)
    folder = tmp_path_factory.mktemp("engine")
    one = made.make(made.Plan(cylinders=6, seed=4, quiet_s=4.0, run_s=14, settle_s=5))
    sound = made.at_db(one, made.hiss(one.sound.size, 5), 20)
    with wave.open(str(folder / "start.wav"), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(16_000)
        file.writeframes((sound * 32767).astype("<i2").tobytes())
    words = folder / "start.vtt"
    words.write_text(
        "WEBVTT\n\n00:00:00.200 --> 00:00:02.000\nIt's stood overnight, so this is from cold. A straight six.\n",
        encoding="utf-8",
    )
    with Store.open(folder / "store") as store:
        add(store, [folder / "start.wav"], car=CAR, title="Averley Drake", transcript=words)
    return folder / "store"


def test_it_is_listened_to_on_request_and_shown_as_the_command_line_shows_it(
    client: TestClient, store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    before = client.get(HERE)
    assert before.status_code == 200
    assert "Nothing said how many cylinders" not in before.text
    heard = client.post(f"{HERE}/listen", json={"readings": {"standing_h": 14}})
    assert heard.status_code == 200
    assert heard.json() == client.get(f"{HERE}.json").json()
    assert run(["engine", CAR, "--kept", "--store", str(store.folder), "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == heard.json()
    (view,) = heard.json()["views"]
    assert view["author"] == "Ida Quill"
    assert view["cold"] is True
    page = client.get(HERE).text
    assert "carbon monoxide" in page
    assert "have it heard by a mechanic" in page
    assert "stood for 14 hours" in page
    assert 'role="img"' in page
    assert "common practice, no source" in page
    speeds = np.array([one for one in view["note"]["trace"]["rpm"] if one is not None])
    assert np.median(speeds[-30:]) == pytest.approx(820, rel=0.02)


@pytest.mark.parametrize(
    ("sent", "slug"),
    [
        ({"from_s": 9, "to_s": 3}, "engine-marks"),
        ({"cylinders": 40}, "engine-cylinders"),
        ({"readings": {"coolant_c": 999}}, "engine-reading"),
        ({"cylinders": "six"}, "web-asked"),
        ({"more": 1}, "web-asked"),
    ],
)
def test_what_cannot_be_is_refused_in_words(client: TestClient, sent: dict[str, object], slug: str) -> None:
    answer = client.post(f"{HERE}/listen", json=sent, headers={"accept": "application/json"})
    assert answer.status_code in {400, 422}
    assert answer.json()["error"]["slug"] == slug
    assert client.get(f"{HERE}.json").json()["views"] == []


def test_a_start_that_waits_for_the_cylinders_is_told_with_its_moment(client: TestClient, store: Store) -> None:
    assert "Enter them below" not in client.get(HERE).text
    recording = store.car_file(CAR).recordings[0].id
    found = "an engine is started, and nothing tells how many cylinders it has"
    told = Problem("engine-cylinders-unknown", "start.wav, 0:04", found, "no figure of it is told", "Enter them.")
    store.put_problems((told,), car=CAR, recording=recording, stage="engine")
    assert "<b>start.wav, 0:04</b>: an engine is started" in client.get(HERE).text
    client.post(f"{HERE}/listen", json={"cylinders": 6}, headers={"accept": "application/json"})
    assert client.get(f"{HERE}.json").json()["waiting"] == []


def test_without_the_proof_nothing_is_done(client: TestClient) -> None:
    del client.headers["shutline-proof"]
    assert client.post(f"{HERE}/listen", json={}).status_code == 403


def test_words_of_a_stranger_do_not_become_part_of_the_page(client: TestClient, store: Store) -> None:
    recording = store.car_file(CAR).recordings[0]
    assert recording.stretches
    client.post(f"{HERE}/listen", json={"cylinders": 6})
    page = client.get(HERE).text
    assert "<script>" not in page
    assert "Started from cold" in page
