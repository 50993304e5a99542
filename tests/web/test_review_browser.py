"""The review in a real browser, by keys alone: decided, amended, entered, undone, and nothing of another's lost."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, Route, sync_playwright
from tests.web.conftest import too_wide

from shutline.car.findings import Fact, Footing, FootingKind, Found, State
from shutline.car.second import Proposal, SecondReading
from shutline.store import KeptSecond, Store
from shutline.usecases.add import add
from shutline.usecases.second import _words_mark, lay_beside
from shutline.usecases.spoken import words_of

if TYPE_CHECKING:
    from tests.web.conftest import Running

CAR = "ostrel-pavane"
PLAYS = "--autoplay-policy=no-user-gesture-required"
# A busy machine is no reason to fail.
PATIENCE_MS = 60_000

Open = Callable[..., Page]


@pytest.fixture(scope="module")
def browser(chromium) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium.path, args=[*chromium.flags, PLAYS])
        yield opened
        opened.close()


@pytest.fixture
def open_review(browser: Browser, running: Running) -> Iterator[Open]:
    """Open the review in a tab; the tabs of one test share a browser's cookies and what it keeps."""
    context = browser.new_context(viewport={"width": 1440, "height": 900})
    context.set_default_timeout(PATIENCE_MS)
    trouble: list[str] = []
    outside: list[str] = []
    context.on("weberror", lambda error: trouble.append(str(error.error)))
    context.on("console", lambda told: trouble.append(told.text) if "Content Security" in told.text else None)
    context.on("request", lambda asked: None if asked.url.startswith(running.address) else outside.append(asked.url))
    entry = context.new_page()
    entry.goto(running.link)
    entry.close()

    def open_(path: str = "") -> Page:
        page = context.new_page()
        page.goto(f"{running.address}/cars/{CAR}/review{path}")
        page.wait_for_selector(".review[data-ready]")
        return page

    yield open_
    context.close()
    assert trouble == []
    assert outside == []


def kept_of(store: Store, part: str) -> Any:
    return next(kept for kept in store.car_file(CAR).findings if kept.finding.part == part)


def shown(page: Page) -> dict[str, Any]:
    said: dict[str, Any] = json.loads(page.get_attribute(".entry", "data-entry") or "{}")
    return said


def press_and_wait(page: Page, key: str, *, until: str) -> None:
    page.keyboard.press(key)
    page.wait_for_function(until)


def another(page: Page) -> str:
    """Tell, as a script, when something else is shown than now."""
    now = shown(page)["id"]
    return (
        "() => { const entry = document.querySelector('.entry');"
        f" return !entry || JSON.parse(entry.dataset.entry).id !== {now!r}; }}"
    )


def test_one_key_a_finding_from_the_first_to_the_last(open_review: Open, running: Running) -> None:
    page = open_review()
    left = int(page.text_content(".galley .left") or "0")
    presses = 0
    while page.locator(".entry").count():
        press_and_wait(page, "x" if presses % 3 == 2 else "s", until=another(page))
        presses += 1
        assert presses <= left
    assert presses == left
    assert "All looked at" in (page.text_content(".entry-place") or "")
    file = running.store.car_file(CAR)
    states = [k.finding.state for k in file.findings] + [k.fact.state for k in file.facts]
    assert State.HEARD not in states
    assert {State.STANDS, State.STRUCK} == set(states)
    assert {k.changes[-1].author for k in file.findings} == {"Ida Quill"}

    page.keyboard.press("u")
    page.wait_for_selector(".entry")
    page.wait_for_function("() => document.querySelector('.galley .left').textContent === '1'")
    assert shown(page)["open"]


def test_amended_by_keys_alone_and_taken_back(open_review: Open, running: Running) -> None:
    wing = kept_of(running.store, "front_wing")
    page = open_review(f"/{wing.id}")
    page.keyboard.press("a")
    page.keyboard.type("rear wi")
    assert page.get_attribute("#part", "aria-expanded") == "true"
    page.keyboard.press("Enter")
    assert page.input_value("#part") == "rear wing"
    page.keyboard.press("Tab")
    page.keyboard.type("scrape")
    # What a word means is searched too: a scuff is a rubbed or grazed patch.
    assert page.locator("#condition ~ .choices li").count() == 0
    page.keyboard.press("Control+A")
    page.keyboard.type("grazed")
    assert page.locator("#condition ~ .choices li").all_text_contents() == ["scuff"]
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.type("off")
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.querySelector('form.amend').hidden")
    page.wait_for_function(
        f"() => document.querySelector('.galley [data-id=\"{wing.id}\"]').dataset.state === 'stands'"
    )
    changed = running.store.finding(wing.id)
    finding = changed.finding
    assert (finding.part, finding.condition, finding.side, finding.state) == ("rear_wing", "scuff", "off", State.STANDS)
    assert finding.footings == wing.finding.footings
    assert "amended, and stands" in (page.text_content(".last") or "")

    page.keyboard.press("u")
    page.wait_for_function(f"() => document.querySelector('.galley [data-id=\"{wing.id}\"]').dataset.state === 'heard'")
    back = running.store.finding(wing.id)
    assert back.finding == wing.finding
    assert [change.action for change in back.changes] == ["drawn", "amended", "undone"]
    page.keyboard.press("h")
    page.wait_for_function("() => document.querySelectorAll('details.history[open] li').length === 3")
    assert "Ida Quill took the last change back" in (page.text_content("details.history") or "")


def test_what_cannot_be_is_said_in_the_form_and_escape_leaves_it(open_review: Open, running: Running) -> None:
    wing = kept_of(running.store, "front_wing")
    page = open_review(f"/{wing.id}")
    page.keyboard.press("a")
    page.keyboard.type("flux capacitor")
    page.keyboard.press("Enter")
    page.wait_for_selector("form.amend .wrong:not([hidden])")
    wrong = page.text_content("form.amend .wrong") or ""
    assert "is not among" in wrong
    assert "clear the field to see them all" in wrong
    page.fill("#part", "fender")
    page.press("#part", "Enter")
    page.wait_for_function("() => document.querySelector('form.amend .wrong').textContent.includes('front wing')")
    page.keyboard.press("Escape")
    page.wait_for_selector("form.amend", state="hidden")
    assert page.evaluate("document.activeElement.id") == "statement"
    assert running.store.finding(wing.id) == wing


def slow(page: Page, path: str) -> None:
    """Let each change of a kind take half a second, as over a poor network."""
    page.route(f"**/review/{path}", lambda route: (page.wait_for_timeout(500), route.continue_()))


def test_keys_pressed_while_one_is_on_its_way_wait_their_turn(open_review: Open, running: Running) -> None:
    page = open_review()
    ids = page.locator(".galley li").evaluate_all("lines => lines.map((one) => one.dataset.id)")
    slow(page, "decide")
    for key in "sxsxs":
        page.keyboard.press(key)
    last = json.dumps(ids[4])
    page.wait_for_function(
        f"() => document.querySelector('.galley [data-id=' + CSS.escape({last}) + ']').dataset.state === 'stands'"
    )
    states = page.locator(".galley li").evaluate_all("lines => lines.map((one) => one.dataset.state)")
    assert states[:6] == ["stands", "struck", "stands", "struck", "stands", "heard"]
    for _ in range(5):
        page.keyboard.press("u")
    page.wait_for_function(
        "() => [...document.querySelectorAll('.galley li')].every((one) => one.dataset.state === 'heard')"
    )
    file = running.store.car_file(CAR)
    assert {k.finding.state for k in file.findings} | {k.fact.state for k in file.facts} == {State.HEARD}


def test_what_is_typed_before_the_form_is_there_is_typed_into_it(open_review: Open, running: Running) -> None:
    page = open_review("?order=film")
    first, second = page.locator('.galley li[data-kind="finding"]').evaluate_all(
        "lines => lines.slice(0, 2).map((one) => one.dataset.id)"
    )
    page.goto(f"{running.address}/cars/{CAR}/review/{first}?order=film")
    page.wait_for_selector(".review[data-ready]")
    slow(page, "decide")
    page.keyboard.press("s")
    page.keyboard.press("a")
    page.keyboard.type("grille")
    page.keyboard.press("Enter")
    page.wait_for_selector("form.amend:not([hidden])")
    page.wait_for_function("() => document.querySelector('#part').value === 'grille'")
    assert running.store.finding(first).finding.state is State.STANDS
    assert running.store.finding(second).finding.state is State.HEARD
    page.keyboard.press("Enter")
    page.wait_for_function(f"() => document.querySelector('.galley [data-id=\"{second}\"]').dataset.state === 'stands'")
    assert running.store.finding(second).finding.part == "grille"


def test_after_a_change_that_is_refused_the_keys_behind_it_are_let_go_and_it_is_said(
    open_review: Open, running: Running
) -> None:
    page = open_review()
    ids = page.locator(".galley li").evaluate_all("lines => lines.map((one) => one.dataset.id)")
    refuse = {
        "error": {"slug": "store-locked", "where": "the store", "found": "busy", "allowed": "-", "advice": "Wait."}
    }
    held: list[Route] = []
    page.route("**/review/decide", lambda route: held.append(route))  # noqa: PLW0108 - a built-in is not taken
    for key in "sss":
        page.keyboard.press(key)
    while not held:
        page.wait_for_timeout(20)
    # However long the keys took, they were all pressed before the first was refused.
    held[0].fulfill(status=503, json=refuse)
    page.wait_for_selector(".told:not([hidden])")
    assert "2 keys pressed after it were not done." in (page.text_content(".told") or "")
    assert shown(page)["id"] == ids[0]
    file = running.store.car_file(CAR)
    assert {k.finding.state for k in file.findings} == {State.HEARD}


def test_undo_reaches_back_to_an_earlier_visit_and_says_when_nothing_is_left(
    open_review: Open, running: Running
) -> None:
    wing = kept_of(running.store, "front_wing")
    running.store.change_finding(wing.id, action="strike", author="Ida Quill", expected_version=1)
    page = open_review()
    press_and_wait(page, "u", until=another(page))
    state = page.get_attribute(f'.galley [data-id="{wing.id}"]', "data-state")
    assert state == "heard"
    assert shown(page)["id"] == wing.id
    page.keyboard.press("u")
    page.wait_for_selector(".told:not([hidden])")
    told = page.text_content(".told") or ""
    assert told.startswith("Nothing that Ida Quill decided on this car is left to take back.")
    assert wing.id not in told
    # What another decided is taken back where it stands who did what.
    seat = kept_of(running.store, "seat")
    running.store.change_finding(seat.id, action="strike", author="Ben Oake", expected_version=1)
    page.goto(f"{running.address}/cars/{CAR}/review/{seat.id}")
    page.wait_for_selector(".review[data-ready]")
    page.keyboard.press("h")
    page.click("[data-undo-this]")
    page.wait_for_function(f"() => document.querySelector('.galley [data-id=\"{seat.id}\"]').dataset.state === 'heard'")


def test_without_script_the_page_says_so_and_plain_forms_do_it(browser: Browser, running: Running) -> None:
    context = browser.new_context(java_script_enabled=False, viewport={"width": 1024, "height": 800})
    page = context.new_page()
    page.goto(running.link)
    page.goto(f"{running.address}/cars/{CAR}/review")
    assert "This browser runs no script" in (page.locator(".without").text_content() or "")
    assert page.locator(".deeds").is_hidden()
    assert page.locator(".transport").is_hidden()
    left = len(running.store.car_file(CAR).findings)
    page.get_by_role("article").get_by_role("button", name="Strike").click()
    page.get_by_role("article").get_by_role("button", name="Stands").click()
    page.wait_for_url("**/review?order=doubt")
    file = running.store.car_file(CAR)
    states = [k.finding.state for k in file.findings] + [k.fact.state for k in file.facts]
    assert {State.STRUCK, State.STANDS} < set(states)
    page.get_by_role("button", name="Undo what I decided last").click()
    page.get_by_role("button", name="Undo what I decided last").click()
    file = running.store.car_file(CAR)
    assert {k.finding.state for k in file.findings} | {k.fact.state for k in file.facts} == {State.HEARD}
    assert len(file.findings) == left
    page.get_by_role("button", name="Undo what I decided last").click()
    assert "is left to take back" in (page.text_content("main") or "")
    context.close()


def test_two_tabs_lose_nothing_of_each_other(open_review: Open, running: Running) -> None:
    wing = kept_of(running.store, "front_wing")
    one, two = open_review(f"/{wing.id}"), open_review(f"/{wing.id}")
    press_and_wait(one, "x", until=another(one))
    two.keyboard.press("a")
    two.select_option("#severity", "severe")
    two.press("#severity", "Enter")
    two.wait_for_selector(".both:not([hidden])")
    assert running.store.finding(wing.id).finding.state is State.STRUCK
    assert "struck" in (two.text_content(".both .present") or "")
    assert "severe" in (two.text_content(".both .wanted") or "")
    rows = two.locator(".both tbody tr").all_text_contents()
    assert any("severity" in row and "slight" in row and "severe" in row for row in rows)
    assert Axe().run(two).violations_count == 0
    two.keyboard.press("Escape")
    two.wait_for_selector(".both", state="hidden")
    two.wait_for_function("() => JSON.parse(document.querySelector('.entry').dataset.entry).state === 'struck'")
    assert running.store.finding(wing.id).finding.state is State.STRUCK

    # The other way: theirs is done again on top of what is there now, and both stand in the history.
    seat = kept_of(running.store, "seat")
    one.goto(f"{running.address}/cars/{CAR}/review/{seat.id}")
    two.goto(f"{running.address}/cars/{CAR}/review/{seat.id}")
    for tab in (one, two):
        tab.wait_for_selector(".review[data-ready]")
    press_and_wait(one, "x", until=another(one))
    two.keyboard.press("s")
    two.click(".both .do-mine")
    two.wait_for_selector(".both", state="hidden")
    two.wait_for_function(f"() => document.querySelector('.galley [data-id=\"{seat.id}\"]').dataset.state === 'stands'")
    assert [c.action for c in running.store.finding(seat.id).changes] == ["drawn", "struck", "confirmed"]


def test_what_was_missed_is_entered_at_the_present_moment(open_review: Open, running: Running) -> None:
    wing = kept_of(running.store, "front_wing")
    page = open_review(f"/{wing.id}")
    before = len(running.store.car_file(CAR).findings)
    page.wait_for_function("() => document.querySelector('video').readyState >= 2")
    page.keyboard.press("m")
    page.keyboard.type("grille")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.type("missing")
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.querySelector('.last').textContent.includes('entered by you')")
    file = running.store.car_file(CAR)
    assert len(file.findings) == before + 1
    grille = kept_of(running.store, "grille")
    seen = grille.finding.footings[0]
    assert (grille.finding.state, seen.kind) == (State.STANDS, FootingKind.SEEN)
    loop = shown(open_review(f"/{wing.id}"))["moment"]
    assert loop[1] - 1 <= seen.start_s <= loop[2] + 2
    assert len(grille.stills) == 1
    page.keyboard.press("u")
    page.wait_for_function("() => document.querySelector('.last').textContent.includes('taken back')")
    assert running.store.finding(grille.id).finding.state is State.STRUCK


def test_another_still_is_chosen_by_moving_along_the_film(open_review: Open, running: Running) -> None:
    wing = kept_of(running.store, "front_wing")
    page = open_review(f"/{wing.id}")
    page.wait_for_function("() => document.querySelector('video').readyState >= 2")
    page.keyboard.press("t")
    assert page.evaluate("document.activeElement.id") == "moment"
    page.keyboard.press("Home")
    for _ in range(20):
        page.keyboard.press("ArrowRight")
    at = float(page.input_value("#moment"))
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.querySelector('.last').textContent.includes('another still')")
    still = running.store.finding(wing.id).stills[0]
    assert at == pytest.approx(0.8, abs=0.05)
    assert still.at_s == pytest.approx(at, abs=0.11)
    page.keyboard.press("u")
    page.wait_for_function("() => document.querySelector('.last').textContent.includes('taken back')")
    assert running.store.finding(wing.id).stills == wing.stills


def test_the_film_runs_over_the_moment_again_and_again(open_review: Open, running: Running) -> None:
    page = open_review(f"/{kept_of(running.store, 'front_wing').id}")
    _, start, end = shown(page)["moment"]
    page.wait_for_function("() => !document.querySelector('video').paused")
    page.evaluate(
        "() => { window.seen = []; window.wraps = 0; let was = 0; const v = document.querySelector('video');"
        " setInterval(() => { const at = v.currentTime; if (at < was - 0.5) window.wraps += 1; was = at;"
        " window.seen.push(at); }, 40); }"
    )
    page.wait_for_function("() => window.wraps >= 2")
    seen = page.evaluate("window.seen")
    assert min(seen) >= start - 1
    assert max(seen) <= end + 3
    page.keyboard.press("-")
    assert page.evaluate("document.querySelector('video').playbackRate") == pytest.approx(0.7)
    page.keyboard.press(" ")
    page.wait_for_function("() => document.querySelector('video').paused")


def test_a_film_that_the_browser_cannot_play_is_shown_frame_by_frame(
    open_review: Open, running: Running, make_film: Callable[..., Path], tmp_path: Path
) -> None:
    words = tmp_path / "odd.txt"
    words.write_text("0:02 Nearside front wing, there's a dent in it.\n", encoding="utf-8")
    film = make_film("odd.mp4", codec="mpeg4", frames=60, rate=10, sound=None, gop=10)
    add(running.store, [film], car="odd", transcript=words)
    page = open_review()
    page.goto(f"{running.address}/cars/odd/review")
    page.wait_for_function("() => document.querySelector('.instead').naturalWidth === 320")
    assert "cannot play" in (page.text_content(".rate") or "")
    lead = shown(page)["moment"][1] - 0.5
    assert f"at_s={lead:.3f}" in (page.get_attribute(".instead", "src") or "")
    press_and_wait(page, "s", until=another(page))
    assert running.store.car_file("odd").findings[0].finding.state is State.STANDS


def test_the_keys_are_the_users_own_checked_and_have_a_way_back(open_review: Open, running: Running) -> None:
    page = open_review()
    page.keyboard.press("k")
    page.focus("#key-stands")
    page.keyboard.press("x")
    assert page.is_disabled("dialog .keep")
    assert "wanted for both" in (page.text_content("dialog .wrong") or "")
    page.keyboard.press("5")
    assert page.is_disabled("dialog .keep")
    page.keyboard.press("j")
    assert page.input_value("#key-stands") == "J"
    assert Axe().run(page).violations_count == 0
    page.click("dialog .keep")
    page.reload()
    page.wait_for_selector(".review[data-ready]")
    assert page.text_content('[data-do="stands"] kbd') == "J"
    first = shown(page)
    page.keyboard.press("s")
    assert shown(page)["id"] == first["id"]
    press_and_wait(page, "j", until=another(page))

    page.keyboard.press("k")
    page.click("dialog .as-came")
    page.click("dialog .keep")
    assert page.text_content('[data-do="stands"] kbd') == "S"
    page.keyboard.press("k")
    page.check("dialog .off")
    page.click("dialog .keep")
    now = shown(page)["id"]
    page.keyboard.press("s")
    page.click('[data-do="next"]')
    page.wait_for_function(another(page).replace(shown(page)["id"], now))
    assert running.store.car_file(CAR).findings
    page.evaluate("localStorage.setItem('shutline-review-keys', '{\"off\": 1, \"keys\": []}')")
    page.reload()
    page.wait_for_selector(".review[data-ready]")
    assert page.text_content('[data-do="stands"] kbd') == "S"


def at_odds(store: Store) -> None:
    recording = store.car_file(CAR).recordings[0].id
    heard = [
        Fact("odometer", value, "mi", (Footing(FootingKind.SAID, recording, at, at + 1, str(value)),), 0.9)
        for value, at in ((41_206, 3.0), (52_000, 9.0))
    ]
    store.put_facts(recording, heard)


def test_of_two_values_a_figure_chooses_one(open_review: Open, running: Running) -> None:
    at_odds(running.store)
    page = open_review()
    assert shown(page)["id"] == "odometer"
    assert Axe().run(page).violations_count == 0
    second = page.locator(".values li").nth(1).get_attribute("data-ref")
    press_and_wait(page, "2", until=another(page))
    states = {kept.id: kept.fact.state for kept in running.store.car_file(CAR).facts}
    assert states.pop(str(second)) is State.STANDS
    assert set(states.values()) == {State.STRUCK}
    page.keyboard.press("u")
    page.wait_for_function("() => JSON.parse(document.querySelector('.entry').dataset.entry).odds")
    assert {kept.fact.state for kept in running.store.car_file(CAR).facts} == {State.HEARD}


def second_reading(store: Store) -> None:
    """Lay a second reading beside the car: it asks of a badge, and takes the dent to be in the rear wing."""
    recording = store.car_file(CAR).recordings[0]
    words = [word.text.strip(".,").lower() for word in words_of(recording)]
    dent = words.index("dent")
    proposals = (
        Proposal("rear_wing", "dent", Found.YES, dent - 6, dent + 2),
        Proposal("badge", "present", Found.YES, 0, 2),
    )
    reading = SecondReading(recording.id, "reader.example", "a-model", "2026-03-01T09:00:00.000Z", 1, 1)
    spans = ((0.0, 24.0),)
    store.put_second_reading(KeptSecond(reading, _words_mark(recording.stretches), proposals, spans))
    lay_beside(store, CAR, recording.id)


def test_a_second_reading_is_beside_and_its_questions_are_decided_too(open_review: Open, running: Running) -> None:
    second_reading(running.store)
    wing = kept_of(running.store, "front_wing")
    page = open_review()
    entries = page.locator(".galley li").all_text_contents()
    assert any("Badge: present?" in line for line in entries)
    page = open_review(f"/{wing.id}")
    assert "takes it otherwise" in (page.text_content(".otherwise") or "")
    assert Axe().run(page).violations_count == 0
    press_and_wait(page, "o", until=another(page))
    assert running.store.finding(wing.id).finding.state is State.STRUCK
    rear = kept_of(running.store, "rear_wing")
    assert (rear.finding.state, rear.changes[0].author) == (State.STANDS, "Ida Quill")

    page.locator(".galley li", has_text="Badge: present?").locator("a").click()
    page.wait_for_function("() => JSON.parse(document.querySelector('.entry').dataset.entry).kind === 'question'")
    press_and_wait(page, "x", until=another(page))
    assert kept_of(running.store, "badge").finding.state is State.STRUCK


@pytest.mark.parametrize("width", [1440, 1024, 390])
def test_the_pages_are_for_everybody(open_review: Open, running: Running, width: int) -> None:
    page = open_review(f"/{kept_of(running.store, 'front_wing').id}")
    page.set_viewport_size({"width": width, "height": 844})
    assert Axe().run(page).violations_count == 0, Axe().run(page).generate_report()
    assert too_wide(page) <= 0
    page.keyboard.press("a")
    assert Axe().run(page).violations_count == 0, Axe().run(page).generate_report()
    assert too_wide(page) <= 0
    page.keyboard.press("Escape")
    page.goto(f"{running.address}/cars/{CAR}/review/history?all")
    assert Axe().run(page).violations_count == 0
    assert too_wide(page) <= 0
