"""Many threads and processes write without losing anything, and the engine itself refuses to lose a row."""

import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from shutline.car.carfile import Recording
from shutline.car.findings import Fact, Side
from shutline.car.recordings import Original
from shutline.store import StaleError, Store
from shutline.store.tables import Verbatim

CAR = "corvane-ninety"

ADDS_FACTS = """
import sys
from pathlib import Path
from shutline.store import Store
from shutline.car.findings import Fact
with Store.open(Path(sys.argv[1]), lock_timeout_s=60) as store:
    for n in range(40):
        store.add_fact("corvane-ninety", Fact("colour", f"{sys.argv[2]}-{n}"), author=sys.argv[2])
"""


@pytest.mark.slow
def test_eight_threads_with_fifty_commits_each_lose_nothing(store: Store, recording: Recording) -> None:
    errors: list[BaseException] = []

    def work(name: str) -> None:
        try:
            for n in range(50):
                store.add_fact(CAR, Fact("colour", f"{name}-{n}"), author=name)
                store.find_car(CAR)
        except BaseException as error:  # noqa: BLE001
            errors.append(error)

    threads = [threading.Thread(target=work, args=(f"thread-{n}",)) for n in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert errors == []
    assert {k.fact.value for k in store.car_file(CAR).facts} == {f"thread-{t}-{n}" for t in range(8) for n in range(50)}


@pytest.mark.slow
def test_two_processes_write_to_one_store(store: Store, recording: Recording) -> None:
    both = [subprocess.Popen([sys.executable, "-c", ADDS_FACTS, str(store.folder), name]) for name in ("Ann", "Bob")]
    assert [process.wait() for process in both] == [0, 0]
    kept = store.car_file(CAR).facts
    assert {k.fact.value for k in kept} == {f"{name}-{n}" for name in ("Ann", "Bob") for n in range(40)}
    assert len({k.id for k in kept}) == 80


@pytest.mark.slow
def test_two_processes_may_make_the_same_store_at_once(tmp_path: Path) -> None:
    code = "import sys, pathlib; from shutline.store import Store; Store.open(pathlib.Path(sys.argv[1])).close()"
    both = [subprocess.Popen([sys.executable, "-c", code, str(tmp_path / "s")]) for _ in range(2)]
    assert [process.wait() for process in both] == [0, 0]
    with Store.open(tmp_path / "s") as store:
        assert store.create_car("a").name == "a"


def test_of_two_who_change_one_finding_at_once_one_is_told(store: Store, recording: Recording, said: Any) -> None:
    for round_number in range(10):
        store.put_findings(recording.id, [said(f"words {round_number}")])
        kept = next(k for k in store.car_file(CAR).findings if k.version == 1)
        barrier = threading.Barrier(2)
        outcomes: list[object] = []

        def change(
            side: Side, finding_id: str = kept.id, barrier: threading.Barrier = barrier, out: Any = outcomes
        ) -> None:
            barrier.wait()
            try:
                done = store.change_finding(finding_id, action="amend", author=side, expected_version=1, side=side)
                out.append(done.finding.side)
            except StaleError as error:
                out.append(error)

        threads = [threading.Thread(target=change, args=(side,)) for side in (Side.NEAR, Side.OFF)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert sum(isinstance(outcome, StaleError) for outcome in outcomes) == 1
        assert store.finding(kept.id).finding.side in outcomes


def raw(store: Store) -> sqlite3.Connection:
    connection = sqlite3.connect(store.folder / "shutline.sqlite")
    connection.execute("PRAGMA foreign_keys = ON")
    return connection


@pytest.mark.parametrize("table", ["finding", "fact", "change", "original", "footing", "car", "recording", "stretch"])
def test_the_engine_refuses_to_delete(table: str, store: Store, recording: Recording, said: Any) -> None:
    store.put_findings(recording.id, [said()])
    store.put_facts(recording.id, [Fact("year", 1966)])
    store.set_car_details(CAR, author="Ann", doors=2)
    store.replace_stretches(recording.id, [stretch()])
    with closing(raw(store)) as connection:
        (rows,) = connection.execute(f"SELECT count(*) FROM {table}").fetchone()  # noqa: S608
        assert rows
        # Without foreign keys, so that it is the rule itself that refuses.
        connection.execute("PRAGMA foreign_keys = OFF")
        with pytest.raises(sqlite3.IntegrityError, match="nothing is deleted"):
            connection.execute(f"DELETE FROM {table}")  # noqa: S608


def stretch() -> Any:
    from shutline.car.speech import StretchOrigin, stretch_of

    return stretch_of("no rust", 0, 1, origin=StretchOrigin.HEARD)


def test_the_engine_refuses_to_rewrite_history_or_an_original(store: Store, recording: Recording) -> None:
    store.set_car_details(CAR, author="Ann", doors=2)
    with closing(raw(store)) as connection:
        for statement in ("UPDATE change SET author = 'Bob'", "UPDATE original SET sha256 = 'ff'"):
            with pytest.raises(sqlite3.IntegrityError, match="never rewritten"):
                connection.execute(statement)


def test_foreign_keys_are_enforced_on_every_connection(store: Store, recording: Recording) -> None:
    with closing(raw(store)) as connection, pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
        connection.execute("UPDATE recording SET car_id = 12345")

    def settings_seen() -> set[tuple[object, ...]]:
        with store._db.read() as connection:
            names = ("foreign_keys", "synchronous", "journal_mode")
            return {tuple(connection.exec_driver_sql(f"PRAGMA {name}").scalar() for name in names)}

    seen: set[tuple[object, ...]] = settings_seen()
    threads = [threading.Thread(target=lambda: seen.update(settings_seen())) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert seen == {(1, 2, "wal")}


def test_a_block_inside_a_block_is_one(store: Store, film: Original) -> None:
    def broken() -> None:
        with store.together():
            store.create_car("a")
            with store.together():
                store.add_recording("a", film)
            assert store.find_car("a").recordings == 1
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        broken()
    assert store.cars() == ()
    store.create_car("a")


def test_a_reader_sees_one_state_and_not_the_open_write_of_another_thread(store: Store) -> None:
    seen: list[object] = []
    with store.together():
        store.create_car("a")
        thread = threading.Thread(target=lambda: seen.append(store.cars()))
        thread.start()
        thread.join()
        assert len(store.cars()) == 1
    assert seen == [()]


@pytest.mark.parametrize("text", ["", "plain", "\x00", "\ud800\udfff", "\ue5e5", "\ue5e50000", "é🙂\x1f"])
def test_text_comes_back_exactly_and_holds_nothing_an_engine_refuses(text: str) -> None:
    kind: Any = Verbatim()
    written = kind.process_bind_param(text, None)
    assert "\x00" not in written
    written.encode("utf-8")
    assert kind.process_result_value(written, None) == text
