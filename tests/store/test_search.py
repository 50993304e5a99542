from __future__ import annotations

from collections.abc import Callable

import pytest

from shutline.car.carfile import Recording
from shutline.car.findings import Fact, Finding, Footing, FootingKind, Found
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
