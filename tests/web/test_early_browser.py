"""What is pressed while a page still comes, before its scripts are there, is done all the same."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Page, Route, expect, sync_playwright

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
        shown = browser.new_page(viewport={"width": 390, "height": 844})
        shown.set_default_timeout(60_000)
        shown.goto(running.link)
        yield shown
        browser.close()


@pytest.fixture
def late(page: Page) -> Callable[[str], Callable[[], None]]:
    """Holds the script of a page back until the function that is given for its name is called."""

    def hold(script: str) -> Callable[[], None]:
        held: list[Route] = []
        here = False

        def meet(route: Route) -> None:
            if here:
                route.continue_()
            else:
                held.append(route)

        def come() -> None:
            nonlocal here
            here = True
            for route in held:
                route.continue_()

        page.route(f"**/static/{script}", meet)
        return come

    return hold


def test_a_button_pressed_before_its_script_is_there_does_its_work(page: Page, running, late) -> None:
    come = late("pictures.js")
    page.goto(f"{running.address}/cars/{CAR}/pictures", wait_until="commit")
    page.get_by_label("It shows").select_option(index=1)
    page.locator("button.show").press("Enter")
    page.wait_for_timeout(200)
    assert page.locator(".seen").count() == 0
    come()
    expect(page.locator(".seen")).to_have_count(1)


def test_a_part_entered_before_its_script_is_there_is_kept(page: Page, store: Store, running, late) -> None:
    come = late("pictures.js")
    page.goto(f"{running.address}/cars/{CAR}/pictures", wait_until="commit")
    field = page.get_by_label("It is of")
    field.fill("Nearside sill")
    field.press("Enter")
    come()
    expect(page.locator('.part[data-place="sill-near"] .by-hand')).to_have_count(1)
    picture = store.car_file(CAR).pictures[0].id
    assert store.picture_places([picture])[picture][-1].part == "sill"


def test_letters_pressed_before_the_script_of_a_list_is_there_move_through_it(page: Page, running, late) -> None:
    come = late("review.js")
    page.goto(f"{running.address}/cars/{CAR}/review", wait_until="commit")
    first = page.locator(".galley [aria-current]").get_attribute("href")
    page.keyboard.press("n")
    come()
    expect(page.locator(".review[data-ready]")).to_be_visible()
    expect(page.locator(".galley [aria-current]")).not_to_have_attribute("href", first or "")


def test_whoever_has_gone_on_is_not_pulled_back_to_the_picture_of_before(page: Page, running, late) -> None:
    page.goto(f"{running.address}/cars/{CAR}/pictures")
    come = late("pictures.js")
    page.get_by_label("It is of").fill("Nearside sill")
    page.get_by_label("It is of").press("Enter")
    expect(page.locator('.part[data-place="sill-near"] .by-hand')).to_have_count(1)
    choice = page.get_by_label("It shows")
    choice.focus()
    come()
    expect(page.locator(".told")).to_have_text("Kept.")
    expect(choice).to_be_focused()
