"""The page of a price in a browser: figures moved by keys, the most that follows, what is kept; axe on a phone too."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Page, expect, sync_playwright
from tests.web.conftest import too_wide

from shutline.usecases.comparables import note_comparable

CAR = "ostrel-pavane"
HERE = f"/cars/{CAR}/price"
PRICES = (("6500", "72000", "55", "tidy"), ("8200", "41000", "58", "fine"), ("4100", "99000", "54", "rough"))


@pytest.fixture
def page(running: Any, chromium: Any) -> Iterator[Page]:
    for number, (amount, miles, age, condition) in enumerate(PRICES):
        fields = {"when": "2026-03-01", "price": amount, "sold": "sold", "mileage": miles, "condition": condition}
        fields["car"] = f"car {number}"
        note_comparable(running.store, fields, {"model": "Pavane", "age": age}, author="Ida")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        page = browser.new_page(viewport={"width": 1440, "height": 1000})
        page.goto(running.link)
        yield page
        browser.close()


def test_keeping_the_price_leaves_the_figures_that_were_tried(page: Page, running: Any) -> None:
    page.goto(running.address + HERE)
    keeps = page.get_by_role("button", name="Keep the price")
    expect(keeps).to_be_enabled()
    page.locator("#fees").fill("1,200")
    expect(page).to_have_url(re.compile("fees="))
    page.locator("#asking").fill("£6,950")
    expect(page.locator("[data-part='asked'] .said")).to_contain_text("Asked for at £6,950")
    keeps.click()
    expect(page.get_by_text("Kept: £6,950")).to_be_visible()
    expect(page.locator("#fees")).to_have_value("1200")


def test_a_figure_is_moved_by_keys_and_the_most_follows(page: Page, running: Any) -> None:
    page.goto(running.address + HERE)
    slider = page.get_by_role("slider", name="Days it stands")
    expect(slider).to_be_enabled()
    most = page.locator("[data-part='most'] .said").first
    before = most.inner_text()
    slider.focus()
    page.keyboard.press("Home")
    expect(page.locator("#days")).to_have_value("0")
    expect(most).not_to_have_text(before)
    expect(page).to_have_url(re.compile("days=0"))
    expect(slider).to_be_focused()
    back = page.get_by_role("button", name="As reckoned: Days it stands")
    back.click()
    expect(most).to_have_text(before)
    expect(back).to_be_hidden()
    page.locator("#allowed").fill("0")
    expect(page.locator(".told")).to_contain_text("allowed: 0.0")
    page.locator("#allowed").fill("3")
    expect(most).to_contain_text("3 in a hundred")
    page.get_by_role("button", name="Keep these figures with the car").click()
    expect(page).to_have_url(re.compile(f"{HERE}$"))
    expect(page.locator("#allowed")).to_have_value("3")
    said = running.store.price_said(CAR)
    assert said.figures == {"allowed": 3.0}
    assert said.changes[-1].author == "Ida Quill"


def test_what_the_car_is_and_what_is_asked_are_kept(page: Page, running: Any) -> None:
    page.goto(running.address + HERE)
    button = page.get_by_role("button", name="Keep what the car is")
    expect(button).to_be_enabled()
    page.get_by_label("Condition", exact=True).fill("tidy")
    with page.expect_event("load"):
        button.click()
    expect(page.locator("tr.here")).to_contain_text("Tidy")
    assert running.store.price_said(CAR).attributes == {"condition": "tidy"}
    price = page.locator("#asking")
    price.fill("6,900")
    expect(page.locator("[data-part='asked'] .said")).to_contain_text("Asked for at £6,900")
    with page.expect_event("load"):
        page.get_by_role("button", name="Keep the price").click()
    expect(page.get_by_text("Kept: £6,900")).to_be_visible()
    assert [one.pence for one in running.store.prep_decisions(CAR)] == [690_000]
    with page.expect_event("load"):
        page.get_by_role("button", name="As the car file has it").click()
    assert running.store.price_said(CAR).attributes == {}


@pytest.mark.parametrize("width", [1440, 390])
def test_nothing_stands_in_the_way_of_anybody(page: Page, running: Any, width: int) -> None:
    from axe_playwright_python.sync_playwright import Axe

    page.set_viewport_size({"width": width, "height": 800})
    page.goto(running.address + HERE)
    expect(page.locator("#price[data-ready]")).to_be_visible()
    for summary in page.locator("#price summary").all():
        summary.click()
    assert Axe().run(page).response["violations"] == []
    assert too_wide(page) <= 0
