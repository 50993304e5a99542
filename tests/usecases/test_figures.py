"""Figures read off pictures of a car wait for a person, become facts when taken, and nothing of them is lost."""

from __future__ import annotations

import random
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import cv2
import numpy as np
import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.car.figures import Figure, FigureKind, FigureState, OtherReading, ReadFigure, ReadSign
from shutline.car.findings import Fact, Footing, FootingKind, State
from shutline.car.notes import NoteKind
from shutline.store import StaleError, Store
from shutline.survey.odds_layer import odds_tables
from shutline.usecases.add import add
from shutline.usecases.figure_reading import read_figures_at, read_figures_of
from shutline.usecases.figures import car_figures, decide_figure
from shutline.usecases.figures_beside import Told, verdict
from shutline.usecases.note_keeping import keep_file
from shutline.usecases.odds import odds
from shutline.usecases.odds_deciding import decide_odds

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))

from drawn_figures import as_photographed, drawn, odometer

CAR = "blue"
ONE, SAID = "token-one", "token-said"


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "store") as opened:
        opened.create_car(CAR, title="Ostrel Pavane, blue")
        yield opened


def _file(tmp_path: Path, picture: np.ndarray, name: str = "dial.jpg") -> Path:
    path = tmp_path / name
    cv2.imwrite(str(path), picture[..., ::-1])
    return path


@pytest.fixture
def dial(store: Store, tmp_path: Path) -> str:
    """The id of a picture of an odometer, kept at the instruments."""
    path = _file(tmp_path, drawn("odometer", 9102, trouble=0.5).picture)
    note = keep_file(
        store, CAR, path, kind=NoteKind.PICTURE, place="instruments", token=ONE, name="dial.jpg", by="Ida"
    ).note
    return note.source


def _kept(store: Store, source: str, **changes: object) -> Figure:
    read = ReadFigure(
        **{
            "kind": FigureKind.ODOMETER,
            "text": "058206",
            "signs": tuple(ReadSign(sign, 0.99) for sign in "058206"),
            "value": 58206,
            "unit": "mi",
            "fits": True,
            "sureness": 0.98,
            "box": (0.1, 0.1, 0.5, 0.2),
            **changes,
        }
    )
    (ref,) = store.put_figures(source, [(read, "c4" * 32)], key=read.text + read.kind)
    return store.figure(ref)


def test_a_picture_is_read_once_and_what_it_shows_waits(store: Store, dial: str) -> None:
    assert car_figures(store, CAR).unread == 1
    came = read_figures_of(store, CAR)
    assert (came.looked_at, came.found) == (1, {"odometer": 1})
    shown = car_figures(store, CAR)
    (figure,) = shown.figures
    assert (str(figure.value), figure.state, figure.source) == (
        drawn("odometer", 9102).truth,
        FigureState.WAITS,
        dial,
    )
    crop = store.derived / figure.crop[:2] / figure.crop[2:4] / figure.crop
    assert cv2.imread(str(crop)) is not None
    assert shown.unread == 0
    assert read_figures_of(store, CAR).looked_at == 0
    assert store.car_file(CAR).facts == ()
    assert [(one.name, one.verdict, one.told[0].state) for one in shown.beside] == [("odometer", "alone", "waits")]


def test_a_figure_that_is_taken_is_a_fact_that_was_seen(store: Store, dial: str) -> None:
    figure = _kept(store, dial)
    done = decide_figure(store, CAR, figure.id, "take", author="Ida")
    assert (done.figure.state, done.figure.fact, done.figure.version) == (FigureState.TAKEN, done.fact.id, 2)
    (kept,) = store.car_file(CAR).facts
    assert (kept.fact.name, kept.fact.value, kept.fact.unit, kept.fact.state) == ("odometer", 58206, "mi", State.STANDS)
    (footing,) = kept.fact.footings
    assert (footing.kind, footing.source, footing.quote) == (FootingKind.SEEN, dial, "058206")


def test_amended_it_is_what_the_person_read_and_set_aside_it_is_struck(store: Store, dial: str) -> None:
    figure = _kept(store, dial)
    decide_figure(store, CAR, figure.id, "take", author="Ida")
    amended = decide_figure(store, CAR, figure.id[:6], "amend", value="58,208", author="Mo")
    assert (amended.figure.value, amended.fact.fact.value, amended.figure.read.value) == (58208, 58208, 58206)
    aside = decide_figure(store, CAR, figure.id, "aside", author="Mo")
    assert aside.fact.fact.state is State.STRUCK
    again = decide_figure(store, CAR, figure.id, "again", author="Ida")
    assert again.figure.state is FigureState.WAITS
    taken = decide_figure(store, CAR, figure.id, "take", author="Ida")
    assert (taken.fact.fact.state, taken.fact.id) == (State.STANDS, amended.fact.id)
    assert len(store.car_file(CAR).facts) == 1
    assert [(change.author, change.action) for change in taken.figure.changes] == [
        ("program", "read"),
        ("Ida", "taken"),
        ("Mo", "amended"),
        ("Mo", "set aside"),
        ("Ida", "waits again"),
        ("Ida", "taken"),
    ]


def test_what_has_no_form_cannot_be_taken_as_read_and_nothing_is_put_in_its_place(store: Store, dial: str) -> None:
    proposed = (OtherReading("58206", 58206, "sign 1: 5 in place of S"),)
    figure = _kept(store, dial, text="S8206", value="S8206", fits=False, others=proposed)
    with pytest.raises(UserError, match="no form"):
        decide_figure(store, CAR, figure.id, "take", author="Ida")
    assert store.figure(figure.id) == figure
    done = decide_figure(store, CAR, figure.id, "amend", value="58206", author="Ida")
    assert (done.figure.value, done.figure.read.value) == (58206, "S8206")


@pytest.mark.parametrize(
    ("value", "unit"), [("", None), ("a lot", None), ("12345678", None), ("58206", "furlongs"), ("-5", None)]
)
def test_a_value_that_cannot_be_is_refused(store: Store, dial: str, value: str, unit: str | None) -> None:
    figure = _kept(store, dial)
    with pytest.raises(UserError) as refused:
        decide_figure(store, CAR, figure.id, "amend", value=value, unit=unit, author="Ida")
    assert refused.value.problem.slug == "figure-value"
    assert store.figure(figure.id) == figure


def test_a_stale_decision_changes_neither_figure_nor_fact(store: Store, dial: str) -> None:
    figure = _kept(store, dial)
    decide_figure(store, CAR, figure.id, "take", author="Ida")
    with pytest.raises(StaleError):
        decide_figure(store, CAR, figure.id, "amend", value="1", version=1, author="Mo")
    assert store.car_file(CAR).facts[0].fact.value == 58206


def test_two_begin_so_or_none_is_named(store: Store, dial: str) -> None:
    with pytest.raises(NotFoundError, match="no figure begins so"):
        decide_figure(store, CAR, "zz", "take", author="Ida")


def test_a_tyre_stands_by_itself_at_its_wheel(store: Store, dial: str) -> None:
    figure = _kept(store, dial, kind=FigureKind.TYRE_DATE, text="4308", value="week 43 of 2008", unit=None)
    done = decide_figure(store, CAR, figure.id, "amend", place=("tyre", None, None), author="Ida")
    assert (done.fact, done.figure.state, done.figure.part) == (None, FigureState.TAKEN, "tyre")
    with pytest.raises(UserError, match="vocabulary"):
        decide_figure(store, CAR, figure.id, "amend", place=("sail", None, None), author="Ida")


def test_what_was_said_and_seen_stand_side_by_side(store: Store, dial: str) -> None:
    said = Footing(FootingKind.SAID, "", None, None, "fifty-nine thousand four hundred miles")
    store.add_fact(CAR, Fact("odometer", 59_400, "mi", footings=(said,)), author="Ida", token=SAID)
    figure = _kept(store, dial)
    (waiting,) = car_figures(store, CAR).beside
    assert waiting.verdict == "alone"
    decide_figure(store, CAR, figure.id, "take", author="Ida")
    (beside,) = car_figures(store, CAR).beside
    assert [(one.how, one.value) for one in beside.told] == [("said", 59_400), ("seen", 58_206)]
    assert beside.verdict == "at odds"


def test_what_is_decided_at_odds_is_so_among_the_figures_and_the_other_way_round(store: Store, dial: str) -> None:
    said_so = Footing(FootingKind.SAID, "", None, None, "fifty-nine thousand four hundred miles")
    store.add_fact(CAR, Fact("odometer", 59_400, "mi", footings=(said_so,)), author="Ida", token=SAID)
    figure = _kept(store, dial)
    decide_figure(store, CAR, figure.id, "take", author="Ida")
    (case,) = odds(store, CAR).open
    (beside,) = car_figures(store, CAR).beside
    assert (beside.verdict, beside.case, beside.decision) == ("at odds", case.odds.id, None)
    decide_odds(store, CAR, case.odds.id, holds="all", reason="the dash was changed", author="Ida")
    (beside,) = car_figures(store, CAR).beside
    assert (beside.verdict, beside.case) == ("decided", case.odds.id)
    assert beside.decision is not None
    assert beside.decision.reason == "the dash was changed"
    # The one that was said is so: the figure that was taken is struck, and said to be.
    said = next(
        number for number, told in enumerate(case.odds.told, start=1) if told.fact and told.fact.value == 59_400
    )
    decide_odds(store, CAR, case.odds.id, holds=str(said), reason="the clock was changed", author="Ida")
    shown = car_figures(store, CAR)
    assert (shown.beside[0].verdict, shown.struck) == ("alone", (figure.id,))
    assert shown.beside[0].decision is not None
    # Taken again there, it is at odds again here, with the answer beside it.
    decide_figure(store, CAR, figure.id, "again", author="Ida")
    decide_figure(store, CAR, figure.id, "take", author="Ida")
    (again,) = odds(store, CAR).open
    assert (again.odds.id, again.changed) == (case.odds.id, True)
    shown = car_figures(store, CAR)
    assert (shown.beside[0].verdict, shown.struck) == ("at odds", ())


def _told(how: str, value: int | str, unit: str | None = None) -> Told:
    return Told(how, value, unit, "stands")


@pytest.mark.parametrize(
    ("told", "is_"),
    [
        ([_told("seen", 58206, "mi")], "alone"),
        ([_told("said", 58206, "mi"), _told("seen", 58206)], "equal"),
        ([_told("said", 58000, "mi"), _told("seen", 58206, "mi")], "rounded"),
        ([_told("said", 58000), _told("seen", 59206)], "at odds"),
        ([_told("said", 58206, "mi"), _told("seen", 58206, "km")], "at odds"),
        ([_told("said", "FGY412H"), _told("written", "fgy 412h")], "equal"),
        ([_told("seen", "FGY412H"), _told("written", "FGY412K")], "at odds"),
        ([_told("seen", 58000), _told("written", 58206)], "at odds"),
    ],
)
def test_values_agree_or_are_at_odds(told: list[Told], is_: str) -> None:
    name = "odometer" if isinstance(told[0].value, int) else "registration_mark"
    assert verdict(name, told, odds_tables()) == is_


def test_a_frame_near_words_that_speak_of_the_mileage_is_read(
    store: Store, make_film: Callable[..., Path], tmp_path: Path
) -> None:
    rng = random.Random(5)
    made = odometer(rng)
    scene = as_photographed(made.picture, rng, trouble=0.3)
    blank = np.full_like(scene, 60)
    film = make_film(
        "miles.mp4", frames=80, rate=10, size=(640, 360), sound=None, gop=10,
        picture=lambda number: scene if 30 <= number <= 60 else blank,
    )  # fmt: skip
    words = tmp_path / "walk.vtt"
    words.write_text("WEBVTT\n\n00:00:03.000 --> 00:00:05.000\nLook at the mileage on that.\n", encoding="utf-8")
    add(store, [film], car=CAR, transcript=words)
    came = read_figures_of(store, CAR)
    assert (came.looked_at, came.found) == (1, {"odometer": 1})
    (figure,) = car_figures(store, CAR).figures
    assert str(figure.value) in {made.truth, *made.also}
    assert 2.0 <= figure.at_s <= 6.1
    at = read_figures_at(store, CAR, at_s=1.0, kind=FigureKind.ODOMETER)
    assert (at.looked_at, at.found) == (1, {})


@pytest.mark.parametrize("name", ["nothing.jpg", "words.jpg"])
def test_a_bad_picture_never_comes_so_far(store: Store, tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    path.write_bytes(b"" if name == "nothing.jpg" else b"not a picture at all")
    added = add(store, [path], car=CAR)
    assert added.items[0].error is not None
    assert read_figures_of(store, CAR).looked_at == 0


def test_a_picture_that_went_bad_on_the_disk_is_told_and_read_when_it_is_whole(store: Store, dial: str) -> None:
    sha256 = store.car_file(CAR).pictures[0].original.sha256
    path = store.originals / sha256[:2] / sha256[2:4] / sha256
    whole = path.read_bytes()
    path.chmod(0o644)
    path.write_bytes(b"\xff\xd8\xff" + bytes(100))
    came = read_figures_of(store, CAR)
    assert (came.looked_at, [problem.slug for problem in came.problems]) == (0, ["figure-picture-unreadable"])
    path.write_bytes(whole)
    assert read_figures_of(store, CAR).looked_at == 1


def test_a_picture_is_named_by_its_id(store: Store, dial: str) -> None:
    with pytest.raises(NotFoundError, match="no picture"):
        read_figures_at(store, CAR, picture="zz")
    with pytest.raises(UserError, match="neither"):
        read_figures_at(store, CAR)
    assert read_figures_at(store, CAR, picture=dial[:8], kind=FigureKind.MARK).found == {}
