"""Prices in a browser: a table comes in by keys, its columns said once; on a phone; nothing axe would name."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect, sync_playwright
from tests.web.conftest import too_wide

from shutline.store import Store
from shutline.usecases.comparables import kept_comparables

TEXT = 'Date,Paid,Type\n03/05/2026,"£8,500",Ninety\n04/05/2026,9000,Sixty\nsome day,1,Sixty\n'


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("empty") / "store"
    Store.open(folder).close()
    return folder


@pytest.fixture
def store(empty: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    shutil.copytree(empty, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


@pytest.fixture(scope="module")
def browser(chromium: Any) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        yield opened
        opened.close()


@pytest.fixture
def page(running: Any, browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 390, "height": 844})
    opened = context.new_page()
    opened.goto(running.link)
    opened.goto(f"{running.address}/prices")
    yield opened
    context.close()


def clean(page: Page) -> None:
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    assert too_wide(page) <= 0


def test_a_table_comes_in_with_its_columns_said_once(page: Page, store: Store, tmp_path: Path) -> None:
    file = tmp_path / "prices.csv"
    file.write_text(TEXT, encoding="utf-8")
    page.set_input_files("#table-file", str(file))
    expect(page.locator("#columns-heading")).to_be_focused()
    expect(page.locator("#column-0")).to_have_value("when")
    take = page.get_by_role("button", name="Take it in")
    expect(take).to_be_enabled()
    take.click()
    expect(page.locator("#columns .refused")).to_contain_text("No column for price")
    page.locator("#column-1").select_option("price")
    page.get_by_label("What Type is called").fill("model")
    clean(page)
    take.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("link", name="Show the prices")).to_be_focused()
    expect(page.locator("#brought")).to_contain_text("3 rows: 2 new, 1 kept apart.")
    page.keyboard.press("Enter")
    expect(page.locator(".prices > li")).to_have_count(2)
    assert [one.attributes for one in kept_comparables(store)] == [{"model": "Ninety"}, {"model": "Sixty"}]
    clean(page)
    page.get_by_text("A table comes in").click()
    page.set_input_files("#table-file", str(file))
    expect(page.locator("#columns-said")).to_contain_text("As it was said before")
    expect(page.locator("#column-1")).to_have_value("price")


def test_a_price_is_noted_amended_and_taken_back(page: Page, store: Store) -> None:
    page.get_by_text("A price by hand").click()
    note = page.locator("#note")
    note.get_by_label("Price").fill("many")
    keep = page.get_by_role("button", name="Note it")
    expect(keep).to_be_enabled()
    keep.click()
    expect(note.locator(".refused")).to_contain_text("Price 'many'")
    note.get_by_label("Price").fill("9000")
    note.get_by_label("Model").fill("Ninety")
    note.get_by_label("What else tells of it").fill("body = saloon, age = 44")
    with page.expect_event("load"):
        keep.click()
    expect(page.locator(".told")).to_have_text("It is noted.")
    assert [one.attributes for one in kept_comparables(store)] == [{"model": "Ninety", "body": "saloon", "age": "44"}]
    page.get_by_role("link", name="£9,000").click()
    # All of it has come: its own load is not to be taken for the next one.
    page.wait_for_url("**/prices/*")
    page.get_by_text("Say it otherwise").click()
    page.locator("#amend").get_by_label("Body").fill("")
    with page.expect_event("load"):
        page.get_by_role("button", name="Keep it so").click()
    clean(page)
    with page.expect_event("load"):
        page.get_by_role("button", name="Take it back").click()
    expect(page.get_by_role("button", name="Let it count again")).to_be_enabled()
    assert kept_comparables(store) == ()
    with page.expect_event("load"):
        page.get_by_role("button", name="Let it count again").click()
    expect(page.get_by_role("button", name="Take it back")).to_be_enabled()
    assert [one.attributes for one in kept_comparables(store)] == [{"model": "Ninety", "age": "44"}]
