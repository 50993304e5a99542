"""Second readings are kept beside the findings; of a finding only the sureness can be changed by them."""

from dataclasses import replace

import pytest
from sqlalchemy import func, select

from shutline.car.carfile import Recording
from shutline.car.errors import NotFoundError
from shutline.car.findings import Found, Side
from shutline.car.second import PieceAnswer, Proposal, Reason, SecondReading, SecondView, SetAside, Verdict
from shutline.store import KeptSecond, Store, tables

CAR = "corvane-ninety"
PROPOSAL = Proposal("bonnet", "rust", Found.YES, 0, 2, side=Side.NEAR)
ANSWER = PieceAnswer((PROPOSAL,), (SetAside(Reason.NOT_SAID, 2),))


def kept(recording: str, *views: SecondView, model: str = "m") -> KeptSecond:
    reading = SecondReading(
        recording, "reader.example", model, "2026-03-01T09:00:00.000Z", 2, 1, views, ANSWER.set_aside
    )
    return KeptSecond(reading, "ab" * 32, (PROPOSAL,), ((0.0, 9.5),))


def view(id_: str = "v1") -> SecondView:
    return SecondView(id_, Verdict.ASKS, "bonnet", "rust", Found.YES, quote="rust \ud800 here", start_s=1.5, end_s=2.0)


def test_an_answer_comes_back_by_its_hash_and_the_first_one_stays(store: Store) -> None:
    assert store.second_answers(["k1", "k2"]) == {}
    store.put_second_answer("k1", ANSWER, service="reader.example", model="m")
    store.put_second_answer("k1", PieceAnswer(), service="reader.example", model="m")
    assert store.second_answers(["k1", "k2", "k1"]) == {"k1": ANSWER}
    assert store.second_service_known("reader.example")
    assert not store.second_service_known("other.example")


def test_a_reading_comes_back_as_it_was_and_stands_in_the_car_file(store: Store, recording: Recording) -> None:
    one = kept(recording.id, view())
    assert store.second_reading(recording.id) is None
    store.put_second_reading(one)
    assert store.second_reading(recording.id) == one
    assert store.car_file(CAR).second_readings == (one.reading,)


def test_a_later_reading_takes_its_place_and_the_earlier_stays_as_past(store: Store, recording: Recording) -> None:
    store.put_second_reading(kept(recording.id))
    store.put_second_reading(kept(recording.id, model="n"))
    assert [reading.model for reading in store.car_file(CAR).second_readings] == ["n"]
    store.drop_second_reading(recording.id)
    assert store.second_reading(recording.id) is None
    assert store.car_file(CAR).second_readings == ()
    with store._db.read() as connection:
        assert connection.execute(select(func.count()).select_from(tables.second_reading)).scalar_one() == 2


def test_an_unknown_recording_is_refused(store: Store) -> None:
    with pytest.raises(NotFoundError):
        store.put_second_reading(kept("nowhere"))


def test_sureness_changes_with_its_line_in_the_history(store: Store, recording: Recording, said) -> None:
    (id_,) = store.put_findings(recording.id, [said()]).ids
    before = store.finding(id_)

    assert store.weigh_findings(recording.id, {id_: 0.9, "another": 0.1}) == 1
    assert store.weigh_findings(recording.id, {id_: 0.9}) == 0

    after = store.finding(id_)
    assert after.finding == replace(before.finding, sureness=0.9)
    assert (after.changes[-1].author, after.changes[-1].action) == ("program", "weighed again")
    assert after.version == before.version + 1


def test_what_a_person_decided_or_entered_is_not_weighed(store: Store, recording: Recording, said) -> None:
    (id_,) = store.put_findings(recording.id, [said()]).ids
    entered = store.add_finding(CAR, said("dent in the roof", "roof", "dent"), author="Ada")
    store.change_finding(id_, action="confirm", author="Ada", expected_version=1)
    before = store.car_file(CAR)
    assert store.weigh_findings(recording.id, {id_: 0.9, entered.id: 0.9}) == 0
    assert store.car_file(CAR) == before


@pytest.mark.parametrize("wrong", [-0.1, 1.1, float("nan")])
def test_a_sureness_that_is_none_is_refused(store: Store, recording: Recording, wrong: float) -> None:
    with pytest.raises(ValueError, match="outside"):
        store.weigh_findings(recording.id, {"x": wrong})
