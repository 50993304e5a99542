"""Covers in a real browser: drawn, pulled and sized with the mouse, moved, confirmed and struck by keys."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect, sync_playwright
from tests.web.conftest import too_wide

from shutline.car.masks import Box, BoxAt, KeptMask, Mask, MaskKind, MaskLook
from shutline.gauge.masks.find import finder
from shutline.usecases.look import find_car
from shutline.usecases.mask_looks import shots
from shutline.usecases.masks import car_masks

CAR = "ostrel-pavane"
AT = f"/cars/{CAR}/masks"
BOX = Box(0.4, 0.3, 0.6, 0.5)
PATIENT_MS = 60_000


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))


@pytest.fixture
def page(running, chromium) -> Iterator[Page]:
    """A browser that was let in, on the page of a car whose first picture has one proposal."""
    there = shots(find_car(running.store, CAR))
    for number, shot in enumerate(there):
        masks = [Mask(shot.source, MaskKind.MARK, (BoxAt(shot.at_s, BOX),), sureness=0.8)] if number == 0 else []
        found = {"mark": len(masks), "chassis": 0, "face": 0}
        running.store.put_masks(MaskLook(shot.source, shot.at_s, shot.at_s, finder(), 1, found), masks)
    complaints: list[str] = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        context = browser.new_context(viewport={"width": 1440, "height": 900}, base_url=running.address)
        context.set_default_timeout(PATIENT_MS)
        context.set_default_navigation_timeout(PATIENT_MS)
        expect.set_options(timeout=PATIENT_MS)
        opened = context.new_page()
        opened.on("pageerror", lambda error: complaints.append(str(error)))
        opened.on("console", lambda said: complaints.append(said.text) if "Content Security" in said.text else None)
        opened.goto(running.link)
        opened.goto(AT)
        yield opened
        browser.close()
    assert complaints == []


def kept(running, state: str) -> list[KeptMask]:
    return [one for one in car_masks(running.store, CAR).masks if one.mask.state == state]


def pull(page: Page, start: tuple[float, float], end: tuple[float, float]) -> None:
    """Press at a place of the picture, in shares of it, pull to another and let go."""
    sheet = page.locator(".covers").bounding_box()
    assert sheet is not None
    (x, y), (there_x, there_y) = (
        (sheet["x"] + a * sheet["width"], sheet["y"] + b * sheet["height"]) for a, b in (start, end)
    )
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move((x + there_x) / 2, (y + there_y) / 2)
    page.mouse.move(there_x, there_y)
    with page.expect_event("load"):
        page.mouse.up()


def test_a_cover_is_pulled_sized_and_another_drawn_with_the_mouse(page: Page, running) -> None:
    page.locator(".covers").scroll_into_view_if_needed()
    pull(page, (0.45, 0.35), (0.55, 0.45))
    (moved,) = kept(running, "stands")
    assert moved.mask.way[0].box.edges == pytest.approx((0.5, 0.4, 0.7, 0.6), abs=0.01)
    assert moved.changes[-1].author == "Ida Quill"
    expect(page.locator(".cover.stands")).to_have_count(1)
    page.locator(".covers").scroll_into_view_if_needed()
    pull(page, (0.697, 0.595), (0.8, 0.7))
    (sized,) = kept(running, "stands")
    assert sized.mask.way[0].box.edges == pytest.approx((0.5, 0.4, 0.803, 0.705), abs=0.015)
    page.get_by_label("New covers are over a").select_option("face")
    page.locator(".covers").scroll_into_view_if_needed()
    pull(page, (0.1, 0.1), (0.2, 0.3))
    expect(page.locator(".cover")).to_have_count(2)
    drawn = next(one for one in kept(running, "stands") if one.mask.kind is MaskKind.FACE)
    assert drawn.mask.way[0].box.edges == pytest.approx((0.1, 0.1, 0.2, 0.3), abs=0.01)


def test_covers_are_confirmed_moved_sized_struck_restored_and_drawn_by_keys(page: Page, running) -> None:
    cover = page.get_by_role("button", name="Cover 1: registration mark, proposed")
    cover.focus()
    with page.expect_event("load"):
        page.keyboard.press("Enter")
    cover = page.get_by_role("button", name="Cover 1: registration mark, stands")
    expect(cover).to_be_focused()
    with page.expect_event("load"):
        for key in ("ArrowRight", "ArrowRight", "ArrowDown", "Shift+ArrowRight", "Shift+ArrowDown"):
            page.keyboard.press(key)
    (moved,) = kept(running, "stands")
    assert moved.mask.way[0].box.edges == pytest.approx((0.41, 0.305, 0.615, 0.51), abs=0.001)
    expect(cover).to_be_focused()
    with page.expect_event("load"):
        page.keyboard.press("Delete")
    assert kept(running, "stands") == []
    with page.expect_event("load"):
        page.get_by_role("button", name="Restore cover 1").press("Enter")
    assert len(kept(running, "stands")) == 1
    with page.expect_event("load"):
        page.get_by_role("button", name="Draw one in the middle").press("Enter")
    assert len(kept(running, "stands")) == 2


@pytest.mark.parametrize("width", [1440, 390])
def test_the_page_has_no_fault_of_access_and_fits(page: Page, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    page.reload()
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    assert too_wide(page) <= 0
