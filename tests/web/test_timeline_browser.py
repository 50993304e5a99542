"""The timeline in a real browser: a file brought in, a record said to be this car, at the desk and on a phone."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect, sync_playwright
from tests.web.conftest import too_wide

CAR = "ostrel-pavane"


@pytest.fixture(scope="module")
def browser(chromium) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        yield started
        started.close()


@pytest.mark.parametrize("width", [390, 1440])
def test_a_file_is_brought_in_and_said_to_be_this_car(browser: Browser, running, width: int) -> None:
    tests = [
        {
            "completedDate": f"20{year}.06.10",
            "testResult": "PASSED",
            "odometerValue": f"{year}000",
            "odometerUnit": "mi",
        }
        for year in range(12, 22)
    ]
    record = {"registration": "FGY412H", "make": "OSTREL", "model": "PAVANE", "motTests": tests}
    context = browser.new_context(viewport={"width": width, "height": 844})
    page = context.new_page()
    page.goto(running.link)
    page.goto(f"{running.address}/cars/{CAR}/timeline")
    page.get_by_label("A file of the open test history").set_input_files(
        {"name": "history.json", "mimeType": "application/json", "buffer": json.dumps(record).encode()}
    )
    with page.expect_event("load"):
        page.get_by_role("button", name="Bring it in").click()
    expect(page.locator(".records")).to_contain_text("kept apart")
    with page.expect_event("load"):
        page.get_by_role("button", name="It is this car").click()
    picture = page.get_by_role("img", name="Timeline of the car")
    expect(picture).to_be_visible()
    expect(page.locator(".records")).to_contain_text("Ida Quill said that it is this car")
    assert too_wide(page) <= 0
    assert Axe().run(page).violations_count == 0
    context.close()


@pytest.mark.parametrize("width", [390, 1440])
def test_a_keeper_is_entered_amended_and_struck_by_keys_alone(browser: Browser, running, width: int) -> None:
    context = browser.new_context(viewport={"width": width, "height": 844})
    page = context.new_page()
    page.goto(running.link)
    page.goto(f"{running.address}/cars/{CAR}/timeline")
    page.get_by_text("Enter a keeper", exact=True).first.focus()
    page.keyboard.press("Enter")
    page.get_by_label("Name, if it is known").fill("Augusta Harbottle")
    page.get_by_label("From").first.fill("1987-03")
    page.get_by_label("Until, or").first.fill("now")
    with page.expect_event("load"):
        page.keyboard.press("Enter")
    section = page.locator("section.past")
    expect(section).to_contain_text("Keeper 1: Augusta Harbottle, from March 1987 to this day (said).")
    expect(page.get_by_role("img", name="Timeline of the car")).to_contain_text("Augusta Harbottle")
    section.locator("summary", has_text="Amend or strike").focus()
    page.keyboard.press("Enter")
    section.locator("summary", has_text="Amend: ").focus()
    page.keyboard.press("Enter")
    assert Axe().run(page).violations_count == 0
    assert too_wide(page) <= 0
    section.get_by_label("Until, or").first.fill("2004")
    with page.expect_event("load"):
        page.keyboard.press("Enter")
    expect(section).to_contain_text("from March 1987 to 2004 (said).")
    section.locator("summary", has_text="Amend or strike").click()
    section.get_by_role("button", name="Strike").focus()
    with page.expect_event("load"):
        page.keyboard.press("Enter")
    section.locator("summary", has_text="Amend or strike").click()
    expect(section.get_by_role("button", name="Let it stand again")).to_be_visible()
    context.close()
