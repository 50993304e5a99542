"""Papers in a real browser: brought in, decided about by keys, looked at and let out, at the desk and on a phone."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect, sync_playwright

from shutline.store import Store
from shutline.usecases.buyers_page import make_buyers_page
from shutline.usecases.papers_intake import enter_papers
from shutline.usecases.papers_out import let_out, paper_out

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))

from tests.web.conftest import too_wide

from papers_made import locked_pdf, pdf_of

CAR = "ostrel-pavane"
OPENS = "salt marsh"
INVOICE = """= Invoice
Invoice date: 12/03/2019 \\
Mileage: 41,206 miles \\
Customer: Mrs Augusta Harbottle
"""


@pytest.fixture(scope="module")
def browser(chromium) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        yield started
        started.close()


@pytest.fixture(autouse=True)
def settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "settings.toml"))


def opened(browser: Browser, running, width: int) -> Page:
    page = browser.new_context(viewport={"width": width, "height": 844}).new_page()
    page.goto(running.link)
    page.goto(f"{running.address}/cars/{CAR}/papers")
    return page


def sound(page: Page, width: int) -> None:
    assert too_wide(page) <= 0
    assert Axe().run(page).violations_count == 0


def bring(page: Page, name: str, data: bytes) -> None:
    page.get_by_label("Papers: PDFs").set_input_files({"name": name, "mimeType": "application/pdf", "buffer": data})
    with page.expect_event("load"):
        page.get_by_role("button", name="Bring them in").click()


@pytest.mark.parametrize("width", [390, 1440])
def test_a_paper_is_brought_in_and_decided_about_by_keys_alone(browser: Browser, running, width: int) -> None:
    page = opened(browser, running, width)
    assert page.get_by_label("Or photograph one").get_attribute("capture") == "environment"
    bring(page, "invoice.pdf", pdf_of(INVOICE))
    expect(page.locator(".ring")).to_be_visible()
    sound(page, width)
    waiting = page.locator("#desk-heading")
    before = int(waiting.inner_text().split()[0])
    first = page.locator(".proposal")
    name = first.get_attribute("id")
    # On, back, and taken: each time the focus is on what is shown.
    page.keyboard.press("j")
    expect(page.locator(".proposal:focus")).not_to_have_id(name)
    page.keyboard.press("k")
    expect(page.locator(".proposal:focus")).to_have_id(name)
    page.keyboard.press("t")
    expect(waiting).to_contain_text(f"{before - 1} wait")
    # Keys that are pressed at once are not lost: three that wait are struck and one is let wait again.
    for _ in range(2):
        page.keyboard.press("x")
    expect(waiting).to_contain_text(f"{before - 3} wait")
    page.goto(f"{running.address}/cars/{CAR}/papers")
    mileage = next(
        one for paper in running.store.car_file(CAR).papers for one in paper.reads if one.kind.value == "mileage"
    )
    page.goto(f"{running.address}/cars/{CAR}/papers?read={mileage.id}")
    page.locator(".proposal").focus()
    if mileage.state.value != "open":
        page.keyboard.press("x")
        expect(page.get_by_role("button", name="Strike it")).to_be_visible()
    page.keyboard.press("e")
    page.keyboard.type("42206")
    page.keyboard.press("Enter")
    # Nothing else waits: it stays in sight, taken.
    expect(page.get_by_text("42,206 mi")).to_be_visible()
    (paper,) = running.store.car_file(CAR).papers
    taken = next(one for one in paper.reads if one.id == mileage.id)
    assert (taken.value, taken.state.value) == ("42206", "taken")
    page.context.close()


def test_what_somebody_else_decided_meanwhile_is_shown(browser: Browser, running) -> None:
    page = opened(browser, running, 1440)
    bring(page, "invoice.pdf", pdf_of(INVOICE))
    id_ = page.locator(".proposal").get_attribute("data-id")
    running.store.change_read(CAR, id_, action="strike", author="Per Wick")
    page.keyboard.press("t")
    expect(page.locator(".proposal")).to_contain_text("struck")
    expect(page.locator(".told")).to_be_visible()
    page.context.close()


def test_a_locked_paper_asks_for_its_password(browser: Browser, running) -> None:
    page = opened(browser, running, 390)
    bring(page, "locked.pdf", locked_pdf("Mileage 41,206 miles", OPENS))
    expect(page.get_by_role("alert")).to_contain_text("under a password")
    page.get_by_label("Password of a locked PDF").fill(OPENS)
    bring(page, "locked.pdf", locked_pdf("Mileage 41,206 miles", OPENS))
    expect(page.locator(".papers")).to_contain_text("locked.pdf")
    page.context.close()


@pytest.mark.parametrize("width", [390, 1440])
def test_a_paper_is_said_to_be_a_letter_of_another_car_and_let_out(browser: Browser, running, width: int) -> None:
    page = opened(browser, running, width)
    bring(page, "invoice.pdf", pdf_of(INVOICE))
    item = page.locator(".papers li")
    version = int(item.get_attribute("data-version") or "")
    page.get_by_label("What invoice.pdf is").select_option("letter")
    # The list is drawn anew: a press while it is would be lost.
    expect(item).to_have_attribute("data-version", str(version + 1))
    expect(page.locator(".papers option:checked")).to_have_text("letter")
    page.get_by_role("button", name="It is another car's").click()
    expect(page.locator(".papers .apart")).to_contain_text("said that it is of another car")
    page.get_by_role("button", name="Take that back").click()
    expect(page.locator(".papers .apart")).to_have_count(0)
    page.get_by_role("link", name="For buyers").click()
    page.wait_for_url("**/out")
    expect(page.get_by_role("img", name="Page 1 as it would go out")).to_be_visible()
    sound(page, width)
    for label, value in (("From the left", "10"), ("From the top", "50"), ("Wide", "20"), ("High", "5")):
        page.get_by_label(label).fill(value)
    with page.expect_event("load"):
        page.get_by_role("button", name="Cover it").click()
    if width > 1000:
        expect(page.get_by_role("img", name="Page 1 as it would go out")).to_be_visible()
        page.locator(".drawn").evaluate("drawn => drawn.scrollIntoView({ block: 'start' })")
        box = page.locator(".drawn").bounding_box()
        page.mouse.move(box["x"] + 100, box["y"] + 300)
        page.mouse.down()
        page.mouse.move(box["x"] + 260, box["y"] + 360)
        with page.expect_event("load"):
            page.mouse.up()
    with page.expect_event("load"):
        page.get_by_role("button", name="I have looked at each page").click()
    expect(page.get_by_role("status").first).to_contain_text("It goes out as you see it here")
    (paper,) = running.store.car_file(CAR).papers
    assert len(paper.covers) == (2 if width > 1000 else 1)
    assert paper.out_mark
    with page.expect_event("load"):
        page.get_by_role("button", name="Keep it in the house").click()
    expect(page.get_by_role("status").first).to_contain_text("It stays in the house")
    page.context.close()


@pytest.mark.parametrize("width", [390, 1440])
def test_a_buyer_sees_the_papers_on_any_screen(browser: Browser, tmp_path: Path, width: int) -> None:
    (tmp_path / "invoice.pdf").write_bytes(pdf_of(INVOICE))
    with Store.open(tmp_path / "yard") as store:
        store.create_car(CAR)
        (came,) = enter_papers(store, CAR, [tmp_path / "invoice.pdf"], author="Ida Quill").papers
        let_out(store, CAR, came.paper, mark=paper_out(store, CAR, came.paper).mark, author="Ida Quill")
        make_buyers_page(store, CAR, out=tmp_path / "page")
    page = browser.new_context(viewport={"width": width, "height": 844}).new_page()
    page.goto((tmp_path / "page" / "index.html").as_uri())
    picture = page.get_by_role("img", name="Invoice, without a day, page 1")
    picture.scroll_into_view_if_needed()
    expect(picture).to_be_visible()
    sound(page, width)
    page.context.close()
