"""What goes to a buyer, in the settings: kept with its proof, refused with a reason, and shown by both faces."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from shutline.cli import main
from shutline.usecases.buyer_choice import buyer_choice_shown

JSON = {"accept": "application/json"}


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))


def test_a_choice_is_kept_and_brought_back(client: TestClient) -> None:
    shown = client.get("/settings.json").json()["buyer"]
    sent = {"expected": shown["mark"], "silent": "yes", "stamp": " http://127.0.0.1:9/tsa "}
    kept = client.post("/settings/buyer", json=sent).json()
    assert kept["chosen"] == {"silent": True, "stamp": "http://127.0.0.1:9/tsa"}
    late = client.post("/settings/buyer", json=sent)
    assert late.status_code == 409
    page = client.get("/settings").text
    assert "http://127.0.0.1:9/tsa" in page
    anew = client.post("/settings/buyer", json={"expected": kept["mark"], "silent": "no", "stamp": ""}).json()
    state = next(one["id"] for one in anew["states"] if one["mark"] == kept["mark"])
    opened = client.get(f"/settings?open=buyer.former&state={state}").text
    assert "silent in the buyer" in opened
    back = client.post("/settings/buyer/back", json={"expected": anew["mark"], "state": state}).json()
    assert back["chosen"] == kept["chosen"]


def test_what_is_no_address_is_refused(client: TestClient) -> None:
    mark = client.get("/settings.json").json()["buyer"]["mark"]
    refused = client.post("/settings/buyer", json={"expected": mark, "stamp": "nowhere"}, headers=JSON)
    assert (refused.status_code, refused.json()["error"]["slug"]) == (400, "stamp-address")


def test_the_command_line_tells_the_same(client: TestClient, capsys: pytest.CaptureFixture[str]) -> None:
    assert client.get("/settings.json").json()["buyer"]["chosen"] == {"silent": False, "stamp": ""}
    assert main(["settings", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["buyer"]["file"] == buyer_choice_shown().file
