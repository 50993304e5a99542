from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from shutline.sealed import Packed, Payload, SealKey, own_key, pack

FILES = (
    Payload("car-file.json", b'{"title": "Calder Merlin"}\n', "the car file"),
    Payload("report.html", b"<p>rust in the nearside sill</p>\n", "the report"),
    Payload("originals/aa.mp4", bytes(range(200)), "an original"),
)


@pytest.fixture(scope="session")
def small_files() -> tuple[Payload, ...]:
    return FILES


@pytest.fixture(scope="session")
def key(tmp_path_factory: pytest.TempPathFactory) -> SealKey:
    return own_key(tmp_path_factory.mktemp("settings"))


@pytest.fixture
def sealed(tmp_path: Path, key: SealKey) -> Callable[..., Packed]:
    """Pack a small car file."""

    def make(name: str = "merlin-offered", **more: object) -> Packed:
        return pack(
            tmp_path / name,
            FILES,
            statement={"car": "merlin", "occasion": "offered", "former": None},
            info={"Source-Organization": "Halloran & Pike", "Bagging-Date": "2026-11-25"},
            key=key,
            **more,  # type: ignore[arg-type]
        )

    return make
