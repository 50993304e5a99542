"""The route on a phone in a real browser: by a tap, by a set time, by keys, without signal, and for everybody."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright
from tests.web.conftest import too_wide

CAR = "ostrel-pavane"
AT = f"/cars/{CAR}/at-the-car/route"
FORBIDDEN = """
window.heard = 0;
for (const name of ["getUserMedia", "getDisplayMedia", "enumerateDevices"]) {
  if (navigator.mediaDevices) navigator.mediaDevices[name] = () => { window.heard += 1; return Promise.reject(); };
}
"""


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


@pytest.fixture(params=["no-preference"])
def phone(request: pytest.FixtureRequest, browser: Browser, running) -> Iterator[BrowserContext]:
    trouble: list[str] = []
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, has_touch=True, base_url=running.address, reduced_motion=request.param
    )
    context.set_default_timeout(60_000)
    context.add_init_script(FORBIDDEN)
    context.on("weberror", lambda error: trouble.append(str(error.error)))
    page = context.new_page()
    page.goto(running.link)
    page.close()
    yield context
    context.close()
    assert trouble == []


def step(page: Page) -> int:
    """Give the number of the step that is shown."""
    return int(page.locator("#count").inner_text().split()[0])


def test_a_tap_goes_on_and_back_and_the_place_is_kept(phone: BrowserContext) -> None:
    page = phone.new_page()
    page.goto(AT)
    page.tap("#begin")
    expect(page.locator("#count")).to_contain_text("1 of ")
    expect(page.locator("#arrive")).to_be_visible()
    first = page.locator("#name").inner_text()
    page.tap("#next")
    page.tap("#next")
    page.tap("#back")
    expect(page.locator("#count")).to_contain_text("2 of ")
    second = page.locator("#name").inner_text()
    assert page.locator("#look").inner_text()
    # A page that is loaded anew is at its step, and one that is left offers to go on there.
    page.reload()
    expect(page.locator("#name")).to_have_text(second)
    page.tap("#leave")
    expect(page.locator("#before-title")).to_be_focused()
    expect(page.locator("#go-on")).to_have_text(f"Go on at 2, {second[0].lower()}{second[1:]}")
    page.tap("#go-on")
    expect(page.locator("#name")).to_have_text(second)
    page.keyboard.press("PageUp")
    expect(page.locator("#name")).to_have_text(first)
    page.keyboard.press("PageDown")
    expect(page.locator("#name")).to_have_text(second)
    page.go_back()
    expect(page.locator("#before")).to_be_visible()
    assert page.evaluate("window.heard") == 0


@pytest.mark.parametrize("phone", ["no-preference", "reduce"], indirect=True)
def test_a_set_time_goes_on_by_itself_is_shown_and_stands_still_when_it_should(phone: BrowserContext) -> None:
    page = phone.new_page()
    page.clock.install(time=0)
    page.goto(f"{AT}?of=all")
    page.get_by_label("20 seconds").check()
    page.locator("#all summary").click()
    page.clock.pause_at(3_600_000)
    page.locator("#all a[href='#windscreen']").click()
    expect(page.locator("#seconds")).to_have_text("20 s")
    first = step(page)
    page.clock.run_for(8_000)
    expect(page.locator("#seconds")).to_have_text("12 s")
    shown = page.locator("#running").evaluate("one => one.value")
    assert 11 < shown < 13
    page.tap("#pause")
    expect(page.locator("#seconds")).to_have_text("Paused.")
    page.clock.run_for(60_000)
    assert step(page) == first
    page.tap("#pause")
    page.clock.run_for(11_000)
    assert step(page) == first, "what had run before the pause counts"
    page.clock.run_for(2_000)
    expect(page.locator("#count")).to_contain_text(f"{first + 1} of ")
    # A caution that is new is read first; when it comes again, time runs.
    waited: list[str] = []
    for _ in range(120):
        told, before = page.locator("#seconds").inner_text(), step(page)
        page.clock.run_for(20_500)
        if told.endswith(" s"):
            assert page.locator("#end").is_visible() or step(page) == before + 1
        elif page.locator("#next").is_visible():
            waited.append(told)
            assert step(page) == before
            page.tap("#next")
        if page.locator("#end").is_visible():
            break
    expect(page.locator("#end-title")).to_be_focused()
    assert "Read the caution, then tap to go on." in waited
    assert waited.count("On the road no time runs: tap to go on.") >= 3
    assert len(waited) < 20
    assert page.evaluate("window.heard") == 0


def test_it_opens_and_goes_on_without_signal(phone: BrowserContext) -> None:
    page = phone.new_page()
    page.goto(f"{AT}?of=all&raised=no")
    expect(page.locator("#limits")).to_have_text("This page opens without signal, too.")
    other = phone.new_page()
    other.goto(AT)
    expect(other.locator("#limits")).to_have_text("This page opens without signal, too.")
    phone.set_offline(True)
    page.reload()
    page.tap("#begin")
    page.tap("#next")
    expect(page.locator("#count")).to_contain_text("2 of ")
    whole = page.locator("#count").inner_text()
    page.close()
    other.reload()
    other.tap("#begin")
    assert other.locator("#count").inner_text().split(" of ")[1] != whole.split(" of ")[1], (
        "each route is kept as its own"
    )


def test_the_last_step_ends_it(phone: BrowserContext) -> None:
    page = phone.new_page()
    page.goto(f"{AT}?of=all")
    page.locator("#all summary").click()
    page.locator("#all li li a").last.click()
    expect(page.locator("#next")).to_have_text("Done")
    page.tap("#next")
    expect(page.locator("#end-title")).to_be_focused()
    expect(page.get_by_role("link", name="Add the film")).to_have_attribute("href", f"/cars/{CAR}/add")
    page.tap("#again")
    expect(page.locator("#count")).to_contain_text("1 of ")


@pytest.mark.parametrize("width", [320, 390, 1440])
def test_it_can_be_used_by_everybody(browser: Browser, running, width: int) -> None:
    context = browser.new_context(viewport={"width": width, "height": 700})
    context.set_default_timeout(60_000)
    page = context.new_page()
    page.goto(running.link)
    page.goto(running.address + AT)
    looked_at(page, width)
    page.get_by_label("20 seconds").check()
    page.click("#begin")
    looked_at(page, width)
    page.goto(f"{running.address}{AT}#end")
    expect(page.locator("#end")).to_be_visible()
    looked_at(page, width)
    context.close()


def looked_at(page: Page, width: int) -> None:
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    assert too_wide(page) <= 0
    small = page.evaluate(
        """() => [...document.querySelectorAll("main button, main summary, main label.tick, main .choices a")]
            .filter((one) => one.checkVisibility() && one.getBoundingClientRect().height < 48)
            .map((one) => [one.textContent.trim().slice(0, 40), one.getBoundingClientRect().height])"""
    )
    assert small == []
