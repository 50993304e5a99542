"""The page of a price: the same record as the command line, the bridge in pounds, what is kept, what is refused."""

from __future__ import annotations

import json
import re

import pytest
from starlette.testclient import TestClient

from shutline.cli.commands import run
from shutline.store import Store
from shutline.usecases.comparables import note_comparable

CAR = "ostrel-pavane"
HERE = f"/cars/{CAR}/price"
DAY = "day=2026-11-26"
PRICES = (("6500", "72000", "55", "tidy"), ("8200", "41000", "58", "fine"), ("4100", "99000", "54", "<b>rough</b>"))


@pytest.fixture
def noted(store: Store) -> Store:
    for number, (amount, miles, age, condition) in enumerate(PRICES):
        fields = {"when": "2026-03-01", "price": amount, "sold": "sold", "mileage": miles, "condition": condition}
        note_comparable(store, {**fields, "car": f"car {number}"}, {"model": "Pavane", "age": age}, author="Ida")
    return store


@pytest.fixture
def asking(client: TestClient, noted: Store) -> TestClient:
    """A browser that asks for JSON as the pages' scripts do."""
    client.headers["accept"] = "application/json"
    return client


def test_the_price_is_shown_as_the_command_line_shows_it(
    client: TestClient, noted: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    shown = client.get(f"{HERE}.json?{DAY}&allowed=5&days=30").json()
    capsys.readouterr()
    there = ("--store", str(noted.folder), "--day", "2026-11-26", "--json")
    assert run(["price", CAR, *there, "--allowed", "5", "--days", "30"]) == 0
    assert shown == json.loads(capsys.readouterr().out)
    for bridge in shown["fetch"]["bridges"]:
        assert bridge["start"] + sum(step["pounds"] for step in bridge["steps"]) == bridge["end"]
        assert bridge["end"] == shown["fetch"]["middle"]
    page = client.get(f"{HERE}?{DAY}&allowed=5&days=30").text
    assert f"about £{shown['fetch']['middle']:,}, between £{shown['fetch']['low']:,}" in page
    for one in shown["mosts"]:
        assert one["words"] in page
        assert all(words in page for words in one["movers"])
    assert page.count(shown["note"].replace("'", "&#39;")) == 1
    # The bridge is drawn from the noted price to the estimate, each step a bar.
    drawn = re.search(r'<table class="bridge">.*?</table>', page, re.DOTALL)
    assert drawn is not None
    assert drawn.group().count("<rect") == len(shown["fetch"]["bridges"][0]["steps"])
    assert "<b>rough" not in page
    assert "&lt;b&gt;rough&lt;/b&gt;" in page


def test_without_one_price_the_page_says_so(client: TestClient) -> None:
    page = client.get(HERE).text
    assert page.count("not one price to go by") == 1
    assert 'href="/prices"' in page
    assert "<svg" not in page


def test_what_is_kept_is_shown_and_what_comes_too_late_is_told(asking: TestClient) -> None:
    kept = asking.post(
        f"{HERE}/keep", json={"attributes": {"condition": "tidy"}, "figures": {"days": 20}, "version": 0}
    )
    assert kept.status_code == 200
    assert kept.json()["changes"][-1]["author"] == "Ida Quill"
    shown = asking.get(f"{HERE}.json?{DAY}").json()
    assert {one["name"]: one["value"] for one in shown["attributes"]}["condition"] == "tidy"
    assert {one["name"]: one["middle"] for one in shown["figures"]}["days"] == 20
    afresh = asking.get(f"{HERE}.json?{DAY}&kept=no").json()
    assert {one["name"]: one["given"] for one in afresh["figures"]}["days"] is False
    late = asking.post(f"{HERE}/keep", json={"figures": {"days": 25}, "version": 0})
    assert late.status_code == 409
    assert late.json()["said"] == {"present": "condition: tidy, days: 20", "wanted": "condition: tidy, days: 25"}
    decided = asking.post(f"/cars/{CAR}/preparation/decide", json={"kind": "asking", "pence": 695_000})
    assert decided.status_code == 200
    shown = asking.get(f"{HERE}.json?{DAY}").json()
    assert (shown["asking"]["kept"], shown["prep"]["weighed_at"]) == (6950.0, 6950)


@pytest.mark.parametrize(
    ("address", "slug"),
    [
        ("?days=soon", "web-asked"),
        ("?day=soon", "web-asked"),
        ("?allowed=0", "price-refused"),
        ("?tax=half", "price-refused"),
        ("?prep=nan", "price-refused"),
        ("?premium=Elsewhere", "price-refused"),
    ],
)
def test_what_cannot_be_is_refused(asking: TestClient, address: str, slug: str) -> None:
    answer = asking.get(f"{HERE}.json{address}")
    assert (answer.status_code, answer.json()["error"]["slug"]) == (400, slug)


def test_a_figure_is_read_as_it_is_typed_and_the_one_that_is_none_is_named(asking: TestClient) -> None:
    shown = asking.get(f"{HERE}.json", params={"fees": "£1,200", "asking": "£ 8,250"}).json()
    assert {one["name"]: one["middle"] for one in shown["figures"]}["fees"] == 1200
    assert shown["asking"]["at"] == 8250
    error = asking.get(f"{HERE}.json?days=20&knocked_off=soon").json()["error"]
    assert (error["where"], error["found"]) == ("knocked off", "'soon'")


def test_what_is_sent_and_cannot_be_is_refused(asking: TestClient) -> None:
    for body in ({"figures": {"days": "soon"}}, {"figures": {"asking": 5}}, {"attributes": {"mileage": "many"}}):
        assert asking.post(f"{HERE}/keep", json=body).status_code == 400
    assert asking.post(f"{HERE}/keep", json={"what": 1}).json()["error"]["slug"] == "web-sent"
