"""What the film itself tells is part of the main job: done once, stopped and gone on with, left out where chosen."""

from __future__ import annotations

import random
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import cv2
import numpy as np
import pytest

from shutline.car.errors import NotFoundError, StoppedError, UserError
from shutline.car.figures import FigureKind, FigureState
from shutline.car.notes import NoteKind
from shutline.cli import main
from shutline.store import Store
from shutline.usecases import figure_reading, pipeline
from shutline.usecases.add import add
from shutline.usecases.evidence import Evidence, evidence, evidence_file, evidence_shown, keep_evidence
from shutline.usecases.figure_looks import looks_near_words
from shutline.usecases.note_keeping import keep_file, read_picture
from shutline.usecases.progress import Step, Stop
from shutline.usecases.unfinished import go_on, unfinished

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))

from drawn_figures import as_photographed, odometer

SENT_AS = "token-dial"
WORDS = """WEBVTT

00:00:01.000 --> 00:00:02.000
Look at the mileage on that.

00:00:06.500 --> 00:00:07.500
The number plate is the old sort.
"""


@pytest.fixture
def store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    monkeypatch.setenv("SHUTLINE_SETTINGS", str(tmp_path / "own" / "settings.toml"))
    with Store.open(tmp_path / "store") as opened:
        yield opened


@pytest.fixture(scope="module")
def dial() -> np.ndarray:
    rng = random.Random(5)
    return as_photographed(odometer(rng).picture, rng, trouble=0.3)


@pytest.fixture
def film(make_film: Callable[..., Path], dial: np.ndarray) -> Path:
    blank = np.full_like(dial, 60)
    return make_film(
        "dial.mp4", frames=80, rate=10, size=(640, 360), sound=None, gop=10,
        picture=lambda number: dial if number <= 40 else blank,
    )  # fmt: skip


@pytest.fixture
def words(tmp_path: Path) -> Path:
    path = tmp_path / "walk.vtt"
    path.write_text(WORDS, encoding="utf-8")
    return path


def test_figures_are_read_when_a_film_comes_in_once_and_wait(
    store: Store, film: Path, words: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps: list[Step] = []
    item = add(store, [film], car="blue", transcript=words, engine=False, tell=steps.append).items[0]
    car = store.car_file("blue")
    assert item.figures == len(car.figures) == 1
    assert (car.figures[0].read.kind, car.figures[0].state) == (FigureKind.ODOMETER, FigureState.WAITS)
    assert {step.done for step in steps if step.stage == "figures"} == {0.0, 0.5, 1.0}
    assert car.recordings[0].complete
    monkeypatch.setattr(figure_reading, "read_looks", None)
    assert add(store, [film], car="blue", engine=False).items[0].figures == 1


def test_a_run_that_is_stopped_goes_on_with_what_was_not_read(store: Store, film: Path, words: Path) -> None:
    stop = Stop()

    def tell(step: Step) -> None:
        if step.stage == "figures" and step.done >= 0.5:
            stop.ask()

    with pytest.raises(StoppedError):
        add(store, [film], car="blue", transcript=words, tell=tell, stop=stop)
    (left,) = unfinished(store).recordings
    assert left.done == ("words", "remarks", "stills")
    assert len(store.car_file("blue").figures) == 1
    assert figure_reading.unread(store, store.car_file("blue")) <= 1
    go_on(store, left.recording)
    assert unfinished(store).recordings == ()
    assert figure_reading.unread(store, store.car_file("blue")) == 0
    assert len(store.car_file("blue").figures) == 1


@pytest.mark.parametrize("error", [RuntimeError("a fault"), UserError])
def test_one_that_fails_is_told_stops_no_other_and_is_tried_again(
    store: Store, film: Path, words: Path, monkeypatch: pytest.MonkeyPatch, error: type[Exception] | Exception
) -> None:
    from shutline.car.errors import Problem

    raised = UserError(Problem("figures-not-read", "dial.mp4", "f", "a", "d")) if error is UserError else error

    def fails(run: pipeline.Run) -> None:
        raise raised

    done: list[str] = []
    stages = tuple(
        pipeline.Stage(one.name, one.key, fails, one.wanted, further=True) if one.name == "figures" else one
        for one in pipeline.STAGES
    )
    with monkeypatch.context() as patch:
        patch.setattr(pipeline, "STAGES", stages)
        add(store, [film], car="blue", transcript=words, tell=lambda step: done.append(step.stage))
    car = store.car_file("blue")
    assert done[-1] == "engine"
    assert car.recordings[0].complete
    slugs = [problem.slug for problem in car.problems]
    assert ("figures-not-read" if error is UserError else "stage-failed") in slugs
    add(store, [film], car="blue")
    car = store.car_file("blue")
    assert len(car.figures) == 1
    assert not {"figures-not-read", "stage-failed"} & {problem.slug for problem in car.problems}


def test_a_stage_that_all_rests_on_is_not_passed_over(
    store: Store, film: Path, words: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(run: pipeline.Run) -> None:
        raise RuntimeError("a fault")

    stages = tuple(
        pipeline.Stage(one.name, one.key, fails) if one.name == "remarks" else one for one in pipeline.STAGES
    )
    monkeypatch.setattr(pipeline, "STAGES", stages)
    with pytest.raises(RuntimeError):
        add(store, [film], car="blue", transcript=words)
    assert not store.car_file("blue").recordings[0].complete


def test_both_can_be_left_out_and_are_done_when_they_are_wanted(store: Store, film: Path, words: Path) -> None:
    keep_evidence(Evidence(figures=False, engine=False), author="Ida")
    seen: list[str] = []
    add(store, [film], car="blue", transcript=words, tell=lambda step: seen.append(step.stage))
    assert not {"figures", "engine"} & set(seen)
    assert store.car_file("blue").figures == ()
    assert store.car_file("blue").recordings[0].complete
    add(store, [film], car="blue", figures=True, tell=lambda step: seen.append(step.stage))
    assert len(store.car_file("blue").figures) == 1
    assert "engine" not in seen


def test_a_picture_that_comes_in_is_read_too_unless_it_is_left_out(
    store: Store, dial: np.ndarray, tmp_path: Path
) -> None:
    path = tmp_path / "dial.png"
    cv2.imwrite(str(path), dial[..., ::-1])
    assert add(store, [path], car="green", figures=False).items[0].figures == 0
    store.create_car("blue", title="Ostrel Pavane")
    item = add(store, [path], car="blue").items[0]
    assert item.error is None
    # Nothing says that it shows an odometer, and a row of figures alone has no form that is known.
    assert item.figures == len(store.car_file("blue").figures)
    assert figure_reading.unread(store, store.car_file("blue")) == 0


@pytest.fixture
def noted(store: Store, dial: np.ndarray, tmp_path: Path) -> str:
    """A picture of an odometer kept beside the car, at its instruments: its id."""
    path = tmp_path / "dial.png"
    cv2.imwrite(str(path), dial[..., ::-1])
    store.create_car("blue", title="Ostrel Pavane")
    kept = keep_file(store, "blue", path, kind=NoteKind.PICTURE, place="instruments", token=SENT_AS, name="dial.png")
    return kept.note.source


def test_a_picture_taken_at_the_car_is_read_for_what_its_place_shows_once_and_waits(store: Store, noted: str) -> None:
    item = read_picture(store, "blue", noted)
    (figure,) = store.car_file("blue").figures
    assert (item.figures, item.problems, figure.source) == (1, (), noted)
    assert (figure.read.kind, figure.state) == (FigureKind.ODOMETER, FigureState.WAITS)
    assert store.car_file("blue").facts == ()
    assert read_picture(store, "blue", noted).figures == len(store.car_file("blue").figures) == 1


def test_it_is_not_read_where_that_is_left_out_and_not_after_a_stop(store: Store, noted: str) -> None:
    keep_evidence(Evidence(figures=False), author="Ida")
    assert read_picture(store, "blue", noted).figures == 0
    stop = Stop()
    stop.ask()
    with pytest.raises(StoppedError):
        read_picture(store, "blue", noted, figures=True, stop=stop)
    assert store.car_file("blue").figures == ()
    assert read_picture(store, "blue", noted, figures=True).figures == 1


def test_a_picture_that_the_car_has_not_is_told(store: Store, noted: str) -> None:
    with pytest.raises(NotFoundError) as told:
        read_picture(store, "blue", f"{noted}x")
    assert told.value.problem.slug == "figure-source-unknown"


def test_the_command_for_a_note_reads_its_picture_unless_told_not_to(
    store: Store, dial: np.ndarray, tmp_path: Path
) -> None:
    path = tmp_path / "dial.png"
    cv2.imwrite(str(path), dial[..., ::-1])
    store.create_car("blue", title="Ostrel Pavane")
    sent = ["note", "blue", "instruments", str(path), "--store", str(store.folder)]
    assert main([*sent, "--no-figures"]) == 0
    assert store.car_file("blue").figures == ()
    assert main(sent) == 0
    assert [one.read.kind for one in store.car_file("blue").figures] == [FigureKind.ODOMETER]


def test_the_still_of_a_finding_is_what_is_read(
    store: Store, film: Path, words: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    words.write_text("WEBVTT\n\n00:00:01.000 --> 00:00:03.000\nThe tyre is cracked.\n", encoding="utf-8")
    add(store, [film], car="blue", transcript=words, figures=False, engine=False)
    car = store.car_file("blue")
    (still,) = car.findings[0].stills
    (look,) = looks_near_words(car, car.recordings[0])
    assert look.still == still
    monkeypatch.setattr("shutline.capture.stills.choose_stills", None)
    came = figure_reading.read_figures_in(store, car, car.recordings[0])
    assert came.looked_at == 1
    assert all(figure.at_s == still.at_s for figure in store.car_file("blue").figures)


@pytest.mark.parametrize("text", ["figures = ", "figures = 1\n", "figure = true\n", "engine = 'no'\n"])
def test_a_broken_choice_is_told_and_can_be_made_anew(store: Store, text: str) -> None:
    evidence_file().parent.mkdir(exist_ok=True)
    evidence_file().write_text(text, encoding="utf-8")
    with pytest.raises(UserError):
        evidence()
    (problem,) = evidence_shown().problems
    assert problem.slug in {"settings-not-toml", "evidence-refused"}
    assert keep_evidence(Evidence(engine=False), author="Ida").chosen == evidence() == Evidence(engine=False)
    keep_evidence(Evidence(), author="Ida")
    assert not evidence_file().exists()
