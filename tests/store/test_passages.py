"""Where the words of a search stand: what was said around them, when, and in which recording; on both engines."""

from __future__ import annotations

import pytest

from shutline.car.carfile import Recording
from shutline.car.recordings import Kind, Original
from shutline.car.speech import Stretch, StretchOrigin, Word, WordTiming, stretch_of
from shutline.store import Store
from shutline.store.passages import AROUND, MOST, Passage

CAR = "corvane-ninety"


def said(text: str, start_s: float, end_s: float):
    return stretch_of(text, start_s, end_s, origin=StretchOrigin.HEARD)


def shown(passage: Passage) -> str:
    return " ".join(f"[{piece.text}]" if piece.found else piece.text for piece in passage.pieces)


@pytest.fixture
def yard(store: Store, recording: Recording) -> Store:
    store.replace_stretches(
        recording.id,
        [
            said("Good morning. This is the Corvane.", 0.0, 3.0),
            said("There's Rust on the wheel arch, and the Café sticker's still on it.", 3.0, 9.0),
            said("The trusty old boot lid is straight, no rusty seams.", 9.0, 14.0),
            said("Rust again, under the sill.", 14.0, 17.0),
        ],
    )
    second = store.add_recording(CAR, Original("7a" * 32, "second.mov", 99, Kind.FILM))
    store.replace_stretches(second.id, [said("И вот порог, ржавчина.", 1.0, 3.0)])
    return store


def test_what_was_said_is_shown_with_its_moment(yard: Store) -> None:
    (passage,) = yard.passages([CAR], "arch")[CAR]
    assert shown(passage) == "There's Rust on the wheel [arch,] and the Café sticker's still on it."
    assert passage.recording == 1
    # Ten or so words share six seconds out by their letters; the moment is that of the word itself.
    words = yard.car_file(CAR).recordings[0].stretches[1].words
    assert passage.at_s == next(word.start_s for word in words if word.text == "arch,")


def test_words_fit_as_beginnings_only(yard: Store) -> None:
    found = yard.passages([CAR], "rust")[CAR]
    assert len(found) == MOST
    assert [shown(one).count("[") for one in found] == [1, 1]
    assert "trusty" not in " ".join(piece.text for one in found for piece in one.pieces if piece.found)
    assert shown(yard.passages([CAR], "trusty")[CAR][0]).startswith("The [trusty] old boot lid")


def test_a_passage_with_all_the_words_comes_before_those_with_one(yard: Store) -> None:
    found = yard.passages([CAR], "rust sill")[CAR]
    assert any("[Rust] again, under the [sill.]" in shown(one) for one in found)


def test_words_are_found_without_their_accents_and_in_other_scripts(yard: Store) -> None:
    assert "[Café]" in shown(yard.passages([CAR], "cafe")[CAR][0])
    (other,) = yard.passages([CAR], "РЖАВЧИНА")[CAR]
    assert (shown(other), other.recording) == ("И вот порог, [ржавчина.]", 2)


def test_of_a_long_stretch_only_a_little_around_is_shown(yard: Store, recording: Recording) -> None:
    many = " ".join(f"word{at}" for at in range(60)) + " chassis " + " ".join(f"later{at}" for at in range(60))
    yard.replace_stretches(recording.id, [said(many, 0.0, 60.0)])
    (passage,) = yard.passages([CAR], "chassis")[CAR]
    before, found, after = shown(passage).partition("[chassis]")
    assert found
    assert before.startswith("… word52")
    assert before.count("word") == AROUND
    assert after.endswith("…")


def test_what_stands_in_the_file_otherwise_has_no_moment(yard: Store) -> None:
    yard.search_cars("second")
    (passage,) = yard.passages([CAR], "second")[CAR]
    assert (shown(passage), passage.recording, passage.at_s) == ("[second.mov]", None, None)


def test_a_title_needs_no_passage_and_nothing_asked_gives_none(yard: Store) -> None:
    yard.search_cars("ninety")
    assert yard.passages([CAR], "ninety") == {}
    assert yard.passages([CAR], " ,.") == yard.passages([], "rust") == yard.passages(["nobody"], "rust") == {}


def test_words_as_they_were_kept_last_are_looked_at(yard: Store, recording: Recording) -> None:
    yard.replace_stretches(recording.id, [said("Nothing but a dent.", 0.0, 2.0)])
    assert CAR not in yard.passages([CAR], "arch")
    timed = (Word("Dented", 4.25, 4.5, WordTiming.ALIGNED, 0.9), Word("it is.", 4.5, 5.0, WordTiming.ALIGNED, 0.9))
    yard.replace_stretches(recording.id, [Stretch(4.0, 5.0, "Dented it is.", timed, StretchOrigin.HEARD)])
    (passage,) = yard.passages([CAR], "dent")[CAR]
    assert (shown(passage), passage.at_s) == ("[Dented] it is.", 4.25)


def test_the_passages_of_a_page_take_few_queries(store: Store) -> None:
    from sqlalchemy import event

    names = [store.create_car(f"tamsin-{number}", title="Tamsin").name for number in range(50)]
    for number, name in enumerate(names):
        one = store.add_recording(name, Original(f"{number:064x}", "walk.mov", 9, Kind.FILM))
        store.replace_stretches(one.id, [said(f"Dent number {number}.", 0.0, 2.0)])
    heard: list[str] = []
    event.listen(store._db.engine, "before_cursor_execute", lambda *told: heard.append(told[2]))
    assert len(store.passages(names, "dent")) == 50
    assert len([query for query in heard if not query.lower().startswith("begin")]) <= 5


def test_the_words_found_are_marked_in_a_line() -> None:
    assert [(piece.text, piece.found) for piece in Store.marked("Corvane Ninety, rusty", "ninety rust")] == [
        ("Corvane", False),
        ("Ninety, rusty", True),
    ]
    assert Store.marked("Corvane", " ") == ()


def test_a_car_without_stills_is_known_by_its_first_picture(yard: Store) -> None:
    assert yard.first_pictures([CAR]) == {}
    for digit in "bc":
        yard.add_picture(CAR, Original(digit * 64, f"{digit}.jpg", 9, Kind.PICTURE), width=4, height=3)
    assert yard.first_pictures([CAR, "nobody"]) == {CAR: "b" * 64}
    assert yard.first_pictures([]) == {}
