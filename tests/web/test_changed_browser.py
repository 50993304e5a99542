"""Changed since in a real browser: chosen and looked at by keys, with and without script, for everybody."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect, sync_playwright
from tests.web.conftest import too_wide

from shutline.usecases.add import add

if TYPE_CHECKING:
    from tests.web.conftest import Running

CAR = "ostrel-pavane"
AT = f"/cars/{CAR}/changed"
PATIENCE_MS = 60_000
SHOTS = os.environ.get("SHUTLINE_SHOTS")

HANDOVER = """WEBVTT

00:00:00.500 --> 00:00:01.500
There are no dents in the nearside front wing.

00:00:01.500 --> 00:00:02.500
There's a chip in the boot lid.
"""


@pytest.fixture(scope="module")
def browser(chromium) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        yield opened
        opened.close()


@pytest.fixture(params=[True, False], ids=["script", "no script"])
def page(
    request: pytest.FixtureRequest,
    running: Running,
    browser: Browser,
    make_film: Callable[..., Path],
    tmp_path: Path,
) -> Iterator[Page]:
    (tmp_path / "handover.vtt").write_text(HANDOVER, encoding="utf-8")
    film = make_film("handover.mp4", frames=34, rate=10, sound=None, gop=10)
    add(running.store, [film], car=CAR, transcript=tmp_path / "handover.vtt", by="Ida Quill")
    context = browser.new_context(base_url=running.address, java_script_enabled=request.param)
    context.set_default_timeout(PATIENCE_MS)
    context.set_default_navigation_timeout(PATIENCE_MS)
    opened = context.new_page()
    opened.goto(running.link)
    yield opened
    context.close()


def test_two_times_are_chosen_and_the_statement_looked_at_by_keys(page: Page) -> None:
    page.goto(f"/cars/{CAR}")
    page.get_by_role("navigation", name="Ostrel Pavane, blue").get_by_role("link", name="Changed since").press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Changed since")
    expect(page.locator("#gone .pair").first).to_contain_text("Nearside front wing")
    page.get_by_label("From", exact=True).select_option(label="handover.mp4")
    page.get_by_label("To", exact=True).select_option(label="walk.mp4")
    page.get_by_role("button", name="Compare").press("Enter")
    expect(page.locator("#new .pair").first).to_contain_text("Nearside front wing")
    page.get_by_role("link", name="Look at it").press("Enter")
    first = page.get_by_role("img", name=re.compile("to sign")).first
    expect(first).to_be_visible(timeout=300_000)


def test_the_page_is_readable_for_everybody_at_each_width(page: Page, request: pytest.FixtureRequest) -> None:
    page.goto(f"{AT}?look=1")
    scripted = "no script" not in request.node.name
    if scripted:
        # Nobody waits for more than a machine with much else to do takes to set it.
        expect(page.locator(".sheets img").first).to_be_visible(timeout=300_000)
    for wide in (1440, 1024, 390):
        page.set_viewport_size({"width": wide, "height": 900})
        if SHOTS and scripted:
            page.screenshot(path=f"{SHOTS}/changed-{wide}.png", full_page=True)
        if scripted:
            over = too_wide(page)
            assert over <= 0, f"{over} pixels too wide at {wide}"
            assert wide == 1024 or Axe().run(page).response["violations"] == []
