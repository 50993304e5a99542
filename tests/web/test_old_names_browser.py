"""A phone that kept a page under a name goes on under the other once the two cars are joined."""

from __future__ import annotations

from playwright.sync_api import expect, sync_playwright
from tests.web.conftest import CAR, Chromium, Running

OLD = "hall-find"


def test_a_phone_that_kept_the_old_page_goes_on_under_the_other(running: Running, chromium: Chromium) -> None:
    running.store.create_car(OLD, title="Found in the hall")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        page = browser.new_page()
        page.goto(running.link)
        page.goto(f"{running.address}/cars/{OLD}/at-the-car")
        page.wait_for_function(f"async () => Boolean(await caches.match('/cars/{OLD}/at-the-car'))")
        page.wait_for_function("() => Boolean(navigator.serviceWorker.controller)")
        running.store.join_cars(CAR, OLD, author="Ida Quill")
        page.goto(f"{running.address}/cars/{OLD}/at-the-car")
        expect(page).to_have_url(f"{running.address}/cars/{CAR}/at-the-car")
        expect(page.locator("h1")).to_be_visible()
        browser.close()
