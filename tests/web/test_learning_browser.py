"""What was learnt of hours in a browser, on a phone: one is ticked and accepted by keys; late is told where it is."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect, sync_playwright
from tests.web.conftest import too_wide

from shutline.store import Store
from shutline.usecases.own_prep import PREP_VARIABLE
from shutline.usecases.prep_learning import learning


@pytest.fixture
def store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, tick_hours: Callable[..., None]) -> Iterator[Store]:
    monkeypatch.setenv(PREP_VARIABLE, str(tmp_path / "prep"))
    with Store.open(tmp_path / "store") as opened:
        opened.create_car("one")
        for trade, hours in (("weld", "6"), ("paint", "4"), ("", "3")):
            tick_hours(opened, "weld_patch", trade, hours, at="sill.near" if trade else "sill.off")
        yield opened


@pytest.fixture
def page(running: Any, chromium: Any) -> Iterator[Page]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        opened = browser.new_page(viewport={"width": 390, "height": 844})
        opened.goto(running.link)
        opened.goto(f"{running.address}/learning")
        yield opened
        browser.close()


def clean(page: Page) -> None:
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    assert too_wide(page) <= 0


def test_one_is_accepted_by_keys_and_what_comes_late_can_be_looked_at_again(
    page: Page, store: Store, tick_hours: Callable[..., None]
) -> None:
    accept = page.get_by_role("button", name="Accept what is ticked")
    every = page.get_by_role("button", name="Accept all 2")
    expect(every).to_be_enabled()
    expect(accept).to_be_disabled()
    clean(page)
    page.locator("input[value='weld_patch/weld']").focus()
    page.keyboard.press("Space")
    expect(accept).to_be_enabled()
    accept.focus()
    with page.expect_event("load"):
        page.keyboard.press("Enter")
    expect(page.locator(".told")).to_have_text("It is accepted.")
    expect(page.get_by_role("region", name="Accepted before")).to_contain_text("Ida Quill")
    assert [one.id for one in learning(store).moves] == ["weld_patch/paint"]
    # Hours that came while the page lay open.
    tick_hours(store, "weld_patch", "weld", "9", at="floor")
    page.locator("input[value='weld_patch/paint']").check()
    accept.click()
    expect(page.get_by_role("alert")).to_contain_text("nothing was written")
    expect(page.get_by_role("link", name="Look again")).to_be_focused()
    clean(page)
    with page.expect_event("load"):
        page.keyboard.press("Enter")
    expect(page.locator("input[value='weld_patch/weld']")).to_be_enabled()
    with page.expect_event("load"):
        every.click()
    expect(page.locator(".lead")).to_have_text("Every range stands where the hours that were taken want it.")
    assert learning(store).moves == ()
