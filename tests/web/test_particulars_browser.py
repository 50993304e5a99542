"""Particulars in a real browser: by keys alone, without script, for everybody; and the guard lets its forms in."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
import uvicorn
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright
from tests.web.conftest import too_wide

from shutline.store import Store
from shutline.web import Access, workbench
from shutline.web.serving import listen

if TYPE_CHECKING:
    from tests.web.conftest import Running

CAR = "ostrel-pavane"
AT = f"/cars/{CAR}/particulars"
PATIENCE_MS = 60_000


@pytest.fixture(scope="module")
def browser(chromium) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        yield opened
        opened.close()


@pytest.fixture(params=[True, False], ids=["script", "no script"])
def let_in(request: pytest.FixtureRequest, running: Running, browser: Browser) -> Iterator[BrowserContext]:
    context = browser.new_context(base_url=running.address, java_script_enabled=request.param)
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    page.goto(running.link)
    page.close()
    yield context
    context.close()


def test_a_car_is_renamed_joined_and_set_aside_by_keys_alone(let_in: BrowserContext, running: Running) -> None:
    running.store.create_car("second", title="Second")
    page = let_in.new_page()
    page.goto(f"/cars/{CAR}")
    page.get_by_role("link", name="Particulars").press("Enter")
    page.get_by_label("How it is shown").fill("Ostrel Pavane, in blue")
    page.get_by_label("Body").select_option("estate")
    page.get_by_label("How it is shown").press("Enter")
    page.get_by_text("Kept.").wait_for()
    assert running.store.find_car(CAR).title == "Ostrel Pavane, in blue"

    page.get_by_label("Find the other").fill("second")
    page.get_by_label("Find the other").press("Enter")
    page.get_by_role("link", name="Second").press("Enter")
    page.get_by_text("Nothing is moved").wait_for()
    page.get_by_role("button", name="They are one car").press("Enter")
    page.get_by_text("They are one car now.").wait_for()
    assert [one.name for one in running.store.joined_cars(CAR)] == ["second"]
    page.get_by_role("button", name="Take it out again").press("Enter")
    page.get_by_text("It is a car of its own again.").wait_for()

    page.get_by_role("button", name="Set it aside").press("Enter")
    page.get_by_text("It is set aside.").wait_for()
    page.goto("/yard")
    page.get_by_role("link", name="1 set aside").press("Enter")
    page.get_by_role("link", name="Ostrel Pavane, in blue").wait_for()


@pytest.mark.parametrize("width", [1440, 1024, 390])
def test_the_pages_are_for_everybody(running: Running, browser: Browser, width: int) -> None:
    running.store.create_car("second", title="Second")
    running.store.create_car("third", title="Third")
    running.store.join_cars(CAR, "third", author="Ida")
    running.store.set_car_aside("second", aside=True, author="Ida")
    context = browser.new_context(base_url=running.address, viewport={"width": width, "height": 844})
    page = context.new_page()
    page.goto(running.link)
    for path in (AT, f"{AT}?seek=second", f"{AT}?with=second&done=joined", "/yard", "/yard?aside=yes"):
        page.goto(path)
        report = Axe().run(page)
        assert report.violations_count == 0, report.generate_report()
        assert too_wide(page) <= 0, path
    context.close()


def test_a_browser_comes_in_by_the_pass_phrase(store: Store, browser: Browser) -> None:
    """A plain form of a real browser names where it comes from, and is let in by that."""
    listener = listen("127.0.0.1", 0)
    host = f"127.0.0.1:{listener.getsockname()[1]}"
    access = Access(hosts=frozenset({host}), author="Ida Quill", phrase="bramble-otter")
    server = uvicorn.Server(uvicorn.Config(workbench(store, access), log_level="error", ws="none"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    context = browser.new_context(base_url=f"http://{host}")
    page: Page = context.new_page()
    page.goto("/come-in")
    page.get_by_label("Your name").fill("Per Wick")
    page.get_by_label("Pass phrase").fill("bramble-otter")
    page.get_by_role("button", name="Come in").click()
    page.get_by_role("heading", name="Yard").wait_for()
    assert page.text_content(".who") == "Per Wick"
    context.close()
    server.should_exit = True
    thread.join(timeout=10)
