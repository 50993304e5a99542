"""Files come into a car file, whole or not at all, and one broken file does not stop the others."""

import json
import wave
from pathlib import Path

import pytest
from PIL import Image

from shutline.car.errors import BadInputError, NotFoundError, Problem, UserError
from shutline.car.findings import Drive, Side, State
from shutline.car.recordings import Kind
from shutline.store import Store
from shutline.usecases.add import add
from shutline.usecases.look import show_car

WORDS = """WEBVTT

00:00.000 --> 00:06.000
Nearside front wing, there's a bit of rust on the bottom edge.

00:06.000 --> 00:12.000
The nearside sill is solid, no dents.
"""


@pytest.fixture
def store(tmp_path: Path) -> Store:
    with Store.open(tmp_path / "store") as opened:
        yield opened


@pytest.fixture
def walk(tmp_path: Path) -> Path:
    path = tmp_path / "walk.vtt"
    path.write_text(WORDS, encoding="utf-8")
    return path


def silent_sound(path: Path, length_s: int) -> Path:
    with wave.open(str(path), "wb") as sound:
        sound.setparams((1, 2, 8000, 0, "NONE", ""))
        sound.writeframes(b"\0\0" * 8000 * length_s)
    return path


def test_a_transcript_becomes_a_car_file_with_findings_and_their_moments(store: Store, walk: Path) -> None:
    (item,) = add(store, [walk]).items

    assert (item.car, item.kind, item.new, item.error) == ("walk", Kind.TRANSCRIPT, True, None)
    findings = [kept.finding for kept in store.car_file("walk").findings]
    assert {("front_wing", Side.NEAR, "rust", "yes"), ("sill", Side.NEAR, "dent", "no")} <= {
        (f.part, f.side, f.condition, f.found) for f in findings
    }
    assert all(f.state is State.HEARD and f.footings[0].source == item.recording for f in findings)
    rust = next(f for f in findings if f.condition == "rust")
    assert 0 <= rust.start_s < 6


def test_the_same_file_twice_is_one_recording(store: Store, walk: Path) -> None:
    add(store, [walk])
    before = store.car_file("walk")

    (again,) = add(store, [walk]).items

    assert again.new is False
    assert again.car == "walk"
    assert store.car_file("walk") == before
    assert len(store.cars()) == 1


def test_one_broken_file_does_not_stop_the_others(store: Store, walk: Path, tmp_path: Path) -> None:
    broken = tmp_path / "broken.mp4"
    broken.write_bytes(b"")
    words = tmp_path / "not a film.mp4"
    words.write_text("a letter to the dealer, without any time in it", encoding="utf-8")

    items = add(store, [broken, walk, words, tmp_path / "nowhere.mov"], car="blue").items

    assert [item.error.slug if item.error else None for item in items] == [
        "empty-file",
        None,
        "not-a-recording",
        "no-such-file",
    ]
    assert store.car_file("blue").findings


def test_a_picture_goes_to_the_car_of_the_recording_beside_it(store: Store, walk: Path, tmp_path: Path) -> None:
    picture = tmp_path / "plate.png"
    Image.new("RGB", (40, 30), "grey").save(picture)

    items = add(store, [picture, walk]).items

    assert [item.car for item in items] == ["walk", "walk"]
    (kept,) = store.car_file("walk").pictures
    assert (kept.width, kept.height) == (40, 30)


def test_a_picture_without_a_car_to_go_to_asks_for_one(store: Store, tmp_path: Path) -> None:
    picture = tmp_path / "plate.png"
    Image.new("RGB", (40, 30), "grey").save(picture)

    (item,) = add(store, [picture]).items

    assert item.error is not None
    assert item.error.slug == "which-recording"
    assert store.cars() == ()


def test_a_transcript_beside_a_recording_is_taken_in_place_of_its_sound(
    store: Store, walk: Path, tmp_path: Path
) -> None:
    sound = silent_sound(tmp_path / "walk.wav", 12)

    (item,) = add(store, [sound], car="blue", transcript=walk).items

    assert item.error is None
    assert item.kind is Kind.SOUND
    assert item.findings >= 2
    (recording,) = store.car_file("blue").recordings
    assert recording.original.name == "walk.wav"


def test_a_recording_in_which_nobody_speaks_says_so_and_finds_nothing(store: Store, tmp_path: Path) -> None:
    (item,) = add(store, [silent_sound(tmp_path / "quiet.wav", 3)]).items

    assert item.error is None
    assert item.findings == 0
    assert {problem.slug for problem in item.problems} == {"no-sound"}
    assert len(show_car(store, "quiet").silent_parts) > 20


def test_the_wheel_on_the_left_turns_the_drivers_side_round(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "left.txt"
    path.write_text("0:00 She's left hand drive. The driver's door has a dent in it.\n", encoding="utf-8")

    add(store, [path])

    car = store.car_file("left")
    assert car.drive is Drive.LHD
    assert [kept.finding.side for kept in car.findings if kept.finding.condition == "dent"] == [Side.NEAR]


def test_what_a_person_says_of_the_wheel_beats_the_words(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "left.txt"
    path.write_text("0:00 She's left hand drive. The driver's door has a dent in it.\n", encoding="utf-8")

    add(store, [path], drive=Drive.RHD)

    car = store.car_file("left")
    assert car.drive is Drive.RHD
    assert [kept.finding.side for kept in car.findings if kept.finding.condition == "dent"] == [Side.OFF]


def test_a_decision_of_a_person_outlives_a_second_reading(
    store: Store, walk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(store, [walk])
    rust = next(kept for kept in store.car_file("walk").findings if kept.finding.condition == "rust")
    store.change_finding(rust.id, action="strike", author="Ada", expected_version=rust.version)
    monkeypatch.setattr("shutline.remarks.edition", lambda: "another edition")

    add(store, [walk])

    again = next(kept for kept in store.car_file("walk").findings if kept.id == rust.id)
    assert again.finding.state is State.STRUCK


@pytest.mark.parametrize("name", ["../../escape", "a/b", "", "con aux\0", "x" * 200])
def test_a_car_name_that_could_be_a_path_is_refused(store: Store, walk: Path, name: str) -> None:
    with pytest.raises(UserError) as refused:
        add(store, [walk], car=name)

    assert refused.value.problem.slug == "car-name"
    assert not [path for path in store.originals.rglob("*") if path.is_file()]
    assert store.cars() == ()


@pytest.mark.parametrize(
    "name", ["walk \u202egnp.vtt", "käfer «blau» 日本.vtt", "-rf.vtt", "a;b$(c)`d`.vtt", "x" * 200 + ".vtt"]
)
def test_odd_file_names_are_only_ever_data(store: Store, tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    path.write_text(WORDS, encoding="utf-8")

    (item,) = add(store, [path]).items

    assert item.error is None
    assert store.car_file(item.car).recordings[0].original.name == name
    kept = [p.name for p in store.originals.rglob("*") if p.is_file()]
    assert len(kept) == 1
    assert set(kept[0]) <= set("0123456789abcdef")


def test_a_linked_original_stays_where_it_is(store: Store, walk: Path) -> None:
    (item,) = add(store, [walk], link=True).items

    assert item.error is None
    assert not [p for p in store.originals.rglob("*") if p.is_file()]
    assert store.linked_path(store.car_file("walk").recordings[0].original.sha256) == walk.resolve()


def test_an_original_is_never_altered(store: Store, walk: Path) -> None:
    before = walk.read_bytes()

    add(store, [walk])

    assert walk.read_bytes() == before
    (kept,) = [p for p in store.originals.rglob("*") if p.is_file()]
    assert kept.read_bytes() == before


def test_an_unknown_car_is_not_found_and_says_where_to_look(store: Store) -> None:
    with pytest.raises(NotFoundError, match="list of cars"):
        show_car(store, "green")


def test_a_transcript_for_two_recordings_is_refused(store: Store, walk: Path, tmp_path: Path) -> None:
    sounds = [silent_sound(tmp_path / f"{n}.wav", 1 + n) for n in range(2)]

    with pytest.raises(UserError, match="one recording"):
        add(store, sounds, transcript=walk)


def test_what_was_added_can_be_given_as_json(store: Store, walk: Path) -> None:
    import msgspec

    given = json.loads(json.dumps(msgspec.to_builtins(add(store, [walk]))))

    assert given["items"][0]["car"] == "walk"


def test_a_title_is_shown_in_place_of_the_name_and_can_be_changed(store: Store, walk: Path) -> None:
    add(store, [walk], car="blue", title="1969 Averley Curlew")
    assert store.car_file("blue").title == "1969 Averley Curlew"

    add(store, [walk], car="blue")
    assert store.car_file("blue").title == "1969 Averley Curlew"

    add(store, [walk], car="blue", title="The blue one")
    assert store.car_file("blue").title == "The blue one"


def test_a_name_with_spaces_becomes_one_with_hyphens_and_the_title(store: Store, walk: Path) -> None:
    (item,) = add(store, [walk], car="Larkfield Tourer 1971").items

    assert item.car == "larkfield-tourer-1971"
    assert store.car_file(item.car).title == "Larkfield Tourer 1971"


def test_the_same_file_in_two_cars_is_kept_and_said(store: Store, walk: Path) -> None:
    add(store, [walk], car="blue")

    (item,) = add(store, [walk], car="green").items

    assert [problem.slug for problem in item.problems] == ["in-another-car"]
    assert "'blue'" in item.problems[0].found


def test_words_taken_from_a_file_are_said_to_be(store: Store, walk: Path, tmp_path: Path) -> None:
    (item,) = add(store, [silent_sound(tmp_path / "walk.wav", 12)], car="blue", transcript=walk).items

    (said,) = [problem for problem in item.problems if problem.slug == "words-from-a-file"]
    assert "walk.vtt" in said.found


def test_a_transcript_takes_no_other_transcript_in_its_place(store: Store, walk: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.vtt"
    other.write_text(WORDS.replace("nearside", "offside"), encoding="utf-8")

    with pytest.raises(UserError, match="transcript itself"):
        add(store, [walk], transcript=other)


def test_problems_of_a_transcript_name_the_file_and_not_where_it_is_kept(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "back.vtt"
    path.write_text("WEBVTT\n\n00:30.000 --> 00:20.000\nRust on the nearside sill.\n", encoding="utf-8")

    (item,) = add(store, [path]).items

    assert item.problems
    assert all(problem.where.startswith("back.vtt") for problem in item.problems)


def test_a_second_recording_that_says_nothing_of_the_wheel_leaves_it_where_it_is(store: Store, tmp_path: Path) -> None:
    first, second = tmp_path / "first.txt", tmp_path / "second.txt"
    first.write_text("0:00 The bonnet is straight.\n", encoding="utf-8")
    second.write_text("0:00 The driver's door has a dent in it.\n", encoding="utf-8")

    add(store, [first], car="left", drive=Drive.LHD)
    add(store, [second], car="left")

    car = store.car_file("left")
    assert car.drive is Drive.LHD
    assert [kept.finding.side for kept in car.findings if kept.finding.condition == "dent"] == [Side.NEAR]


def test_words_that_are_gone_take_their_findings_with_them(store: Store, walk: Path, tmp_path: Path) -> None:
    sound = silent_sound(tmp_path / "walk.wav", 12)
    add(store, [sound], car="blue", transcript=walk)
    assert store.car_file("blue").findings

    add(store, [sound], car="blue", from_sound=True)

    assert store.car_file("blue").findings == ()
    assert store.car_file("blue", withdrawn=True).findings


def test_words_from_a_file_stay_when_the_recording_is_added_again(store: Store, walk: Path, tmp_path: Path) -> None:
    sound = silent_sound(tmp_path / "walk.wav", 12)
    add(store, [sound], car="blue", transcript=walk)
    before = store.car_file("blue")

    (item,) = add(store, [sound], car="blue").items

    after = store.car_file("blue")
    assert item.findings == len(before.findings) > 0
    assert (after.findings, after.recordings) == (before.findings, before.recordings)


def test_a_picture_beside_a_recording_that_fails_makes_no_car(
    store: Store, walk: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    picture = tmp_path / "plate.png"
    Image.new("RGB", (40, 30), "grey").save(picture)

    def refuse(*_: object, **__: object) -> None:
        raise BadInputError(Problem("not-a-recording", "walk.vtt", "odd", "a recording", "Look at it."))

    monkeypatch.setattr("shutline.usecases.add._settle_car", refuse)
    items = add(store, [walk, picture]).items

    assert [item.error.slug for item in items if item.error] == ["not-a-recording", "which-recording"]
    assert store.cars() == ()
