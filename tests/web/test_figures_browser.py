"""Figures in a real browser: taken, typed over sign by sign and set aside by keys; readable for everybody."""

from __future__ import annotations

import os
import random
import sys
from collections.abc import Iterator
from pathlib import Path

import cv2
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, Route, expect, sync_playwright

from shutline.capture.originals import write_once
from shutline.car.figures import FigureKind, FigureState, OtherReading, ReadFigure, ReadSign
from shutline.car.findings import Fact, Footing, FootingKind
from shutline.store import Store

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))

from tests.web.conftest import too_wide

from drawn_figures import mark, odometer

CAR = "ostrel-pavane"
AT = f"/cars/{CAR}/figures"
PATIENT_MS = 60_000
# A folder to look at the page in, for whoever works on it.
SHOTS = os.environ.get("SHUTLINE_SHOTS")


def put(store: Store) -> tuple[str, str]:
    """Keep two figures that wait: an odometer that fits, and a mark in no known form."""
    source = store.car_file(CAR).recordings[0].id
    shown = (
        (odometer(random.Random(3)).picture, FigureKind.ODOMETER, "058206", 58206, "mi", True),
        (mark(random.Random(4)).picture, FigureKind.MARK, "0GY412H", "0GY412H", None, False),
    )
    ids = []
    for picture, kind, text, value, unit, fits in shown:
        piece = cv2.imencode(".jpg", picture[..., ::-1])[1].tobytes()
        others = () if fits else (OtherReading("OGY412H", "OGY412H", "sign 1: O in place of 0"),)
        signs = tuple(ReadSign(sign, 0.6 if number == 0 else 0.99) for number, sign in enumerate(text))
        read = ReadFigure(kind, text, signs, value, unit, fits, 0.98, (0.1, 0.1, 0.5, 0.2), others)
        ids += store.put_figures(source, [(read, write_once(store.derived, piece))], key=text, at_s=3.0)
    said = Footing(FootingKind.SAID, source, 1.0, 2.0, "eighty-five thousand two hundred and six")
    store.add_fact(CAR, Fact("odometer", 85_206, "mi", (said,)), author="Ida", token=text)
    return ids[0], ids[1]


@pytest.fixture
def page(running, chromium) -> Iterator[Page]:
    put(running.store)
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


def test_figures_are_decided_by_keys(page: Page, running) -> None:
    store: Store = running.store
    first = page.locator(".figure").first
    first.focus()
    page.keyboard.press("e")
    expect(first.locator(".sign").first).to_be_focused()
    for sign in "058208":
        page.keyboard.press(sign)
    expect(first.locator('[data-verb="amend"]')).to_be_visible()
    page.keyboard.press("Enter")
    # The next figure has the focus at once, and the same page stays: what is pressed now is for that one.
    waiting = page.locator('.figure[data-state="waits"]')
    expect(page.locator('.figure[data-state="taken"]')).to_have_count(1)
    expect(waiting).to_be_focused()
    (source,) = [one.id for one in store.car_file(CAR).recordings]
    taken = next(one for one in store.figures([source]) if one.read.kind is FigureKind.ODOMETER)
    assert (taken.state, taken.value) == (FigureState.TAKEN, 58208)
    assert taken.changes[-1].author == "Ida Quill"
    page.keyboard.press("x")
    expect(page.locator('.figure[data-state="aside"]')).to_have_count(1)
    assert next(one for one in store.figures([source]) if one.read.kind is FigureKind.MARK).state is FigureState.ASIDE
    expect(page.locator("#all-heading")).to_have_text("0 waiting")


def test_no_key_is_lost_while_a_decision_is_on_its_way_and_the_page_drawn_anew(page: Page, running) -> None:
    store: Store = running.store
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    page.route("**/figures/decide", hold)
    first, second = page.locator(".figure").all()
    mark_id = second.get_attribute("id")
    first.focus()
    page.keyboard.press("t")
    second = page.locator(f"#{mark_id}")
    expect(second).to_be_focused()
    page.keyboard.press("e")
    for sign in "OGY":
        page.keyboard.press(sign)
    expect(second.locator(".sign").nth(3)).to_be_focused()
    page.wait_for_function("() => document.querySelector('.figure[aria-busy=true]')")
    held[0].continue_()
    expect(page.locator('.figure[data-state="taken"]')).to_have_count(1)
    # It was drawn anew around what is being typed.
    expect(second.locator(".sign").nth(3)).to_be_focused()
    expect(second.locator(".sign").first).to_have_value("O")
    page.keyboard.press("Enter")
    expect(second).to_have_attribute("aria-busy", "true")
    while len(held) < 2:
        page.wait_for_timeout(20)
    held[1].continue_()
    expect(page.locator('.figure[data-state="taken"]')).to_have_count(2)
    values = {str(one.value) for one in store.car_file(CAR).figures if one.state is FigureState.TAKEN}
    assert values == {"58206", "OGY412H"}


def test_a_decision_that_comes_too_late_is_told_and_what_is_so_now_is_drawn(page: Page, running) -> None:
    store: Store = running.store
    figure = page.locator(".figure").first
    ref = str(figure.get_attribute("data-id"))
    store.change_figure(ref, action="aside", author="Per")
    figure.focus()
    page.keyboard.press("t")
    expect(page.locator('.figure[data-state="aside"]')).to_have_count(1)
    expect(page.locator(".told")).to_be_visible()
    assert store.figure(ref).state is FigureState.ASIDE


def test_the_page_is_readable_for_everybody_at_each_width(page: Page) -> None:
    for wide in (1440, 1024, 390):
        page.set_viewport_size({"width": wide, "height": 900})
        if SHOTS:
            page.screenshot(path=f"{SHOTS}/figures-{wide}.png", full_page=True)
        over = too_wide(page)
        assert over <= 0, f"{over} pixels too wide at {wide}"
    assert Axe().run(page).response["violations"] == []
