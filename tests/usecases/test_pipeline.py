"""A run that is stopped goes on where it was, and comes to the same end."""

import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from shutline.car.carfile import CarFile
from shutline.car.errors import StoppedError
from shutline.speech.split import Piece
from shutline.store import Store
from shutline.usecases import pipeline
from shutline.usecases.add import add
from shutline.usecases.progress import Stop

READING = Path(__file__).resolve().parents[1] / "published/two_cities.flac"
"""Forty-four seconds of a real voice; see README.md beside it."""


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "store") as opened:
        yield opened


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory: pytest.TempPathFactory) -> CarFile:
    with Store.open(tmp_path_factory.mktemp("undisturbed")) as opened:
        add(opened, [READING], car="blue")
        return opened.car_file("blue")


def words_of(car: CarFile) -> list[object]:
    return [(w.text, w.start_s, w.end_s, w.timing) for s in car.recordings[0].stretches for w in s.words]


def test_the_stages_stand_in_one_order() -> None:
    assert [stage.name for stage in pipeline.STAGES] == ["words", "remarks", "stills", "figures", "engine"]


@pytest.mark.slow
def test_a_run_killed_while_listening_goes_on_and_hears_the_same(tmp_path: Path, undisturbed: CarFile) -> None:
    folder = tmp_path / "store"
    command = [sys.executable, "-m", "shutline", "add", str(READING), "--car", "blue", "--store", str(folder)]
    run = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
    deadline = time.monotonic() + 120
    while not pieces(folder) and time.monotonic() < deadline and run.poll() is None:
        time.sleep(0.05)
    assert run.poll() is None, f"it ended before it could be killed: {run.stderr.read() if run.stderr else ''}"
    run.kill()
    run.communicate()
    assert pieces(folder) >= 1
    with Store.open(folder) as opened:
        assert not opened.car_file("blue").recordings[0].complete
        assert not opened.car_file("blue").recordings[0].stretches

    again = subprocess.run(command, check=False, capture_output=True, text=True)

    assert again.returncode == 0, again.stderr
    assert not list(folder.rglob("*.part"))
    with Store.open(folder) as opened:
        car = opened.car_file("blue")
    assert car.recordings[0].complete
    assert words_of(car) == words_of(undisturbed)
    assert [k.finding for k in car.findings] == [k.finding for k in undisturbed.findings]


def pieces(folder: Path) -> int:
    """Count the pieces of speech in the store by looking into its file from outside."""
    file = folder / "shutline.sqlite"
    if not file.is_file():
        return 0
    try:
        with sqlite3.connect(f"file:{file}?mode=ro", uri=True) as outside:
            count: int = outside.execute("SELECT count(*) FROM heard_segment").fetchone()[0]
            return count
    except sqlite3.OperationalError:
        return 0
    finally:
        outside.close()


@pytest.mark.slow
def test_pieces_that_were_heard_are_not_heard_again(
    store: Store, undisturbed: CarFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    from shutline.speech import recognise

    counted: list[int] = []
    hear = recognise._segment
    stop = Stop()

    def counting(piece: Piece, **options: object) -> object:
        counted.append(piece.index)
        stop.ask()  # while the first pieces are being listened to, and the others wait
        return hear(piece, **options)

    monkeypatch.setattr(recognise, "_segment", counting)
    with pytest.raises(StoppedError, match="same command again"):
        add(store, [READING], car="blue", stop=stop)
    first = len(counted)
    add(store, [READING], car="blue")
    both = len(counted)
    add(store, [READING], car="blue")

    assert 0 < first < both
    assert sorted(counted) == list(range(both)), "a piece was heard twice, or not at all"
    assert len(counted) == both
    assert words_of(store.car_file("blue")) == words_of(undisturbed)


@pytest.mark.skipif(os.name == "nt", reason="Ctrl-C is sent as a signal")
def test_ctrl_c_stops_at_the_next_piece_with_exit_code_1(tmp_path: Path) -> None:
    folder = tmp_path / "store"
    run = subprocess.Popen(
        [sys.executable, "-m", "shutline", "add", str(READING), "--store", str(folder)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )
    deadline = time.monotonic() + 120
    while not pieces(folder) and time.monotonic() < deadline and run.poll() is None:
        time.sleep(0.05)

    run.send_signal(signal.SIGINT)
    _, shown = run.communicate(timeout=120)

    assert run.returncode == 1
    assert "stopping after this piece" in shown
    assert "same command again" in shown
    assert "Traceback" not in shown
