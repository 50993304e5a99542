"""Words in a real browser: checked while typing, questions answered, all of it by keys, readable by everybody."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect, sync_playwright
from tests.web.conftest import too_wide

from shutline.usecases.describe import describe
from shutline.usecases.review import confirm

CAR = "ostrel-pavane"
TEXT = "The boot lid is straight, the nearside sill is solid and the radio works. You will love it."


@pytest.fixture(scope="module")
def browser(chromium) -> Iterator[Browser]:
    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        yield started
        started.close()


@pytest.fixture
def page(browser: Browser, running) -> Iterator[Page]:
    shown = browser.new_page(viewport={"width": 1440, "height": 1000})
    shown.goto(running.link)
    shown.goto(f"{running.address}/cars/{CAR}/wording")
    yield shown
    shown.close()


def _looked_at(page: Page, name: str) -> None:
    """Keep a picture of the page where the environment asks for it."""
    folder = os.environ.get("SHUTLINE_TEST_PICTURES")
    if folder:
        for width, height in ((1440, 1000), (1024, 900), (390, 844)):
            page.set_viewport_size({"width": width, "height": height})
            page.screenshot(path=str(Path(folder) / f"{name}-{width}.png"), full_page=True)


def test_a_text_is_checked_while_it_is_typed_and_a_question_answered(page: Page) -> None:
    page.get_by_role("textbox", name="A text about the car").fill(TEXT)
    expect(page.locator("#tally")).to_have_text("1 backed, 1 at odds, 1 unbacked", timeout=30_000)
    expect(page.locator("#claims .verdict")).to_have_text(["backed", "at odds", "unbacked"])
    expect(page.locator("#under mark[data-verdict='at odds']")).to_have_text("the nearside sill is solid")
    page.get_by_role("button", name="the nearside sill is solid").press("Enter")
    chosen = page.evaluate("text.value.slice(text.selectionStart, text.selectionEnd)")
    assert chosen == "the nearside sill is solid"
    way = page.locator("#claims .claim[data-verdict='at odds'] a").first
    expect(way).to_have_attribute("href", re.compile(r"/cars/ostrel-pavane\?recording=1&at=\d"))

    page.get_by_label("As it was typed, spelling and all").fill("any rust on the n/s sil mate")
    page.keyboard.press("Enter")
    expect(page.locator(".reply .answer")).to_have_text("Yes: rust on the nearside sill.", timeout=30_000)
    expect(page.get_by_role("button", name="Copy it with the way into the film")).to_be_visible()

    page.get_by_label("As it was typed, spelling and all").fill("does the radio work")
    page.keyboard.press("Enter")
    expect(page.locator("#waiting li")).to_have_count(1, timeout=30_000)
    expect(page.locator("#answered li")).to_have_count(1)
    expect(page.locator("#waiting li")).to_contain_text("Not on the page.")
    page.locator("#waiting").get_by_role("button", name="Put it on the page").press("Enter")
    expect(page.locator("#on-page strong")).to_have_text("On the page.")
    expect(page.locator("#waiting")).to_have_count(0)
    assert page.evaluate("document.activeElement.id") == "asked"
    page.get_by_role("button", name="Take it off the page").press("Enter")
    expect(page.locator("#waiting li")).to_contain_text("Not on the page.")
    expect(page.locator("#on-page")).to_have_count(0)
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    assert too_wide(page) <= 0
    _looked_at(page, "words")
    page.set_viewport_size({"width": 390, "height": 844})
    assert too_wide(page) <= 0
    page.locator("#waiting").get_by_role("button", name="Take it off the list").press("Enter")
    expect(page.locator("#waiting li")).to_have_count(0)
    expect(page.locator("#none")).to_be_visible()


@pytest.mark.parametrize(("width", "height"), [(1300, 900), (390, 844)])
def test_the_answer_comes_into_view_and_the_focus_stays(page: Page, width: int, height: int) -> None:
    page.set_viewport_size({"width": width, "height": height})
    box = page.get_by_label("As it was typed, spelling and all")
    # The box stands at the foot of the window.
    box.evaluate("(box) => scrollBy(0, box.getBoundingClientRect().bottom - innerHeight + 4)")
    box.fill("any rust on the n/s sil mate")
    page.keyboard.press("Enter")
    answer = page.locator(".reply .answer")
    expect(answer).to_be_in_viewport(ratio=1, timeout=30_000)
    # All of it, with what it stands on.
    expect(page.locator("#reply")).to_be_in_viewport(ratio=0.99)
    assert page.evaluate("document.activeElement.id") == "question"


def test_without_scripts_the_answer_is_in_view_too(browser: Browser, running) -> None:
    for width, height in ((1300, 900), (390, 844)):
        context = browser.new_context(java_script_enabled=False, viewport={"width": width, "height": height})
        shown = context.new_page()
        shown.goto(running.link)
        shown.goto(f"{running.address}/cars/{CAR}/wording")
        shown.get_by_label("As it was typed, spelling and all").fill("any rust on the n/s sil mate")
        shown.get_by_role("button", name="Answer it").click()
        expect(shown.locator(".reply .answer")).to_be_in_viewport(ratio=1)
        shown.get_by_role("button", name="Put it on the page").click()
        expect(shown.locator("#on-page li")).to_be_in_viewport()
        shown.get_by_role("button", name="Take it off the list").click()
        expect(shown.locator("#on-page")).to_have_count(0)
        context.close()


def test_a_rewrite_is_held_and_goes_out_with_one_click(page: Page, running) -> None:
    confirm(running.store, CAR, [one.id for one in running.store.car_file(CAR).findings], author="Ida Quill")
    draft = describe(running.store, CAR).text
    page.get_by_label("Another wording of it, by whoever or whatever").fill("The boot lid is straight.")
    page.get_by_role("button", name="Hold it against the draft").press("Enter")
    expect(page.get_by_role("heading", name="Faults that it leaves out")).to_be_visible()
    expect(page.get_by_role("button", name="Let it go out")).to_have_count(0)
    assert _violations(page) == []
    _looked_at(page, "words-held")
    page.get_by_label("Another wording of it, by whoever or whatever").fill(f"{draft}\n\nA car to be fond of.")
    page.get_by_role("button", name="Hold it against the draft").press("Enter")
    page.get_by_role("button", name="Let it go out").press("Enter")
    expect(page.locator(".out")).to_contain_text("A car to be fond of.")
    assert _violations(page) == []
    page.get_by_role("button", name="Take the accepted words back").press("Enter")
    expect(page.locator(".out")).not_to_contain_text("A car to be fond of.")


def test_what_was_typed_is_there_after_a_reload_until_it_is_emptied(page: Page) -> None:
    box = page.get_by_role("textbox", name="A text about the car")
    other = page.get_by_label("Another wording of it, by whoever or whatever")
    box.fill(TEXT)
    other.fill("The boot lid is straight.")
    expect(page.locator("#text-kept")).to_contain_text("kept on this machine")
    assert _violations(page) == []
    page.reload()
    expect(box).to_have_value(TEXT)
    expect(other).to_have_value("The boot lid is straight.")
    expect(page.locator("#tally")).to_have_text("1 backed, 1 at odds, 1 unbacked", timeout=30_000)

    page.get_by_role("link", name="a short one").click()
    expect(box).not_to_have_value(TEXT)
    expect(page.locator("#text-kept")).to_contain_text("until you type here")
    page.locator("#text-kept").get_by_role("button", name="Bring it back").press("Enter")
    expect(box).to_have_value(TEXT)

    page.goto(page.url.partition("?")[0])
    box.fill("")
    other.fill("")
    expect(page.locator("#text-kept")).to_be_hidden()
    page.reload()
    expect(box).to_have_value("")
    page.wait_for_load_state()
    assert _kept(page) == []


def test_what_went_out_is_no_longer_kept_as_typed(page: Page, running) -> None:
    confirm(running.store, CAR, [one.id for one in running.store.car_file(CAR).findings], author="Ida Quill")
    draft = describe(running.store, CAR).text
    other = page.get_by_label("Another wording of it, by whoever or whatever")
    other.fill(f"{draft}\n\nA car to keep.")
    page.get_by_role("button", name="Hold it against the draft").press("Enter")
    expect(page.get_by_role("button", name="Let it go out")).to_be_visible()
    expect(page.locator("#rewrite-kept")).to_contain_text("kept on this machine")
    page.get_by_role("button", name="Let it go out").press("Enter")
    expect(page.locator(".out")).to_contain_text("A car to keep.")
    expect(other).to_have_value("")
    # The page's scripts run when its words already stand there.
    waiting = 50
    while waiting and _kept(page):
        page.wait_for_timeout(100)
        waiting -= 1
    assert _kept(page) == []
    page.get_by_role("button", name="Take the accepted words back").press("Enter")
    expect(page.locator(".out")).not_to_contain_text("A car to keep.")


def _kept(page: Page) -> list[str]:
    """Give the names under which the browser keeps what was typed on this page."""
    return page.evaluate("Object.keys(localStorage).filter((name) => name.startsWith('shutline-words'))")


def _violations(page: Page) -> list[str]:
    return [f"{one['id']}: {one['nodes'][0]['html'][:120]}" for one in Axe().run(page).response["violations"]]
