"""The pages of the ledger in a browser: what is refused stays typed, a reversal is asked again; by keys, on a phone."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect, sync_playwright
from tests.web.conftest import too_wide

from shutline.store import Store
from shutline.usecases.house import HouseDetails, keep_house
from shutline.usecases.ledger_typed import enter_typed

CAR = "ostrel-pavane"
IDA = "Ida Quill"
SELLER = {"name": "Tobias Wend", "address": "3 Quillover Lane, Merrowby", "self_billed": "yes"}
TODAY = datetime.now(UTC).date().isoformat()


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("ledger") / "store"
    with Store.open(folder) as opened:
        opened.create_car(CAR, title="Ostrel Pavane, blue")
        enter(opened, kind="purchase", what="Ostrel Pavane", amount="8500", car=CAR, **SELLER)
    return folder


@pytest.fixture
def store(made: Path, tmp_path: Path) -> Iterator[Store]:
    shutil.copytree(made, tmp_path / "store")
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
    context = browser.new_context(viewport={"width": 1440, "height": 1000})
    page = context.new_page()
    page.goto(running.link)
    yield page
    context.close()


def enter(store: Store, **typed: str) -> None:
    enter_typed(store, typed, author=IDA)


def test_a_purchase_that_is_refused_stays_as_it_was_typed_and_is_asked_about_at_its_field(
    page: Page, running: Any
) -> None:
    page.goto(running.address + "/ledger")
    page.get_by_text("Bought", exact=True).click()
    form = page.locator("#bought")
    expect(form.get_by_label("Its number")).to_be_hidden()
    form.get_by_label("Its car file").fill(CAR)
    form.get_by_label("Its car file").blur()
    expect(form.get_by_label("The car, with its registration mark")).to_have_value("Ostrel Pavane, blue")
    form.get_by_label("Price, £").fill("8,500")
    form.get_by_label("Bought from").fill("Tobias Wend")
    form.get_by_label("The seller\u2019s own").check()
    form.get_by_label("VAT that the invoice shows").fill("much")
    button = form.get_by_role("button", name="Enter the purchase")
    expect(button).to_be_enabled()
    button.press("Enter")
    vat, number = form.get_by_label("VAT that the invoice shows"), form.get_by_label("Its number")
    expect(vat).to_be_focused()
    expect(vat).to_have_attribute("aria-invalid", "true")
    expect(form.get_by_role("alert")).to_contain_text("an amount with at most two places")
    vat.fill("")
    expect(vat).not_to_have_attribute("aria-invalid", "true")
    button.press("Enter")
    expect(number).to_be_focused()
    assert len(running.store.ledger().entries) == 1
    # A private seller after all: what is typed for the other way of it does not belong to the entry.
    vat.fill("5")
    form.get_by_label("We make it out").check()
    expect(form.get_by_label("Price, £")).to_have_value("8,500")
    button.press("Enter")
    expect(page).to_have_url(re.compile("/ledger/stock/2#entry-2$"))
    expect(page.locator("#entry-2")).to_be_focused()
    expect(page.get_by_role("status")).to_contain_text("Entry 2 is made. It has stock number 2.")
    _, entry = running.store.ledger().entries
    assert (entry["car"], entry["vat"], entry["self_billed"]) == (CAR, None, True)
    # The tests may run over midnight.
    assert TODAY <= entry["day"] <= datetime.now(UTC).date().isoformat()


def test_questions_are_answered_one_after_the_other_by_keys(page: Page, running: Any) -> None:
    page.goto(running.address + "/ledger/stock/1")
    note = page.locator("#answer-vat-invoice").get_by_label("What the answer stands on")
    expect(page.locator("#answer-vat-invoice button").first).to_be_enabled()
    note.fill("the seller is private")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.locator("#answer-imported")).to_be_visible()
    expect(page.locator("#answer-vat-invoice")).to_be_hidden()
    ((one,), said) = running.store.ledger().answers, page.get_by_text("No, said Ida Quill")
    assert (one["question"], one["said"], one["note"]) == ("vat-invoice", "no", "the seller is private")
    expect(said).to_contain_text("the seller is private")


def test_a_reversal_is_asked_again_and_the_entry_stays_struck(page: Page, running: Any) -> None:
    enter(running.store, kind="cost", stock="1", what="valet", amount="90", name="Merrowby Valeting")
    page.goto(running.address + "/ledger/stock/1")
    cost = page.locator("#entry-2")
    cost.get_by_text("Entered wrongly").click()
    expect(cost.get_by_role("button", name="Reverse it")).to_be_enabled()
    cost.get_by_label("What was wrong with it").fill("entered twice")
    page.keyboard.press("Enter")
    expect(cost.get_by_role("button", name="No, let it stand")).to_be_focused()
    page.keyboard.press("Escape")
    expect(cost.get_by_role("button", name="Reverse it")).to_be_focused()
    assert len(running.store.ledger().entries) == 2
    page.keyboard.press("Enter")
    cost.get_by_role("button", name="Yes: reverse it").click()
    expect(cost).to_contain_text("Reversed by entry 3")
    expect(page.get_by_text("Reversal of entry 2")).to_be_visible()
    assert [one["kind"] for one in running.store.ledger().entries] == ["purchase", "cost", "reversal"]


def test_nothing_stands_in_the_way_of_anybody(page: Page, running: Any) -> None:
    keep_house(HouseDetails("Halloran & Pike", ("Dock Street, Merrowby",)), author=IDA)
    enter(running.store, kind="purchase", what="Averley Curlew", amount="1800", **SELLER)
    enter(running.store, kind="sale", stock="1", amount="12000", name="Augusta Harbottle", address="x", paper="S1")
    page.set_viewport_size({"width": 390, "height": 800})
    for address in (
        *("/ledger/stock/1", "/ledger/quarter", "/ledger/forecourt", f"/cars/{CAR}/ledger"),
        *(f"/ledger/import?value=5&arrived={TODAY}", "/ledger/clock?delivered=2026-06-01&asked_1=never", "/ledger"),
    ):
        page.goto(running.address + address)
        page.evaluate("for (const one of document.querySelectorAll('details:not([name])')) one.open = true")
        assert Axe().run(page).response["violations"] == [], address
        assert too_wide(page) <= 0, address
    page.locator(".frame").focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    page.wait_for_function("() => document.querySelector('.frame').scrollLeft > 0")
    left = page.locator(".book tbody th").first.bounding_box()
    assert left is not None
    assert left["x"] < 60
