"""What comes in is kept once, whole, and the private part apart."""

import json
from pathlib import Path

import hypothesis.strategies as st
import pytest
from hypothesis import HealthCheck, given, settings

from shutline.car.carfile import Recording
from shutline.car.errors import NotFoundError, Problem
from shutline.car.recordings import Kind, Original, PrivateDetails, Probe, Track
from shutline.car.schema import car_file_json
from shutline.car.speech import Stretch, StretchOrigin, Word, WordTiming, stretch_of
from shutline.store import Store

CAR = "corvane-ninety"
PRIVATE = PrivateDetails(51.123456, -2.654321, "a telephone of nobody's")
any_text = st.text(st.characters(), max_size=12)
finite = st.floats(0, 1e6, allow_nan=False)
words = st.builds(Word, any_text, finite, finite, st.sampled_from(WordTiming), sureness=st.none() | st.floats(0, 1))
stretches = st.builds(
    Stretch, finite, finite, any_text, st.lists(words, max_size=3).map(tuple), st.sampled_from(StretchOrigin)
)


def test_the_same_file_twice_is_one_with_both_names(store: Store, recording: Recording, film: Original) -> None:
    again = Original(film.sha256, "copy of walk.mov", film.byte_size, film.kind)
    assert store.add_recording(CAR, again) == recording
    assert store.original_names(film.sha256) == ("walk round.mov", "copy of walk.mov")
    assert [r.id for r in store.car_file(CAR).recordings] == [recording.id]


def test_one_film_of_two_cars_is_two_recordings(store: Store, recording: Recording, film: Original) -> None:
    store.create_car("other")
    other = store.add_recording("other", film)
    assert other.id != recording.id
    assert store.cars_with(film.sha256) == (CAR, "other")
    assert store.cars_with("00" * 32) == ()
    assert (store.car_of(other.id), store.car_of(recording.id)) == ("other", CAR)


def test_odd_names_come_back_as_they_were(store: Store, recording: Recording) -> None:
    for number, name in enumerate(("CON", "a\x00b", "\udcff.mov", "x" * 4000, "\ue5e5e5e5", "../../etc")):
        odd = store.add_recording(CAR, Original(f"{number:064x}", name, 1, Kind.SOUND))
        assert odd.original.name == name
        assert store.recording(odd.id).original.name == name


def test_the_way_to_a_linked_original_is_not_in_the_car_file(store: Store, recording: Recording) -> None:
    linked = Original("ab" * 32, "long.mkv", 9, Kind.FILM, linked=True)
    way = Path("somewhere/else/long.mkv")
    store.add_recording(CAR, linked, linked_path=way)
    assert store.linked_path(linked.sha256) == way
    assert "somewhere" not in json.dumps(car_file_json(store.car_file(CAR)))
    copied = store.add_original(Original("ab" * 32, "long.mkv", 9, Kind.FILM))
    assert (copied.linked, store.linked_path(linked.sha256)) == (False, None)


def test_place_and_device_are_kept_and_reach_no_car_file(store: Store, recording: Recording) -> None:
    probe = Probe(Kind.FILM, "mov", 12.5, (1080, 1920), (Track(0, "video", "hevc", rotation_deg=90),), "2026-01-01")
    store.set_probe(recording.id, probe, private=PRIVATE)
    picture = Original("cd" * 32, "p.heic", 5, Kind.PICTURE)
    store.add_picture(CAR, picture, width=4000, height=3000, private=PRIVATE)
    assert store.private_details(recording.original.sha256) == PRIVATE
    assert store.private_details(picture.sha256) == PRIVATE
    kept = store.car_file(CAR)
    assert kept.recordings[0].probe == probe
    assert (kept.pictures[0].width, kept.pictures[0].original) == (4000, picture)
    written = json.dumps(car_file_json(kept))
    for planted in ("51.123456", "-2.654321", "a telephone"):
        assert planted not in written


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(stretches, max_size=4))
def test_any_words_come_back_the_same(store: Store, film: Original, said: list[Stretch]) -> None:
    recording = store.add_recording(store.create_car(title="any").name, film).id
    store.replace_stretches(recording, [stretch_of("older", 0, 1, origin=StretchOrigin.HEARD)])
    store.replace_stretches(recording, said)
    assert store.recording(recording).stretches == tuple(said)


def test_the_problems_of_a_stage_replace_those_it_met_before(store: Store, recording: Recording) -> None:
    def problem(slug: str) -> Problem:
        return Problem(slug, "walk.mov", "f", "a", "d")

    store.put_problems([problem("one"), problem("two")], car=CAR, recording=recording.id, stage="probe")
    store.put_problems([problem("three")], car=CAR, recording=recording.id, stage="speech")
    store.put_problems([problem("two"), problem("four")], car=CAR, recording=recording.id, stage="probe")
    assert sorted(p.slug for p in store.car_file(CAR).problems) == ["four", "three", "two"]


def test_a_recording_is_complete_when_it_is_said_to_be(store: Store, recording: Recording) -> None:
    assert not recording.complete
    store.complete(recording.id)
    assert store.recording(recording.id).complete
    store.complete(recording.id, done=False)
    assert not store.recording(recording.id).complete


def test_what_is_not_there_is_said_so(store: Store) -> None:
    for call in (store.recording, store.original, store.linked_path, store.car_file):
        with pytest.raises(NotFoundError):
            call("0" * 16)
