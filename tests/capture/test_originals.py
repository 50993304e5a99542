from __future__ import annotations

import errno
import hashlib
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.capture import files, originals
from shutline.capture.originals import original_path, sha256_of, take_in, write_once
from shutline.car.errors import BadInputError, BrokenWorldError, NotFoundError, StoppedError, UserError
from shutline.car.recordings import Kind

posix_only = pytest.mark.skipif(os.name != "posix", reason="pipes, devices and links without rights are POSIX")

TRANSCRIPT = b"WEBVTT\n\n00:01.000 --> 00:02.000\nThe sill is sound.\n"

# FIPS 180-4 examples for SHA-256, from NIST's "Examples with Intermediate Values", and the million-a string of the
# older FIPS 180-2 appendix B.3.
FIPS_180_4 = [
    (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
    (
        b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
    ),
    (b"a" * 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
]


def _leftovers(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if path.is_file() and path.suffix == ".part"]


def _kept(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if path.is_file() and path.suffix != ".part"]


@pytest.mark.parametrize(("data", "digest"), FIPS_180_4)
def test_sha256_gives_the_published_values(data: bytes, digest: str, tmp_path: Path) -> None:
    path = tmp_path / "data"
    path.write_bytes(data)
    assert sha256_of(path) == digest
    assert write_once(tmp_path / "store", data) == digest
    assert original_path(tmp_path / "store", digest).read_bytes() == data


def test_an_original_is_kept_under_its_hash_and_its_name_is_only_data(tmp_path: Path) -> None:
    path = tmp_path / "walk.vtt"
    path.write_bytes(TRANSCRIPT)
    told: list[float] = []
    original = take_in(path, tmp_path / "store", on_progress=told.append)
    digest = hashlib.sha256(TRANSCRIPT).hexdigest()
    assert (original.sha256, original.name, original.byte_size) == (digest, "walk.vtt", len(TRANSCRIPT))
    assert (original.kind, original.linked) == (Kind.TRANSCRIPT, False)
    assert told[-1] == 1.0
    kept = tmp_path / "store" / digest[:2] / digest[2:4] / digest
    assert kept.read_bytes() == TRANSCRIPT
    assert _leftovers(tmp_path) == []
    assert path.read_bytes() == TRANSCRIPT


@pytest.mark.skipif(os.name != "posix", reason="Windows cannot remove a file that is read-only")
def test_a_kept_original_is_read_only(tmp_path: Path) -> None:
    digest = write_once(tmp_path, b"x")
    assert original_path(tmp_path, digest).stat().st_mode & 0o222 == 0


def test_the_same_file_twice_is_one(tmp_path: Path) -> None:
    for name in ("one.vtt", "two.vtt"):
        (tmp_path / name).write_bytes(TRANSCRIPT)
    first = take_in(tmp_path / "one.vtt", tmp_path / "store")
    before = original_path(tmp_path / "store", first.sha256).stat().st_mtime_ns
    second = take_in(tmp_path / "two.vtt", tmp_path / "store")
    assert first.sha256 == second.sha256
    assert len(_kept(tmp_path / "store")) == 1
    assert original_path(tmp_path / "store", first.sha256).stat().st_mtime_ns == before


def test_a_linked_original_is_hashed_and_not_copied(tmp_path: Path) -> None:
    path = tmp_path / "walk.vtt"
    path.write_bytes(TRANSCRIPT)
    original = take_in(path, tmp_path / "store", link=True)
    assert original.linked
    assert original.sha256 == hashlib.sha256(TRANSCRIPT).hexdigest()
    assert not (tmp_path / "store").exists()


@settings(max_examples=30, deadline=None)
@given(data=st.binary(max_size=5000))
def test_whatever_is_written_is_read_back(data: bytes, tmp_path_factory: pytest.TempPathFactory) -> None:
    folder = tmp_path_factory.mktemp("store")
    digest = write_once(folder, data)
    assert write_once(folder, data) == digest
    assert original_path(folder, digest).read_bytes() == data
    assert _leftovers(folder) == []


@pytest.mark.parametrize(
    "name",
    [
        "über die Straße — 14″ (copy).vtt",
        "a;b&c$(d) 'e'.vtt",
        "\u202egpj.vtt",
        "-rf.vtt",
        "x" * 240 + ".vtt",
        "no ending",
        "con.txt.vtt",
    ],
)
def test_odd_names_are_only_data(name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_bytes(TRANSCRIPT)
    original = take_in(path, tmp_path / "store")
    assert original.name == name
    assert [kept.name for kept in _kept(tmp_path / "store")] == [original.sha256]


@posix_only
@pytest.mark.skipif(sys.platform == "darwin", reason="macOS refuses such names")
def test_a_name_that_is_no_text_is_taken_in_and_can_be_stored(tmp_path: Path) -> None:
    path = Path(os.fsdecode(os.fsencode(tmp_path) + b"/walk\xff\n.vtt"))
    path.write_bytes(TRANSCRIPT)
    original = take_in(path, tmp_path / "store")
    assert original.name.encode("utf-8")
    assert "\n" not in files.shown_name(path)
    assert "walk" in files.shown_name(path)


def test_a_long_name_is_shown_short() -> None:
    assert len(files.shown_name(Path("x" * 250))) <= 120


@pytest.mark.parametrize("digest", ["", "../../etc/passwd", "A" * 64, "a" * 63, "a" * 64 + "\n", "/" + "a" * 63])
def test_a_path_that_escapes_is_refused(digest: str, tmp_path: Path) -> None:
    with pytest.raises(UserError) as caught:
        original_path(tmp_path, digest)
    assert caught.value.problem.slug == "not-a-digest"


def test_a_file_that_is_not_there_is_said_to_be_missing(tmp_path: Path) -> None:
    with pytest.raises(NotFoundError) as caught:
        take_in(tmp_path / "nothing.mp4", tmp_path / "store")
    assert caught.value.problem.slug == "no-such-file"


@pytest.mark.parametrize("name", ["x" * 5000, "a\0b"])
def test_a_name_no_disk_takes_ends_in_a_plain_error(name: str, tmp_path: Path) -> None:
    with pytest.raises(UserError):
        sha256_of(tmp_path / name)


def test_a_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadInputError) as caught:
        take_in(tmp_path, tmp_path / "store")
    assert caught.value.problem.slug in {"not-a-file", "not-readable"}


@posix_only
def test_a_pipe_is_refused_without_waiting(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.mp4")
    began = time.monotonic()
    with pytest.raises(BadInputError) as caught:
        take_in(tmp_path / "pipe.mp4", tmp_path / "store")
    assert (caught.value.problem.slug, caught.value.problem.found) == ("not-a-file", "a pipe")
    assert time.monotonic() - began < 5


@posix_only
def test_a_device_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadInputError) as caught:
        take_in(Path(os.devnull), tmp_path / "store")
    assert caught.value.problem.found == "a device"


@posix_only
def test_a_link_that_leads_out_is_refused_and_one_beside_is_followed(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "outside.vtt").write_bytes(TRANSCRIPT)
    (tmp_path / "in" / "walk.vtt").write_bytes(TRANSCRIPT)
    (tmp_path / "in" / "out.vtt").symlink_to(tmp_path / "outside.vtt")
    (tmp_path / "in" / "beside.vtt").symlink_to("walk.vtt")
    (tmp_path / "in" / "loop.vtt").symlink_to("loop.vtt")
    (tmp_path / "in" / "gone.vtt").symlink_to("nothing.vtt")
    with pytest.raises(BadInputError) as caught:
        take_in(tmp_path / "in" / "out.vtt", tmp_path / "store")
    assert caught.value.problem.slug == "link-elsewhere"
    assert take_in(tmp_path / "in" / "beside.vtt", tmp_path / "store").byte_size == len(TRANSCRIPT)
    for name in ("loop.vtt", "gone.vtt"):
        with pytest.raises(UserError):
            take_in(tmp_path / "in" / name, tmp_path / "store")


class _FullDisk:
    """A file that takes `room` bytes and then says what a full disk says."""

    def __init__(self, file, room: int, code: int) -> None:
        self._file, self._room, self._code = file, room, code

    def __getattr__(self, name: str):
        return getattr(self._file, name)

    def write(self, data: bytes) -> int:
        if len(data) > self._room:
            raise OSError(self._code, os.strerror(self._code))
        self._room -= len(data)
        return self._file.write(data)


@pytest.mark.parametrize(
    ("code", "slug"), [(errno.ENOSPC, "disk-full"), (errno.EROFS, "write-failed"), (errno.EIO, "write-failed")]
)
def test_a_full_or_broken_disk_ends_with_advice_and_leaves_nothing(
    code: int, slug: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "walk.vtt"
    path.write_bytes(TRANSCRIPT + b"x" * (3 << 20))
    opens = Path.open
    monkeypatch.setattr(
        Path,
        "open",
        lambda self, mode="r", **kw: (
            _FullDisk(opens(self, mode, **kw), 1 << 20, code) if mode == "xb" else opens(self, mode, **kw)
        ),
    )
    with pytest.raises(BrokenWorldError) as caught:
        take_in(path, tmp_path / "store", kind=Kind.TRANSCRIPT)
    assert caught.value.problem.slug == slug
    assert caught.value.problem.advice
    assert [path for path in (tmp_path / "store").rglob("*") if path.is_file()] == []


def test_a_disk_without_room_is_refused_before_anything_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "walk.vtt"
    path.write_bytes(TRANSCRIPT)
    monkeypatch.setattr(originals.shutil, "disk_usage", lambda _: type("Usage", (), {"free": 100})())
    with pytest.raises(BrokenWorldError) as caught:
        take_in(path, tmp_path / "store")
    assert caught.value.problem.slug == "disk-full"
    assert not (tmp_path / "store").exists()


def test_a_file_that_is_still_written_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "walk.vtt"
    path.write_bytes(TRANSCRIPT + b"x" * (3 << 20))

    def grow() -> bool:
        with path.open("ab") as file:
            file.write(b"more")
        return False

    with pytest.raises(BadInputError) as caught:
        take_in(path, tmp_path / "store", kind=Kind.TRANSCRIPT, should_stop=grow)
    assert caught.value.problem.slug == "still-changing"
    assert _kept(tmp_path / "store") == []


def test_a_stop_leaves_nothing_half_written(tmp_path: Path) -> None:
    path = tmp_path / "walk.vtt"
    path.write_bytes(TRANSCRIPT + b"x" * (3 << 20))
    asked = iter([False, False, True])
    with pytest.raises(StoppedError):
        take_in(path, tmp_path / "store", kind=Kind.TRANSCRIPT, should_stop=lambda: next(asked))
    assert [path for path in (tmp_path / "store").rglob("*") if path.is_file()] == []


def test_a_damaged_original_is_told_and_not_overwritten(tmp_path: Path) -> None:
    digest = write_once(tmp_path, b"as it came")
    kept = original_path(tmp_path, digest)
    kept.chmod(0o644)
    kept.write_bytes(b"as it")
    with pytest.raises(BrokenWorldError) as caught:
        write_once(tmp_path, b"as it came")
    assert caught.value.problem.slug == "original-damaged"
    assert kept.read_bytes() == b"as it"


def test_leftovers_of_a_run_long_dead_are_cleared_and_fresh_ones_are_not(tmp_path: Path) -> None:
    incoming = tmp_path / "incoming"
    incoming.mkdir()
    (incoming / "old.part").write_bytes(b"x")
    (incoming / "fresh.part").write_bytes(b"x")
    os.utime(incoming / "old.part", (time.time() - 7200, time.time() - 7200))
    write_once(tmp_path, b"data")
    assert [path.name for path in _leftovers(tmp_path)] == ["fresh.part"]


_SLOW_COPY = """
import sys, time
from pathlib import Path
from shutline.capture.originals import take_in
from shutline.car.recordings import Kind
def crawl():
    print("copying", flush=True)
    time.sleep(0.05)
    return False
take_in(Path(sys.argv[1]), Path(sys.argv[2]), kind=Kind.FILM, should_stop=crawl)
"""


def test_a_kill_in_the_middle_leaves_no_half_written_original_and_a_rerun_succeeds(tmp_path: Path) -> None:
    path = tmp_path / "walk.bin"
    path.write_bytes(os.urandom(1 << 20) * 64)
    run = subprocess.Popen(
        [sys.executable, "-c", _SLOW_COPY, str(path), str(tmp_path / "store")], stdout=subprocess.PIPE
    )
    assert run.stdout is not None
    with run.stdout:
        for _ in range(4):
            assert run.stdout.readline().strip() == b"copying"
        run.kill()
        run.wait()
    assert _kept(tmp_path / "store") == []
    assert len(_leftovers(tmp_path / "store")) == 1
    original = take_in(path, tmp_path / "store", kind=Kind.FILM)
    assert sha256_of(original_path(tmp_path / "store", original.sha256)) == original.sha256
