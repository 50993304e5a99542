"""Measuring in a real browser: places picked by mouse and by keys, pulled, taken away and typed."""

from __future__ import annotations

import importlib.util
import sys
from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect, sync_playwright
from tests.web.conftest import too_wide

from shutline.car.notes import NoteKind
from shutline.usecases.measuring import measuring_view
from shutline.usecases.note_keeping import keep_file

CAR = "ostrel-pavane"
AT = f"/cars/{CAR}/measuring"
PATIENT_MS = 60_000
ONCE = "token-card"


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))


@pytest.fixture
def places(running, tmp_path: Path) -> list[tuple[float, float]]:
    """A picture of the marker card in the store; two places on it 120 mm apart, in shares."""
    where = Path(__file__).resolve().parents[1] / "gauge" / "size" / "scenes.py"
    spec = importlib.util.spec_from_file_location("browser_scenes", where)
    assert spec is not None
    assert spec.loader is not None
    scenes = importlib.util.module_from_spec(spec)
    sys.modules["browser_scenes"] = scenes
    spec.loader.exec_module(scenes)
    scene = scenes.scene(3)
    path = tmp_path / "card.png"
    cv2.imwrite(str(path), scene.picture)
    keep_file(
        running.store,
        CAR,
        path,
        kind=NoteKind.PICTURE,
        place="nearside front wing",
        token=ONCE,
        name="card.png",
        by="Ida",
    )
    return [((x + 0.5) / 1000, (y + 0.5) / 750) for x, y in scene.px(np.array(((-60.0, 10.0), (60.0, 10.0)))).tolist()]


@pytest.fixture
def page(running, chromium, places) -> Iterator[Page]:
    complaints: list[str] = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        context = browser.new_context(viewport={"width": 1440, "height": 1100}, base_url=running.address)
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


def click(page: Page, place: tuple[float, float]) -> None:
    page.locator(".picks").scroll_into_view_if_needed()
    sheet = page.locator(".picks").bounding_box()
    assert sheet is not None
    page.mouse.click(sheet["x"] + place[0] * sheet["width"], sheet["y"] + place[1] * sheet["height"])


def test_a_length_is_picked_with_the_mouse_measured_and_kept(page: Page, running, places) -> None:
    for place in places:
        click(page, place)
    expect(page.locator(".pin")).to_have_count(2)
    page.get_by_label("The card's ruler measures, mm").fill("150")
    page.get_by_role("button", name="Measure", exact=True).click()
    expect(page.locator(".sentence")).to_contain_text("Length")
    expect(page.locator(".cautions li").first).to_be_visible()
    assert Axe().run(page).response["violations"] == []
    page.get_by_label("Part", exact=True).select_option("door")
    page.get_by_label("Side", exact=True).select_option("near")
    page.get_by_label("End", exact=True).select_option("front")
    with page.expect_event("load"):
        page.get_by_role("button", name="Keep", exact=True).click()
    expect(page.get_by_role("heading", name="Taken off this picture")).to_be_visible()
    (kept,) = measuring_view(running.store, CAR).readings
    assert abs(kept.reading.value - 120) < 6
    assert kept.reading.part == "door"


def test_places_are_picked_moved_and_taken_away_by_keys(page: Page) -> None:
    picks = page.locator(".picks")
    picks.focus()
    picks.press("Enter")
    picks.press("Shift+ArrowRight")
    picks.press("Enter")
    expect(page.locator(".pin")).to_have_count(2)
    second = page.get_by_role("button", name="Place 2")
    before = second.get_attribute("aria-label")
    second.focus()
    page.keyboard.press("ArrowDown")
    expect(page.get_by_role("button", name="Place 2")).not_to_have_attribute("aria-label", before)
    expect(page.get_by_role("button", name="Place 2")).to_be_focused()
    page.keyboard.press("Delete")
    expect(page.locator(".pin")).to_have_count(1)


def test_places_that_are_typed_are_drawn_and_what_is_refused_is_told(page: Page) -> None:
    page.get_by_text("Places as numbers").click()
    page.get_by_label("Places", exact=True).fill("100, 200\n300, 220.5")
    expect(page.locator(".pin")).to_have_count(2)
    page.get_by_label("Places", exact=True).fill("100, 200")
    page.get_by_role("button", name="Measure", exact=True).click()
    expect(page.locator(".told")).to_contain_text("1 places")


def test_colour_asks_for_both_sides_of_the_line_and_nothing_of_the_card(page: Page) -> None:
    expect(page.locator(".groups")).to_be_hidden()
    page.get_by_label("the colour across a shut line").check()
    expect(page.locator(".groups")).to_be_visible()
    expect(page.get_by_label("The card's ruler measures, mm")).to_be_hidden()
    click(page, (0.2, 0.2))
    page.get_by_label("the other side", exact=True).check()
    click(page, (0.6, 0.2))
    expect(page.get_by_role("button", name="The other side, place 1")).to_be_visible()


def test_blisters_are_rated_by_the_drawn_scale_on_the_picture_or_at_the_car(page: Page, running) -> None:
    page.get_by_label("blisters, by eye").check()
    expect(page.get_by_role("img", name="Density 4, size 3")).to_be_visible()
    page.get_by_label("They are seen on this picture").uncheck()
    expect(page.locator(".picks")).to_be_hidden()
    page.get_by_role("radio", name="Density 4, size 3").check()
    page.get_by_role("button", name="Measure", exact=True).click()
    expect(page.locator(".sentence")).to_contain_text("Blisters 4(S3)")
    assert Axe().run(page).response["violations"] == []
    page.get_by_label("Part", exact=True).select_option("bonnet")
    with page.expect_event("load"):
        page.get_by_role("button", name="Keep", exact=True).click()
    expect(page.get_by_role("heading", name="Rated or keyed at the car")).to_be_visible()
    kept = measuring_view(running.store, CAR).readings
    assert [(one.reading.quantity, one.reading.value, one.reading.source) for one in kept] == [
        ("blister_density", 4, ""),
        ("blister_size", 3, ""),
    ]


def test_two_keyed_colours_are_compared_and_what_is_no_colour_is_asked_for_again(page: Page) -> None:
    page.get_by_label("two colours from a spectrophotometer").check()
    page.get_by_label("This side: L*, a*, b*").fill("50, 2.6772, \u221279.7751")
    page.get_by_label("The other side: L*, a*, b*").fill("50, 0")
    page.get_by_role("button", name="Measure", exact=True).click()
    expect(page.locator(".told")).to_contain_text("three figures")
    expect(page.get_by_label("The other side: L*, a*, b*")).to_be_focused()
    page.get_by_label("The other side: L*, a*, b*").fill("50, 0, -82.7485")
    page.get_by_role("button", name="Measure", exact=True).click()
    expect(page.locator(".sentence")).to_contain_text("CIEDE2000 2.0")


@pytest.mark.parametrize("kind", ["length", "colour", "blisters", "colours"])
@pytest.mark.parametrize("wide", [390, 1024])
def test_nothing_sticks_out_on_a_small_screen(page: Page, wide: int, kind: str) -> None:
    page.set_viewport_size({"width": wide, "height": 900})
    page.locator(f'[name="kind"][value="{kind}"]').check()
    assert too_wide(page) <= 0
    assert Axe().run(page).response["violations"] == []
