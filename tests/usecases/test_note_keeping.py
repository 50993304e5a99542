"""Notes made at the car come into its file once, at their place, and are footings of what they are said to show."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PIL import Image

from shutline.car.errors import NotFoundError, UserError
from shutline.car.findings import Drive, FootingKind, Position, Severity, Side, State
from shutline.car.notes import Note, NoteKind
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.store import Store
from shutline.usecases.at_the_car import at_the_car, find_place, places
from shutline.usecases.note_keeping import Says, hear_notes, keep_file, keep_words, say_what_it_shows, tie
from shutline.usecases.placed_words import read_at
from shutline.usecases.report import make_report

CAR = "blue"
ONE, TWO, THREE = "token-one", "token-two", "token-three"


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "store") as opened:
        opened.create_car(CAR, title="Ostrel Pavane, blue")
        yield opened


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    path = tmp_path / "sent.part"
    Image.new("RGB", (64, 48), (90, 60, 40)).save(path, "JPEG")
    return path


def keep_picture(store: Store, picture: Path, sent_as: str = ONE, place: str = "sill-near"):
    return keep_file(
        store, CAR, picture, kind=NoteKind.PICTURE, place=place, token=sent_as, name="sill.jpg", by="Ida Quill"
    )


def test_a_picture_is_kept_as_an_original_and_tied_to_its_place(store: Store, picture: Path) -> None:
    data = picture.read_bytes()
    kept = keep_picture(store, picture)
    car = store.car_file(CAR)
    assert (kept.new, kept.note.part, kept.note.side, kept.note.author) == (True, "sill", Side.NEAR, "Ida Quill")
    (there,) = car.pictures
    assert (there.id, there.width, there.height, there.original.name) == (kept.note.source, 64, 48, "sill.jpg")
    digest = there.original.sha256
    assert (store.originals / digest[:2] / digest[2:4] / digest).read_bytes() == data
    assert car.notes == (kept.note,)
    # A picture alone says nothing of the part.
    assert car.findings == ()


def test_sent_twice_it_is_kept_once(store: Store, picture: Path) -> None:
    first = keep_picture(store, picture)
    again = keep_picture(store, picture)
    assert (again.new, again.note) == (False, first.note)
    assert len(store.car_file(CAR).pictures) == len(store.car_file(CAR).notes) == 1


def test_one_picture_may_show_two_places(store: Store, picture: Path) -> None:
    keep_picture(store, picture)
    keep_picture(store, picture, TWO, "nearside rear wing")
    car = store.car_file(CAR)
    assert len(car.pictures) == 1
    assert [note.part for note in car.notes] == ["sill", "rear_wing"]


def test_what_a_picture_is_said_to_show_stands_on_it_as_seen(store: Store, picture: Path) -> None:
    note = keep_picture(store, picture).note
    for _ in range(2):
        shown = say_what_it_shows(store, CAR, ONE, Says("rust", severity=Severity.SEVERE), token=TWO, by="Ida Quill")
    (kept,) = store.car_file(CAR).findings
    assert shown.finding == kept
    finding = kept.finding
    assert (finding.part, finding.side, finding.condition, finding.severity) == (
        "sill",
        Side.NEAR,
        "rust",
        Severity.SEVERE,
    )
    assert (finding.state, finding.sureness) == (State.STANDS, None)
    assert [(f.kind, f.source) for f in finding.footings] == [(FootingKind.SEEN, note.source)]
    assert at_the_car(store, CAR).notes[0].shows == (kept.id,)


def test_a_picture_can_be_tied_to_what_was_heard_and_takes_nothing_from_it(store: Store, picture: Path) -> None:
    words = keep_words(store, CAR, "rust along the seam", place="sill-near", token=THREE, says=Says("rust"))
    heard = words.finding
    assert heard is not None
    note = keep_picture(store, picture).note
    for _ in range(2):
        tied = tie(store, CAR, ONE, heard.id, by="Per Wick").finding
    assert tied is not None
    assert [(f.kind, f.source, f.quote) for f in tied.finding.footings] == [
        (FootingKind.SAID, words.note.id, "rust along the seam"),
        (FootingKind.SEEN, note.source, ""),
    ]
    assert tied.version == heard.version + 1


def test_typed_words_are_a_note_and_a_finding_only_where_the_person_says_so(store: Store) -> None:
    kept = keep_words(store, CAR, " odd smell here ", place="carpet", token=ONE)
    assert (kept.note.words, kept.finding) == ("odd smell here", None)
    assert store.car_file(CAR).findings == ()
    keep_words(store, CAR, "wet through", place="carpet", token=TWO, says=Says("damp"))
    (finding,) = store.car_file(CAR).findings
    assert (finding.finding.condition, finding.finding.footings[0].quote) == ("damp", "wet through")
    known = at_the_car(store, CAR).known
    assert [(one.line, one.places) for one in known] == [("damp (said)", ("carpet",))]


def test_a_report_can_be_made_of_what_was_noted(store: Store, picture: Path, tmp_path: Path) -> None:
    keep_picture(store, picture)
    say_what_it_shows(store, CAR, ONE, Says("rust"), token=TWO)
    keep_words(store, CAR, "wet <b>through", place="carpet", token=THREE, says=Says("damp"))
    made = make_report(store, CAR, out=tmp_path / "out", only=["html", "json"])
    assert made.findings == 2
    assert "<b>through" not in (tmp_path / "out/report.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("slug", "asked"),
    [
        ("place-unknown", {"place": "flux capacitor"}),
        ("note-token", {"token": "short"}),
        ("note-token", {"token": "../../../etc/passwd"}),
        ("note-time", {"at": "yesterday"}),
        ("note-words", {"words": "  "}),
        ("note-words", {"words": "x" * 4001}),
        ("unknown-condition", {"says": Says("haunted")}),
    ],
)
def test_what_cannot_be_kept_is_refused_and_nothing_of_it_stays(store: Store, slug: str, asked: dict) -> None:
    words = asked.pop("words", "low")
    with pytest.raises(UserError) as refused:
        keep_words(store, CAR, words, **{"place": "car", "token": ONE, **asked})
    assert refused.value.problem.slug == slug
    assert store.car_file(CAR).notes == ()


def test_a_file_that_is_something_else_is_refused_under_its_own_name(store: Store, picture: Path) -> None:
    with pytest.raises(UserError) as refused:
        keep_file(store, CAR, picture, kind=NoteKind.SPOKEN, place="sill-near", token=ONE, name="walk.webm")
    assert (refused.value.problem.slug, refused.value.problem.where) == ("note-kind", "walk.webm")
    picture.write_bytes(b"no picture at all")
    with pytest.raises(UserError) as refused:
        keep_picture(store, picture)
    assert "sent.part" not in str(refused.value)
    assert store.car_file(CAR).pictures == ()


def test_what_belongs_to_no_note_is_not_found(store: Store) -> None:
    with pytest.raises(NotFoundError):
        say_what_it_shows(store, CAR, ONE, Says("rust"), token=TWO)
    keep_words(store, CAR, "low", place="car", token=ONE)
    with pytest.raises(NotFoundError):
        tie(store, CAR, ONE, "0000000000000000")


def test_a_spoken_note_is_kept_at_once_and_heard_later(
    store: Store, make_film: Callable[..., Path], tmp_path: Path
) -> None:
    sound = make_film("note.webm", codec=None, sound="libopus", sound_s=2.0)
    kept = keep_file(store, CAR, sound, kind=NoteKind.SPOKEN, place="sill-near", token=ONE, name="sill.webm")
    assert at_the_car(store, CAR).notes[0].read is False
    assert hear_notes(store) == ()
    (there,) = at_the_car(store, CAR).notes
    assert (there.read, there.place, there.note) == (True, "sill-near", kept.note)
    assert store.unfinished() == ()


AT = [
    # A chosen place, what was said there, and what must come of it; by hand.
    ("sill-near", "there's a crack here", [("sill", "near", None, "crack")]),
    ("door-rear-off", "there's a crack here", [("door", "off", "rear", "crack")]),
    ("tyre-front-off", "it's scratched quite badly", [("tyre", "off", "front", "scratch")]),
    ("headlining", "there's a tear in it", [("headlining", None, None, "tear")]),
    ("front_wing-near", "the bonnet has a dent", [("bonnet", None, None, "dent")]),
]


@pytest.mark.parametrize(("place", "words", "wanted"), AT)
def test_spoken_words_are_read_at_the_chosen_place_unless_they_name_another(
    place: str, words: str, wanted: list
) -> None:
    spot = find_place(place)
    at = Note("n", spot.part, spot.side, spot.position, NoteKind.SPOKEN, "r", "", "", "", "Ida Quill")
    said = [stretch_of(words, 0.0, 3.0, origin=StretchOrigin.HEARD)]
    reading, _ = read_at(said, at, drive=None, usual=Drive.RHD, recording="r")
    found = [(f.part, f.side, f.position, f.condition) for f in reading.findings]
    assert found == wanted
    assert all(f.footings[0].quote and f.footings[0].start_s is not None for f in reading.findings)
    chosen = [reason for f in reading.findings for reason in f.why if "chosen before" in reason]
    assert len(chosen) == (0 if "bonnet" in words else 1)
    # No reason is given out of words that nobody said.
    assert not any("carried over" in reason for f in reading.findings for reason in f.why)


def test_every_place_has_a_name_and_a_key_of_its_own() -> None:
    assert len({place.key for place in places()}) == len({place.name for place in places()}) == len(places())
    assert find_place("Nearside front WING").key == "front_wing-near"
    assert find_place("tyre-rear-off") == find_place("offside rear tyre")
    assert find_place("tyre-rear-off").position is Position.REAR
