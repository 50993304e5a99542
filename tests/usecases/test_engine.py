"""An engine's start in a recording of a car: listened to, kept, shown by the library and the command line alike."""

from __future__ import annotations

import importlib.util
import json
import shutil
import sys
import wave
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from numpy.typing import NDArray

from shutline.capture.originals import original_path
from shutline.car.engine import ColdReadings, Hearing
from shutline.car.errors import UserError
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.cli.commands import run
from shutline.store import Store
from shutline.usecases.add import add
from shutline.usecases.engine import engine_page, listen

CAR = "averley-drake"
COLD = "00:00:00.200 --> 00:00:02.000\nIt's stood overnight, so this is from cold. It's the straight six.\n"


@pytest.fixture(scope="module")
def made() -> ModuleType:
    path = Path(__file__).parents[1] / "gauge" / "engine" / "made_engine.py"
    spec = importlib.util.spec_from_file_location("made_engine", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["made_engine"] = module
    spec.loader.exec_module(module)
    return module


def write_wav(path: Path, sound: NDArray[np.float64]) -> Path:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(16_000)
        file.writeframes((np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes())
    return path


@pytest.fixture(scope="module")
def heard(made: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a store with one car whose six-cylinder engine is started four seconds in."""
    folder = tmp_path_factory.mktemp("engine")
    one = made.make(made.Plan(cylinders=6, seed=4, quiet_s=4.0, run_s=14, settle_s=5))
    sound = write_wav(folder / "start.wav", made.at_db(one, made.hiss(one.sound.size, 5), 20))
    words = folder / "start.vtt"
    words.write_text(f"WEBVTT\n\n{COLD}", encoding="utf-8")
    with Store.open(folder / "store") as store:
        add(store, [sound], car=CAR, title="Averley Drake", transcript=words)
    return folder / "store"


@pytest.fixture
def store(heard: Path, tmp_path: Path) -> Iterator[Store]:
    shutil.copytree(heard, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


def test_a_start_is_found_told_and_kept(store: Store) -> None:
    assert engine_page(store, CAR).views == ()
    page = listen(store, CAR, by="Ida Quill")
    (view,) = page.views
    assert view.note.hearing is Hearing.CLEAR
    assert (view.note.cylinders, view.note.strokes) == (6, 4)
    assert view.cylinders_from.startswith("said at 0:0")
    assert view.note.first_turn_s == pytest.approx(4.0, abs=0.2)
    idle = view.note.figure("idle_rpm")
    assert idle is not None
    assert idle.value == pytest.approx(820, rel=0.02)
    assert view.cold is True
    assert "stood overnight" in view.cold_words
    assert all(one.meaning and one.source == "common practice, no source" for one in view.told)
    assert "mechanic" in page.describes
    assert "carbon monoxide" in page.caution
    assert view.picture.startswith("<svg")
    assert engine_page(store, CAR) == page


def test_a_start_is_heard_when_the_sound_comes_in_and_a_note_of_a_person_stands(
    store: Store, made: ModuleType, tmp_path: Path
) -> None:
    (recording,) = store.car_file(CAR).recordings
    sound = original_path(store.originals, recording.original.sha256)
    item = add(store, [sound], car=CAR, engine=True).items[0]
    assert item.engine
    (note,) = store.car_file(CAR).engine_notes
    assert (note.author, note.note.marked, note.note.hearing) == ("program", False, Hearing.CLEAR)
    by_ida = listen(store, CAR, span=(2.5, 16.0), by="Ida Quill").views[0]
    words = tmp_path / "other.vtt"
    words.write_text(f"WEBVTT\n\n{COLD}\n00:00:02.500 --> 00:00:03.500\nHere we go.\n", encoding="utf-8")
    add(store, [sound], car=CAR, transcript=words, engine=True)
    assert engine_page(store, CAR).views[0].note == by_ida.note


def test_nothing_is_kept_where_nobody_asked_and_no_engine_is_heard(
    store: Store, made: ModuleType, tmp_path: Path
) -> None:
    hiss = write_wav(tmp_path / "hiss.wav", 0.05 * made.hiss(10 * 16_000, 3))
    words = tmp_path / "hiss.vtt"
    words.write_text("WEBVTT\n\n00:00:00.200 --> 00:00:02.000\nIt's the straight six.\n", encoding="utf-8")
    item = add(store, [hiss], car="hiss", transcript=words, engine=True).items[0]
    assert not item.engine
    assert {one.slug for one in item.problems} == {"words-from-a-file"}
    assert store.car_file("hiss").engine_notes == ()
    words.write_text("WEBVTT\n\n00:00:00.200 --> 00:00:02.000\nNothing told.\n", encoding="utf-8")
    assert not add(store, [hiss], car="hiss", transcript=words, engine=True).items[0].engine


def test_an_engine_of_which_nobody_said_how_many_cylinders_is_pointed_to(
    store: Store, made: ModuleType, tmp_path: Path
) -> None:
    (recording,) = store.car_file(CAR).recordings
    words = tmp_path / "start.vtt"
    words.write_text("WEBVTT\n\n00:00:00.200 --> 00:00:02.000\nIt's stood overnight.\n", encoding="utf-8")
    sound = original_path(store.originals, recording.original.sha256)
    item = add(store, [sound], car="other", transcript=words, engine=True).items[0]
    assert not item.engine
    (told,) = (one for one in item.problems if one.slug == "engine-cylinders-unknown")
    assert "0:0" in told.where
    words.write_text(f"WEBVTT\n\n{COLD}", encoding="utf-8")
    item = add(store, [sound], car="other", transcript=words, engine=True).items[0]
    assert item.engine
    assert "engine-cylinders-unknown" not in {one.slug for one in item.problems}


def test_what_was_listened_to_is_not_listened_to_again(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    first = listen(store, CAR, by="Ida Quill")
    monkeypatch.setattr("shutline.usecases.engine_hearing._sound", None)
    assert listen(store, CAR, by="Ida Quill") == first
    warmer = listen(store, CAR, readings=ColdReadings(coolant_c=70.0, outside_c=12.0), by="Tom Ash")
    (view,) = warmer.views
    assert view.cold is None
    assert "at odds" in view.cold_words
    assert view.author == "Tom Ash"
    recording = first.views[0].recording
    assert [kept.author for kept in store.engine_notes([recording], past=True)] == ["Ida Quill"]


def test_a_marked_part_is_listened_to_alone_and_its_times_are_those_of_the_recording(store: Store) -> None:
    (view,) = listen(store, CAR, span=(2.5, 16.0), cylinders=6).views
    assert view.note.marked
    assert (view.note.start_s, view.note.end_s) == (2.5, pytest.approx(16.0, abs=0.01))
    assert view.note.first_turn_s == pytest.approx(4.0, abs=0.2)
    assert view.note.runs_to_s is not None
    assert 12 < view.note.runs_to_s <= 16.0


def test_words_that_a_recogniser_heard_in_the_noise_of_the_starter_hide_no_start(store: Store) -> None:
    recording = store.car_file(CAR).recordings[0].id
    heard = stretch_of("we're going to go to the next one", 3.9, 5.0, origin=StretchOrigin.HEARD)
    store.replace_stretches(recording, [heard])
    (view,) = listen(store, CAR, cylinders=6).views
    assert view.note.first_turn_s == pytest.approx(4.0, abs=0.2)
    assert view.cold is None
    assert "not called a cold start" in view.cold_words


@pytest.mark.parametrize(
    ("asked", "slug"),
    [
        ({"cylinders": 17}, "engine-cylinders"),
        ({"strokes": 3}, "engine-cylinders"),
        ({"span": (5.0, 5.0)}, "engine-marks"),
        ({"span": (-1.0, 5.0)}, "engine-marks"),
        ({"span": (5.0, 500.0)}, "engine-marks"),
        ({"span": (float("nan"), 9.0)}, "engine-marks"),
        ({"readings": ColdReadings(coolant_c=400.0)}, "engine-reading"),
        ({"readings": ColdReadings(standing_h=-1.0)}, "engine-reading"),
        ({"recording": "nowhere"}, "which-film"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(store: Store, asked: dict[str, object], slug: str) -> None:
    with pytest.raises(UserError) as refused:
        listen(store, CAR, **asked)  # type: ignore[arg-type]
    assert refused.value.problem.slug == slug
    assert engine_page(store, CAR).views == ()


def test_the_command_line_gives_the_same_record(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    import msgspec

    page = listen(store, CAR, by="Ida Quill")
    folder = str(store.folder)
    assert run(["engine", CAR, "--by", "Ida Quill", "--store", folder, "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == json.loads(msgspec.json.encode(page))
    assert run(["engine", CAR, "--kept", "--store", folder]) == 0
    shown = capsys.readouterr().out
    assert "time on the starter: " in shown
    assert "Started from cold: said at 0:0" in shown
    assert "have it heard by a mechanic" in " ".join(shown.split())
    assert run(["engine", CAR, "--from", "x", "--store", folder, "--json"]) == 2
    assert json.loads(capsys.readouterr().out)["error"]["where"] == "--from"


def test_the_report_tells_it_as_a_page_and_on_paper(store: Store, tmp_path: Path) -> None:
    from pypdf import PdfReader

    from shutline.usecases.report import make_report

    listen(store, CAR, by="Ida Quill")
    make_report(store, CAR, out=tmp_path / "out", only=["html", "pdf"])
    page = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    assert 'id="engine-heading"' in page
    assert "have it heard by a mechanic" in page
    assert "carbon monoxide" in page
    assert page.count("<svg") >= 1
    paper = " ".join(part.extract_text() for part in PdfReader(tmp_path / "out" / "report.pdf").pages)
    assert "The engine, by ear" in paper
    assert "Speed at the end: 820 turns a minute" in " ".join(paper.split())
