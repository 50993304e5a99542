"""The pictures page in a real browser: placed by keys and by dragging, read by everyone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Page, expect, sync_playwright
from tests.web.conftest import too_wide

from shutline.store import Store
from shutline.usecases.add import add

CAR = "ostrel-pavane"


@pytest.fixture
def page(store: Store, tmp_path: Path, running, chromium) -> Iterator[Page]:
    path = tmp_path / "sill.jpg"
    Image.new("RGB", (300, 200), "navy").save(path)
    add(store, [path], car=CAR)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        shown = browser.new_page(viewport={"width": 1200, "height": 900})
        shown.set_default_timeout(60_000)
        shown.goto(running.link)
        shown.goto(f"{running.address}/cars/{CAR}/pictures")
        yield shown
        browser.close()


def placed(store: Store) -> str | None:
    picture = store.car_file(CAR).pictures[0].id
    said = store.picture_places([picture]).get(picture)
    return None if said is None else said[-1].part


def test_a_picture_is_placed_and_tied_by_keys_alone(page: Page, store: Store) -> None:
    field = page.get_by_label("It is of")
    field.focus()
    page.keyboard.type("Nearside sill")
    page.keyboard.press("Enter")
    expect(page.locator('.part[data-place="sill-near"] .by-hand')).to_have_count(1)
    assert placed(store) == "sill"
    choice = page.get_by_label("It shows")
    choice.focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.locator(".seen")).to_have_count(1)


def test_a_picture_is_dragged_to_its_part(page: Page, store: Store) -> None:
    page.set_viewport_size({"width": 1200, "height": 2400})
    part = page.locator(".part").first
    wanted = part.get_attribute("data-place")
    page.locator(".by-hand img").first.drag_to(part.locator("h2"))
    expect(page.locator(f'.part[data-place="{wanted}"] .by-hand')).to_have_count(1)
    assert placed(store) is not None


def test_an_unknown_part_is_answered_and_nothing_is_sent(page: Page, store: Store) -> None:
    page.get_by_label("It is of").fill("flux capacitor")
    page.keyboard.press("Enter")
    expect(page.locator(".told")).to_contain_text("no place called flux capacitor")
    assert placed(store) is None


def test_axe_finds_nothing_and_no_page_is_wider_than_a_phone(page: Page) -> None:
    page.locator("details.sheet").first.locator("summary").click()
    assert Axe().run(page).violations_count == 0
    page.set_viewport_size({"width": 390, "height": 800})
    assert too_wide(page) <= 0
