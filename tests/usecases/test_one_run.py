"""Work that one run at a time may do."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from shutline.car.errors import BrokenWorldError, StoppedError
from shutline.usecases.one_run import one_run
from shutline.usecases.progress import Stop

HOLDER = """
import sys
from pathlib import Path
from shutline.usecases.one_run import one_run
from shutline.usecases.progress import Stop
with one_run(Path(sys.argv[1]), "walk.mp4", stop=Stop(), waiting=lambda: None):
    print("held", flush=True)
    sys.stdin.readline()
"""


def test_the_second_waits_until_the_first_is_done_or_killed(tmp_path: Path) -> None:
    lock, waited = tmp_path / "a.lock", list[int]()
    with subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(lock)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"

        def waiting() -> None:
            waited.append(1)
            if len(waited) == 2:
                holder.kill()

        with one_run(lock, "walk.mp4", stop=Stop(), waiting=waiting):
            assert holder.wait(5) != 0
    assert len(waited) >= 2


def test_waiting_is_stopped(tmp_path: Path) -> None:
    lock, stop = tmp_path / "a.lock", Stop()
    with one_run(lock, "walk.mp4", stop=Stop(), waiting=lambda: None), pytest.raises(StoppedError):  # noqa: SIM117
        with one_run(lock, "walk.mp4", stop=stop, waiting=stop.ask):
            pytest.fail("both have it")


def test_a_folder_that_is_not_there_is_told_plainly(tmp_path: Path) -> None:
    with (
        pytest.raises(BrokenWorldError) as refused,
        one_run(tmp_path / "none/a.lock", "walk.mp4", stop=Stop(), waiting=lambda: None),
    ):
        pass
    assert refused.value.problem.slug == "output-not-written"
