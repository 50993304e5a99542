"""A car's particulars by plain forms and as JSON: what stands there is what the command line tells and does."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from starlette.testclient import TestClient

from shutline.cli import main
from shutline.store import Store
from shutline.web import Access

CAR = "ostrel-pavane"
AT = f"/cars/{CAR}/particulars"


@pytest.fixture
def plain(client: TestClient, access: Access) -> TestClient:
    """A browser without script: nothing in its headers proves it."""
    del client.headers["shutline-proof"]
    return client


def proof_of(page: str) -> str:
    found = re.search(r'name="shutline-proof" value="([^"]+)"', page)
    assert found
    return found[1]


def send(plain: TestClient, deed: str, fields: dict[str, Any] | None = None, **more: Any) -> Any:
    """Send the form of the page as it stands there now."""
    page = plain.get(AT).text
    version = re.search(r'name="version" value="(\d+)"', page)
    assert version
    data = {"shutline-proof": proof_of(page), "version": version[1], **(fields or {}), **more}
    return plain.post(f"{AT}/{deed}", data=data)


def test_the_twin_is_what_the_command_line_tells(
    client: TestClient, store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    store.create_car("second", title="Second")
    for address, arguments in (
        (f"{AT}.json", ("particulars", CAR)),
        (f"{AT}/coming.json?with=second", ("join", CAR, "second", "--dry-run")),
    ):
        there = client.get(address).json()
        assert main([*arguments, "--json", "--store", str(store.folder)]) == 0
        assert there == json.loads(capsys.readouterr().out)


def test_a_car_is_renamed_and_drawn_otherwise_by_a_plain_form(plain: TestClient, store: Store) -> None:
    fields = {"title": "Ostrel <Pavane> & co", "body": "estate", "doors": "5", "drive": "lhd"}
    answer = send(plain, "settle", fields)
    assert (answer.status_code, answer.headers["location"]) == (303, f"{AT}?done=settled")
    car = store.find_car(CAR)
    assert (car.title, car.body, car.doors, car.drive) == ("Ostrel <Pavane> & co", "estate", 5, "lhd")
    page = plain.get(f"{AT}?done=settled").text
    assert "Kept." in page
    assert "Ostrel &lt;Pavane&gt; &amp; co" in page
    assert "<Pavane>" not in page
    assert "Ida Quill called it “Ostrel &lt;Pavane&gt; &amp; co”, before “Ostrel Pavane, blue”" in page
    assert 'value="estate" selected' in page
    # The Plan is drawn so at once, and the yard shows the new name.
    assert plain.get(f"/cars/{CAR}").status_code == 200
    assert "Ostrel &lt;Pavane&gt;" in plain.get("/yard").text


def test_a_late_change_is_refused_with_both_versions(plain: TestClient, store: Store) -> None:
    page = plain.get(AT).text
    store.set_car_details(CAR, author="Ben Oake", title="Somebody was quicker")
    data = {"shutline-proof": proof_of(page), "version": str(store.find_car(CAR).version - 1), "title": "Mine"}
    answer = plain.post(f"{AT}/settle", data=data)
    assert answer.status_code == 409
    assert "Somebody was quicker:" in answer.text
    assert "Mine:" in answer.text
    assert store.find_car(CAR).title == "Somebody was quicker"


def test_a_form_without_its_proof_does_nothing(plain: TestClient, store: Store) -> None:
    for data in ({"title": "x"}, {"title": "x", "shutline-proof": "wrong"}, {"title": "x", "shutline-proof": ""}):
        answer = plain.post(f"{AT}/settle", data=data)
        assert (answer.status_code, "secret" in answer.text) == (403, True)
    page = plain.get(AT).text
    elsewhere = {"origin": "http://evil.example"}
    data = {"title": "x", "shutline-proof": proof_of(page)}
    assert plain.post(f"{AT}/settle", data=data, headers=elsewhere).status_code == 403
    assert plain.post(f"{AT}/settle", data=data, headers={"origin": "null"}).status_code == 403
    # Twice is not once, and too much is not read.
    twice = {"title": "x", "shutline-proof": [proof_of(page), proof_of(page)]}
    assert plain.post(f"{AT}/settle", data=twice).status_code == 403
    assert plain.post(f"{AT}/settle", data={**data, "more": "x" * 70_000}).status_code == 403
    assert store.find_car(CAR).title == "Ostrel Pavane, blue"


def test_two_cars_are_one_and_two_again(plain: TestClient, store: Store) -> None:
    store.create_car("second", title="Second & last", author="Ben Oake")
    found = plain.get(f"{AT}?seek=second").text
    assert f'href="{AT}?with=second"' in found
    assert "Second &amp; last" in found
    assert "Leave them two" in plain.get(f"{AT}?with=second").text
    assert send(plain, "join", other="second").headers["location"] == f"{AT}?done=joined"
    page = plain.get(AT).text
    assert "<strong>Second &amp; last</strong> (second) is this car, said Ida Quill" in page
    # Either name leads to the car.
    for path in ("", "/review", "/particulars", "/at-the-car", "/add"):
        assert plain.get(f"/cars/second{path}").headers["location"] == f"/cars/{CAR}{path}"
    assert "Second" not in plain.get("/yard").text
    assert send(plain, "separate", other="second").headers["location"] == f"{AT}?done=separated"
    assert "Second &amp; last" in plain.get("/yard").text
    assert send(plain, "separate", other="second").status_code == 404


def test_a_car_is_set_aside_and_brought_back(plain: TestClient, store: Store) -> None:
    send(plain, "set-aside")
    assert store.find_car(CAR).set_aside
    yard = plain.get("/yard").text
    assert "Pavane" not in yard
    assert "1 set aside" in yard
    assert "Ostrel Pavane, blue" in plain.get("/yard?aside=yes").text
    assert "Bring it back" in plain.get(AT).text
    send(plain, "bring-back")
    assert "Ostrel Pavane, blue" in plain.get("/yard").text


def test_a_script_sends_json_and_gets_it(client: TestClient, store: Store) -> None:
    headers = {"accept": "application/json"}
    version = store.find_car(CAR).version
    done, late = (
        client.post(f"{AT}/settle", json={"fields": {"title": title}, "version": version}, headers=headers)
        for title in ("By script", "Late")
    )
    assert done.json()["car"]["title"] == "By script"
    assert (late.status_code, late.json()["error"]["slug"]) == (409, "stale-change")
    for body in ({"field": {}}, {"fields": {"title": 1}}, []):
        answer = client.post(f"{AT}/settle", json=body, headers=headers)
        assert (answer.status_code, answer.json()["error"]["slug"]) == (400, "web-sent")


@pytest.mark.parametrize("deed", ["settle", "join", "nonsense"])
def test_the_address_of_a_change_loaded_again_is_the_page(client: TestClient, deed: str) -> None:
    assert client.get(f"{AT}/{deed}").headers["location"] == AT


@pytest.mark.parametrize("asked", ["with=nobody", "with=ostrel-pavane"])
def test_what_cannot_be_joined_is_said(client: TestClient, asked: str) -> None:
    answer = client.get(f"{AT}?{asked}")
    assert answer.status_code in {400, 404}
    assert "What to do" in answer.text
