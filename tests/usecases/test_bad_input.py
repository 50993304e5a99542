"""Whatever is brought in, the answer is plain and nothing is lost: every case through the whole of `add`."""

import errno
import struct
import subprocess
import sys
import wave
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from shutline.car.errors import BrokenWorldError
from shutline.store import Store
from shutline.usecases.add import AddedItem, add
from shutline.usecases.report import make_report


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "store") as opened:
        yield opened


def bring(store: Store, path: Path) -> AddedItem:
    (item,) = add(store, [path], car="blue").items
    return item


def kept_files(store: Store) -> list[Path]:
    return [path for path in store.originals.rglob("*") if path.is_file()]


def png_that_claims(width: int, height: int) -> bytes:
    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    rows = zlib.compress(b"\0" * 1_000_000, 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("name", "content", "slug"),
    [
        ("empty.mp4", b"", "empty-file"),
        ("noise.mp4", bytes(range(256)) * 40, "not-a-recording"),
        ("letter.mov", b"Dear Sir, about the car we spoke of: yes.", "not-a-recording"),
        ("bomb.png", png_that_claims(60_000, 60_000), "picture-too-large"),
        ("moov-less.mp4", b"\0\0\0\x18ftypmp42\0\0\0\0mp42isom" + b"\0\0\x10\0mdat" + b"\1" * 4088, "not-a-recording"),
    ],
)
def test_what_is_no_recording_is_refused_and_nothing_is_kept(
    store: Store, tmp_path: Path, name: str, content: bytes, slug: str
) -> None:
    path = tmp_path / name
    path.write_bytes(content)

    item = bring(store, path)

    assert item.error is not None
    assert item.error.slug in {slug, "cut-off"}
    assert name in item.error.where
    assert store.cars() == ()
    assert kept_files(store) == []


def test_a_film_cut_off_in_the_middle_gives_what_is_there_and_says_what_is_missing(
    store: Store, make_film: Callable[..., Path], tmp_path: Path
) -> None:
    whole = make_film("whole.mkv", frames=120).read_bytes()
    cut = tmp_path / "cut.mkv"
    cut.write_bytes(whole[: len(whole) * 6 // 10])

    item = bring(store, cut)

    assert item.error is None
    assert "cut-off" in {problem.slug for problem in item.problems}
    assert 0 < (item.length_s or 0) < 4


def test_a_film_without_sound_says_that_nothing_could_be_read(store: Store, make_film: Callable[..., Path]) -> None:
    item = bring(store, make_film("mute.mp4", sound=None))

    assert item.error is None
    assert item.words == 0
    (problem,) = [p for p in item.problems if p.slug == "no-sound-track"]
    assert "mute.mp4" in problem.where
    made = make_report(store, "blue", out=store.folder.parent / "out", only=["html"])
    assert "sound track" in Path(made.files[0].path).read_text(encoding="utf-8")


def test_sound_without_speech_gives_no_finding_and_a_word_about_it(
    store: Store, make_film: Callable[..., Path]
) -> None:
    item = bring(store, make_film("clicks.mp4", frames=90))

    assert item.error is None
    assert item.findings == 0
    assert {"no-speech", "no-sound"} & {problem.slug for problem in item.problems}


def test_another_language_is_said_to_be_none_of_ours(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "tour.vtt"
    path.write_text(
        "WEBVTT\n\n00:00.000 --> 00:20.000\n"
        "Alors voici la voiture, elle est dans un très bel état, pas de rouille sur les ailes avant, et le moteur "
        "démarre tout de suite, les sièges sont comme neufs et la boîte de vitesses passe très bien.\n",
        encoding="utf-8",
    )

    item = bring(store, path)

    assert item.error is None
    assert "not-english" in {problem.slug for problem in item.problems}


def test_times_that_run_backwards_overlap_or_are_missing_lose_no_word(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "walk.vtt"
    path.write_text(
        "WEBVTT\n\n00:30.000 --> 00:20.000\nRust on the nearside sill.\n\n"
        "00:05.000 --> 00:25.000\nNo dents in the bonnet.\n\n"
        "00:?? --> nowhere\nThe roof is solid.\n",
        encoding="utf-8",
    )

    item = bring(store, path)

    assert item.error is None
    assert len(item.problems) >= 2
    said = " ".join(stretch.text for stretch in store.car_file("blue").recordings[0].stretches)
    for words in ("Rust on the nearside sill.", "No dents in the bonnet.", "The roof is solid."):
        assert words in said


def test_three_hours_of_silence_end_in_a_plain_word(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "left running.wav"
    with wave.open(str(path), "wb") as sound:
        sound.setparams((1, 2, 8000, 0, "NONE", ""))
        for _ in range(180):
            sound.writeframes(b"\0\0" * 8000 * 60)

    item = bring(store, path)

    assert item.error is None
    assert item.length_s == pytest.approx(3 * 3600, abs=1)
    assert "no-sound" in {problem.slug for problem in item.problems}


def test_a_full_disk_ends_the_run_and_leaves_nothing_half_written(
    store: Store, make_film: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    film = make_film("walk.mp4")

    def full(*_: object) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("os.fsync", full)
        with pytest.raises(BrokenWorldError) as caught:
            bring(store, film)

    assert caught.value.problem.slug == "disk-full"
    assert kept_files(store) == []
    assert bring(store, film).error is None


@pytest.mark.skipif(sys.platform == "win32", reason="no such pipes there")
def test_a_pipe_is_refused_without_waiting_for_it(tmp_path: Path) -> None:
    import os

    pipe = tmp_path / "pipe.mp4"
    os.mkfifo(pipe)

    shown = subprocess.run(
        [sys.executable, "-m", "shutline", "add", str(pipe), "--store", str(tmp_path / "store")],
        check=False,
        capture_output=True,
        text=True,
        timeout=60,
    )

    assert shown.returncode == 2
    assert "pipe.mp4" in shown.stderr
    assert "Traceback" not in shown.stderr
