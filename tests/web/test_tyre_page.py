"""The page of a tyre: the same record as the command line, without script, and what cannot be said beside the form."""

from __future__ import annotations

import json

import pytest
from starlette.testclient import TestClient

from shutline.cli.commands import run

ASKED = {"marking": "165 SR 13", "date": "346", "meant": "155/80 R13", "on": "2026-11-26"}


def test_it_is_the_record_of_the_command_line(client: TestClient, capsys: pytest.CaptureFixture[str]) -> None:
    said = ["tyre", ASKED["marking"], "--date", ASKED["date"], "--meant", ASKED["meant"], "--on", ASKED["on"], "--json"]
    assert run(said) == 0
    assert client.get("/tyre.json", params=ASKED).json() == json.loads(capsys.readouterr().out)


def test_the_page_tells_what_follows_and_keeps_what_was_filled_in(client: TestClient) -> None:
    assert "<h2" not in client.get("/tyre").text
    page = client.get("/tyre", params={**ASKED, "triangle": "yes", "date": "176"})
    assert page.status_code == 200
    assert "week 17 of 1996" in page.text
    assert 'value="165 SR 13"' in page.text
    assert "checked" in page.text
    assert "82 % (the MOT inspection manual (5.2.3))" in page.text


def test_what_cannot_be_is_said_beside_the_form(client: TestClient) -> None:
    page = client.get("/tyre", params={"marking": "<b>round</b>"})
    assert page.status_code == 400
    assert "Tyre marking: " in page.text
    assert "<b>round" not in page.text
    refused = client.get("/tyre.json", params={"marking": "round"})
    assert refused.status_code == 400
    assert refused.json()["error"]["slug"] == "reading-unfit"
    asked = client.get("/tyre", params={"marking": "5.20-10"})
    assert asked.status_code == 200
    assert "whose marking tells no height" in asked.text


def test_nobody_who_was_not_let_in_sees_it(client: TestClient) -> None:
    client.cookies.clear()
    assert client.get("/tyre", params=ASKED).status_code in {401, 403}
