"""Settings and outputs in a real browser: by keys, refused and kept, brought back, looked at and downloaded."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect, sync_playwright
from tests.web.conftest import too_wide

from shutline.usecases.house import HouseDetails, keep_house
from shutline.usecases.words_editing import keep_words

HEADING = "id,condition,found,severity,part,phrases,source,example,counter_example"
SKANKY = "skanky,dirt,yes,,,skanky,house words,the carpet is skanky,the sky"
HERE = "/cars/ostrel-pavane/outputs"
PATIENT_MS = 60_000


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    monkeypatch.setenv("SHUTLINE_WORDS", str(tmp_path / "own" / "words"))
    return tmp_path / "own"


@pytest.fixture
def page(running, chromium) -> Iterator[Page]:
    """A browser that was let in; whatever it complains of, and whatever it asks elsewhere, fails the test."""
    complaints: list[str] = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        context = browser.new_context(viewport={"width": 1440, "height": 900}, base_url=running.address)
        context.set_default_timeout(PATIENT_MS)
        context.set_default_navigation_timeout(PATIENT_MS)
        expect.set_options(timeout=PATIENT_MS)
        opened = context.new_page()
        opened.on("pageerror", lambda error: complaints.append(str(error)))
        opened.on("console", lambda said: complaints.append(said.text) if "Content Security" in said.text else None)
        opened.on(
            "request",
            lambda sent: complaints.append(sent.url) if not sent.url.startswith((running.address, "data:")) else None,
        )
        opened.goto(running.link)
        yield opened
        browser.close()
    assert complaints == []


def faultless(page: Page) -> None:
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    assert too_wide(page) <= 0


def test_the_house_is_kept_by_keys_refused_where_it_is_wrong_and_brought_back(page: Page, own: Path) -> None:
    page.goto("/settings")
    page.get_by_label("Name", exact=True).focus()
    page.keyboard.type("Halloran & Pike")
    page.keyboard.press("Tab")
    page.keyboard.type("The Old Forge\nLittle Wending")
    page.keyboard.press("Tab")
    page.keyboard.type("ring us")
    page.keyboard.press("Enter")
    expect(page.locator("#house .refused")).to_contain_text("at least five digits")
    assert not (own / "house.toml").exists()
    page.get_by_label("Telephone").fill("01632 960 123")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_have_text("Kept.")
    expect(page.locator(".front p")).to_contain_text("For Halloran & Pike")
    page.get_by_label("Name", exact=True).fill("Another Firm")
    page.locator("#house").get_by_role("button", name="Keep").click()
    expect(page.locator(".front p")).to_contain_text("For Another Firm")
    page.get_by_role("link", name="Former states of house").click()
    page.locator(".former li a").nth(1).click()
    expect(page.locator(".then")).to_contain_text("Halloran & Pike")
    page.get_by_role("button", name="Let it stand again so").click()
    expect(page.locator(".front p")).to_contain_text("For Halloran & Pike")


def test_a_row_of_words_is_added_and_amended_and_a_wrong_one_told(page: Page) -> None:
    page.goto("/settings")
    page.get_by_role("link", name="Add a row to conditions").click()
    expect(page.get_by_label("Words", exact=True)).to_be_focused()
    page.get_by_label("Words", exact=True).fill("skanky")
    page.get_by_label("Condition it means").fill("muck")
    page.get_by_label("A sentence that has it").fill("the carpet is skanky")
    page.get_by_label("A sentence that looks alike and has not").fill("the sky")
    page.get_by_label("Name of the row").fill("skanky")
    keep = page.locator("[id='words.conditions.row.new']").get_by_role("button", name="Keep")
    keep.click()
    expect(page.locator("[id='words.conditions.row.new'] .refused")).to_contain_text("conditions.csv:2: the condition")
    faultless(page)
    page.get_by_label("Condition it means").fill("dirt")
    keep.click()
    row = page.locator("[id='words.conditions.row.2']")
    expect(row).to_contain_text("dirt")
    row.get_by_role("link", name="Amend skanky").click()
    page.get_by_label("Words", exact=True).fill("skanky|right skanky")
    row.get_by_role("button", name="Keep").click()
    expect(row).to_contain_text("right skanky")
    row.get_by_role("button", name="Leave out skanky").click()
    expect(row).to_have_count(0)


def test_what_can_be_picked_goes_on_after_a_bar(page: Page) -> None:
    page.goto("/settings?open=words.conditions.row.new")
    field = page.get_by_label("Condition it means")
    offered = "field => [...field.list.options].map((option) => option.value)"
    first = field.evaluate(offered)
    assert {"rust", "dent"} <= set(first)
    field.fill("rust|")
    assert field.evaluate(offered) == [f"rust|{id_}" for id_ in first]
    field.fill("")
    assert field.evaluate(offered) == first
    faultless(page)


def test_a_text_that_is_wrong_names_its_lines_and_goes_there(page: Page) -> None:
    keep_words("conditions", f"{HEADING}\n{SKANKY}\n", author="Per Wick")
    page.goto("/settings?open=words.conditions.text")
    text = page.get_by_label("conditions.csv, all of it")
    wrong = SKANKY.replace("skanky,dirt", "other,muck")
    text.fill(f"{HEADING}\n{SKANKY}\n{wrong}\n")
    page.locator(".text").get_by_role("button", name="Keep").click()
    page.get_by_role("button", name="Line 3").click()
    chosen = text.evaluate("area => area.value.slice(area.selectionStart, area.selectionEnd)")
    assert chosen == wrong
    faultless(page)


def test_of_two_tabs_the_later_loses_nothing_and_is_told(page: Page, own: Path) -> None:
    keep_words("conditions", f"{HEADING}\n{SKANKY}\n", author="Per Wick")
    page.goto("/settings?open=words.conditions.text")
    other = f"{HEADING}\n{SKANKY.replace('carpet', 'roof')}\n"
    keep_words("conditions", other, author="Per Wick")
    mine = f"{HEADING}\n{SKANKY.replace('carpet', 'boot')}\n"
    text = page.get_by_label("conditions.csv, all of it")
    text.fill(mine)
    page.locator(".text").get_by_role("button", name="Keep").click()
    expect(page.locator("[id='words.conditions.text'] .refused")).to_contain_text(
        "somebody has changed it since you opened it"
    )
    expect(page.locator("[id='words.conditions.text'] .refused pre")).to_contain_text("the roof is skanky")
    assert text.input_value() == mine
    assert (own / "words" / "conditions.csv").read_text(encoding="utf-8") == other


@pytest.mark.parametrize("width", [1440, 1024, 390])
def test_nothing_is_wrong_with_the_settings_at_any_width(page: Page, width: int) -> None:
    keep_house(HouseDetails("Halloran & Pike", ("The Old Forge",)), author="Ida Quill")
    keep_words("conditions", f"{HEADING}\n{SKANKY}\n", author="Ida Quill")
    page.set_viewport_size({"width": width, "height": 900})
    for opened in ("", "?open=words.conditions.row.2", "?open=house.former"):
        page.goto(f"/settings{opened}")
        faultless(page)


def test_the_report_is_made_looked_at_and_downloaded(page: Page, tmp_path: Path) -> None:
    page.goto(HERE)
    faultless(page)
    page.get_by_role("link", name="Look at the report, as a page").click()
    page.wait_for_url("**show=html**")
    report = page.frame_locator("iframe")
    expect(report.locator("h1")).to_have_text("Ostrel Pavane, blue")
    assert report.locator("h1").evaluate("h => getComputedStyle(h).fontFamily").startswith('"Source Serif 4"')
    faultless(page)
    with page.expect_download() as waited:
        page.get_by_role("link", name="Download the report, as a page").click()
    assert waited.value.suggested_filename == "Ostrel Pavane, blue - report.html"
    waited.value.save_as(tmp_path / "report.html")
    assert "Ostrel Pavane, blue" in (tmp_path / "report.html").read_text(encoding="utf-8")


def test_all_is_made_with_progress_and_texts_are_shown(page: Page) -> None:
    page.goto(HERE)
    page.get_by_role("button", name="Make them all").click()
    expect(page.get_by_role("progressbar")).to_be_visible()
    expect(page.get_by_role("link", name="Download captions")).to_be_visible(timeout=3 * PATIENT_MS)
    page.get_by_role("link", name="Look at captions").click()
    expect(page.locator(".look pre")).to_contain_text("Nearside front wing")
    page.set_viewport_size({"width": 390, "height": 800})
    faultless(page)


def test_no_script_of_a_report_would_run(page: Page, running) -> None:
    page.goto(f"{HERE}/report.html")
    ran = page.evaluate(
        """() => { const made = document.createElement('script'); made.textContent = 'window.ran = 1';
        document.body.append(made); return window.ran ?? 0; }"""
    )
    assert ran == 0
    assert page.evaluate("origin") == "null"
