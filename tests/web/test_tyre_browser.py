"""The page of a tyre in a real browser: filled in by keys, at the width of a phone, and nothing that axe minds."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect, sync_playwright
from tests.web.conftest import too_wide


@pytest.fixture(scope="module")
def browser(chromium) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        yield started
        started.close()


@pytest.mark.parametrize(("width", "script"), [(390, True), (1440, False)])
def test_a_tyre_is_told_by_keys_with_script_and_without(browser: Browser, running, width: int, *, script: bool) -> None:
    context = browser.new_context(viewport={"width": width, "height": 844}, java_script_enabled=script)
    page = context.new_page()
    page.goto(running.link)
    page.goto(f"{running.address}/tyre")
    page.get_by_label("Marking").fill("165 SR 13")
    page.get_by_label("Date code").fill("176")
    page.get_by_label("A triangle stands behind it").check()
    page.get_by_label("Meant for the car").fill("155/80 R13")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=2)).to_have_text("165 SR13")
    expect(page.locator("main")).to_contain_text("week 17 of 1996")
    page.locator("summary").first.click()
    expect(page.locator("main details").first).to_contain_text("common practice")
    if script:
        assert too_wide(page) <= 0
        assert Axe().run(page).violations_count == 0
    page.get_by_label("Marking").fill("round")
    page.get_by_role("button", name="Tell").click()
    expect(page.get_by_role("alert")).to_contain_text("165 SR 13")
    context.close()
