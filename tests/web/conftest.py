"""A filmed car in a store of its own, the workbench over it, and somebody who was let in."""

from __future__ import annotations

import shutil
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import cycle
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Page, expect
from starlette.applications import Starlette
from starlette.testclient import TestClient

from shutline.car.findings import Finding, Footing, FootingKind, Found, Position, Side
from shutline.car.prep_done import WorkDone
from shutline.car.vocabulary import vocabulary
from shutline.store import Store
from shutline.usecases.add import add
from shutline.usecases.own_prep import own_prep
from shutline.web import Access, workbench

HERE = "127.0.0.1:8766"
CAR = "ostrel-pavane"

WORDS = """WEBVTT

00:00:01.000 --> 00:00:06.000
Ostrel Pavane, nineteen sixty-eight, in blue. Nearside front wing has a dent in it, only a little one.

00:00:06.500 --> 00:00:12.000
The door shuts well. There's rust on the sill, quite bad, that wants repairing.

00:00:12.500 --> 00:00:18.000
Round the back, the boot lid is straight and the bumper has been replaced. Tyres might be cracked.

00:00:18.500 --> 00:00:23.000
Inside, <b>the seat is torn</b> on the driver's side & the carpet is dry.
"""


@dataclass(frozen=True)
class Chromium:
    """The browser that the tests drive: where it is, and what it is started with so that it asks nothing outside."""

    path: str
    flags: tuple[str, ...] = (
        "--no-sandbox",
        "--disable-gpu",
        "--disable-quic",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
    )


@pytest.fixture(scope="session")
def chromium() -> Chromium:
    found = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
    # A busy machine is no reason to fail.
    expect.set_options(timeout=60_000)
    assert found, "there is no Chromium on the path, and the workbench is tested in one: install it (Debian: chromium)"
    return Chromium(found)


def too_wide(page: Page) -> int:
    """Give by how many pixels a page is wider than its window, once its styles and pictures are there.

    What a script asks of a page whose style sheet still comes is answered as if it had none.
    """
    page.wait_for_load_state("load")
    return int(page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth"))


@pytest.fixture(scope="session")
def filmed(make_film: Callable[..., Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a store with one filmed car; copied for each test."""
    folder = tmp_path_factory.mktemp("yard")
    film = make_film("walk.mp4", frames=24 * 10, rate=10, sound=None, gop=10)
    words = folder / "walk.vtt"
    words.write_text(WORDS, encoding="utf-8")
    with Store.open(folder / "store") as store:
        add(store, [film], car=CAR, title="Ostrel Pavane, blue", transcript=words)
    return folder / "store"


@pytest.fixture
def store(filmed: Path, tmp_path: Path) -> Iterator[Store]:
    shutil.copytree(filmed, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


@pytest.fixture
def access() -> Access:
    return Access(hosts=frozenset({HERE}), author="Ida Quill")


@pytest.fixture
def bench(store: Store, access: Access) -> Starlette:
    return workbench(store, access)


@pytest.fixture
def outside(bench: Starlette) -> TestClient:
    """A browser that was not let in."""
    return TestClient(bench, base_url=f"http://{HERE}", headers={"accept": "text/html"}, follow_redirects=False)


@pytest.fixture
def client(outside: TestClient, access: Access) -> TestClient:
    """A browser that was let in, with the proof of its pages on every request."""
    outside.get(f"/open/{access.token}")
    (session,) = access._sessions.values()
    outside.headers["shutline-proof"] = session.proof
    return outside


@dataclass(frozen=True)
class Running:
    """A workbench that really listens."""

    link: str
    address: str
    store: Store


@pytest.fixture
def running(store: Store) -> Iterator[Running]:
    """The workbench on a free port of this machine, for a real browser."""
    from shutline.web.serving import listen

    listener = listen("127.0.0.1", 0)
    host = f"127.0.0.1:{listener.getsockname()[1]}"
    access = Access(hosts=frozenset({host}), author="Ida Quill")
    server = uvicorn.Server(uvicorn.Config(workbench(store, access), log_level="error", ws="none"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield Running(f"http://{host}/open/{access.token}", f"http://{host}", store)
    server.should_exit = True
    thread.join(timeout=10)


@pytest.fixture(scope="session")
def many_findings() -> Callable[..., None]:
    """Put so many heard findings in place of those drawn from a car's first recording, over all parts in turn."""

    def put(store: Store, car: str, count: int, *, length_s: float = 24.0) -> None:
        words = vocabulary()
        parts = cycle(words.parts.values())
        conditions = cycle(words.conditions.values())
        findings = []
        for number, part, condition in zip(range(count), parts, conditions, strict=False):
            start = length_s * number / count
            quote = f"what was said of it, {number}"
            findings.append(
                Finding(
                    part.id,
                    condition.id,
                    Found.NO if condition.defect and number % 3 == 0 else Found.YES,
                    side=(Side.NEAR, Side.OFF)[number % 2] if part.sided else None,
                    position=(Position.FRONT, Position.REAR)[number // 2 % 2] if part.ended else None,
                    footings=(Footing(FootingKind.SAID, "", start, start + 2.0, quote),),
                    why=(f"«{condition.label}» can mean {condition.label}; taken as said.",),
                    sureness=0.9,
                )
            )
        store.put_findings(store.car_file(car).recordings[0].id, findings)

    return put


@pytest.fixture(scope="session")
def tick_hours() -> Callable[..., None]:
    """Tick hours off on a car; those of no trade are of the whole task."""

    def put(store: Store, job: str, trade: str, hours: str, *, at: str = "sill.near", car: str = "one") -> None:
        known = own_prep()[0].jobs[job]
        work = WorkDone(
            id="",
            task=f"{job}@{at}",
            job=job,
            words=known.name,
            remedy=known.remedy,
            findings=("aa",),
            trade=trade,
            needs=tuple(line.trade for line in known.labour),
            hours=Decimal(hours),
            setup_hours=Decimal(0),
            places=1,
            picture="",
            found="",
            done_on="2026-11-20",
            holds=True,
        )
        store.tick_work(car, work, author="Ida Quill")

    return put
