"""A car that was joined with another: its addresses lead to the other, and the command line says whose the name is."""

from __future__ import annotations

import json

import pytest
from starlette.routing import Route
from starlette.testclient import TestClient

from shutline.cli import main
from shutline.store import Store
from shutline.web import Access, workbench

CAR, OLD = "ostrel-pavane", "hall-find"


@pytest.fixture
def joined(store: Store) -> Store:
    store.create_car(OLD, title="Found in the hall")
    store.join_cars(CAR, OLD, author="Ida Quill")
    return store


def test_every_page_under_the_old_name_leads_to_the_same_page_of_the_other(
    client: TestClient, joined: Store, access: Access
) -> None:
    asked = [
        route.path
        for route in workbench(joined, access).routes
        if isinstance(route, Route) and route.path.startswith("/cars/{car}") and "GET" in (route.methods or ())
    ]
    assert len(asked) > 30
    for path in asked:
        rest = path.removeprefix("/cars/{car}").replace(":int}", "}").replace("{", "").replace("}", "")
        answer = client.get(f"/cars/{OLD}{rest}?at=3&words=a+b")
        assert (answer.status_code, answer.headers["location"]) == (307, f"/cars/{CAR}{rest}?at=3&words=a+b"), path


def test_the_page_that_it_leads_to_is_that_of_the_other(client: TestClient, joined: Store) -> None:
    for ending in ("", ".json", "/review.json"):
        there = client.get(f"/cars/{OLD}{ending}", follow_redirects=True)
        assert there.text == client.get(f"/cars/{CAR}{ending}").text
    for name in ("Hall Find", "HALL-FIND", "hall"):
        assert client.get(f"/cars/{name}/review").headers["location"] == f"/cars/{CAR}/review"
    assert client.head(f"/cars/{OLD}").headers["location"] == f"/cars/{CAR}"
    joined.separate_cars(CAR, OLD, author="Ida Quill")
    assert client.get(f"/cars/{OLD}").status_code == 200


def test_other_names_lead_nowhere(client: TestClient, joined: Store, outside: TestClient) -> None:
    joined.create_car("hall-other", title="Another")
    assert client.get("/cars/hall").status_code == 400
    assert client.get(f"/cars/{CAR}").status_code == 200
    assert client.get("/cars/nobody").status_code == 404
    # Who was not let in is told no names.
    outside.cookies.clear()
    assert outside.get(f"/cars/{OLD}").status_code == 401


def test_what_is_sent_to_the_old_name_is_taken(client: TestClient, joined: Store) -> None:
    answer = client.post(f"/cars/{OLD}/particulars/settle", json={"fields": {"doors": "4"}})
    assert answer.status_code == 200
    assert joined.find_car(CAR).doors == 4


def test_the_command_line_says_whose_the_name_is_now(joined: Store, capsys: pytest.CaptureFixture[str]) -> None:
    said = f"{OLD} was joined with {CAR} and is shown under that name."
    for asked in (OLD, "hall"):
        assert main(["show", asked, "--store", str(joined.folder)]) == 0
        told = capsys.readouterr()
        assert said in told.err
        assert "Ostrel Pavane" in told.out
    assert main(["show", OLD, "--json", "--store", str(joined.folder)]) == 0
    told = capsys.readouterr()
    assert said in told.err
    assert json.loads(told.out)["car"]["name"] == CAR
    assert main(["show", CAR, "--store", str(joined.folder)]) == 0
    assert said not in capsys.readouterr().err
