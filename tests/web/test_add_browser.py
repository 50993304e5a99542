"""The page in a real browser: files are dropped, sent, followed, stopped, and gone on with where the network failed."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserContext, Page, Route, expect, sync_playwright
from tests.web.conftest import too_wide

from shutline.capture.originals import original_path
from shutline.web import uploads
from shutline.web.deliveries import upload_limits

CAR = "ostrel-pavane"
WORDS = """WEBVTT

00:00.000 --> 00:05.000
The nearside sill has rust in it. The offside door has a dent.
"""
PATIENCE_MS = 60_000


@pytest.fixture(scope="module")
def browser(chromium) -> Iterator[object]:
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        yield opened
        opened.close()


@pytest.fixture
def small_pieces(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pieces of 8 kB, so that a small film comes in several."""
    small = replace(upload_limits(), piece_bytes=8192, sending_s=1.0)
    monkeypatch.setattr(uploads, "upload_limits", lambda: small)


@pytest.fixture
def let_in(small_pieces: None, running, browser) -> Iterator[BrowserContext]:
    context = browser.new_context(base_url=running.address, viewport={"width": 1440, "height": 900})
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    page.goto(running.link)
    page.close()
    yield context
    context.close()


@pytest.fixture
def page(let_in: BrowserContext) -> Iterator[Page]:
    opened = let_in.new_page()
    faults: list[str] = []
    opened.on("pageerror", lambda error: faults.append(str(error)))
    opened.on("console", lambda said: faults.append(said.text) if "Content Security" in said.text else None)
    yield opened
    assert faults == []


@pytest.fixture
def film(make_film: Callable[..., Path]) -> Path:
    return make_film("round.mp4", frames=60, rate=10, sound=None, gop=10)


@pytest.fixture
def words(tmp_path: Path) -> Path:
    path = tmp_path / "round.vtt"
    path.write_text(WORDS, encoding="utf-8")
    return path


def choose(page: Page, *files: Path) -> None:
    page.goto("/add")
    page.set_input_files("#files", list(files))


def state(page: Page, name: str) -> None:
    expect(page.locator(".delivery").first).to_have_attribute("data-state", name, timeout=PATIENCE_MS)


def test_the_sha_256_of_the_page_is_that_of_hashlib(page: Page) -> None:
    # Lengths about the ends of its blocks; hashlib is the judge, as FIPS 180-4 has it.
    page.goto("/add")
    lengths = [0, 1, 3, 55, 56, 57, 63, 64, 65, 119, 120, 128, 1000, 100_003]
    told = page.evaluate(
        """async (lengths) => {
          const { Sha256 } = await import("/static/sha256.js");
          return lengths.map((length) => {
            const bytes = Uint8Array.from({ length }, (_, at) => (at * 7 + 3) % 256);
            const one = new Sha256().update(bytes).digest();
            const many = new Sha256();
            for (let at = 0; at < length; at += 37) many.update(bytes.subarray(at, at + 37));
            return [one, many.digest()];
          });
        }""",
        lengths,
    )
    wanted = [hashlib.sha256(bytes((at * 7 + 3) % 256 for at in range(length))).hexdigest() for length in lengths]
    assert told == [[one, one] for one in wanted]


def test_a_film_with_its_words_and_what_is_broken_beside_it(
    page: Page, running, film: Path, words: Path, tmp_path: Path
) -> None:
    letter = tmp_path / "letter.mp4"
    letter.write_text("a letter to the dealer, without any time in it", encoding="utf-8")
    choose(page, film, words, letter)
    # A transcript called like a film is taken for its words.
    expect(page.get_by_label("What round.vtt is")).to_have_value("0")
    page.get_by_label("How it is to be shown").fill("Kestle Linnet, green")
    page.get_by_role("button", name="Bring in").click()
    state(page, "done")
    shown = page.locator(".delivery").first
    expect(shown).to_contain_text("2 of 3 files brought in")
    expect(shown).to_contain_text("A text in which nothing says when it was spoken")
    expect(page.locator(".told")).to_contain_text("not with every file")
    (recording,) = running.store.car_file("kestle-linnet-green").recordings
    assert recording.original.sha256 == hashlib.sha256(film.read_bytes()).hexdigest()
    assert recording.complete
    assert "rust" in recording.stretches[0].text
    assert shown.get_by_role("link", name="Review").get_attribute("href") == "/cars/kestle-linnet-green/review"


def test_files_are_dropped_anywhere_on_the_page_and_left_out_by_keys(page: Page) -> None:
    page.goto("/add")
    given = page.evaluate_handle(
        """() => {
          const carried = new DataTransfer();
          for (const name of ["a.jpg", "b.jpg"]) carried.items.add(new File(["x"], name));
          return carried;
        }"""
    )
    page.dispatch_event("main h1", "dragover", {"dataTransfer": given})
    expect(page.locator(".lay")).to_have_class("lay over")
    page.dispatch_event("main h1", "drop", {"dataTransfer": given})
    expect(page.locator(".laid li")).to_have_count(2)
    page.get_by_role("button", name="Leave out a.jpg").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Leave out b.jpg")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#files")).to_be_focused()
    expect(page.get_by_role("button", name="Bring in")).to_be_disabled()


def test_a_network_that_fails_costs_nothing(page: Page, running, film: Path) -> None:
    failed: list[str] = []

    def shaky(route: Route) -> None:
        # Each third piece is lost, and of each fifth the answer is.
        place = len(failed)
        failed.append(route.request.url)
        if place % 3 == 1:
            route.abort("connectionreset")
        elif place % 5 == 3:
            route.fetch()
            route.abort("connectionreset")
        else:
            route.continue_()

    page.route("**/files/*?at=*", shaky)
    choose(page, film)
    page.get_by_label("Ostrel Pavane, blue").check()
    page.get_by_role("button", name="Bring in").click()
    state(page, "done")
    assert len(failed) > film.stat().st_size / 8192
    sha256 = hashlib.sha256(film.read_bytes()).hexdigest()
    assert sha256 in {one.original.sha256 for one in running.store.car_file(CAR).recordings}


def test_half_sent_it_goes_on_where_it_was_from_a_page_opened_anew(
    let_in: BrowserContext, page: Page, running, film: Path
) -> None:
    offsets: list[int] = []

    def only_two(route: Route) -> None:
        offsets.append(int(route.request.url.split("at=")[1]))
        if len(offsets) <= 2:
            route.continue_()
        else:
            route.abort("connectionreset")

    page.route("**/files/*?at=*", only_two)
    choose(page, film)
    page.get_by_role("button", name="Bring in").click()
    expect(page.locator(".told")).to_contain_text("nothing that was sent is lost")
    other = let_in.new_page()
    other.goto("/add")
    # A second tab sees the same, and once nothing comes any more offers to go on.
    expect(other.locator(".tally").first).to_contain_text("16.4 kB of")
    page.close()
    again = other.get_by_label("Choose the same files again to go on")
    expect(other.locator(".again")).to_be_visible()
    sent: list[int] = []
    other.on("request", lambda asked: sent.append(int(asked.url.split("at=")[1])) if "?at=" in asked.url else None)
    again.set_input_files(Path(__file__))
    expect(other.locator(".told")).to_contain_text("None of these")
    again.set_input_files(film)
    state(other, "done")
    assert sent[0] == 16_384
    assert running.store.cars()[0].name == "round"


def test_sending_is_stopped_and_put_away_by_keys(page: Page, running, film: Path) -> None:
    page.route("**/files/*?at=*", lambda route: route.abort("connectionreset"))
    choose(page, film)
    page.get_by_role("button", name="Bring in").focus()
    page.keyboard.press("Enter")
    expect(page.locator(".delivery h3").first).to_be_focused()
    stop = page.get_by_role("button", name="Stop sending")
    stop.focus()
    page.keyboard.press("Enter")
    away = page.get_by_role("button", name="Put away")
    away.focus()
    page.keyboard.press("Enter")
    expect(page.locator(".delivery")).to_have_count(0)
    expect(page.get_by_role("heading", name="Coming in")).to_be_focused()
    assert json.loads(page.request.get("/add.json").text())["deliveries"] == []


def test_the_focus_stays_while_what_comes_in_is_drawn_anew(let_in: BrowserContext, page: Page, film: Path) -> None:
    page.route("**/files/*?at=*", lambda route: route.abort("connectionreset"))
    choose(page, film)
    page.get_by_role("button", name="Bring in").press("Enter")
    expect(page.locator(".delivery h3")).to_be_focused()
    held = page.locator(".delivery h3").element_handle()
    other = let_in.new_page()
    other.route("**/files/*?at=*", lambda route: route.abort("connectionreset"))
    choose(other, film)
    other.get_by_role("button", name="Bring in").click()
    expect(page.locator(".delivery")).to_have_count(2)
    page.wait_for_timeout(500)
    assert held is not None
    assert held.evaluate("heading => heading.isConnected && heading.hasAttribute('tabindex')")
    assert page.evaluate("() => document.activeElement?.tagName") == "H3"


def test_a_film_that_is_here_is_asked_about_before_and_after_it_is_sent(page: Page, running) -> None:
    original = running.store.car_file(CAR).recordings[0].original
    path = original_path(running.store.originals, original.sha256)
    page.goto("/add")
    page.set_input_files("#files", {"name": original.name, "mimeType": "video/mp4", "buffer": path.read_bytes()})
    likely = page.locator(".likely")
    expect(likely).to_contain_text(
        f"{original.name}: a recording of that name and size is of Ostrel Pavane, blue already"
    )
    likely.get_by_role("button").press("Enter")
    expect(page.get_by_role("radio", name="Ostrel Pavane, blue")).to_be_checked()
    page.get_by_role("radio", name="A new one").check()
    page.get_by_role("button", name="Bring in").click()
    asked = page.locator(".asking")
    expect(asked).to_contain_text("This film is here already")
    assert Axe().run(page).violations_count == 0, Axe().run(page).generate_report()
    assert [car.name for car in running.store.cars()] == [CAR]
    asked.get_by_role("button", name="Add to Ostrel Pavane, blue").press("Enter")
    state(page, "done")
    expect(page.locator(".delivery h3").first).to_have_text("Ostrel Pavane, blue")
    expect(page.locator(".asking")).to_have_count(0)
    assert [car.name for car in running.store.cars()] == [CAR]


def test_it_is_accessible_and_fits_a_phone(page: Page, film: Path, words: Path) -> None:
    choose(page, film, words)
    for width in (1440, 390):
        page.set_viewport_size({"width": width, "height": 900})
        found = Axe().run(page)
        assert found.violations_count == 0, found.generate_report()
        assert too_wide(page) <= 0
    # 200 % of a window of 1280: 640 CSS pixels.
    page.set_viewport_size({"width": 640, "height": 450})
    assert too_wide(page) <= 0
    page.get_by_role("button", name="Bring in").click()
    state(page, "done")
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    page.goto(f"/cars/{CAR}/add")
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
