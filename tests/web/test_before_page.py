"""The route for a car that is not kept yet: on the page, on paper, on the phone, and as the command plans it."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import pytest
from pypdf import PdfReader
from starlette.testclient import TestClient

from shutline.cli import main
from shutline.usecases.before_filming import before_filming
from shutline.usecases.survey import plan_route

AT = "/before-filming"


@pytest.fixture(autouse=True)
def _nothing_of_the_user(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    monkeypatch.delenv("SHUTLINE_GUIDES", raising=False)


@pytest.mark.parametrize(
    ("asked", "command"),
    [
        ("", ""),
        ("?body=hatchback&doors=5&drive=lhd&raised=no", "--body hatchback --doors 5 --drive lhd --raised no"),
        (
            "?body=convertible&construction=separate_chassis_open&over=electric_conversion&minutes=6",
            "--body convertible --guide separate_chassis_open --guide electric_conversion --minutes 6",
        ),
        # Without a construction what drives the car is laid over what is usual for such a body.
        ("?body=van&over=air_cooled", "--body van --guide hatchback_estate --guide air_cooled"),
    ],
)
def test_the_twin_is_what_the_command_prints(
    client: TestClient, capsys: pytest.CaptureFixture[str], asked: str, command: str
) -> None:
    assert main(["route", "--json", *command.split()]) == 0
    assert client.get(f"{AT}.json{asked}").json() == json.loads(capsys.readouterr().out)


def test_it_is_led_to_from_the_yard(client: TestClient) -> None:
    assert f'href="{AT}"' in client.get("/yard").text


def test_the_page_has_the_whole_way_with_what_to_bring_and_how_long_it_takes(client: TestClient) -> None:
    page = client.get(f"{AT}?body=saloon&doors=4").text
    it = before_filming(body="saloon", doors=4)
    assert it.sheet.heads[1] in page
    assert re.search(r"\d+ to \d+ min", it.sheet.heads[1])
    assert it.sheet.bring in page
    assert all(words in page for words in it.sheet.cautions)
    assert page.count("<li value=") == len(plan_route(body="saloon", doors=4).route.looks)
    assert 'value="saloon" selected' in page


def test_the_phone_has_each_step_and_no_car(client: TestClient) -> None:
    page = client.get(f"{AT}/route?body=saloon&doors=2&raised=first").text
    held = json.loads(re.search(r'id="steps">(.*?)</script>', page, re.DOTALL)[1])  # type: ignore[index]
    route = plan_route(body="saloon", doors=2, raised="first").route  # type: ignore[arg-type]
    assert [key for step in held["steps"] for key in step["keys"]] == [step.asked.key for step in route.steps]
    assert 'href="/before-filming?body=saloon&amp;doors=2&amp;raised=first"' in page
    assert "/cars/" not in page


def test_the_paper_is_one_page(client: TestClient) -> None:
    answer = client.get(f"{AT}/route.pdf?body=estate")
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.headers["content-disposition"].startswith("attachment")
    assert len(PdfReader(io.BytesIO(answer.content)).pages) == 1


@pytest.mark.parametrize(
    ("asked", "slug"),
    [
        ("body=hovercraft", "unknown-body"),
        ("body=saloon&doors=5", "unknown-door-count"),
        ("doors=9", "unknown-door-count"),
        ("doors=two", "web-asked"),
        ("drive=middle", "web-asked"),
        ("raised=up", "web-asked"),
        ("construction=hovercraft", "guide-unknown"),
        ("over=steam", "guide-unknown"),
    ],
)
@pytest.mark.parametrize("where", [".json", "/route", "/route.pdf"])
def test_what_is_no_such_car_is_refused(client: TestClient, where: str, asked: str, slug: str) -> None:
    refused = client.get(f"{AT}{where}?{asked}", headers={"accept": "application/json"})
    assert refused.status_code == 400
    if where == ".json":
        assert refused.json()["error"]["slug"] == slug
