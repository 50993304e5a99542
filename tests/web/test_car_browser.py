"""The car's page in a real browser: film, words, Plan and findings move together, by mouse and by keys."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, sync_playwright
from tests.web.conftest import too_wide

from shutline.car.speech import StretchOrigin, stretch_of

CAR = "ostrel-pavane"
# A busy machine is slow; what is fast enough is measured in bench/.
_PATIENCE_MS = 90_000


@pytest.fixture(scope="module")
def browser(chromium) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium.path, args=list(chromium.flags))
        yield opened
        opened.close()


@pytest.fixture
def visit(browser: Browser, running) -> Iterator[Callable[..., Page]]:
    """Open the car's page in a window of a size; anything the page complains of fails the test."""
    trouble: list[str] = []
    opened = []

    def go(width: int = 1440, height: int = 900, *, then: str = "") -> Page:
        context = browser.new_context(viewport={"width": width, "height": height}, reduced_motion="reduce")
        opened.append(context)
        page = context.new_page()
        page.set_default_timeout(_PATIENCE_MS)
        page.on("pageerror", lambda error: trouble.append(str(error)))
        page.on("console", lambda said: trouble.append(said.text) if said.type in {"error", "warning"} else None)
        page.goto(running.link)
        page.goto(f"{running.address}/cars/{CAR}{then}")
        page.wait_for_selector("html[data-ready]", state="attached")
        return page

    yield go
    for context in opened:
        context.close()
    assert not trouble


def until(page: Page, so: Callable[[], bool]) -> None:
    """Wait for something; the page's own policy lets no test evaluate words in it."""
    for _ in range(_PATIENCE_MS // 100):
        if so():
            return
        page.wait_for_timeout(100)
    pytest.fail("it did not come about")


def present_s(page: Page) -> float:
    return float(page.evaluate("document.querySelector('video').currentTime"))


def lit(page: Page) -> str:
    return str(page.locator(".words .lit").text_content())


def chosen_keys(page: Page) -> set[str]:
    return set(page.eval_on_selector_all(".plan [aria-pressed=true]", "all => all.map((one) => one.id)"))


def test_a_word_takes_the_film_to_its_moment(visit: Callable[..., Page]) -> None:
    page = visit()
    page.locator(".words p").nth(1).hover()
    word = page.locator(".words p").nth(1).locator("[data-word]", has_text="rust").first
    word.click()
    assert lit(page).startswith("rust")
    assert 6.5 < present_s(page) < 12.0


def test_a_finding_moves_film_words_and_plan(visit: Callable[..., Page]) -> None:
    page = visit()
    entry = page.locator("details.one", has_text="Dent").first
    number = str(entry.get_attribute("id")).removeprefix("finding-")
    entry.locator("summary").click()
    assert 1.0 <= present_s(page) < 6.0
    assert "front-wing-near" in " ".join(chosen_keys(page)).replace("_", "-")
    assert page.locator(".words .gave.chosen").count() > 0
    assert number in str(page.locator(".words .gave.chosen").first.get_attribute("data-of")).split()
    assert entry.locator(".more").is_visible()
    assert page.url.endswith(f"#finding-{number}")


def test_a_part_shows_what_was_found_there_and_the_film_jumps(visit: Callable[..., Page]) -> None:
    page = visit()
    page.locator("#plan-boot_lid").dispatch_event("click")
    assert page.locator("#found-heading").text_content() == "Boot lid"
    shown = page.locator("details.one:visible")
    assert shown.count() >= 1
    assert all("boot lid" in place.lower() for place in page.locator(".place:visible h4").all_text_contents())
    assert 12.0 <= present_s(page) < 18.0
    assert chosen_keys(page) == {"plan-boot_lid"}
    page.locator(".found .all").click()
    assert page.locator("details.one:visible").count() > shown.count() or shown.count() > 1
    assert page.locator("#found-heading").text_content() == "What was found"


def test_a_part_that_nobody_spoke_of_is_not_called_good(visit: Callable[..., Page]) -> None:
    page = visit()
    page.locator("#plan-fuel_tank").dispatch_event("click")
    assert page.locator("details.one:visible").count() == 0
    assert "That is no good news, and no bad" in str(page.locator(".found .none").text_content())


def test_everything_can_be_done_by_keys(visit: Callable[..., Page]) -> None:
    page = visit()
    page.locator(".plan [role=button][tabindex='0']").focus()
    before = page.evaluate("document.activeElement.id")
    page.keyboard.press("ArrowRight")
    assert page.evaluate("document.activeElement.id") != before
    page.keyboard.press("Enter")
    assert len(chosen_keys(page)) == 1
    page.keyboard.press("Escape")
    assert chosen_keys(page) == set()

    page.locator(".words").focus()
    page.keyboard.press("ArrowRight")
    first = lit(page)
    page.keyboard.press("ArrowRight")
    assert lit(page) != first
    page.keyboard.press("ArrowDown")
    assert page.locator("details.one.chosen").count() == 1
    chosen = page.locator("details.one.chosen").get_attribute("id")
    page.keyboard.press("ArrowDown")
    assert page.locator("details.one.chosen").get_attribute("id") != chosen
    page.keyboard.press("Space")
    until(page, lambda: not page.evaluate("document.querySelector('video').paused"))


def test_the_words_are_lit_as_they_are_spoken(visit: Callable[..., Page]) -> None:
    page = visit()
    page.evaluate("document.querySelector('video').muted = true")
    page.locator(".words").focus()
    page.keyboard.press("ArrowRight")
    before = lit(page)
    page.keyboard.press("Space")
    until(page, lambda: lit(page) != before)
    until(page, lambda: page.locator(".plan .now").count() > 0)


def test_parts_of_the_plan_are_buttons_with_names(visit: Callable[..., Page]) -> None:
    page = visit()
    part = page.get_by_role("button", name="boot lid: 1 finding")
    assert part.or_(page.get_by_role("button", name="boot lid: ")).count() >= 1
    assert page.get_by_role("button", name="fuel tank: nothing said").count() == 1
    assert page.locator(".plan [role=button][tabindex='0']").count() == 1


def test_a_phone_has_the_plan_folded_and_nothing_wider_than_itself(visit: Callable[..., Page]) -> None:
    page = visit(390, 844)
    assert page.locator(".plan.folded").count() == 1
    assert too_wide(page) <= 0
    page.locator("#plan-boot_lid").dispatch_event("click")
    assert page.locator("#found-heading").text_content() == "Boot lid"


@pytest.mark.parametrize(("width", "height"), [(1440, 900), (1024, 768), (390, 844)])
def test_axe_finds_nothing(visit: Callable[..., Page], width: int, height: int) -> None:
    page = visit(width, height)
    page.locator("#plan-boot_lid").dispatch_event("click")
    found = Axe().run(page).response["violations"]
    assert [(one["id"], [node["target"] for node in one["nodes"]][:3]) for one in found] == []


def test_a_thousand_findings_can_be_worked_with(
    visit: Callable[..., Page], running, many_findings: Callable[..., None]
) -> None:
    many_findings(running.store, CAR, 1000)
    page = visit()
    assert page.locator("details.one").count() < 400
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.locator("#plan-bonnet").dispatch_event("click")
    until(page, lambda: page.locator("details.one:visible").count() > 0)
    assert page.locator("details.one:visible").count() < 100
    page.locator(".found .all").click()
    # One far down, by its number in the address and by its number in the list.
    page.evaluate("location.hash = 'finding-701'")
    until(page, lambda: page.locator("#finding-701.chosen[open]").count() == 1)
    page.locator("#finding-702 summary").click()
    until(page, lambda: page.locator("details.one.chosen").get_attribute("id") == "finding-702")
    assert sum("/stills/" in address or "/small/" in address for address in asked) < 100


def test_runs_of_findings_come_into_the_list_and_close_up(
    visit: Callable[..., Page], running, many_findings: Callable[..., None]
) -> None:
    many_findings(running.store, CAR, 450)
    page = visit()
    page.locator(".rest a", has_text="Findings 101 to 200").focus()
    page.keyboard.press("Enter")
    until(page, lambda: page.locator("#finding-150").count() == 1)
    assert page.evaluate("document.activeElement.closest('details')?.id") == "finding-101"
    while page.locator(".list .rest").count():
        # It may be gone by now, for what is near comes by itself.
        page.evaluate("document.querySelector('.list .rest')?.scrollIntoView()")
        page.wait_for_timeout(200)
    numbers = page.eval_on_selector_all("details.one", "all => all.map((one) => Number(one.id.slice(8)))")
    assert numbers == list(range(1, 451))
    titles = page.locator(".list .group > h3").all_text_contents()
    assert len(titles) == len(set(titles))


def test_words_that_come_later_can_be_walked_into(visit: Callable[..., Page], running) -> None:
    said = tuple(
        stretch_of(f"Number {at} is said.", at * 0.05, at * 0.05 + 0.05, origin=StretchOrigin.TRANSCRIPT)
        for at in range(400)
    )
    running.store.replace_stretches(running.store.car_file(CAR).recordings[0].id, said)
    page = visit(then="?at=7.4")
    until(page, lambda: page.locator(".words .lit").count() == 1)
    assert "Number 14" in str(page.locator(".words p:has(.lit)").text_content())
    page.locator(".words").focus()
    for _ in range(20):
        page.keyboard.press("ArrowRight")
        page.wait_for_timeout(30)
    until(page, lambda: "Number 15" in str(page.locator(".words p:has(.lit)").text_content()))


def test_a_moment_in_the_address_is_gone_to(visit: Callable[..., Page]) -> None:
    page = visit(then="?recording=1&at=13.5")
    until(page, lambda: abs(present_s(page) - 13.5) < 0.2)
    assert page.locator("#now .lit").count() == 1


def test_without_script_the_plan_is_a_picture_and_all_else_is_there(browser: Browser, running) -> None:
    context = browser.new_context(java_script_enabled=False, viewport={"width": 1440, "height": 900})
    page = context.new_page()
    page.set_default_timeout(_PATIENCE_MS)
    page.goto(running.link)
    page.goto(f"{running.address}/cars/{CAR}")
    drawn = page.locator("noscript img.plan, img.plan")
    assert drawn.count() == 1
    assert drawn.bounding_box()["height"] > 200  # type: ignore[index]
    assert not page.locator("svg.waiting").is_visible()
    page.locator("details.one summary").first.click()
    assert page.locator("details.one .footing").first.is_visible()
    context.close()


def test_one_who_looks_is_told_when_the_car_was_changed_meanwhile(
    visit: Callable[..., Page], running, many_findings: Callable[..., None]
) -> None:
    many_findings(running.store, CAR, 450)
    page = visit()
    many_findings(running.store, CAR, 449)
    page.locator(".list .rest").last.scroll_into_view_if_needed()
    until(page, lambda: "changed meanwhile" in str(page.locator(".told").text_content()))
