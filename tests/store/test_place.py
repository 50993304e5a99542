"""A store opens what is its own, says what is in the way, and leaves everything else as it was."""

import errno
import os
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, event

from shutline.car.carfile import Recording
from shutline.car.errors import BrokenWorldError, NotFoundError, UserError
from shutline.store import Store, upgrade
from shutline.store.tables import REVISION

CAR = "corvane-ninety"

# Run in another process: opens the folder given, says "ready", and does what is asked.
HOLDS_THE_LOCK = """
import sys, sqlite3, time
connection = sqlite3.connect(sys.argv[1] + "/shutline.sqlite", isolation_level=None)
connection.execute("BEGIN IMMEDIATE")
print("ready", flush=True)
time.sleep(30)
"""
IS_KILLED_WHILE_WRITING = """
import sys, time
from pathlib import Path
from shutline.store import Store
from shutline.car.findings import Fact
with Store.open(Path(sys.argv[1])) as store:
    recording = store.car_file("corvane-ninety").recordings[0].id
    store.begin_stage(recording, "read", "k")
    with store.together():
        store.put_facts(recording, [Fact("year", year) for year in range(2000)])
        store.finish_stage(recording, "read", "k")
        print("ready", flush=True)
        time.sleep(30)
"""


def other_process(code: str, folder: Path) -> "subprocess.Popen[str]":
    process = subprocess.Popen([sys.executable, "-c", code, str(folder)], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    return process


def kill(process: "subprocess.Popen[str]") -> None:
    process.kill()
    process.communicate()


def files(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() if p.is_file() else b"" for p in folder.rglob("*")}


@pytest.mark.parametrize(
    "content",
    [b"not a database at all", b"\x00" * 5000, b"SQLite format 3\x00" + b"\xff" * 5000],
    ids=["text", "zeros", "a false header"],
)
def test_a_file_that_is_no_database_is_refused_and_left_as_it_is(content: bytes, tmp_path: Path) -> None:
    (tmp_path / "shutline.sqlite").write_bytes(content)
    with pytest.raises((UserError, BrokenWorldError)) as caught:
        Store.open(tmp_path)
    assert caught.value.problem.slug in {"not-a-store", "store-damaged"}
    assert files(tmp_path) == {"shutline.sqlite": content}


def test_the_database_of_another_program_is_refused_and_left_as_it_is(tmp_path: Path) -> None:
    with closing(sqlite3.connect(tmp_path / "shutline.sqlite")) as other:
        other.execute("CREATE TABLE stamps (country TEXT)")
    before = files(tmp_path)
    with pytest.raises(UserError) as caught:
        Store.open(tmp_path)
    assert caught.value.problem.slug == "not-a-store"
    assert files(tmp_path) == before


def test_an_empty_file_becomes_a_store(tmp_path: Path) -> None:
    (tmp_path / "shutline.sqlite").touch()
    with Store.open(tmp_path) as store:
        assert store.cars() == ()


def test_a_folder_that_is_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "store").write_text("mine", encoding="utf-8")
    with pytest.raises(UserError) as caught:
        Store.open(tmp_path / "store")
    assert caught.value.problem.slug == "store-not-a-folder"


def test_a_folder_without_a_store_stays_so_when_none_may_be_made(tmp_path: Path) -> None:
    with pytest.raises(NotFoundError) as caught:
        Store.open(tmp_path, create=False)
    assert caught.value.problem.slug == "no-store"
    assert files(tmp_path) == {}


@pytest.mark.parametrize("name", ["a b", "ünïcode", "100%", "what?#&", "file:x"])
def test_a_folder_may_have_an_odd_name(name: str, tmp_path: Path) -> None:
    if sys.platform == "win32" and set(name) & set('?:"'):
        pytest.skip("Windows has no such names")
    with Store.open(tmp_path / name) as store:
        store.create_car(CAR)
    assert (tmp_path / name / "shutline.sqlite").is_file()
    with Store.open(tmp_path / name, create=False) as store:
        assert [car.name for car in store.cars()] == [CAR]
    assert sorted(p.name for p in tmp_path.iterdir()) == [name]


def test_a_newer_store_is_refused_and_left_as_it_is(store: Store) -> None:
    store.close()
    file = store.folder / "shutline.sqlite"
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
        connection.commit()
    with pytest.raises(UserError) as caught:
        Store.open(store.folder)
    assert caught.value.problem.slug == "store-newer"
    with closing(sqlite3.connect(file)) as connection:
        assert connection.execute("SELECT version_num FROM alembic_version").fetchone() == ("9999",)
    assert list(store.folder.glob("*before*")) == []


def test_a_store_locked_by_another_run_is_said_so_within_the_time_and_can_be_read(
    store: Store, recording: Recording
) -> None:
    process = other_process(HOLDS_THE_LOCK, store.folder)
    try:
        with Store.open(store.folder, lock_timeout_s=0.3) as waiting:
            assert waiting.cars() == store.cars()
            began = time.monotonic()
            with pytest.raises(BrokenWorldError) as caught:
                waiting.create_car("b")
            assert caught.value.problem.slug == "store-locked"
            assert 0.2 < time.monotonic() - began < 5
    finally:
        kill(process)
    store.create_car("c")


def test_a_run_killed_in_the_middle_leaves_a_store_without_halves(store: Store, recording: Recording) -> None:
    process = other_process(IS_KILLED_WHILE_WRITING, store.folder)
    kill(process)
    with Store.open(store.folder) as after:
        assert after.car_file(CAR).facts == ()
        assert not after.stage_done(recording.id, "read", "k")
        assert [s.name for s in after.stages(recording.id)] == ["read"]
    with closing(sqlite3.connect(store.folder / "shutline.sqlite")) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []


def test_a_full_disk_is_said_so_and_nothing_of_the_step_is_kept(store: Store, recording: Recording, said: Any) -> None:
    # SQLite's own limit gives the engine's own error, the same number as a disk without room.
    store.close()
    before = store.car_file(CAR)

    def no_room(connection: sqlite3.Connection, _record: object) -> None:
        (pages,) = connection.execute("PRAGMA page_count").fetchone()
        connection.execute(f"PRAGMA max_page_count = {pages}")

    event.listen(Engine, "connect", no_room)
    try:
        with Store.open(store.folder) as full, pytest.raises(BrokenWorldError) as caught:
            full.put_findings(recording.id, [said(f"rust {n}" * 50) for n in range(500)])
    finally:
        event.remove(Engine, "connect", no_room)
    assert caught.value.problem.slug == "disk-full"
    assert store.car_file(CAR) == before


def test_no_room_for_the_copy_before_an_upgrade_stops_the_upgrade(
    store: Store, recording: Recording, monkeypatch: pytest.MonkeyPatch
) -> None:
    store.close()

    def no_room(*_: object, **__: object) -> Path:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with closing(sqlite3.connect(store.folder / "shutline.sqlite")) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '0001'")
        connection.commit()
    monkeypatch.setattr(upgrade, "_copy", no_room)
    with pytest.raises(BrokenWorldError) as caught:
        Store.open(store.folder)
    assert caught.value.problem.slug == "disk-full"
    with closing(sqlite3.connect(store.folder / "shutline.sqlite")) as connection:
        assert connection.execute("SELECT version_num FROM alembic_version").fetchone() == ("0001",)
    assert REVISION != "0001"


def test_importing_the_store_loads_no_database_library() -> None:
    code = "import sys, shutline.store; sys.exit(any(m in sys.modules for m in ('sqlalchemy', 'alembic', 'sqlite3')))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_opening_a_store_that_is_current_loads_no_migrations(store: Store) -> None:
    code = (
        "import sys, pathlib; from shutline.store import Store; Store.open(pathlib.Path(sys.argv[1])).close(); "
        "sys.exit('alembic' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code, str(store.folder)], check=False).returncode == 0
