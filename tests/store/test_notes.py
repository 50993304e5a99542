"""A note made at the car is kept once, with its place, and found again."""

import pytest

from shutline.car.errors import NotFoundError, UserError
from shutline.car.findings import Position, Side
from shutline.car.notes import NoteKind
from shutline.car.recordings import Kind, Original
from shutline.store import Store

CAR = "corvane-ninety"
T1 = {"token": "t1"}
AT = "2026-03-01T10:15:00.000Z"


def typed(store: Store, sent_as: str = "t1", **fields):
    asked = {"part": "tyre", "side": Side.OFF, "position": Position.REAR, "author": "Ida Quill", "at": AT, **fields}
    return store.add_note(CAR, NoteKind.TYPED, token=sent_as, **asked)


def test_a_note_comes_back_as_it_went_in(store: Store, recording) -> None:
    kept = typed(store, words="cracked sidewall\nand \ud800 low")
    assert (kept.part, kept.side, kept.position, kept.words) == (
        "tyre",
        Side.OFF,
        Position.REAR,
        "cracked sidewall\nand \ud800 low",
    )
    assert (kept.at, kept.author, kept.source) == (AT, "Ida Quill", "")
    assert kept.kept_at.startswith("2026-03-01T09:")
    assert store.car_file(CAR).notes == (kept,)
    assert store.find_note(CAR, "t1") == kept
    assert store.find_note(CAR, "t2") is None


def test_the_same_token_again_adds_nothing(store: Store, recording) -> None:
    first = typed(store, words="low")
    assert typed(store, words="sent again") == first
    typed(store, "t2", words="another")
    assert [note.words for note in store.car_file(CAR).notes] == ["low", "another"]


def test_the_same_token_in_another_car_is_another_note(store: Store, recording) -> None:
    store.create_car("other")
    typed(store, words="low")
    store.add_note("other", NoteKind.TYPED, part="car", side=None, position=None, author="Per", at=AT, **T1)
    assert len(store.car_file(CAR).notes) == len(store.car_file("other").notes) == 1


def test_a_spoken_note_is_found_by_its_recording(store: Store, recording) -> None:
    sound = store.add_recording(CAR, Original("ab" * 32, "note.webm", 99, Kind.SOUND))
    kept = store.add_note(
        CAR, NoteKind.SPOKEN, part="sill", side=Side.NEAR, position=None, author="Per", **T1, at=AT,
        source=sound.id,
    )  # fmt: skip
    assert store.spoken_at(sound.id) == kept
    assert store.spoken_at(recording.id) is None


def test_typed_words_are_found_by_the_search(store: Store, recording) -> None:
    typed(store, words="whitewall missing")
    assert [car.name for car in store.search_cars("whitewall").cars] == [CAR]
    assert store.search_cars("blackwall").cars == ()


def test_what_cannot_be_kept_is_refused(store: Store, recording) -> None:
    with pytest.raises(UserError, match="vocabulary"):
        typed(store, part="flux")
    with pytest.raises(NotFoundError):
        store.add_note("nobody", NoteKind.TYPED, part="car", side=None, position=None, author="Per", token="x", at=AT)  # noqa: S106
    assert store.car_file(CAR).notes == ()
