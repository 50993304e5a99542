"""The page of preparation in a browser: the sum is moved by keys, a job refused, the price kept; axe on a phone too."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect, sync_playwright
from tests.web.conftest import too_wide

from shutline.car.prep_decisions import PrepKind

CAR = "ostrel-pavane"
HERE = f"/cars/{CAR}/preparation?start=2026-11-30"


@pytest.fixture
def page(running: Any, chromium: Any) -> Iterator[Page]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        page = browser.new_page(viewport={"width": 1440, "height": 1000})
        page.goto(running.link)
        yield page
        browser.close()


def test_a_price_is_kept_a_sum_is_moved_by_keys_and_a_job_is_refused(page: Page, running: Any) -> None:
    page.goto(running.address + HERE)
    page.get_by_label("To be asked for it, pounds").fill("60,000")
    page.get_by_role("button", name="Keep the price").click()
    slider = page.locator("#budget[data-ready]")
    expect(slider).to_be_visible()
    decided = {one.kind: one.pence for one in running.store.prep_decisions(CAR)}
    assert decided == {PrepKind.ASKING: 6_000_000}
    done = page.locator(".job:not(.out)").count()
    assert done == page.locator(".job .state", has_text="To be done").count() > 1
    slider.focus()
    page.keyboard.press("Home")
    expect(page.locator(".job:not(.out)")).not_to_have_count(done)
    expect(slider).to_have_attribute("aria-valuetext", re.compile(r"^£[\d,]+ spent, \d+ job"))
    expect(page).to_have_url(re.compile("budget="))
    expect(page.locator("#plan")).not_to_have_attribute("aria-busy", "true")
    page.get_by_role("button", name="Keep this budget").click()
    expect(page.get_by_text("May be spent:")).to_be_visible()
    assert running.store.prep_decisions(CAR)[-1].kind is PrepKind.BUDGET
    left = page.locator(".job.out").first
    left.get_by_text("Findings, care and other ways").click()
    left.get_by_text("Not to be done").click()
    left.get_by_label("Why not").fill("the owner likes it")
    left.locator(".reason[data-kind='refused'] button").click()
    expect(page.locator(".reason-told", has_text="The owner likes it.")).to_be_visible()
    page.get_by_role("button", name=re.compile("^Take back refused")).click()
    expect(page.get_by_role("button", name=re.compile("^Take back refused"))).to_have_count(0)


def test_a_budget_that_is_to_be_kept_to_is_moved_and_kept_with_how_sure_it_is(page: Page, running: Any) -> None:
    running.store.decide_prep(CAR, PrepKind.ASKING, pence=6_000_000, author="Ida Quill")
    page.goto(running.address + HERE)
    expect(page.locator("#budget[data-ready]")).to_be_visible()
    page.get_by_label("kept to").select_option("90")
    page.get_by_label("to be filmed by").fill("2027-01-29")
    page.get_by_role("button", name="Show").click()
    slider = page.locator("#budget[data-ready]")
    expect(slider).to_have_attribute("aria-valuetext", re.compile(r"^£[\d,]+ is enough in 90 of a hundred, \d+ job"))
    expect(page.get_by_text("can be filmed by 29 January 2027")).to_be_visible()
    top = slider.get_attribute("aria-valuetext")
    slider.focus()
    page.keyboard.press("Home")
    expect(slider).not_to_have_attribute("aria-valuetext", str(top))
    expect(page).to_have_url(re.compile(r"sure=90&by=2027-01-29&budget="))
    expect(page.locator("#plan")).not_to_have_attribute("aria-busy", "true")
    page.get_by_role("button", name="Keep this budget").click()
    expect(page.get_by_text(re.compile("May be spent: £[\\d,]+, to be kept to in 90 of a hundred"))).to_be_visible()
    (kept,) = [one for one in running.store.prep_decisions(CAR) if one.kind is PrepKind.BUDGET]
    assert kept.words == "90"


@pytest.mark.parametrize("width", [1440, 390])
def test_nothing_stands_in_the_way_of_anybody(page: Page, running: Any, width: int) -> None:
    running.store.decide_prep(CAR, PrepKind.ASKING, pence=850_000, author="Ida Quill")
    page.set_viewport_size({"width": width, "height": 800})
    page.goto(running.address + HERE)
    expect(page.locator("#budget[data-ready]")).to_be_visible()
    for summary in page.locator(".more > summary").all():
        summary.click()
    assert Axe().run(page).response["violations"] == []
    assert too_wide(page) <= 0
