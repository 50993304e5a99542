"""At odds in a real browser: by keys alone, with and without script, late answers side by side, for everybody."""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright
from tests.web.conftest import too_wide

from shutline.car.findings import Fact, Finding, Footing, FootingKind, Found, Side, State
from shutline.usecases.odds import odds
from shutline.usecases.odds_deciding import decide_odds

if TYPE_CHECKING:
    from tests.web.conftest import Running

CAR = "ostrel-pavane"
AT = f"/cars/{CAR}/at-odds"
PATIENCE_MS = 60_000
# A folder to look at the page in, for whoever works on it.
SHOTS = os.environ.get("SHUTLINE_SHOTS")


@pytest.fixture(scope="module")
def browser(chromium) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        yield opened
        opened.close()


@pytest.fixture
def running(running: Running) -> Running:
    no_dent = Finding(
        "front_wing", "dent", Found.NO, Side.NEAR, footings=(Footing(FootingKind.WRITTEN, "", quote="no dents"),)
    )
    running.store.add_finding(CAR, no_dent, author="Ben Hask", token=no_dent.part)
    plate = Footing(FootingKind.SEEN, "", quote="1971")
    running.store.add_fact(CAR, Fact("year", 1971, footings=(plate,)), author="Ben Hask", token=plate.quote)
    return running


def _context(running: Running, browser: Browser, *, script: bool) -> BrowserContext:
    context = browser.new_context(base_url=running.address, java_script_enabled=script)
    context.set_default_timeout(PATIENCE_MS)
    context.set_default_navigation_timeout(PATIENCE_MS)
    opened = context.new_page()
    opened.goto(running.link)
    opened.close()
    return context


@pytest.fixture
def page(running: Running, browser: Browser) -> Iterator[Page]:
    complaints: list[str] = []
    context = _context(running, browser, script=True)
    opened = context.new_page()
    opened.on("pageerror", lambda error: complaints.append(str(error)))
    opened.on("console", lambda said: complaints.append(said.text) if "Content Security" in said.text else None)
    yield opened
    context.close()
    assert complaints == []


def test_a_case_is_found_from_the_car_and_decided_and_taken_back_by_keys(page: Page, running: Running) -> None:
    page.goto(f"/cars/{CAR}")
    page.get_by_role("navigation", name="Ostrel Pavane, blue").get_by_role("link", name="At odds").press("Enter")
    page.wait_for_url(AT)
    case = page.locator(".cases .case").first
    expect(case.get_by_role("heading", level=2)).to_have_text("Nearside front wing")
    case.get_by_role("radio").first.focus()
    page.keyboard.press("Space")
    case.get_by_label("Because").focus()
    page.keyboard.type("looked at it again")
    with page.expect_event("load"):
        page.keyboard.press("Enter")
    assert running.store.odds_decisions(CAR)[0].author == "Ida Quill"
    expect(page.locator(".cases .case")).to_have_count(1)
    # The next case has the focus, so that keys go on from there.
    expect(page.locator(".cases .case")).to_be_focused()
    past = page.locator(".decided .case").first
    expect(past).to_contain_text("number 1 stands, because looked at it again")
    with page.expect_event("load"):
        past.get_by_role("button", name="Take it back").press("Enter")
    expect(page.locator(".cases .case")).to_have_count(2)
    states = {kept.finding.state for kept in running.store.car_file(CAR).findings if kept.finding.condition == "dent"}
    assert State.STRUCK not in states


def test_an_answer_that_is_late_stands_beside_what_is_there_and_can_be_kept_all_the_same(
    page: Page, running: Running
) -> None:
    page.goto(AT)
    year = next(one for one in odds(running.store, CAR).open if one.odds.rule == "year")
    decide_odds(running.store, CAR, year.odds.id, holds="all", reason="two plates", author="Per Wick")
    case = page.locator(f"#case-{year.odds.id}")
    case.get_by_label("Neither stands").check()
    case.get_by_label("Because").fill("both were read wrong")
    case.get_by_role("button", name="Keep it").click()
    both = case.locator(".both")
    expect(both.get_by_role("heading")).to_be_focused()
    expect(both.locator(".present")).to_contain_text("both can stand, because two plates (Per Wick)")
    expect(both.locator(".wanted")).to_contain_text("neither stands, because both were read wrong")
    assert Axe().run(page).response["violations"] == []
    with page.expect_event("load"):
        both.get_by_role("button", name="Keep mine all the same").click()
    last = running.store.odds_decisions(CAR)[-1]
    assert (last.author, last.reason) == ("Ida Quill", "both were read wrong")
    years = {kept.fact.state for kept in running.store.car_file(CAR).facts if kept.fact.name == "year"}
    assert years == {State.STRUCK}


def test_a_moment_plays_in_its_place_and_leads_into_the_film(page: Page, running: Running) -> None:
    page.goto(AT)
    look = page.locator(".stands-on", has=page.get_by_role("button", name="Play it here")).first
    look.get_by_role("button", name="Play it here").click()
    expect(look.locator("video, .where .soft").first).to_be_visible()
    with page.expect_event("load"):
        look.get_by_role("link").first.click()
    assert f"/cars/{CAR}?recording=1&at=" in page.url


def test_without_script_it_is_decided_too(running: Running, browser: Browser) -> None:
    context = _context(running, browser, script=False)
    page = context.new_page()
    page.goto(AT)
    case = page.locator(".cases .case").first
    case.get_by_label("This stands").first.check()
    case.get_by_label("Because").fill("looked again")
    case.get_by_role("button", name="Keep it").click()
    expect(page.get_by_role("status").first).to_have_text("Kept.")
    assert running.store.odds_decisions(CAR)[0].reason == "looked again"
    context.close()


def test_the_page_is_readable_for_everybody_at_each_width(page: Page, running: Running) -> None:
    case = odds(running.store, CAR).open[0]
    decide_odds(running.store, CAR, case.odds.id, holds="1", reason="seen", author="Per Wick")
    year = next(one for one in odds(running.store, CAR).open if one.odds.rule == "year")
    decide_odds(running.store, CAR, year.odds.id, holds="all", reason="two plates", author="Per Wick")
    decide_odds(running.store, CAR, case.odds.id, holds="open", author="Per Wick")
    page.goto(AT)
    page.locator("details").first.evaluate("one => { one.open = true; }")
    for wide in (1440, 1024, 390):
        page.set_viewport_size({"width": wide, "height": 900})
        if SHOTS:
            page.screenshot(path=f"{SHOTS}/odds-{wide}.png", full_page=True)
        over = too_wide(page)
        assert over <= 0, f"{over} pixels too wide at {wide}"
        assert wide == 1024 or Axe().run(page).response["violations"] == []
