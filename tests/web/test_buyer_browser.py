"""The buyer's page in a real browser: from a disk and through its link, wide and narrow, with script and without."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect, sync_playwright
from tests.web.conftest import too_wide

from shutline.store import Store
from shutline.usecases.buyers_page import make_buyers_page
from shutline.usecases.review import confirm
from shutline.usecases.shares import end_share, share

CAR = "ostrel-pavane"
WIDTHS = ((1440, 900), (1024, 768), (390, 844))


@pytest.fixture(autouse=True)
def house(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "settings").mkdir()
    (tmp_path / "settings/house.toml").write_text('name = "Halloran & Pike"\n', encoding="utf-8")
    (tmp_path / "settings/masks.toml").write_text('covers = "stands"\n', encoding="utf-8")
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "settings/settings.toml"))


@pytest.fixture
def browser(chromium: Any) -> Iterator[Browser]:
    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        yield opened
        opened.close()


def confirmed(store: Store) -> None:
    confirm(store, CAR, [one.id for one in store.car_file(CAR).findings][:-1], author="Ida Quill")


@contextmanager
def watched(browser: Browser, own: str, **more: Any) -> Iterator[Page]:
    """Give a page of which every word of trouble and every request elsewhere is a failure."""
    context = browser.new_context(**more)
    page = context.new_page()
    trouble: list[str] = []
    page.on("console", lambda said: trouble.append(said.text) if said.type in {"error", "warning"} else None)
    page.on("pageerror", lambda error: trouble.append(str(error)))
    page.on("request", lambda asked: None if asked.url.startswith(own) else trouble.append(asked.url))
    yield page
    assert trouble == []
    context.close()


def violations(page: Page) -> list[str]:
    # Without it the tool would read the style sheet once more by itself, which the page does not allow.
    found = Axe().run(page, options={"preload": False}).response["violations"]
    return [f"{one['id']}: {one['nodes'][0]['html'][:120]}" for one in found]


def plays_from(page: Page, at_s: float) -> None:
    page.wait_for_function(
        "at => (v => v.readyState >= 2 && Math.abs(v.currentTime - at) < 4)(document.querySelector('video'))",
        arg=at_s,
        timeout=60_000,
    )


def looked_over(page: Page, address: str) -> None:
    """What holds from a disk and through the link alike."""
    for width, height in WIDTHS:
        page.set_viewport_size({"width": width, "height": height})
        page.goto(address)
        expect(page.get_by_role("heading", level=1)).to_have_text("Ostrel Pavane, blue")
        assert too_wide(page) <= 0
        assert violations(page) == []
    link = page.locator(".entry a.watch").locator("visible=true").last
    at_s = float(link.get_attribute("data-at") or "nan")
    link.focus()
    page.keyboard.press("Enter")
    plays_from(page, at_s)
    expect(page.locator(".player")).to_have_class("player aside")
    assert violations(page) == []
    page.keyboard.press("Escape")
    expect(page.locator(".player")).to_have_class("player")
    expect(link).to_be_focused()
    assert page.evaluate("document.querySelector('video').paused")


def test_from_a_disk_it_asks_for_nothing_outside_and_plays_with_captions(
    store: Store, browser: Browser, tmp_path: Path
) -> None:
    confirmed(store)
    made = make_buyers_page(store, CAR, out=tmp_path / "page")
    assert made.waiting == 1
    with watched(browser, "file:") as page:
        looked_over(page, (tmp_path / "page/index.html").as_uri())
        cues = page.evaluate("[...document.querySelector('video').textTracks].map(one => [one.kind, one.cues.length])")
        assert cues == [["captions", page.locator("[data-captions] li").count()]]
        assert cues[0][1] > 3


def test_a_link_that_somebody_sent_opens_the_page_at_its_moment(store: Store, browser: Browser, tmp_path: Path) -> None:
    confirmed(store)
    make_buyers_page(store, CAR, out=tmp_path / "page")
    address = (tmp_path / "page/index.html").as_uri()
    with watched(browser, "file:") as page:
        page.goto(f"{address}#film-1-at-14.5")
        plays_from(page, 14.5)
        page.evaluate("document.querySelector('video').pause()")
        page.evaluate("location.hash = '#film-1-at-2'")
        plays_from(page, 2)
        page.goto(f"{address}#film-9-at-2")
        expect(page.get_by_role("heading", level=1)).to_be_visible()


def test_without_script_every_link_leads_to_the_film_and_the_words_are_there(
    store: Store, browser: Browser, tmp_path: Path
) -> None:
    confirmed(store)
    make_buyers_page(store, CAR, out=tmp_path / "page")
    with watched(browser, "file:", java_script_enabled=False) as page:
        page.goto((tmp_path / "page/index.html").as_uri())
        for link in page.locator("a.watch").all():
            file, _, at = (link.get_attribute("href") or "").partition("#t=")
            assert (tmp_path / "page" / file).is_file()
            assert float(at) >= 0
        page.locator("details.said summary").click()
        expect(page.locator("details.said li").first).to_be_visible()
        expect(page.get_by_role("link", name="The report on paper")).to_be_visible()


@pytest.mark.parametrize("script", [True, False])
def test_a_link_to_something_folded_opens_it_and_paper_shows_all(
    store: Store, browser: Browser, tmp_path: Path, *, script: bool
) -> None:
    confirmed(store)
    make_buyers_page(store, CAR, out=tmp_path / "page")
    address = (tmp_path / "page/index.html").as_uri()
    with watched(browser, "file:", java_script_enabled=script, viewport={"width": 390, "height": 844}) as page:
        page.goto(address)
        assert page.locator(".entry.fault").count() > 0
        for fault in page.locator(".entry.fault").all():
            expect(fault).to_be_visible()
        good = page.locator(".entry.good, .entry.ruled_out").last
        expect(good).to_be_hidden()
        page.locator(f".by-part a[href='#{good.get_attribute('id')}']").click()
        expect(good).to_be_visible()
        expect(good).to_be_in_viewport()
        if script:
            assert violations(page) == []
            # The address is that of the last link: the same link opens it once more.
            page.locator("details.good[open] > summary").click()
            expect(good).to_be_hidden()
            page.locator(f".by-part a[href='#{good.get_attribute('id')}']").click()
            expect(good).to_be_visible()
        page.goto(address.replace("index.html", "index.html?again"))
        expect(good).to_be_hidden()
        page.emulate_media(media="print")
        expect(good).to_be_visible()


def test_through_the_link_it_is_the_same_and_ends_when_told(running: Any, browser: Browser) -> None:
    confirmed(running.store)
    link = share(running.store, CAR, author="Ida Quill").links[0]
    with watched(browser, running.address) as page:
        looked_over(page, running.address + link.path)
        tracks = page.evaluate("[...document.querySelector('video').textTracks].map(one => one.kind).sort()")
        assert tracks == ["captions", "chapters"]
        assert page.context.cookies() == []
    end_share(running.store, CAR, link.share.token, author="Ida Quill")
    context = browser.new_context()
    page = context.new_page()
    answer = page.goto(running.address + link.path)
    assert answer is not None
    assert answer.status == 404
    expect(page.locator("main")).to_contain_text("There is nothing here")
    context.close()


def test_a_link_is_made_copied_and_ended_at_the_workbench(running: Any, browser: Browser) -> None:
    confirmed(running.store)
    with watched(browser, running.address) as page:
        page.goto(running.link)
        for width, height in WIDTHS:
            page.set_viewport_size({"width": width, "height": height})
            page.goto(f"{running.address}/cars/{CAR}/buyer")
            assert too_wide(page) <= 0
            assert violations(page) == []
        page.get_by_label("Words, as they would be said").fill("Augusta Harbottle")
        page.get_by_label("What they are").select_option("keeper")
        page.get_by_role("button", name="Keep them here").click()
        expect(page.locator("#private ~ .links")).to_contain_text("Augusta Harbottle")
        page.get_by_role("button", name="Make a link").click()
        there = page.locator("#links ~ .links li a").first
        expect(there).to_be_visible(timeout=120_000)
        assert running.address in (there.text_content() or "")
        assert violations(page) == []
        page.get_by_role("button", name="End it now").click()
        expect(page.locator("#links ~ .links li.over")).to_have_count(1)
        assert violations(page) == []
