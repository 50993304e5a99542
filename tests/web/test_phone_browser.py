"""At the car with a phone in a real browser: without signal, after a restart, sent twice, and spoken into."""

from __future__ import annotations

import json
import threading
import time
import wave
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib.resources import files
from pathlib import Path
from typing import Any

import av
import pytest
import uvicorn
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import BrowserContext, Page, Playwright, expect, sync_playwright
from starlette.types import Message, Receive, Scope, Send
from tests.web.conftest import too_wide

from shutline.car.findings import FootingKind
from shutline.car.notes import NoteKind
from shutline.store import Store
from shutline.web import Access, workbench
from shutline.web.serving import listen

CAR = "ostrel-pavane"
PAGE = f"/cars/{CAR}/at-the-car"
# A name that is no loopback address, so that a browser takes http to it for what it is.
ON_NETWORK = "car.test"
ARGUMENTS = [
    "--use-fake-device-for-media-stream",
    "--use-fake-ui-for-media-stream",
    f"--host-resolver-rules=MAP {ON_NETWORK} 127.0.0.1",
]
# A busy machine is no reason to fail.
PATIENCE_MS = 90_000


class Bench:
    """A workbench that can be ended and begun anew under the same address, as when the signal drops."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self.lose: list[str] = []
        self.lost: list[int] = []
        self._listener = listen("127.0.0.1", 0)
        self.port = self._listener.getsockname()[1]
        self.address = f"http://127.0.0.1:{self.port}"
        self.renew()
        self._begin()

    def renew(self) -> None:
        """Forget who was let in, as a workbench that is started anew does."""
        hosts = frozenset({f"127.0.0.1:{self.port}", f"{ON_NETWORK}:{self.port}"})
        self.access = Access(hosts=hosts, author="Ida Quill")

    def link(self, host: str = "127.0.0.1") -> str:
        return f"http://{host}:{self.port}/open/{self.access.token}"

    def _begin(self) -> None:
        app = workbench(self.store, self.access)

        async def losing(scope: Scope, receive: Receive, send: Send) -> None:
            """Take what was sent and let the answer be lost, where that is asked for."""
            if not (self.lose and scope["type"] == "http" and scope["path"].endswith(self.lose[0])):
                await app(scope, receive, send)
                return
            del self.lose[0]

            async def lost(message: Message) -> None:
                if message["type"] == "http.response.start":
                    self.lost.append(message["status"])

            await app(scope, receive, lost)

        self._server = uvicorn.Server(
            uvicorn.Config(losing, log_level="critical", ws="none", timeout_graceful_shutdown=1)
        )
        self._thread = threading.Thread(target=self._server.run, kwargs={"sockets": [self._listener]}, daemon=True)
        self._thread.start()

    def end(self) -> None:
        self._server.should_exit = True
        self._thread.join(timeout=30)
        self._listener.close()

    def begin_anew(self) -> None:
        self._listener = listen("127.0.0.1", self.port)
        self._begin()


@pytest.fixture
def bench(store: Store) -> Iterator[Bench]:
    made = Bench(store)
    yield made
    made.end()


@pytest.fixture(scope="module")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as started:
        yield started


@pytest.fixture
def phone(playwright: Playwright, chromium, tmp_path: Path) -> Callable[..., Any]:
    """Switch a phone on: what it keeps lies in one folder, so that it can be switched off and on again."""

    @contextmanager
    def switch_on(*more: str, width: int | None = None) -> Iterator[BrowserContext]:
        looks = {k: v for k, v in playwright.devices["iPhone 13"].items() if k != "default_browser_type"}
        if width is not None:
            looks["viewport"] = {"width": width, "height": 640}
        context = playwright.chromium.launch_persistent_context(
            str(tmp_path / "phone"),
            executable_path=chromium.path,
            args=[*chromium.flags, *ARGUMENTS, *more],
            **looks,
        )
        context.set_default_timeout(PATIENCE_MS)
        trouble: list[str] = []
        context.on("weberror", lambda error: trouble.append(str(error.error)))
        context.on("console", lambda told: trouble.append(told.text) if "Content Security" in told.text else None)
        yield context
        context.close()
        assert trouble == []

    return switch_on


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    path = tmp_path / "IMG_0001.jpg"
    Image.effect_noise((320, 240), 40).convert("RGB").save(path, "JPEG")
    return path


def come(context: BrowserContext, bench: Bench, place: str = "", host: str = "127.0.0.1") -> Page:
    page = context.new_page()
    page.goto(bench.link(host))
    page.goto(f"http://{host}:{bench.port}{PAGE}{'#' + place if place else ''}")
    return page


def write(page: Page, words: str, condition: str = "") -> None:
    page.click("#write")
    page.fill("#words", words)
    if condition:
        page.select_option("#write-condition", condition)
    page.click("#writing-form .main")
    expect(page.locator("#writing")).to_be_hidden(timeout=PATIENCE_MS)


def take_picture(page: Page, picture: Path) -> None:
    page.set_input_files("#camera", picture)
    expect(page.locator("#showing")).to_be_visible(timeout=PATIENCE_MS)


def nothing_waits(page: Page) -> None:
    expect(page.locator("#phone")).to_have_attribute("data-waiting", "0", timeout=PATIENCE_MS)
    expect(page.locator("#queue")).to_be_hidden(timeout=PATIENCE_MS)


def opens_without_signal(page: Page) -> None:
    expect(page.locator("#limits")).to_have_text("This page opens without signal, too.", timeout=PATIENCE_MS)


def words_kept(store: Store) -> list[str]:
    return sorted(note.words for note in store.car_file(CAR).notes if note.kind is NoteKind.TYPED)


def test_a_part_is_chosen_on_the_plan_or_by_name_and_a_picture_of_it_kept(
    bench: Bench, phone: Callable[..., Any], picture: Path
) -> None:
    with phone() as context:
        page = come(context, bench)
        page.click("#care-known")
        page.tap("#plan-view-near")
        page.tap("#plan-sill-near")
        expect(page.locator("#place")).to_have_text("Nearside sill")
        page.click("#elsewhere")
        page.fill("#seek", "left sill")
        expect(page.locator("#places button:visible")).to_have_text(["Nearside sill"])
        page.click("#places button:visible")
        take_picture(page, picture)
        page.select_option("#show-condition", "rust")
        page.select_option("#show-severity", "severe")
        page.click("#showing-keep")
        nothing_waits(page)
        expect(page.locator("#kept li")).to_have_count(1)
        expect(page.locator("#known")).to_contain_text("rust, severe (seen)")
        page.reload()
        expect(page.locator("#place")).to_have_text("Nearside sill")
        assert page.is_hidden("#care"), "the caution is shown once"
        page.click("#elsewhere")
        expect(page.locator("#last button")).to_have_text(["Nearside sill"])
    car = bench.store.car_file(CAR)
    (kept,) = car.pictures
    digest = kept.original.sha256
    assert (bench.store.originals / digest[:2] / digest[2:4] / digest).read_bytes() == picture.read_bytes()
    (finding,) = [one.finding for one in car.findings if one.finding.footings[0].kind is FootingKind.SEEN]
    assert (finding.part, finding.side, finding.footings[0].source) == ("sill", "near", kept.id)


def test_without_signal_all_is_kept_through_a_reload_a_closed_tab_and_a_restart_and_sent_once(
    bench: Bench, phone: Callable[..., Any], picture: Path
) -> None:
    with phone() as context:
        page = come(context, bench, "sill-near")
        opens_without_signal(page)
        context.set_offline(True)
        write(page, "kept in the first minute")
        expect(page.locator("#standing")).to_contain_text("1 waits to be sent. No signal", timeout=PATIENCE_MS)
        page.reload()
        expect(page.locator("#place")).to_have_text("Nearside sill")
        expect(page.locator("#waiting li")).to_have_count(1)
        # The workbench first, or what waits may be gone before it has ended.
        bench.end()
        context.set_offline(False)
        take_picture(page, picture)
        page.select_option("#show-condition", "rust")
        page.click("#showing-keep")
        expect(page.locator("#waiting li")).to_have_count(3)
        page.close()
        page = context.new_page()
        page.goto(f"{bench.address}{PAGE}#bonnet")
        expect(page.locator("#place")).to_have_text("Bonnet")
        expect(page.locator("#waiting li")).to_have_count(3)
        write(page, "kept after the tab was closed")
        assert bench.store.car_file(CAR).notes == ()
    # The phone is switched off and on; the workbench comes back and has forgotten who was let in.
    bench.renew()
    with phone() as context:
        page = context.new_page()
        page.goto(f"{bench.address}{PAGE}")
        expect(page.locator("#waiting li")).to_have_count(4)
        bench.begin_anew()
        page.click("#send")
        expect(page.locator("#standing")).to_contain_text("come in again", timeout=PATIENCE_MS)
        page.goto(bench.link())
        page.goto(f"{bench.address}{PAGE}")
        nothing_waits(page)
        page.reload()
        nothing_waits(page)
    car = bench.store.car_file(CAR)
    assert words_kept(bench.store) == ["kept after the tab was closed", "kept in the first minute"]
    assert len(car.pictures) == 1
    assert len(car.notes) == 3
    assert sum(one.finding.footings[0].kind is FootingKind.SEEN for one in car.findings) == 1


def test_an_answer_that_was_lost_makes_nothing_twice(bench: Bench, phone: Callable[..., Any], picture: Path) -> None:
    with phone() as context:
        page = come(context, bench, "sill-near")
        opens_without_signal(page)
        bench.lose += ["/words", "/file"]
        write(page, "sent twice", "rust")
        # It goes out again by itself.
        nothing_waits(page)
        # Two pages send the same at once.
        other = context.new_page()
        other.goto(f"{bench.address}{PAGE}#sill-near")
        context.set_offline(True)
        take_picture(page, picture)
        page.click("#showing-keep")
        context.set_offline(False)
        for one in (page, other):
            one.evaluate("document.getElementById('send').click()")
        nothing_waits(page)
        nothing_waits(other)
        assert bench.lost == [201, 201]
    car = bench.store.car_file(CAR)
    assert len(car.notes) == 2
    assert len(car.pictures) == 1
    assert sum(one.finding.condition == "rust" and one.finding.sureness is None for one in car.findings) == 1


def test_a_spoken_note_is_kept_heard_and_read_at_its_place(
    bench: Bench, phone: Callable[..., Any], tmp_path: Path
) -> None:
    sound = tmp_path / "said.wav"
    wanted = say_from_the_demo(sound, 53.4, 60.8)
    with phone(f"--use-file-for-fake-audio-capture={sound}%noloop") as context:
        page = come(context, bench, "rear_wing-off")
        page.tap("#speak")
        expect(page.locator("#clock")).to_have_text("0:09", timeout=PATIENCE_MS)
        page.tap("#speaking-keep")
        expect(page.locator("#speaking")).to_be_hidden(timeout=PATIENCE_MS)
        nothing_waits(page)
    give_up = time.monotonic() + 200
    while bench.store.unfinished() and time.monotonic() < give_up:
        time.sleep(1)
    car = bench.store.car_file(CAR)
    (note,) = car.notes
    recording = next(one for one in car.recordings if one.id == note.source)
    assert (note.kind, note.part, note.side) == (NoteKind.SPOKEN, "rear_wing", "off")
    heard = " ".join(stretch.text for stretch in recording.stretches).lower()
    assert sum(word in heard for word in wanted) >= 0.6 * len(wanted), heard
    found = {
        (one.finding.part, one.finding.side, one.finding.condition)
        for one in car.findings
        if one.finding.footings[0].source == recording.id
    }
    # The words were spoken of the nearside front wing and name no part (demo_truth.json).
    assert found & {("rear_wing", "off", "rust"), ("rear_wing", "off", "blister")}, (found, heard)
    assert "no-picture-track" not in {problem.slug for problem in car.problems}


def test_a_note_whose_page_goes_away_while_it_is_spoken_is_not_lost(bench: Bench, phone: Callable[..., Any]) -> None:
    with phone() as context:
        page = come(context, bench, "bonnet")
        page.click("#speak")
        expect(page.locator("#clock")).to_have_text("0:04", timeout=PATIENCE_MS)
        # Another page opened meanwhile leaves it to the one that listens.
        other = context.new_page()
        other.goto(f"{bench.address}{PAGE}#bonnet")
        expect(other.locator("#waiting li")).to_contain_text("Being spoken", timeout=PATIENCE_MS)
        page.close()
        other.reload()
        nothing_waits(other)
    car = bench.store.car_file(CAR)
    assert [note.kind for note in car.notes] == [NoteKind.SPOKEN]
    length_s = next(one.probe.length_s for one in car.recordings if one.id == car.notes[0].source)
    assert length_s is not None
    assert length_s > 1.5


def say_from_the_demo(path: Path, start_s: float, end_s: float) -> list[str]:
    """Write a stretch of the demo film's sound; give the words that are said in it, by the script it was made from."""
    folder = files("shutline.usecases") / "demo_recording"
    resampler = av.AudioResampler(format="s16", layout="mono", rate=48_000)
    data = bytearray()
    with av.open(str(folder / "walk.mp4")) as film:
        for frame in film.decode(audio=0):
            if start_s <= (frame.time or 0.0) <= end_s:
                for ready in resampler.resample(frame):
                    data += ready.to_ndarray().tobytes()
    with wave.open(str(path), "wb") as out:
        out.setparams((1, 2, 48_000, 0, "NONE", ""))
        out.writeframes(bytes(data))
    truth = json.loads((folder / "demo_truth.json").read_text(encoding="utf-8"))
    return [word.lower().strip(".,") for word, start, end in truth["words"] if start >= start_s and end <= end_s]


def test_what_the_workbench_cannot_take_stays_on_the_phone_with_the_reason(
    bench: Bench, phone: Callable[..., Any], tmp_path: Path
) -> None:
    broken = tmp_path / "broken.jpg"
    broken.write_bytes(b"no picture at all, whatever it is called")
    with phone() as context:
        page = come(context, bench, "bonnet")
        take_picture(page, broken)
        page.click("#showing-keep")
        refused = page.locator("#waiting .refused")
        expect(refused).to_contain_text("broken.jpg", timeout=PATIENCE_MS)
        write(page, "and this goes on behind it")
        expect(page.locator("#waiting li")).to_have_count(1, timeout=PATIENCE_MS)
        with page.expect_download() as saved:
            refused.get_by_role("link", name="Save on phone").click()
        assert Path(saved.value.path()).read_bytes() == broken.read_bytes()
        page.on("dialog", lambda asked: asked.accept())
        refused.get_by_role("button", name="Take away").click()
        nothing_waits(page)
    assert words_kept(bench.store) == ["and this goes on behind it"]


def test_on_a_plain_network_address_it_says_what_will_not_work_and_keeps_all_the_same(
    bench: Bench, phone: Callable[..., Any], picture: Path, make_film: Callable[..., Path]
) -> None:
    sound = make_film("own-recorder.m4a", codec=None, sound="aac", sound_s=2.0)
    with phone() as context:
        page = come(context, bench, "bonnet", ON_NETWORK)
        assert page.evaluate("isSecureContext") is False
        expect(page.locator("#limits")).to_contain_text("On this address")
        assert page.is_hidden("#speak")
        context.set_offline(True)
        take_picture(page, picture)
        page.click("#showing-keep")
        page.set_input_files("#recorder", sound)
        expect(page.locator("#waiting li")).to_have_count(2, timeout=PATIENCE_MS)
        # The workbench was started anew meanwhile.
        bench.end()
        bench.renew()
        bench.begin_anew()
        context.set_offline(False)
        page.evaluate("document.getElementById('send').click()")
        expect(page.locator("#door a")).to_have_attribute("href", "/come-in", timeout=PATIENCE_MS)
        expect(page.locator("#door")).to_be_visible(timeout=PATIENCE_MS)
        page.goto(bench.link(ON_NETWORK))
        page.goto(f"http://{ON_NETWORK}:{bench.port}{PAGE}")
        nothing_waits(page)
    assert [note.kind for note in bench.store.car_file(CAR).notes] == [NoteKind.PICTURE, NoteKind.SPOKEN]


@pytest.mark.parametrize("width", [320, 390])
def test_it_is_within_reach_of_one_hand_and_of_everybody(bench: Bench, phone: Callable[..., Any], width: int) -> None:
    with phone(width=width) as context:
        page = come(context, bench)
        for show in ("", "#care-known", "#all summary"):
            if show:
                page.click(show)
            looked_at(page, width)
        page.goto(f"{bench.address}{PAGE}#front_wing-near")
        expect(page.locator("#known li").first).to_be_visible()
        looked_at(page, width)
        page.click("#write")
        looked_at(page, width)


def looked_at(page: Page, width: int) -> None:
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    assert too_wide(page) <= 0
    small = page.evaluate(
        """() => [...document.querySelectorAll("main button, main select, main input[type=search], .deed, summary")]
            .filter((one) => one.checkVisibility() && one.getBoundingClientRect().height < 56)
            .map((one) => [one.textContent.trim().slice(0, 40), one.getBoundingClientRect().height])"""
    )
    assert small == []
