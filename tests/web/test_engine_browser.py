"""The Engine page in a real browser: marked, listened to, played, without a barrier."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect, sync_playwright
from tests.web.conftest import too_wide

from shutline.store import Store

CAR = "ostrel-pavane"
_PATIENCE_MS = 90_000


@pytest.fixture(scope="module")
def browser(chromium) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        yield opened
        opened.close()


@pytest.fixture(scope="module")
def filmed(make_film, tmp_path_factory: pytest.TempPathFactory):
    """The folder of a store with one film of 16 s that has a tone for its sound."""
    from shutline.usecases.add import add

    folder = tmp_path_factory.mktemp("engine")
    film = make_film("walk.mp4", frames=160, rate=10, gop=10)
    words = folder / "walk.vtt"
    words.write_text("WEBVTT\n\n00:00:00.500 --> 00:00:02.000\nThe straight six, from cold.\n", encoding="utf-8")
    with Store.open(folder / "store") as store:
        add(store, [film], car=CAR, title="Ostrel Pavane, blue", transcript=words)
    return folder / "store"


@pytest.mark.parametrize("width", [1440, 390])
def test_a_part_is_marked_listened_to_and_what_is_not_told_is_said(browser: Browser, running, width: int) -> None:
    context = browser.new_context(viewport={"width": width, "height": 900}, reduced_motion="reduce")
    trouble: list[str] = []
    page = context.new_page()
    page.set_default_timeout(_PATIENCE_MS)
    page.on("pageerror", lambda error: trouble.append(str(error)))
    page.goto(running.link)
    page.goto(f"{running.address}/cars/{CAR}/engine")
    expect(page.get_by_label("Cylinders")).to_have_value("6")
    page.get_by_label("From", exact=True).fill("0:09")
    page.get_by_label("To", exact=True).fill("0:03")
    page.get_by_role("button", name="Listen").press("Enter")
    expect(page.get_by_role("alert")).to_contain_text("a beginning before an end")
    page.get_by_label("From", exact=True).fill("0:01")
    page.get_by_label("To", exact=True).fill("0:14")
    page.get_by_role("button", name="Listen").press("Enter")
    expect(page.get_by_role("heading", name="Not told")).to_be_visible(timeout=_PATIENCE_MS)
    expect(page.locator("body")).to_contain_text("not heard well enough to tell its speed")
    expect(page.locator("body")).to_contain_text("Started from cold")
    assert Axe().run(page).response["violations"] == []
    wide = too_wide(page)
    context.close()
    assert wide <= 0
    assert not trouble
