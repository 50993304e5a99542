from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlalchemy import event

from shutline.car.carfile import Recording
from shutline.car.findings import Fact, Finding, Footing, FootingKind, Found
from shutline.car.recordings import Still
from shutline.car.speech import StretchOrigin, stretch_of
from shutline.store import Store

CAR = "corvane-ninety"


def _names(store: Store, words: str, **options) -> list[str]:
    return [car.name for car in store.search_cars(words, **options).cars]


@pytest.fixture
def yard(store: Store, recording: Recording, said: Callable[..., Finding]) -> Store:
    words = "There's a scab on the wheel arch, and the Café sticker's still on it."
    store.replace_stretches(recording.id, [stretch_of(words, 1.0, 4.0, origin=StretchOrigin.HEARD)])
    store.put_findings(recording.id, [said("scab on the wheel arch", "arch", "rust")])
    footing = Footing(FootingKind.SAID, "", 1.0, 2.0, "forty thousand", ("facts.odometer",))
    store.put_facts(recording.id, [Fact("odometer", 41206, "mi", (footing,), sureness=0.9)])
    store.create_car(title="Ostrel Pavane, two owners")
    return store


def test_a_car_is_found_by_what_was_said_found_measured_and_by_its_names(yard: Store) -> None:
    for words in ("scab", "wheel ARCH", "rust", "41206", "corvane", "ninety scab", "walk round", "cafe"):
        assert _names(yard, words) == [CAR], words


def test_words_fit_as_beginnings_and_all_of_them_must_stand(yard: Store) -> None:
    assert _names(yard, "own pav") == ["ostrel-pavane-two-owners"]
    assert _names(yard, "wners") == []
    assert _names(yard, "scab pavane") == []


def test_without_words_all_cars_come_newest_first_and_by_pages(yard: Store) -> None:
    assert _names(yard, " ,. ") == ["ostrel-pavane-two-owners", CAR]
    assert _names(yard, "", limit=1, skip=1) == [CAR]
    assert yard.search_cars("", limit=1).count == 2


def test_words_in_other_scripts_are_found(yard: Store) -> None:
    yard.create_car(title="Волга 21, sky blue")
    assert _names(yard, "Волга blue") == ["21-sky-blue"]
    assert _names(yard, "Волга rust") == []


def test_only_cars_with_heard_findings_where_asked(yard: Store) -> None:
    assert _names(yard, "", only_heard=True) == [CAR]


def test_signs_of_the_search_language_are_only_words(yard: Store) -> None:
    for words in (
        '"',
        '" OR 1=1 --',
        "rust NOT arch",
        "rust*",
        "words:rust",
        "NEAR(rust arch)",
        "(",
        "-",
        "^rust",
        "\x00",
        "rust_arch",
        "a\u0301b",
        "\u00aa\u00b2\u2460",
        "\u0b0a\u19c9\u1444",
    ):
        yard.search_cars(words)
    assert _names(yard, '"rust" (arch)') == [CAR]


def test_what_is_struck_or_said_otherwise_is_found_no_more(yard: Store) -> None:
    finding = yard.car_file(CAR).findings[0]
    assert _names(yard, "rust") == [CAR]
    yard.change_finding(finding.id, action="strike", author="Ida", expected_version=finding.version)
    assert _names(yard, "rust") == []
    recording = yard.car_file(CAR).recordings[0].id
    yard.replace_stretches(recording, [stretch_of("All sound.", 1.0, 2.0, origin=StretchOrigin.HEARD)])
    assert _names(yard, "scab") == []


def test_words_entered_by_hand_are_found(yard: Store) -> None:
    footing = Footing(FootingKind.SEEN, "", None, None, "weeping at the petcock", ())
    yard.add_finding(CAR, Finding("fuel_tank", "leak", found=Found.YES, footings=(footing,), why=()), author="Ida")
    assert _names(yard, "petcock") == [CAR]


def test_cars_that_wait_are_told(yard: Store) -> None:
    assert yard.gather_words(limit=1) == 1
    assert yard.gather_words() == 0
    assert yard.search_cars("rust").behind == 0


def test_a_search_stops_putting_words_together_when_its_time_is_over(store: Store) -> None:
    for number in range(25):
        store.create_car(f"tamsin-{number}", title=f"Tamsin {number}")
    assert store.gather_words(seconds=0.0) == 25 - 2
    found = store.search_cars("tamsin")
    assert found.count >= 4
    assert found.count + found.behind == 25
    # Those changed last come first.
    assert found.cars[0].name == "tamsin-24"
    assert store.gather_words() == 0
    assert store.search_cars("tamsin").count == 25


def test_a_decision_that_changes_no_word_puts_a_car_behind_for_one_search_only(yard: Store) -> None:
    assert yard.gather_words() == 0
    finding = yard.car_file(CAR).findings[0]
    yard.change_finding(finding.id, action="confirm", author="Ida", expected_version=finding.version)
    assert yard.gather_words(limit=0) == 1
    assert _names(yard, "scab") == [CAR]
    assert yard.gather_words(limit=0) == 0


def _still(number: int, at_s: float = 1.0) -> Still:
    return Still(at_s, f"{number:064x}", 640, 360, 0.5, 0.5)


def test_the_face_is_the_first_still_of_the_earliest_finding_that_is_shown(
    store: Store, recording: Recording, said: Callable[..., Finding]
) -> None:
    moments = [Footing(FootingKind.SAID, "", float(n), n + 1.0, f"rust {n}", ()) for n in (9, 4, 6)]
    late, early, middle = store.put_findings(recording.id, [said(footings=(moment,)) for moment in moments]).ids
    assert store.faces([CAR]) == {}
    store.attach_stills(recording.id, {late: [_still(9)], early: [_still(4), _still(5)], middle: [_still(6)]})
    assert store.faces([CAR, "nobody"]) == {CAR: f"{4:064x}"}
    store.choose_stills(early, recording.id, [_still(7)], author="Ida", expected_version=1)
    assert store.faces([CAR]) == {CAR: f"{7:064x}"}
    store.change_finding(early, action="strike", author="Ida", expected_version=2)
    assert store.faces([CAR]) == {CAR: f"{6:064x}"}


def test_a_finding_without_a_moment_gives_the_face_where_no_other_does(
    store: Store, recording: Recording, said: Callable[..., Finding]
) -> None:
    (spoken,) = store.put_findings(recording.id, [said()]).ids
    seen = Finding("fuel_tank", "leak", Found.YES, footings=(Footing(FootingKind.SEEN, "", None, None, "", ()),))
    entered = store.add_finding(CAR, seen, author="Ida")
    store.choose_stills(entered.id, recording.id, [_still(1)], author="Ida", expected_version=1)
    assert store.faces([CAR]) == {CAR: f"{1:064x}"}
    store.attach_stills(recording.id, {spoken: [_still(2)]})
    assert store.faces([CAR]) == {CAR: f"{2:064x}"}


def test_a_page_of_the_yard_takes_four_queries_at_most_and_loads_no_car_file(yard: Store) -> None:
    heard: list[str] = []
    event.listen(yard._db.engine, "before_cursor_execute", lambda *told: heard.append(told[2].lower()))
    for wanted, most in (("", 3), ("rust", 4)):
        yard.search_cars(wanted)
        heard.clear()
        found = yard.search_cars(wanted)
        yard.faces([car.name for car in found.cars])
        asked = [query for query in heard if not query.startswith("begin")]
        assert len(asked) <= most, asked
        for table in ("footing", "change", "stretch", "fact"):
            assert not any(f" {table}" in query for query in asked), table
