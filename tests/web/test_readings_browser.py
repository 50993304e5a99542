"""Readings in a real browser: entered at the desk, and on a phone one place after the other, without signal too."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect, sync_playwright
from tests.web.conftest import too_wide

from shutline.car.findings import State
from shutline.gauge.readings import Keyed
from shutline.usecases.buyers_page import make_buyers_page
from shutline.usecases.readings import enter_reading
from shutline.usecases.report import make_report

CAR = "ostrel-pavane"


@pytest.fixture(scope="module")
def browser(chromium) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        yield started
        started.close()


@pytest.fixture
def visit(browser: Browser, running) -> Iterator[Callable[..., Page]]:
    contexts = []

    def go(path: str, width: int = 390, height: int = 844) -> Page:
        context = browser.new_context(viewport={"width": width, "height": height}, service_workers="allow")
        contexts.append(context)
        page = context.new_page()
        page.goto(running.link)
        page.goto(f"{running.address}{path}")
        return page

    yield go
    for context in contexts:
        context.close()


def keyed(page: Page, figure: str) -> None:
    field = page.locator("#figure")
    field.fill(figure)
    field.press("Enter")


def test_a_round_goes_on_by_itself_and_loses_nothing_without_signal(visit: Callable[..., Page], running) -> None:
    page = visit(f"/cars/{CAR}/at-the-car/readings?of=paint_film")
    page.get_by_role("button", name="Begin").click()
    place = page.locator("#name")
    expect(place).to_have_text("Bonnet")
    expect(page.locator("#figure")).to_be_focused()
    keyed(page, "104")
    expect(page.locator("#figure-label")).to_have_text("Paint film, reading 2 of 3")
    keyed(page, "9999")
    expect(page.locator("#refused")).to_contain_text("0 to 5,000 µm")
    page.context.set_offline(True)
    keyed(page, "107,5")
    expect(page.locator("#figure-label")).to_have_text("Paint film, reading 3 of 3")
    keyed(page, "101")
    # Three make a spot: the next place has come by itself.
    expect(place).to_have_text("Nearside front wing")
    expect(page.locator("#queue")).to_contain_text("No signal")
    page.context.set_offline(False)
    expect(page.locator("#queue")).to_be_hidden()
    kept = running.store.readings(CAR)
    assert [(one.reading.part, one.reading.value, one.state) for one in kept] == [
        ("bonnet", 104.0, State.STANDS),
        ("bonnet", 107.5, State.STANDS),
        ("bonnet", 101.0, State.STANDS),
    ]
    assert all(one.reading.measured_at and one.reading.instrument == "paint_gauge" for one in kept)
    # Begun anew, it goes on where it was left.
    page.reload()
    page.get_by_role("button", name="Begin").click()
    expect(place).to_have_text("Nearside front wing")
    page.get_by_role("button", name="Back").click()
    expect(page.locator("#had")).to_have_text("Here already: 104 µm, 107.5 µm, 101 µm")


def test_what_is_said_of_one_figure_alone_is_asked_with_it_and_is_not_carried_on(
    visit: Callable[..., Page], running
) -> None:
    page = visit(f"/cars/{CAR}/at-the-car/readings?of=brake_effort")
    page.get_by_label("Brake", exact=True).select_option("service")
    page.get_by_role("button", name="Begin").click()
    page.get_by_label("Locked").select_option("yes")
    for figure, reached in (("210", "2 of 4"), ("190", "3 of 4")):
        with page.expect_response(lambda answer: answer.url.endswith("/reading")):
            keyed(page, figure)
        expect(page.locator("#count")).to_have_text(reached)
        expect(page.get_by_label("Locked")).to_have_value("")
    kept = [one.reading.details for one in running.store.readings(CAR)]
    assert kept == [{"brake": "service", "locked": "yes"}, {"brake": "service"}]
    assert Axe().run(page).response["violations"] == []
    page.goto(f"{running.address}/cars/{CAR}/at-the-car/readings?of=leak_down")
    page.get_by_role("button", name="Begin").click()
    page.get_by_label("Heard at").select_option("inlet")
    with page.expect_response(lambda answer: answer.url.endswith("/reading")):
        keyed(page, "35")
    expect(page.locator("#spot")).to_have_text("cylinder 2")
    leaks = [one.reading for one in running.store.readings(CAR) if one.reading.quantity == "leak_down"]
    assert [(one.value, one.details) for one in leaks] == [(35, {"heard_at": "inlet"})]


def test_entered_amended_and_struck_at_the_desk(visit: Callable[..., Page], running) -> None:
    page = visit(f"/cars/{CAR}/readings", 1440, 900)
    page.get_by_label("What was read").select_option("tread_depth")
    page.locator("#value").fill("31")
    page.locator("#side").select_option("off")
    page.locator("#position").select_option("rear")
    page.locator("#enter").get_by_role("button", name="Keep").click()
    expect(page.locator("#enter .refused")).to_contain_text("0 to 25 mm")
    page.locator("#value").fill("1.9")
    with page.expect_event("load"):
        page.locator("#enter").get_by_role("button", name="Keep").click()
    line = page.locator(".reading")
    expect(line).to_contain_text("1.9 mm")
    expect(line).to_contain_text("offside rear tyre")
    line.get_by_role("button", name="Amend").click()
    page.locator("#amend-value").fill("2.9")
    with page.expect_event("load"):
        page.locator("#amending-form").get_by_role("button", name="Amend").click()
    expect(page.locator(".reading")).to_contain_text("2.9 mm")
    with page.expect_event("load"):
        page.locator(".reading").get_by_role("button", name="Strike").click()
    expect(page.locator(".struck .reading")).to_have_count(1)
    (kept,) = running.store.readings(CAR)
    assert [one.action for one in kept.changes] == ["came in", "amended", "struck"]


def test_a_table_is_chosen_and_what_cannot_be_is_told(visit: Callable[..., Page], running) -> None:
    page = visit(f"/cars/{CAR}/readings", 1024, 800)
    page.locator("#all-of").select_option("paint_film")
    table = {"name": "film.csv", "mimeType": "text/csv", "buffer": b"part,value\nbonnet,96\nroof,high\n"}
    page.locator("#file").set_input_files(table)
    page.get_by_role("button", name="Take them in").click()
    expect(page.locator(".came")).to_contain_text("1 new, 0 known before.")
    expect(page.locator(".came")).to_contain_text("film.csv, line 3")
    with page.expect_event("load"):
        page.get_by_role("button", name="Show those that came in").click()
    expect(page.locator(".reading")).to_contain_text("96 µm")


@pytest.mark.parametrize(("width", "height"), [(1440, 900), (390, 844)])
@pytest.mark.parametrize("path", [f"/cars/{CAR}/readings", f"/cars/{CAR}/at-the-car/readings?of=tread_depth"])
def test_axe_finds_nothing(visit: Callable[..., Page], running, path: str, width: int, height: int) -> None:
    from shutline.gauge.readings import Keyed
    from shutline.usecases.readings import enter_reading

    enter_reading(running.store, CAR, Keyed("paint_film", 122, part="bonnet"), author="Ida Quill")
    page = visit(path, width, height)
    results = Axe().run(page)
    assert results.violations_count == 0, results.generate_report()
    if "at-the-car" in path:
        page.get_by_role("button", name="Begin").click()
        results = Axe().run(page)
        assert results.violations_count == 0, results.generate_report()
    assert too_wide(page) <= 0


@pytest.mark.parametrize("width", [390, 1440])
def test_drawings_of_what_was_measured_stick_out_of_no_page(
    visit: Callable[..., Page], running, tmp_path: Path, width: int
) -> None:
    for spot, value in (("near front", 28), ("off front", 9), ("near rear", 10), ("off rear", 9)):
        keyed_ = Keyed("moisture", value, part="carpet", spot=spot)
        enter_reading(running.store, CAR, keyed_, author="Ida Quill")
    make_report(running.store, CAR, out=tmp_path / "out", only=["html"])
    make_buyers_page(running.store, CAR, out=tmp_path / "page")
    page = visit(f"/cars/{CAR}/readings", width)
    for address in ("", (tmp_path / "out" / "report.html").as_uri(), (tmp_path / "page" / "index.html").as_uri()):
        if address:
            page.goto(address)
        expect(page.locator("#damp-figures")).to_be_attached()
        assert too_wide(page) <= 0
        assert Axe().run(page).response["violations"] == []
