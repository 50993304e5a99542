from __future__ import annotations

import json

import pytest
from starlette.testclient import TestClient

from shutline.cli import main
from shutline.store import Store


@pytest.mark.parametrize(
    ("address", "arguments"),
    [
        ("/yard.json", ()),
        ("/yard.json?words=dent", ("dent",)),
        ("/yard.json?words=blue+pav&open=heard", ("blue", "pav", "--open", "heard")),
        ("/yard.json?words=zebra&skip=1", ("zebra", "--skip", "1")),
    ],
)
def test_the_yard_is_what_the_command_line_lists(
    client: TestClient, store: Store, address: str, arguments: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    there = client.get(address)
    assert main(["list", *arguments, "--json", "--store", str(store.folder)]) == 0
    assert there.json() == json.loads(capsys.readouterr().out)


def test_the_page_shows_the_cars_that_fit(client: TestClient) -> None:
    assert "Ostrel Pavane, blue" in client.get("/yard?words=dent").text
    assert "No car fits" in client.get("/yard?words=zebra").text


@pytest.mark.parametrize("asked", ["skip=-1", "skip=x", "skip=1e9", "open=everything", "skip=99999999999999999999"])
def test_what_cannot_be_asked_is_said(client: TestClient, asked: str) -> None:
    answer = client.get(f"/yard.json?{asked}")
    assert answer.status_code == 400
    assert answer.json()["error"]["allowed"]
