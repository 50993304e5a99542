"""Rings from the car file to the card: on what shows a finding, upright, drawn over it; the command does the same."""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PIL import Image

from shutline.car.carfile import KeptFinding
from shutline.car.errors import NotFoundError, UserError
from shutline.car.notes import NoteKind
from shutline.car.rings import Circle, shows_of
from shutline.cli.commands import run
from shutline.store import StaleError, Store
from shutline.usecases.add import add
from shutline.usecases.job_cards import card_picture, show_job_cards
from shutline.usecases.look import find_car
from shutline.usecases.note_keeping import Says, keep_file, say_what_it_shows
from shutline.usecases.own_prep import PREP_VARIABLE
from shutline.usecases.rings import ring, take_ring_back
from shutline.usecases.settings import SETTINGS_VARIABLE
from shutline.usecases.stills import choose_still

CAR = "lindel-six"
IDA, BEN = "Ida Quill", "Ben Marl"
TAKEN, SHOWS = "picture-1", "shows-001"
WORDS = """WEBVTT

00:00:00.500 --> 00:00:02.500
The nearside front wing has a dent in it.
"""


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(PREP_VARIABLE, str(tmp_path / "prep"))
    monkeypatch.setenv(SETTINGS_VARIABLE, str(tmp_path / "settings" / "settings.toml"))


@pytest.fixture(scope="module")
def store(make_film: Callable[..., Path], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """A store with one filmed car; each test rings what it enters, or takes its ring back."""
    folder = tmp_path_factory.mktemp("ringed")
    words = folder / "walk.vtt"
    words.write_text(WORDS, encoding="utf-8")
    with Store.open(folder / "store") as opened:
        add(opened, [make_film("ringed.mp4", frames=40, rate=10, sound=None, gop=10)], car=CAR, transcript=words)
        yield opened


def dent(store: Store) -> KeptFinding:
    return next(one for one in find_car(store, CAR).findings if one.finding.condition == "dent")


def shown(store: Store, finding: str) -> list[Circle | None]:
    """Give the rings that the cards show of a finding, one for each picture of it."""
    spots = (spot for card in show_job_cards(store, CAR).cards for job in card.jobs for spot in job.spots)
    return [one.circle for one in next(spot.pictures for spot in spots if spot.finding == finding)]


def test_a_ring_is_on_the_card_moved_and_taken_back_and_no_file_is_touched(store: Store) -> None:
    kept = dent(store)
    files = {path: path.read_bytes() for path in store.derived.rglob("*") if path.is_file()}
    first = ring(store, CAR, kept.id[:8], x=0.25, y=0.5, radius=0.1, author=IDA)
    assert shown(store, kept.id) == [Circle(0.25, 0.5, 0.1)]
    assert ring(store, CAR, kept.id, x=0.25, y=0.5, radius=0.1, version=0, author=IDA) == first
    with pytest.raises(StaleError):
        ring(store, CAR, kept.id, x=0.5, y=0.5, radius=0.1, version=0, author=BEN)
    ring(store, CAR, kept.id, x=0.5, y=0.5, radius=0.1, picture=kept.stills[0].sha256[:9], version=1, author=BEN)
    assert shown(store, kept.id) == [Circle(0.5, 0.5, 0.1)]
    back = take_ring_back(store, CAR, kept.id, version=2, author=IDA)
    assert shown(store, kept.id) == [None]
    assert [one.author for one in back.ring.changes] == [IDA, BEN, IDA]
    assert take_ring_back(store, CAR, kept.id, version=2, author=IDA) == back
    assert {path: path.read_bytes() for path in files} == files


def test_another_still_has_no_ring_until_somebody_draws_one(store: Store) -> None:
    kept = dent(store)
    ring(store, CAR, kept.id, x=0.25, y=0.5, radius=0.1, author=IDA)
    choose_still(store, CAR, kept.id, 3.0, author=IDA)
    assert dent(store).stills[0].sha256 != kept.stills[0].sha256
    assert shown(store, kept.id) == [None]
    with pytest.raises(UserError) as none:
        take_ring_back(store, CAR, kept.id, author=IDA)
    assert none.value.problem.slug == "ring-refused"


def test_a_picture_that_lies_on_its_side_is_ringed_as_it_is_shown(store: Store, tmp_path: Path) -> None:
    # Exif 2.32, orientation 6: the first row of the file is the right-hand side of the picture.
    exif = Image.Exif()
    exif[0x0112] = 6
    Image.new("RGB", (96, 48), (120, 90, 90)).save(tmp_path / "side.jpg", exif=exif)
    keep_file(store, CAR, tmp_path / "side.jpg", kind=NoteKind.PICTURE, place="bonnet", token=TAKEN, name="side.jpg")
    chip = say_what_it_shows(store, CAR, TAKEN, Says("chip"), token=SHOWS, by=IDA).finding
    assert chip is not None
    (shows,) = shows_of(find_car(store, CAR), chip)
    assert (shows.width, shows.height, shows.at_s) == (48, 96, None)
    with Image.open(io.BytesIO(card_picture(store, CAR, shows.sha256))) as sent:
        assert sent.size == (48, 96)
    ring(store, CAR, chip.id, x=0.5, y=0.25, radius=0.2, picture=shows.picture, author=IDA)
    assert shown(store, chip.id) == [Circle(0.5, 0.25, 0.2)]


def test_what_cannot_be_ringed_is_refused(store: Store) -> None:
    kept = dent(store)
    for how, slug in (
        ({"x": 1.5, "y": 0.5, "radius": 0.1}, "ring-refused"),
        ({"x": 0.5, "y": 0.5, "radius": 0.0}, "ring-refused"),
        ({"x": 0.5, "y": 0.5, "radius": 0.1, "picture": "ffff" * 16}, "ring-picture-unknown"),
    ):
        with pytest.raises((UserError, NotFoundError)) as refused:
            ring(store, CAR, kept.id, **how, author=IDA)  # type: ignore[arg-type]
        assert refused.value.problem.slug == slug


def test_the_command_says_what_the_web_does(store: Store, capsys: pytest.CaptureFixture[str]) -> None:
    kept = dent(store)
    said = ["ring", CAR, kept.id, "--store", str(store.folder), "--by", BEN]
    capsys.readouterr()
    assert run([*said, "--at", "0.75,0.5", "--radius", "0.2", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    done = ring(store, CAR, kept.id, x=0.75, y=0.5, radius=0.2, author=IDA)
    assert (told["ring"]["circle"], told["ring"]["version"]) == (
        {"x": 0.75, "y": 0.5, "radius": 0.2},
        done.ring.version,
    )
    assert run([*said, "--take-back"]) == 0
    assert "no more ring at 0.750,0.500" in capsys.readouterr().out
    for wrong in (["--at", "here"], [], ["--at", "0.5,0.5", "--take-back"]):
        assert run([*said, *wrong]) == 2
