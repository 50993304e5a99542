"""How descriptions speak, set in a real browser, and a sentence of one's own refused where it would drop a fault."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect, sync_playwright
from tests.web.conftest import too_wide

PATIENT_MS = 60_000


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    monkeypatch.delenv("SHUTLINE_WORDING", raising=False)
    return tmp_path / "own"


@pytest.fixture
def page(running, chromium) -> Iterator[Page]:
    complaints: list[str] = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        context = browser.new_context(viewport={"width": 390, "height": 844}, base_url=running.address)
        context.set_default_timeout(PATIENT_MS)
        expect.set_options(timeout=PATIENT_MS)
        opened = context.new_page()
        opened.on("pageerror", lambda error: complaints.append(str(error)))
        opened.on("console", lambda said: complaints.append(said.text) if "Content Security" in said.text else None)
        opened.goto(running.link)
        yield opened
        browser.close()
    assert complaints == []


def faultless(page: Page) -> None:
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    assert too_wide(page) <= 0


def test_descriptions_are_set_by_keys_and_a_sentence_that_drops_a_fault_is_refused(page: Page, own: Path) -> None:
    page.goto("/settings#description")
    page.get_by_label("They speak").select_option("we")
    page.get_by_label("Lines at the end, six at most").fill("Viewing by arrangement.")
    expect(page.locator("#description button.main")).to_be_enabled()
    with page.expect_event("load"):
        page.locator("#description button.main").press("Enter")
    expect(page.get_by_label("They speak")).to_have_value("we")
    assert 'voice = "we"' in (own / "description.toml").read_text(encoding="utf-8")
    faultless(page)

    page.get_by_role("link", name="Write one templates.toml").click()
    text = page.get_by_label("templates.toml, all of it")
    expect(text).to_contain_text("good_fault")
    text.fill('[patterns]\nfault = ["{subject} is fine."]\n')
    keep = page.locator("[id='wording.templates.toml'] button.main")
    # It waits for its script; a key before that does nothing.
    expect(keep).to_be_enabled()
    keep.press("Enter")
    refused = page.locator("[id='wording.templates.toml'] .refused")
    expect(refused).to_contain_text("Line 2")
    expect(refused).to_contain_text("without {fault}")
    assert not (own / "wording" / "templates.toml").exists()
    faultless(page)
