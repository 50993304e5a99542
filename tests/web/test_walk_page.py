"""The route for a phone: as `shutline route` plans it, with all of it in the page."""

from __future__ import annotations

import json
import re
from importlib.resources import files
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from shutline.cli import main
from shutline.store import Store
from shutline.usecases.route_walk import walk_of
from shutline.usecases.survey import plan_route

CAR = "ostrel-pavane"
AT = f"/cars/{CAR}/at-the-car/route"


@pytest.fixture(autouse=True)
def _nothing_of_the_user(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    monkeypatch.delenv("SHUTLINE_GUIDES", raising=False)


def test_the_twin_is_what_the_command_prints(
    client: TestClient, store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    end = ["--store", str(store.folder), "--json"]
    for asked, more in (
        ("", []),
        ("?of=all&raised=no&minutes=3", ["--everything", "--raised", "no", "--minutes", "3"]),
    ):
        assert main(["route", CAR, *more, *end]) == 0
        assert client.get(f"{AT}.json{asked}").json() == json.loads(capsys.readouterr().out)


def test_every_step_is_in_the_page_in_the_order_of_the_walk(client: TestClient, store: Store) -> None:
    page = client.get(AT).text
    held = json.loads(re.search(r'id="steps">(.*?)</script>', page, re.DOTALL)[1])  # type: ignore[index]
    route = plan_route(store, CAR).route
    assert [key for step in held["steps"] for key in step["keys"]] == [step.asked.key for step in route.steps]
    assert len(held["steps"]) == len(route.looks) < len(route.steps)
    assert [step["stop"] for step in held["steps"] if step["first"]] == [stop.station.label for stop in route.stops]
    assert set(held["cautions"]) == {name for step in held["steps"] for name in step["cautions"]}
    for step in held["steps"]:
        assert f'href="#{step["keys"][0]}"' in page, "it can be read without script"
        assert all(matter["what"] for matter in step["matters"])


def test_on_the_road_no_time_runs_and_what_is_said_and_shown_is_told_apart() -> None:
    walk = walk_of(plan_route(body="saloon", doors=4))
    steps = {key: (stop, step) for stop in walk.stops for step in stop.steps for key in step.keys}
    assert walk.count == sum(len(stop.steps) for stop in walk.stops)
    assert {stop.name for stop, step in steps.values() if step.waits} == {"on the road"}
    assert steps["gearbox"][1].say
    assert steps["gearbox"][1] is steps["clutch"][1], "one drive tells of both"
    assert [matter.of for matter in steps["sill-near"][1].matters] == ["sill", "jacking point"]
    assert [matter.of for matter in steps["inner_wing-off"][1].matters] == [""], "both sides are one matter"
    assert not steps["sill-near"][1].say
    assert steps["sill-near"][1].how == "look, tap and magnet"
    assert steps["sill-near"][1].tools.count("torch") == 1
    assert all("lifting" in step.cautions for stop, step in steps.values() if stop.raised)


def test_nothing_listens() -> None:
    script = files("shutline.web").joinpath("static/walk.js").read_text(encoding="utf-8")
    assert not re.search(r"getUserMedia|SpeechRecognition|AudioContext|MediaRecorder", script)


def test_what_a_route_is_wanted_for_is_read_and_odd_things_refused(client: TestClient) -> None:
    assert client.get(f"{AT}?raised=up").status_code == 400
    assert client.get("/cars/nobody/at-the-car/route").status_code == 404
    page = client.get(f"{AT}?of=all&raised=no").text
    assert re.search(r'value="all" checked', page)
    assert re.search(r'value="no" selected', page)


def test_it_is_led_to_from_the_phone_and_from_the_survey(client: TestClient) -> None:
    assert f'href="{AT}"' in client.get(f"/cars/{CAR}/at-the-car").text
    assert f'formaction="{AT}"' in client.get(f"/cars/{CAR}/survey").text
