"""A store with one car and one recording in it, and a clock that a test can trust."""

import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from shutline.car.carfile import Recording
from shutline.car.findings import Finding, Footing, FootingKind, Found
from shutline.car.recordings import Kind, Original
from shutline.store import Store

CAR = "corvane-ninety"


class Ticking:
    """One second later each time it is asked."""

    def __init__(self) -> None:
        self.now = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.now += timedelta(seconds=1)
        return self.now


@pytest.fixture(scope="session")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of an empty store, made once: migrating takes longer than copying."""
    folder = tmp_path_factory.mktemp("empty") / "store"
    Store.open(folder).close()
    return folder


@pytest.fixture
def store(tmp_path: Path, empty: Path) -> Iterator[Store]:
    shutil.copytree(empty, tmp_path / "store")
    with Store.open(tmp_path / "store", clock=Ticking()) as opened:
        yield opened


@pytest.fixture
def film() -> Original:
    return Original("5e" * 32, "walk round.mov", 1_234, Kind.FILM)


@pytest.fixture
def recording(store: Store, film: Original) -> Recording:
    store.create_car(CAR, title="Corvane Ninety")
    return store.add_recording(CAR, film)


@pytest.fixture
def said() -> Callable[..., Finding]:
    def make(quote: str = "rust in the bonnet", part: str = "bonnet", condition: str = "rust", **fields) -> Finding:
        footing = Footing(FootingKind.SAID, "", 1.5, 2.5, quote, ("cue-1",))
        made = {"found": Found.YES, "footings": (footing,), "why": ("the words name it",), "sureness": 0.8, **fields}
        return Finding(part, condition, **made)

    return make
