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
from playwright.sync_api import Page, expect, sync_playwright

from shutline.capture.originals import write_once
from shutline.car.figures import FigureKind, FigureState, OtherReading, ReadFigure, ReadSign
from shutline.car.findings import Fact, Footing, FootingKind
from shutline.store import Store

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))

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
    with page.expect_event("load"):
        page.keyboard.press("Enter")
    (source,) = [one.id for one in store.car_file(CAR).recordings]
    taken = next(one for one in store.figures([source]) if one.read.kind is FigureKind.ODOMETER)
    assert (taken.state, taken.value) == (FigureState.TAKEN, 58208)
    assert taken.changes[-1].author == "Ida Quill"
    waiting = page.locator('.figure[data-state="waits"]')
    waiting.focus()
    with page.expect_event("load"):
        page.keyboard.press("x")
    assert next(one for one in store.figures([source]) if one.read.kind is FigureKind.MARK).state is FigureState.ASIDE


def test_the_page_is_readable_for_everybody_at_each_width(page: Page) -> None:
    for wide in (1440, 1024, 390):
        page.set_viewport_size({"width": wide, "height": 900})
        if SHOTS:
            page.screenshot(path=f"{SHOTS}/figures-{wide}.png", full_page=True)
        over = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert over <= 0, f"{over} pixels too wide at {wide}"
    assert Axe().run(page).response["violations"] == []
