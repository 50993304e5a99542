"""A job card on a phone: a place ringed by touch and by keys, jobs ticked off with and without signal, taken back."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Locator, Page, expect, sync_playwright
from tests.web.conftest import too_wide

from shutline.usecases.look import find_car
from shutline.usecases.own_prep import PREP_VARIABLE
from shutline.usecases.settings import SETTINGS_VARIABLE

CAR = "ostrel-pavane"
CARDS = f"/cars/{CAR}/preparation/cards"


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(PREP_VARIABLE, str(tmp_path / "prep"))
    monkeypatch.setenv(SETTINGS_VARIABLE, str(tmp_path / "settings" / "settings.toml"))


@pytest.fixture
def page(running: Any, chromium: Any) -> Iterator[Page]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        context = browser.new_context(viewport={"width": 390, "height": 800}, has_touch=True)
        context.set_default_timeout(60_000)
        page = context.new_page()
        page.goto(running.link)
        yield page
        browser.close()


def opened(page: Page, running: Any, trade: str) -> Locator:
    """Open the card of a trade; give its first job."""
    page.goto(f"{running.address}{CARDS}/{trade}")
    job = page.locator(".card").first
    expect(job.locator(".tick-off .main")).to_be_enabled()
    return job


def test_a_place_is_ringed_by_touch_and_moved_by_keys(page: Page, running: Any) -> None:
    dent = next(one for one in find_car(running.store, CAR).findings if one.finding.condition == "dent")
    page.goto(running.address + CARDS)
    page.get_by_role("link", name=re.compile("^Dent removal")).click()
    figure = page.locator(".ringed").first
    figure.get_by_role("button", name="Ring the place").click()
    box = figure.locator(".over").bounding_box()
    assert box is not None
    page.touchscreen.tap(box["x"] + box["width"] / 4, box["y"] + box["height"] / 2)
    expect(figure.get_by_role("status")).to_have_text(re.compile("^25 % from the left, 50 % from the top, 20 %"))
    figure.get_by_role("button", name="Keep the ring").click()
    expect(figure.get_by_role("button", name="Move the ring")).to_be_focused()
    expect(figure).to_have_attribute("data-version", "1")
    (ring,) = running.store.rings([dent.id])
    assert (ring.circle.x, ring.circle.y, ring.circle.radius) == pytest.approx((0.25, 0.5, 0.1), abs=0.01)
    page.keyboard.press("Enter")
    for key in ("ArrowRight", "ArrowDown", "+", "Enter"):
        page.keyboard.press(key)
    expect(figure).to_have_attribute("data-version", "2")
    (moved,) = running.store.rings([dent.id])
    assert moved.circle.x == pytest.approx(ring.circle.x + 0.02)
    assert moved.circle.radius == pytest.approx(0.115)
    # A step down is as long as one to the right.
    still = dent.stills[0]
    assert (moved.circle.y - ring.circle.y) * still.height == pytest.approx(0.02 * still.width)
    page.keyboard.press("Enter")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("Escape")
    page.reload()
    expect(page.locator(".ring .line").first).to_have_attribute("cx", str(moved.circle.x * still.width))
    assert running.store.rings([dent.id]) == (moved,)


def test_a_job_is_ticked_off_with_hours_and_a_picture_and_taken_back(page: Page, running: Any) -> None:
    job = opened(page, running, "dent")
    name = job.get_attribute("data-name") or ""
    hours = job.get_by_role("textbox", name=re.compile("^Hours taken"))
    for words in ("a quarter of an hour more", "an hour more", "a quarter of an hour more"):
        job.get_by_role("button", name=words, exact=True).first.click()
    expect(hours).to_have_value("1.5")
    hours.fill("soon")
    job.get_by_role("button", name=re.compile("^Tick it off")).click()
    expect(job.get_by_role("alert")).to_have_text(re.compile("^Hours are a number"))
    hours.fill("2:15")
    jpeg = io.BytesIO()
    Image.new("RGB", (320, 180), (90, 120, 90)).save(jpeg, "JPEG")
    after = {"name": "after.jpg", "mimeType": "image/jpeg", "buffer": jpeg.getvalue()}
    job.locator("input[type=file]").set_input_files(files=[after])
    job.get_by_label("Found besides").fill("the clip is broken")
    job.get_by_role("button", name=re.compile("^Tick it off")).click()
    expect(job.locator(".ticked p")).to_have_text("Ticked off, 2.25 hours. In the car file.")
    car = find_car(running.store, CAR)
    (done,) = [one for one in running.store.works_done(CAR) if one.holds]
    assert (str(done.hours), done.found) == ("2.25", "the clip is broken")
    assert [one.original.name for one in car.pictures if one.id == done.picture] == ["after.jpg"]
    assert [one.words for one in car.notes if one.words] == ["the clip is broken"]
    page.get_by_role("link", name="All of this card is ticked off: what is left now").click()
    expect(page.get_by_text("Nothing left to do.")).to_be_visible()
    ticked = page.locator(".done li", has_text=re.compile(re.escape(name), re.IGNORECASE))
    expect(ticked).to_contain_text("2.25 hours, Ida Quill")
    expect(page.locator(".card")).to_have_count(0)
    ticked.get_by_role("button", name=re.compile("^Take back")).click()
    again = page.get_by_role("link", name="Taken back: show the card as it is now")
    expect(again).to_be_focused()
    again.click()
    expect(page.locator(".card")).to_have_count(1)
    assert not [one for one in running.store.works_done(CAR) if one.holds]


def test_without_signal_a_tick_waits_on_the_phone_and_is_sent_once(page: Page, running: Any) -> None:
    job = opened(page, running, "dent")
    expect(page.get_by_text("This page opens without signal, too.")).to_be_visible()
    page.context.set_offline(True)
    job.get_by_role("button", name="an hour more", exact=True).first.click()
    job.get_by_role("button", name=re.compile("^Tick it off")).click()
    expect(job.locator(".ticked p")).to_have_text("Ticked off, 1 hour. It waits on this phone.")
    # Opened again without signal, it still is.
    page.reload()
    job = page.locator(".card").first
    expect(job.locator(".ticked p")).to_have_text("Ticked off, 1 hour. It waits on this phone.")
    job.get_by_role("button", name=re.compile("^Take back")).click()
    expect(job.get_by_role("button", name=re.compile("^Tick it off"))).to_be_focused()
    job.get_by_role("button", name="a quarter of an hour more", exact=True).first.click()
    job.get_by_role("button", name=re.compile("^Tick it off")).click()
    expect(page.locator("#standing")).to_have_text(re.compile("^1 waits to be sent."))
    page.context.set_offline(False)
    expect(job.locator(".ticked p")).to_have_text("Ticked off, 0.25 hours. In the car file.")
    (done,) = running.store.works_done(CAR)
    assert (str(done.hours), done.version) == ("0.25", 1)


def test_a_place_is_ringed_in_review_where_no_key_decides_meanwhile(page: Page, running: Any) -> None:
    dent = next(one for one in find_car(running.store, CAR).findings if one.finding.condition == "dent")
    page.set_viewport_size({"width": 1440, "height": 1000})
    page.goto(f"{running.address}/cars/{CAR}/review/{dent.id}")
    figure = page.locator(".entry .ringed")
    expect(page.locator(".review[data-ready]")).to_be_visible()
    figure.get_by_role("button", name="Ring the place").click()
    for key in (*"qwertyuiopasdfghjklzxcvbnm", " ", "ArrowUp"):
        page.keyboard.press(key)
    expect(figure.get_by_role("status")).to_have_text(re.compile("^50 % from the left, 46 % from the top"))
    assert Axe().run(page).response["violations"] == []
    page.keyboard.press("Enter")
    expect(figure).to_have_attribute("data-version", "1")
    assert running.store.finding(dent.id).version == dent.version
    page.goto(f"{running.address}/cars/{CAR}/review/{dent.id}")
    expect(figure.locator(".line")).to_have_attribute("cx", str(dent.stills[0].width / 2))


@pytest.mark.parametrize("width", [1440, 390])
def test_nothing_stands_in_the_way_of_anybody(page: Page, running: Any, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 800})
    page.goto(running.address + CARDS)
    assert Axe().run(page).response["violations"] == []
    opened(page, running, "dent")
    for summary in page.locator("summary").all():
        summary.click()
    page.get_by_role("button", name="Ring the place").first.click()
    assert Axe().run(page).response["violations"] == []
    assert too_wide(page) <= 0
    if width == 390:
        small = page.evaluate(
            "[...document.querySelectorAll('.phone button, .phone .button, .phone summary')].filter((one) =>"
            " one.checkVisibility() && one.getBoundingClientRect().height < 44).map((one) => one.textContent)"
        )
        assert small == []
