"""Two cars that are one: nothing is moved, nothing told twice, and taken apart each has what it had."""

import sqlite3
from contextlib import closing
from dataclasses import replace

import pytest
from alembic.migration import MigrationContext
from alembic.operations import Operations
from sqlalchemy import URL, create_engine

from shutline.car.carfile import CarFile, Recording
from shutline.car.errors import Problem, UserError
from shutline.car.findings import Fact, Finding, Footing, FootingKind, Found, Severity, State
from shutline.car.masks import Box, BoxAt, Mask, MaskKind, MaskState
from shutline.car.notes import NoteKind
from shutline.car.recordings import Kind, Original, Still
from shutline.store import StaleError, Store
from shutline.store.migrations.versions import rev_0007_joined
from shutline.store.tables import metadata

CAR, OTHER = "corvane-ninety", "corvane-again"
ANNA, BEN = "Anna Pell", "Ben Oake"
SENT, SENT_TOO = "a-token", "a-second-token"


@pytest.fixture
def other(store: Store, recording: Recording, film: Original, said) -> Recording:
    """A second car with a film, a picture and a note of its own."""
    store.create_car(OTHER, title="Corvane again", author=BEN)
    second = store.add_recording(OTHER, Original("6f" * 32, "second.mov", 99, Kind.FILM))
    store.put_findings(recording.id, [said(), said("a dent", condition="dent")])
    store.put_findings(second.id, [said("sound sill", part="sill", condition="sound")])
    store.put_facts(second.id, [fact(41_000)])
    store.add_picture(OTHER, Original("7a" * 32, "plate.jpg", 9, Kind.PICTURE), width=4, height=3)
    store.add_note(
        OTHER,
        NoteKind.TYPED,
        part="bonnet",
        side=None,
        position=None,
        author=BEN,
        token=SENT,
        at="2026-03-01T09:00:00Z",
        words="a chip",
    )
    return second


def fact(value: int) -> Fact:
    return Fact("odometer", value, "mi", (Footing(FootingKind.SAID, "", 3.0, 4.0, str(value)),), 0.9)


def shape(car: CarFile) -> list[object]:
    """What a car file shows, without versions and histories."""
    return [
        car.title,
        [one.id for one in car.recordings],
        [one.id for one in car.pictures],
        [(one.id, one.finding, one.stills) for one in car.findings],
        [(one.id, one.fact) for one in car.facts],
        car.notes,
        car.problems,
    ]


def test_what_is_kept_of_one_is_shown_under_the_other_and_goes_back(store: Store, other: Recording) -> None:
    before = {name: shape(store.car_file(name)) for name in (CAR, OTHER)}
    tried = store.try_join(CAR, OTHER, author=ANNA)
    assert {name: shape(store.car_file(name)) for name in (CAR, OTHER)} == before
    joined = store.join_cars(CAR, OTHER, author=ANNA)
    assert replace(tried, changed_at="") == replace(joined, changed_at="")
    file = store.car_file(CAR)
    assert (joined.recordings, joined.pictures) == (2, 1)
    assert (joined.findings_heard, joined.facts_heard) == (3, 1)
    assert len(file.recordings) == 2
    assert [len(one) for one in (file.pictures, file.findings, file.facts, file.notes)] == [1, 3, 1, 1]
    assert [(one.at, one.author) for one in file.notes] == [("2026-03-01T09:00:00Z", BEN)]
    assert store.car_file(OTHER) == file
    assert [one.name for one in store.cars()] == [CAR]
    (under,) = store.joined_cars(CAR)
    assert (under.name, under.title, under.author) == (OTHER, "Corvane again", ANNA)
    assert [(one.author, one.action, one.after) for one in file.changes] == [
        (ANNA, "joined", {"joined": OTHER, "title": "Corvane again"})
    ]

    apart = store.separate_cars(CAR, OTHER, author=ANNA)
    assert (apart.name, apart.findings_heard, apart.facts_heard) == (OTHER, 1, 1)
    assert {name: shape(store.car_file(name)) for name in (CAR, OTHER)} == before
    assert {one.name for one in store.cars()} == {CAR, OTHER}
    assert [one.action for one in store.car_file(OTHER).changes] == ["joined", "separated"]
    assert store.joined_cars(CAR) == ()


def test_a_joined_car_is_found_by_either_name_and_by_what_was_said_of_it(store: Store, other: Recording) -> None:
    store.join_cars(CAR, OTHER, author=ANNA)
    for text in (OTHER, "corvane-a", "corvane-n", "corvane"):
        assert store.find_car(text).name == CAR
    assert store.shown_under(OTHER) == store.shown_under("Corvane-A") == (OTHER, CAR)
    assert store.shown_under(CAR) is None
    assert store.shown_under("corvane") is None
    assert store.shown_under("") is None
    for words in ("again", "sill", "chip", "bonnet"):
        assert [one.name for one in store.search_cars(words).cars] == [CAR]
    store.separate_cars(CAR, OTHER, author=ANNA)
    assert [one.name for one in store.search_cars("chip").cars] == [OTHER]


def test_what_is_decided_under_the_other_stays_with_what_it_was_decided_about(store: Store, other: Recording) -> None:
    store.join_cars(CAR, OTHER, author=ANNA)
    sill = next(one for one in store.car_file(CAR).findings if one.finding.part == "sill")
    store.change_finding(sill.id, action="confirm", author=BEN, expected_version=sill.version)
    assert store.find_car(CAR).findings_standing == 1
    store.separate_cars(CAR, OTHER, author=ANNA)
    assert store.finding(sill.id).finding.state is State.STANDS
    assert [store.find_car(name).findings_standing for name in (CAR, OTHER)] == [0, 1]


def test_what_comes_in_later_goes_with_the_film_it_stands_on(store: Store, other: Recording, film: Original) -> None:
    store.join_cars(CAR, OTHER, author=ANNA)
    seen = Finding("boot_lid", "dent", Found.YES, footings=(Footing(FootingKind.SEEN, other.id, 2.0, 2.0),))
    kept = store.add_finding(CAR, seen, author=BEN, token=SENT_TOO)
    assert store.add_finding(OTHER, seen, author=BEN, token=SENT_TOO) == kept
    # The same file again is the recording that is there, whichever of the two names it is added under.
    assert store.add_recording(CAR, other.original).id == other.id
    assert store.add_recording(OTHER, film).original.sha256 == film.sha256
    assert len(store.car_file(CAR).recordings) == 2
    # A note that the phone sends again is the one that came before.
    again = store.find_note(CAR, SENT)
    assert again is not None
    assert store.find_note(OTHER, SENT) == again
    assert (store.car_of(other.id), store.cars_with(other.original.sha256)) == (CAR, (CAR,))
    store.separate_cars(CAR, OTHER, author=ANNA)
    assert kept.id in {one.id for one in store.car_file(OTHER).findings}
    assert kept.id not in {one.id for one in store.car_file(CAR).findings}


@pytest.fixture
def twin(store: Store, recording: Recording, film: Original, said) -> Recording:
    """The same film delivered again, as another car."""
    store.create_car(OTHER, title="Corvane again")
    second = store.add_recording(OTHER, film)
    for one in (recording, second):
        store.put_findings(one.id, [said(), said("a dent", condition="dent"), said("a chip", condition="chip")])
        store.put_facts(one.id, [fact(41_000)])
        store.complete(one.id)
    found = f"the same file is in the car file of {CAR!r} too"
    store.put_problems([Problem("in-another-car", "walk", found, "b", "c")], car=OTHER, recording=second.id)
    return second


def kept_of(store: Store, car: str, condition: str):
    return next(one for one in store.car_file(car).findings if one.finding.condition == condition)


def decide(store: Store, car: str, condition: str, action: str, author: str = BEN, **fields) -> str:
    kept = kept_of(store, car, condition)
    store.change_finding(kept.id, action=action, author=author, expected_version=kept.version, **fields)
    return kept.id


def test_a_film_that_both_have_is_shown_once_and_told_once(store: Store, recording: Recording, twin: Recording) -> None:
    before = {name: shape(store.car_file(name)) for name in (CAR, OTHER)}
    assert store.films_of_both(CAR, OTHER) == (recording.original.sha256,)
    joined = store.join_cars(CAR, OTHER, author=ANNA)
    file = store.car_file(CAR)
    assert [one.id for one in file.recordings] == [recording.id]
    assert shape(file) == before[CAR]
    assert (joined.recordings, joined.findings_heard, joined.facts_heard) == (1, 3, 1)
    assert file.problems == ()
    assert store.unfinished() == ()
    store.separate_cars(CAR, OTHER, author=ANNA)
    assert {name: shape(store.car_file(name)) for name in (CAR, OTHER)} == before


def test_what_was_covered_in_the_film_that_is_left_out_is_covered_in_the_one_that_is_shown(
    store: Store, recording: Recording, twin: Recording
) -> None:
    plate = Mask(twin.id, MaskKind.MARK, (BoxAt(1.0, Box(0.1, 0.1, 0.3, 0.2)),), MaskState.STANDS, None)
    drawn = store.add_mask(plate, author=BEN, token=SENT)
    store.join_cars(CAR, OTHER, author=ANNA)
    (shown,) = store.masks([recording.id])
    assert (shown.id, shown.mask.source) == (drawn.id, recording.id)
    store.separate_cars(CAR, OTHER, author=ANNA)
    assert store.masks([recording.id]) == ()
    assert store.masks([twin.id]) == (drawn,)


def test_of_the_same_told_by_both_the_one_that_was_decided_about_counts(
    store: Store, recording: Recording, twin: Recording
) -> None:
    struck = decide(store, OTHER, "dent", "strike")
    decide(store, CAR, "chip", "confirm", ANNA)
    decide(store, OTHER, "chip", "confirm")
    ours = decide(store, CAR, "rust", "amend", ANNA, severity=Severity.SLIGHT)
    theirs = decide(store, OTHER, "rust", "amend", severity=Severity.SEVERE)
    before = {name: shape(store.car_file(name)) for name in (CAR, OTHER)}
    store.join_cars(CAR, OTHER, author=ANNA)
    findings = store.car_file(CAR).findings
    assert [one.id for one in findings if one.finding.condition == "dent"] == [struck]
    assert len([one for one in findings if one.finding.condition == "chip"]) == 1
    # Decided otherwise by two people, both are shown.
    assert {one.id for one in findings if one.finding.condition == "rust"} == {ours, theirs}
    # What is shown of the film that was left out points into the one that is shown.
    assert {f.source for one in findings for f in one.finding.footings} == {recording.id}
    last = store.finding(theirs).changes[-1]
    assert (last.author, last.action) == (BEN, "amended")
    store.separate_cars(CAR, OTHER, author=ANNA)
    assert {name: shape(store.car_file(name)) for name in (CAR, OTHER)} == before


def test_words_amended_meanwhile_point_into_their_own_film_again(store: Store, twin: Recording) -> None:
    decide(store, OTHER, "dent", "strike")
    store.join_cars(CAR, OTHER, author=ANNA)
    dent = kept_of(store, CAR, "dent")
    footing = Footing(FootingKind.SAID, dent.finding.footings[0].source, 1.5, 2.5, "a small dent")
    store.change_finding(dent.id, action="amend", author=BEN, expected_version=dent.version, footings=(footing,))
    store.separate_cars(CAR, OTHER, author=ANNA)
    (back,) = store.finding(dent.id).finding.footings
    assert (back.source, back.quote) == (twin.id, "a small dent")


def test_read_again_what_was_left_out_stays_so(store: Store, recording: Recording, twin: Recording, said) -> None:
    decide(store, OTHER, "dent", "strike")
    store.join_cars(CAR, OTHER, author=ANNA)
    before = shape(store.car_file(CAR))
    store.put_findings(recording.id, [said(), said("a dent", condition="dent"), said("a chip", condition="chip")])
    assert shape(store.car_file(CAR)) == before


def test_a_face_is_found_under_the_other(store: Store, other: Recording) -> None:
    (sill,) = store.car_file(OTHER).findings
    store.attach_stills(other.id, {sill.id: [Still(1.0, "ab" * 32, 4, 3, 0.5, 0.5)]})
    store.join_cars(CAR, OTHER, author=ANNA)
    assert store.faces([CAR]) == {CAR: "ab" * 32}


def test_what_cannot_be_joined_is_refused_and_nothing_is_done(store: Store, other: Recording) -> None:
    store.create_car("third")
    cases = [(CAR, CAR, "join-itself")]
    store.join_cars(CAR, OTHER, author=ANNA)
    cases += [(CAR, OTHER, "join-itself"), ("third", OTHER, "join-itself"), ("third", CAR, "join-chain")]
    for one, two, slug in cases:
        with pytest.raises(UserError) as caught:
            store.join_cars(one, two, author=ANNA)
        assert caught.value.problem.slug == slug
    with pytest.raises(UserError) as caught:
        store.separate_cars("third", OTHER, author=ANNA)
    assert caught.value.problem.slug == "not-joined"
    with pytest.raises(StaleError):
        store.join_cars(CAR, "third", author=ANNA, expected_version=1)
    with pytest.raises(UserError) as caught:
        store.join_cars(CAR, "third", author="program")
    assert caught.value.problem.slug == "no-author"
    assert [one.name for one in store.joined_cars(CAR)] == [OTHER]


def test_a_film_of_both_that_is_half_read_is_read_first(store: Store, twin: Recording) -> None:
    store.complete(twin.id, done=False)
    with pytest.raises(UserError) as caught:
        store.join_cars(CAR, OTHER, author=ANNA)
    assert caught.value.problem.slug == "join-unread"
    assert store.find_car(OTHER).name == OTHER


def test_the_last_that_hangs_on_a_film_is_taken_out_first(store: Store, twin: Recording, film: Original) -> None:
    store.create_car("first")
    store.join_cars("first", CAR, author=ANNA)
    store.join_cars("first", OTHER, author=ANNA)
    with pytest.raises(UserError) as caught:
        store.separate_cars("first", CAR, author=ANNA)
    assert caught.value.problem.slug == "join-order"
    store.separate_cars("first", OTHER, author=ANNA)
    store.separate_cars("first", CAR, author=ANNA)
    assert {one.name for one in store.cars()} == {"first", CAR, OTHER}


def test_a_car_set_aside_is_left_out_and_comes_back(store: Store, recording: Recording) -> None:
    before = shape(store.car_file(CAR))
    aside = store.set_car_aside(CAR, aside=True, author=ANNA, expected_version=1)
    assert (aside.set_aside, store.cars(), store.count_aside()) == (True, (), 1)
    assert [one.name for one in store.cars(aside=True)] == [CAR]
    for words in ("", "corvane"):
        assert store.search_cars(words).count == 0
        assert [one.name for one in store.search_cars(words, aside=True).cars] == [CAR]
    assert (store.find_car(CAR).name, shape(store.car_file(CAR))) == (CAR, before)
    with pytest.raises(StaleError):
        store.set_car_aside(CAR, aside=False, author=BEN, expected_version=1)
    assert store.set_car_aside(CAR, aside=True, author=BEN).version == aside.version
    back = store.set_car_aside(CAR, aside=False, author=BEN)
    assert ([one.name for one in store.cars()], store.count_aside()) == ([CAR], 0)
    assert [(one.author, one.action) for one in store.car_file(CAR).changes] == [
        (ANNA, "set aside"),
        (BEN, "brought back"),
    ]
    assert not back.set_aside


def test_open_facts_are_counted_once_for_several_values(store: Store, recording: Recording) -> None:
    store.put_facts(recording.id, [fact(41_000), fact(52_000)])
    car = store.find_car(CAR)
    assert (car.facts_heard, car.facts_standing) == (1, 0)
    assert [one.name for one in store.cars(only_heard=True)] == [CAR]
    one, two = store.car_file(CAR).facts
    store.change_fact(one.id, action="confirm", author=ANNA, expected_version=1)
    assert (store.find_car(CAR).facts_heard, store.find_car(CAR).facts_standing) == (1, 0)
    store.change_fact(two.id, action="strike", author=ANNA, expected_version=1)
    assert (store.find_car(CAR).facts_heard, store.find_car(CAR).facts_standing) == (0, 1)
    assert store.cars(only_heard=True) == ()


def test_every_table_that_hangs_from_a_car_is_read_of_joined_cars_too() -> None:
    """A table added later is read with `base.under`, or a car that was joined would lose what stands in it."""
    known = {"recording", "picture", "finding", "fact", "change", "problem", "note", "car_words", "odds_decision"}
    known |= {
        "private_words",
        "share",
        "sealed_file",
        "question",
        "reading",
        "offered_text",
        "test_history",
        "past",
        "paper",
        "prep_decision",
        "price_said",
        "prep_done",
        "ledger_entry",
    }
    assert {table.name for table in metadata.tables.values() if "car_id" in table.c} - known == set()


def test_facts_of_a_store_from_before_are_counted(store: Store, recording: Recording) -> None:
    store.put_facts(recording.id, [fact(41_000), fact(52_000)])
    wanted = (store.find_car(CAR).facts_heard, store.find_car(CAR).facts_standing)
    file = store.folder / "shutline.sqlite"
    store.close()
    with closing(sqlite3.connect(file)) as connection, connection:
        connection.execute("UPDATE car SET heard_fact_count = 9, stands_fact_count = 9")
    engine = create_engine(URL.create("sqlite", database=str(file)))
    with engine.begin() as bound, Operations.context(MigrationContext.configure(bound)):
        rev_0007_joined._count_facts()
    engine.dispose()
    with closing(sqlite3.connect(file)) as connection:
        assert connection.execute("SELECT heard_fact_count, stands_fact_count FROM car").fetchone() == wanted
