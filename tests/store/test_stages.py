"""A run that was stopped finds what is done, and what was done with other settings is not taken for done."""

import pytest

from shutline.car.carfile import Recording
from shutline.car.findings import Fact
from shutline.car.recordings import Original
from shutline.car.speech import Segment, StretchOrigin, stretch_of
from shutline.store import Store

CAR = "corvane-ninety"


def test_a_stage_goes_on_from_its_progress(store: Store, recording: Recording) -> None:
    stage = store.begin_stage(recording.id, "speech", "k1")
    assert (stage.done, stage.progress) == (False, {})
    store.progress(recording.id, "speech", "k1", {"segment": 12})
    assert store.begin_stage(recording.id, "speech", "k1").progress == {"segment": 12}
    assert not store.stage_done(recording.id, "speech", "k1")
    store.finish_stage(recording.id, "speech", "k1")
    assert store.stage_done(recording.id, "speech", "k1")
    assert store.begin_stage(recording.id, "speech", "k1").done


def test_another_key_makes_a_done_stage_undone_for_good(store: Store, recording: Recording) -> None:
    for key in ("k1", "k2"):
        store.begin_stage(recording.id, "read", key)
        store.finish_stage(recording.id, "read", key)
    assert not store.stage_done(recording.id, "read", "k1")
    assert store.stage_done(recording.id, "read", "k2")
    assert not store.begin_stage(recording.id, "read", "k1").done
    assert [(s.name, s.key, s.done) for s in store.stages(recording.id)] == [("read", "k1", False)]


def test_a_stage_that_was_not_begun_cannot_be_finished(store: Store, recording: Recording) -> None:
    with pytest.raises(ValueError, match="not begun"):
        store.finish_stage(recording.id, "read", "k")


def test_what_a_stage_gave_and_that_it_is_done_are_kept_together_or_not_at_all(
    store: Store, recording: Recording
) -> None:
    store.begin_stage(recording.id, "read", "k")

    def stopped() -> None:
        with store.together():
            store.put_facts(recording.id, [Fact("year", 1966)])
            store.finish_stage(recording.id, "read", "k")
            assert store.stage_done(recording.id, "read", "k")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stopped()
    assert not store.stage_done(recording.id, "read", "k")
    assert store.car_file(CAR).facts == ()


def test_pieces_heard_are_kept_for_each_recogniser(store: Store, film: Original, recording: Recording) -> None:
    def heard(index: int, text: str, *, broken_off: bool = False) -> Segment:
        return Segment(index, stretch_of(text, 9.5 * index, 9.5, origin=StretchOrigin.HEARD), broken_off)

    one, two = heard(0, "no rust"), heard(1, "", broken_off=True)
    store.put_segment(film.sha256, "tiny@1", one)
    store.put_segments(film.sha256, "tiny@1", [one, two])
    store.put_segment(film.sha256, "large@1", heard(0, "No rust."))
    assert store.segments(film.sha256, "tiny@1") == {0: one, 1: two}
    assert store.segments(film.sha256, "none") == {}
