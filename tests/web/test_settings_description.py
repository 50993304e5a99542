"""How descriptions speak and the house's own sentences, in the settings: kept, refused, and brought back."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

TEMPLATES = '[patterns]\nfault = ["Mind that {subject} {fault}."]\n'


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    for name in ("SHUTLINE_WORDS", "SHUTLINE_GUIDES", "SHUTLINE_WORDING"):
        monkeypatch.delenv(name, raising=False)
    return tmp_path / "own"


def shown(client: TestClient) -> dict[str, Any]:
    return dict(client.get("/settings.json").json())


def wording(client: TestClient, name: str) -> dict[str, Any]:
    return next(file for file in shown(client)["wording"]["files"] if file["name"] == name)


def test_how_descriptions_speak_is_kept_and_has_a_way_back(client: TestClient) -> None:
    first = shown(client)["description"]
    sent = {"expected": first["mark"], "voice": "we", "closing": "Ring first.\r\n\r\nMind the dog.\r\n", "marks": "yes"}
    answer = client.post("/settings/description", json=sent)
    assert answer.status_code == 200
    kept = shown(client)["description"]
    assert kept["details"] == {
        "voice": "we",
        "closing": ["Ring first.", "Mind the dog."],
        "headings": False,
        "marks": True,
    }
    late = client.post("/settings/description", json=sent, headers={"accept": "*/*"})
    assert late.status_code == 409
    assert late.json()["error"]["slug"] == "stale-settings"
    client.post("/settings/description", json={"expected": kept["mark"], "voice": "plain", "headings": "yes"})
    state = shown(client)["description"]["states"][1]["id"]
    page = client.get(f"/settings?open=description.former&state={state}").text
    assert "as the house" in page
    mark = shown(client)["description"]["mark"]
    back = client.post("/settings/description/back", json={"expected": mark, "state": state})
    assert back.json()["details"]["voice"] == "we"


def test_a_closing_line_that_nothing_bears_out_is_refused(client: TestClient) -> None:
    mark = shown(client)["description"]["mark"]
    answer = client.post(
        "/settings/description",
        json={"expected": mark, "voice": "plain", "closing": "An immaculate car."},
        headers={"accept": "*/*"},
    )
    assert answer.status_code == 400
    assert "immaculate" in answer.json()["error"]["found"]


def test_own_sentences_are_checked_kept_shown_and_brought_back(client: TestClient) -> None:
    lost = client.post("/settings/wording/templates.toml/check", json={"text": '[patterns]\nfault = ["{subject}."]\n'})
    assert lost.json()["problems"][0]["where"] == "templates.toml, line 2"
    before = wording(client, "templates.toml")
    refused = client.post(
        "/settings/wording/templates.toml", json={"expected": before["mark"], "text": "[patterns]\nodd = ['x']\n"}
    )
    assert refused.status_code == 400
    kept = client.post("/settings/wording/templates.toml", json={"expected": before["mark"], "text": TEMPLATES})
    assert kept.json()["text"] == TEMPLATES
    assert "Mind that" in client.get("/settings?open=wording.templates.toml.text").text
    gone = client.post("/settings/wording/templates.toml", json={"expected": kept.json()["mark"], "text": ""})
    assert gone.json()["text"] == ""
    state = gone.json()["states"][1]["id"]
    assert "Mind that" in client.get(f"/settings?open=wording.templates.toml.former&state={state}").text
    back = client.post("/settings/wording/templates.toml/back", json={"expected": gone.json()["mark"], "state": state})
    assert back.json()["text"] == TEMPLATES


def test_no_other_file_is_written(client: TestClient, own: Path) -> None:
    answer = client.post("/settings/wording/..%2Fhouse.toml", json={"expected": "x", "text": "name = 3\n"})
    assert answer.status_code == 404
    assert not (own / "house.toml").exists()


def test_what_is_broken_is_told_and_nothing_fails(client: TestClient, own: Path) -> None:
    (own / "wording").mkdir(parents=True)
    (own / "description.toml").write_text("voice = 3\n", encoding="utf-8")
    (own / "wording" / "conditions.csv").write_bytes(b"\xff\xfe")
    (own / "wording" / "other.toml").write_text("", encoding="utf-8")
    page = client.get("/settings").text
    assert "descriptions, voice: an entry that there is not" in page
    assert "conditions.csv: byte 0 is no UTF-8" in page
    assert "other.toml: a file of another name" in page
