"""Guides of the user's own in the settings: refused with file and line, signed, with a way back; in a browser too."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect, sync_playwright
from starlette.testclient import TestClient
from tests.web.conftest import too_wide

from shutline.cli import main

CHECK = {
    "line": "",
    "part": "sill",
    "sides": "auto",
    "positions": "auto",
    "look_for": "rust under the strip",
    "how": "look|feel",
    "why": "water stands behind it",
    "least": "small",
    "worst": "fair",
    "best": "shown",
    "tools": "torch",
    "answers": "rust|blister",
    "source": "",
    "id": "",
}


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    monkeypatch.delenv("SHUTLINE_GUIDES", raising=False)
    monkeypatch.delenv("SHUTLINE_WORDS", raising=False)
    return tmp_path / "own"


def file(client: TestClient, name: str = "ostrel_pavane") -> dict[str, Any]:
    return next(one for one in client.get("/settings.json").json()["guides"]["files"] if one["name"] == name)


def send(client: TestClient, to: str, **fields: str) -> Any:
    return client.post(f"/settings/guides{to}", json=fields, headers={"accept": "*/*"})


def begin(client: TestClient) -> None:
    answer = send(client, "", label="Ostrel Pavane", builds_on="monocoque_saloon", bodies="saloon", clues="pavane")
    assert answer.status_code == 200, answer.text


def test_a_guide_is_begun_and_added_to_and_the_command_line_has_it(
    client: TestClient, capsys: pytest.CaptureFixture[str]
) -> None:
    begin(client)
    answer = send(client, "/ostrel_pavane/row", expected=file(client)["mark"], **CHECK)
    assert answer.status_code == 200, answer.text
    assert main(["guides", "--json"]) == 0
    (mine,) = [one for one in json.loads(capsys.readouterr().out)["guides"] if one["own"]]
    assert (mine["id"], mine["label"]) == ("ostrel_pavane", "Ostrel Pavane")
    assert main(["settings", "--json"]) == 0
    assert client.get("/settings.json").json() == json.loads(capsys.readouterr().out)
    assert main(["settings"]) == 0
    assert "ostrel_pavane.toml: Ostrel Pavane (1 check)" in capsys.readouterr().out
    page = client.get("/settings").text
    assert "rust under the strip" in page
    # A car whose words have the clue gets it.
    twin = client.get("/cars/ostrel-pavane/survey.json").json()
    assert twin["second"]["label"] == "Ostrel Pavane"
    assert {one["look_for"] for one in twin["checks"] if one["part"] == "sill"} == {CHECK["look_for"]}


def test_what_is_wrong_is_refused_with_file_and_line_and_nothing_kept(client: TestClient, own: Path) -> None:
    begin(client)
    before = file(client)
    wrong = before["text"] + '\n[[check]]\nid = "x"\npart = "sledge"\n'
    answer = send(client, "/ostrel_pavane", expected=before["mark"], text=wrong)
    assert answer.status_code == 400
    error = answer.json()["error"]
    line = wrong.splitlines().index('part = "sledge"') + 1
    assert (error["slug"], error["where"]) == ("guide-refused", f"ostrel_pavane.toml, line {line}")
    checked = send(client, "/ostrel_pavane/check", text=wrong).json()
    assert [problem["where"] for problem in checked["problems"]] == [error["where"]]
    assert (own / "guides/ostrel_pavane.toml").read_text(encoding="utf-8") == before["text"]
    for to, sent, status, slug in (
        ("/ostrel_pavane/row", {**CHECK, "part": "bonnet", "sides": "each"}, 400, "guide-refused"),
        ("/ostrel_pavane/drop", {"line": "2"}, 404, "guide-check-line"),
        ("/never/row", CHECK, 404, "guide-file-name"),
        ("/..%5Cup", {"text": "x"}, 400, "guide-file-name"),
        ("", {"label": "Ostrel pavane", "builds_on": "general"}, 400, "guide-file-name"),
        ("", {"label": "Another", "builds_on": "sledge"}, 400, "guide-refused"),
    ):
        answer = send(client, to, expected=before["mark"], **sent)
        assert (answer.status_code, answer.json()["error"]["slug"]) == (status, slug), to


def test_a_change_is_signed_and_its_former_state_stands_again(client: TestClient) -> None:
    begin(client)
    send(client, "/ostrel_pavane/row", expected=file(client)["mark"], **CHECK)
    row = file(client)["rows"][0]
    send(client, "/ostrel_pavane/drop", expected=file(client)["mark"], line=str(row["first_line"]))
    now = file(client)
    assert (now["rows"], [state["author"] for state in now["states"]]) == ([], ["Ida Quill"] * 3)
    state = now["states"][1]["id"]
    assert "[[check]]" in client.get(f"/settings?open=guides.ostrel_pavane.former&state={state}").text
    stale = send(client, "/ostrel_pavane", expected="0" * 64, text="")
    assert (stale.status_code, stale.json()["error"]["slug"]) == (409, "stale-settings")
    assert stale.json()["present"] == now["text"]
    back = send(client, "/ostrel_pavane/back", expected=now["mark"], state=state)
    assert [one["cells"]["id"] for one in back.json()["rows"]] == ["sill"]
    send(client, "/ostrel_pavane", expected=file(client)["mark"], text="")
    assert "taken away" in client.get("/settings").text


@pytest.fixture
def page(chromium, running) -> Iterator[Page]:
    trouble: list[str] = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        opened = browser.new_page(viewport={"width": 1440, "height": 900})
        opened.set_default_timeout(60_000)
        opened.on("pageerror", lambda error: trouble.append(str(error)))
        opened.goto(running.link)
        opened.goto(f"{running.address}/settings")
        yield opened
        browser.close()
    assert trouble == []


def test_in_a_browser_a_guide_is_begun_amended_refused_and_brought_back(page: Page) -> None:
    page.get_by_role("link", name="Begin a guide").click()
    page.get_by_label("What it is of").fill("Ostrel Pavane <saloon>")
    page.get_by_label("It builds on").select_option("monocoque_saloon")
    page.get_by_role("button", name="Begin it").click()
    expect(page.get_by_role("heading", name="Ostrel Pavane <saloon>")).to_be_visible()
    page.get_by_role("link", name="Add a check").click()
    part = page.get_by_label("Part", exact=True)
    expect(part).to_be_focused()
    part.fill("sledge")
    page.get_by_label("What to look for").fill("rust under the strip")
    page.get_by_label("Why it matters there").fill("water stands behind it")
    keep = page.locator("form[data-to$='/row'] button.main")
    keep.click()
    expect(page.locator("form[data-to$='/row'] .refused")).to_contain_text("ostrel_pavane_saloon.toml, line")
    part.fill("sill")
    keep.click()
    expect(page.locator("[id='guides.ostrel_pavane_saloon'] .rows")).to_contain_text("rust under the strip")
    page.get_by_role("link", name="As text ostrel_pavane_saloon").click()
    text = page.locator("textarea[name=text]")
    written = text.input_value()
    text.fill(written.replace('best = "shown"', 'best = "sung"'))
    page.locator("form[data-check*='guides'] button.main").click()
    line = written.splitlines().index('best = "shown"') + 1
    page.get_by_role("button", name=f"Line {line}").click()
    assert text.evaluate("one => one.value.slice(one.selectionStart, one.selectionEnd)") == 'best = "sung"'
    text.fill("")
    page.locator("form[data-check*='guides'] button.main").click()
    expect(page.locator("[id='guides.ostrel_pavane_saloon']")).to_contain_text("taken away")
    page.get_by_role("link", name="Former states of guides").click()
    page.locator("[id='guides.ostrel_pavane_saloon.former'] li a").nth(1).click()
    page.get_by_role("button", name="Let it stand again so").click()
    expect(page.locator("[id='guides.ostrel_pavane_saloon'] .rows")).to_contain_text("rust under the strip")


@pytest.mark.parametrize("width", [1440, 390])
def test_the_section_can_be_used_by_everybody(page: Page, running, client: TestClient, width: int) -> None:
    begin(client)
    send(client, "/ostrel_pavane/row", expected=file(client)["mark"], **CHECK)
    page.set_viewport_size({"width": width, "height": 844})
    row = f"guides.ostrel_pavane.row.{file(client)['rows'][0]['first_line']}"
    for opened in ("", "guides.new", "guides.ostrel_pavane.text", row, "guides.bands.text"):
        page.goto(f"{running.address}/settings?open={opened}#{opened}")
        found = Axe().run(page)
        assert found.violations_count == 0, found.generate_report()
        assert too_wide(page) <= 0
