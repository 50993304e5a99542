"""The drafted description on the web: the same as by command, each sentence with its moment."""

from __future__ import annotations

import json

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import sync_playwright
from starlette.testclient import TestClient
from tests.web.conftest import too_wide

from shutline.cli import main
from shutline.store import Store
from shutline.usecases.description_settings import DescriptionDetails, keep_description
from shutline.usecases.review import confirm

CAR = "ostrel-pavane"
HERE = f"/cars/{CAR}/description"


@pytest.fixture
def standing(store: Store) -> Store:
    confirm(store, CAR, [kept.id for kept in store.car_file(CAR).findings], author="Ida Quill")
    return store


@pytest.mark.parametrize("length", ["line", "short", "full"])
def test_the_json_is_what_the_command_prints(
    client: TestClient, standing: Store, length: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["describe", CAR, "--length", length, "--json", "--store", str(standing.folder)]) == 0
    assert client.get(f"{HERE}.json?length={length}").json() == json.loads(capsys.readouterr().out)


def test_each_sentence_leads_to_its_moment(client: TestClient, standing: Store) -> None:
    page = client.get(HERE).text
    recording = standing.car_file(CAR).recordings[0].id
    assert "The nearside front wing has a small dent" in page or "a small dent in the nearside front wing" in page
    assert f"/cars/{CAR}?recording={recording}&amp;at=" in page
    assert "What each sentence stands on" in page


def test_what_was_only_heard_is_said_to_wait(client: TestClient) -> None:
    page = client.get(HERE).text
    assert "findings were heard and nobody has looked at them yet" in page
    assert "Outside" not in page


def test_a_line_of_the_house_that_the_car_does_not_bear_out_is_named(client: TestClient, standing: Store) -> None:
    keep_description(DescriptionDetails(closing=("Every car of ours has been rust-proofed.",)), author="Ida Quill")
    assert standing.car_file(CAR)
    page = client.get(HERE).text
    assert "Every car of ours has been rust-proofed.»: «" in page
    assert "is borne out by nothing in the car file" in page


def test_another_length_is_refused(client: TestClient) -> None:
    assert client.get(f"{HERE}.json?length=long").status_code == 400


def test_the_page_is_without_faults_at_390_and_1440_pixels(running, chromium, standing: Store) -> None:
    assert standing.car_file(CAR)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        context = browser.new_context(viewport={"width": 390, "height": 844}, base_url=running.address)
        page = context.new_page()
        page.goto(running.link)
        for width in (390, 1440):
            page.set_viewport_size({"width": width, "height": 900})
            page.goto(HERE)
            page.locator("summary").first.click()
            found = Axe().run(page)
            assert found.violations_count == 0, found.generate_report()
            assert too_wide(page) <= 0
        browser.close()
