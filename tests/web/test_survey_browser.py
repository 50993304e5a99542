"""The survey in a real browser: the Plan answers to touch and keys, and what is left out goes into the record."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect, sync_playwright
from tests.web.conftest import too_wide

from shutline.store import Store
from shutline.survey import Cover
from shutline.usecases.survey import leave_out, still_to_show

CAR = "ostrel-pavane"


@pytest.fixture(autouse=True)
def _nothing_of_the_user(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    monkeypatch.delenv("SHUTLINE_GUIDES", raising=False)


@pytest.fixture(scope="module")
def browser(chromium) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        yield opened
        opened.close()


@pytest.fixture
def page(browser: Browser, running) -> Iterator[Page]:
    trouble: list[str] = []
    context = browser.new_context(viewport={"width": 1440, "height": 900})
    context.set_default_timeout(60_000)
    opened = context.new_page()
    opened.on("pageerror", lambda error: trouble.append(str(error)))
    opened.on("console", lambda said: trouble.append(said.text) if said.type == "error" else None)
    opened.goto(running.link)
    opened.goto(f"{running.address}/cars/{CAR}/survey")
    yield opened
    context.close()
    assert trouble == []


def covers(store: Store) -> dict[str, Cover]:
    return {one.key: one.cover for one in still_to_show(store, CAR).checks}


def test_a_place_on_the_plan_tells_what_it_stands_on_and_leads_to_its_line(page: Page) -> None:
    page.click("#strip-rear_wing-near")
    expect(page.locator("#here strong")).to_have_text("Nearside rear wing")
    expect(page.locator("#here")).to_contain_text("nothing said")
    page.click("#here a")
    expect(page.locator("li:target h4")).to_contain_text("rear wing")
    # By keys: one stop of the tabulator for the whole Plan, then the arrows.
    part = page.locator("#strip-rear_wing-near")
    part.focus()
    expect(part).to_have_attribute("aria-label", "nearside rear wing: nothing said")
    page.keyboard.press("ArrowLeft")
    other = page.evaluate("document.activeElement.id")
    assert other not in {"", "strip-rear_wing-near"}
    page.keyboard.press("Enter")
    expect(page.locator("#" + other)).to_have_attribute("aria-pressed", "true")
    assert page.locator("#sheet svg.strip [tabindex='0']").count() == 1


def test_what_is_left_out_and_asked_again_is_in_the_record_and_the_list_keeps_its_place(page: Page, running) -> None:
    entry = page.locator("#show-wheel-front-near")
    entry.locator("summary").click()
    expect(entry.locator("input[name=reason]")).to_be_focused()
    entry.locator("select").select_option("wheel-rear-off")
    page.keyboard.press("Tab")
    entry.locator("input[name=reason]").fill("on its slave wheel")
    page.keyboard.press("Enter")
    expect(page.locator(".done")).to_contain_text("Left out")
    assert page.url.endswith("#show-wheel-front-near")
    assert [key for key, one in covers(running.store).items() if one is Cover.LEFT_OUT] == ["wheel-rear-off"]
    expect(page.locator("#strip-wheel-rear-off")).to_have_attribute("fill", "url(#strip-rings)")
    page.get_by_role("button", name="Ask again for offside rear wheel").click()
    expect(page.locator(".done")).to_contain_text("asked for again")
    assert Cover.LEFT_OUT not in covers(running.store).values()


def test_a_route_is_downloaded_and_shown(page: Page) -> None:
    with page.expect_download() as saved:
        page.get_by_role("button", name="One page to print").click()
    assert saved.value.suggested_filename == f"{CAR}-second-route.pdf"
    page.get_by_label("all of it, as before filming").check()
    page.select_option("#raised", "no")
    with page.expect_download() as saved:
        page.get_by_role("button", name="One page to print").click()
    assert saved.value.suggested_filename == f"{CAR}-route.pdf"
    assert Path(saved.value.path()).read_bytes().startswith(b"%PDF")
    page.fill("#minutes", "2")
    page.get_by_role("button", name="Show it here").click()
    expect(page.locator(".second")).to_contain_text("are not on it")
    expect(page.locator("#raised")).to_have_value("no")


@pytest.mark.parametrize("width", [1440, 390])
def test_it_can_be_used_by_everybody(browser: Browser, running, width: int) -> None:
    leave_out(running.store, CAR, "wheel", reason="slave wheels", author="Ada")
    context = browser.new_context(viewport={"width": width, "height": 844})
    context.set_default_timeout(60_000)
    page = context.new_page()
    page.goto(running.link)
    page.goto(f"{running.address}/cars/{CAR}/survey")
    prefix = "strip" if width > 768 else "folded"
    expect(page.locator(f"#sheet svg.{prefix}")).to_be_visible()
    page.locator(f"#{prefix}-sill-off").click(force=True)
    page.locator("details.way summary").click()
    page.locator("details.out summary").first.click()
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    assert too_wide(page) <= 0
    context.close()


def test_without_script_it_can_be_read_and_decided_all_the_same(browser: Browser, running) -> None:
    context = browser.new_context(java_script_enabled=False)
    context.set_default_timeout(60_000)
    page = context.new_page()
    page.goto(running.link)
    page.goto(f"{running.address}/cars/{CAR}/survey")
    assert page.is_hidden("#here")
    page.locator("#show-gearbox summary").click()
    page.locator("#show-gearbox input[name=reason]").fill("no road here")
    page.locator("#show-gearbox button").click()
    expect(page.locator(".beside")).to_contain_text("no road here (Ida Quill)")
    context.close()
    assert covers(running.store)["gearbox"] is Cover.LEFT_OUT
