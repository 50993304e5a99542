"""The timeline in a real browser: a file brought in, a record said to be this car, at the desk and on a phone."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect, sync_playwright

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
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert Axe().run(page).violations_count == 0
    context.close()
