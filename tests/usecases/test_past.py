"""Keepers, countries and dates as a person enters them, and what comes of them in the history of the car."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from shutline.car.errors import BadInputError, NotFoundError
from shutline.car.past import PastKind
from shutline.history.timeline import EventKind
from shutline.store import StaleError, Store
from shutline.usecases.car_history import car_history
from shutline.usecases.kept_tests import decide_tests, keep_tests
from shutline.usecases.past import change_past, enter_past, past_shown
from shutline.usecases.private import private_for

CAR = "ostrel-pavane"
IDA = "Ida Quill"
DAY = date(2026, 11, 26)
KEEPER = {"about": "Augusta Harbottle", "start": "1969-09", "until": "1987-03", "on": "registration"}


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "store") as opened:
        opened.create_car(CAR, title="Ostrel Pavane, blue")
        yield opened


def enter(store: Store, kind: PastKind, **fields: str):
    return enter_past(store, CAR, kind, fields, author=IDA)


def test_what_is_entered_is_told_with_its_precision_and_what_it_rests_on(store: Store) -> None:
    enter(store, PastKind.KEEPER, **KEEPER)
    enter(store, PastKind.KEEPER, about="", start="1987", until="now", on="letter of  1990")
    enter(store, PastKind.COUNTRY, about="the netherlands", until="1987")
    enter(store, PastKind.DATE, about="imported", start="1987-04-02")
    assert [one.words for one in past_shown(store, CAR).lines] == [
        "Keeper: Augusta Harbottle, from September 1969 to March 1987 (registration document)",
        "Keeper, from 1987 to this day (paper: letter of 1990)",
        "In the Netherlands, to 1987 (said)",
        "Imported on 1987-04-02 (said)",
    ]
    told = car_history(store, CAR, day=DAY)
    assert told.keepers[0].startswith("Keeper 1: Augusta Harbottle, from September 1969")
    assert told.countries == (
        "In the Netherlands to 1987 (said).",
        "In the United Kingdom from 1987-04-02 to this day (since it was imported).",
    )
    assert told.imported == (date(1987, 4, 2), date(1987, 4, 2))
    kinds = {one.kind for one in told.events}
    assert {EventKind.KEEPER, EventKind.COUNTRY, EventKind.IMPORTED} <= kinds
    assert all(words in told.picture for words in ("Augusta Harbottle", "Netherlands", "imported"))


def test_the_country_of_a_date_is_where_the_car_was_until_it_was_imported(store: Store) -> None:
    enter(store, PastKind.DATE, about="made", start="1969-06", country="Italy")
    enter(store, PastKind.DATE, about="used", start="1969-11", country="fr")
    line = enter(store, PastKind.DATE, about="registered", start="1969-10", country="FR", on="carte grise")
    assert line.words == "First registered in October 1969 in France (paper: carte grise)"
    enter(store, PastKind.DATE, about="imported", start="1987-04-02", country="UK")
    told = car_history(store, CAR, day=DAY)
    there = "first registered there, paper: carte grise; first used there, said"
    assert told.countries == (
        "In Italy from June 1969 to October 1969 (made there, said).",
        f"In France from October 1969 to 1987-04-02 ({there}).",
        "In the United Kingdom from 1987-04-02 to this day (since it was imported).",
    )
    assert told.doubts == ()


def test_a_car_that_was_made_here_went_and_came_back(store: Store) -> None:
    enter(store, PastKind.DATE, about="made", start="1969-06", country="UK")
    enter(store, PastKind.DATE, about="registered", start="1970", country="US")
    enter(store, PastKind.DATE, about="imported", start="1987")
    told = car_history(store, CAR, day=DAY)
    assert [one.split(" (")[0] for one in told.countries] == [
        "In the United Kingdom from June 1969 to 1970",
        "In the United States from 1970 to 1987",
        "In the United Kingdom from 1987 to this day",
    ]
    assert told.doubts == ()


def test_amended_struck_and_again_with_a_version(store: Store) -> None:
    line = enter(store, PastKind.KEEPER, **KEEPER)
    amended = change_past(store, CAR, line.id[:6], "amend", {"until": "now"}, version=1, author="Ben Marl")
    assert amended.words.endswith("from September 1969 to this day (registration document)")
    assert (amended.by, amended.version) == ("Ben Marl", 2)
    with pytest.raises(StaleError):
        change_past(store, CAR, line.id, "strike", version=1, author=IDA)
    change_past(store, CAR, line.id, "strike", version=2, author=IDA)
    assert car_history(store, CAR, day=DAY).keepers == ()
    assert car_history(store, CAR, day=DAY).past[0].state == "struck"
    assert change_past(store, CAR, line.id, "again", author=IDA).state == "stands"
    for ref in ("", "nothing"):
        with pytest.raises(NotFoundError) as caught:
            change_past(store, CAR, ref, "strike", author=IDA)
        assert caught.value.problem.slug == "past-unknown"


LATER = (datetime.now(UTC).date() + timedelta(days=2)).isoformat()


@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        (PastKind.KEEPER, {"start": "1066"}),
        (PastKind.KEEPER, {"start": "12/03/1987"}),
        (PastKind.KEEPER, {"start": LATER}),
        (PastKind.KEEPER, {"start": "1990", "until": "1987-03"}),
        (PastKind.KEEPER, {"about": "x" * 121}),
        (PastKind.KEEPER, {"about": "a\x00b"}),
        (PastKind.KEEPER, {"colour": "blue"}),
        (PastKind.COUNTRY, {"about": "Atlantis"}),
        (PastKind.COUNTRY, {}),
        (PastKind.COUNTRY, {"about": "FR", "country": "FR"}),
        (PastKind.DATE, {"about": "made", "start": "1987", "country": "Atlantis"}),
        (PastKind.DATE, {"about": "sold", "start": "1987"}),
        (PastKind.DATE, {"about": "made"}),
        (PastKind.DATE, {"about": "made", "start": "1987", "until": "1988"}),
        (PastKind.DATE, {"about": "made", "start": "1987", "until": "now"}),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_kept(store: Store, kind: PastKind, fields: dict[str, str]) -> None:
    with pytest.raises(BadInputError) as caught:
        enter_past(store, CAR, kind, fields, author=IDA)
    assert caught.value.problem.slug == "past-unfit"
    assert store.car_file(CAR).past == ()


def test_fields_go_with_an_amendment_alone(store: Store) -> None:
    line = enter(store, PastKind.KEEPER, **KEEPER)
    with pytest.raises(BadInputError):
        change_past(store, CAR, line.id, "strike", {"until": "1990"}, author=IDA)
    assert past_shown(store, CAR).lines[0].version == 1


def test_age_counts_from_the_making_and_else_from_the_first_use_anywhere(store: Store) -> None:
    # Registered here in 1987 after another country: the tax and the test go by the earlier date.
    enter(store, PastKind.DATE, about="registered", start="1987-04-02")
    assert [one.free for one in car_history(store, CAR, day=DAY).exemptions] == [False, False]
    enter(store, PastKind.DATE, about="used", start="1985-06")
    told = car_history(store, CAR, day=DAY)
    assert [one.earliest for one in told.exemptions] == [date(2026, 4, 1), date(2025, 6, 1)]
    assert [one.free for one in told.exemptions] == [True, True]
    enter(store, PastKind.DATE, about="made", start="1969")
    told = car_history(store, CAR, day=DAY)
    assert [one.earliest for one in told.exemptions] == [date(2010, 4, 1), date(2018, 5, 20)]
    assert (told.made, told.used) == ((date(1969, 1, 1), date(1969, 12, 31)), (date(1985, 6, 1), date(1985, 6, 30)))


def ids(store: Store) -> list[str]:
    return [one.id for one in car_history(store, CAR, day=DAY).doubts]


@pytest.mark.parametrize(
    ("entries", "wanted"),
    [
        ({"made": "1970", "used": "1969"}, ["used-before-made"]),
        ({"made": "1970", "imported": "1969-12-31"}, ["imported-before-made"]),
        ({"made": "1962", "registered": "1969"}, ["registered-late"]),
        # From abroad it is registered late, and nothing is odd with that.
        ({"made": "1962", "registered": "1969", "imported": "1969"}, []),
        ({"made": "1962", "used": "1963", "imported": "1969"}, []),
    ],
)
def test_dates_that_contradict_one_another_are_told(store: Store, entries: dict[str, str], wanted: list[str]) -> None:
    for name, start in entries.items():
        enter(store, PastKind.DATE, about=name, start=start)
    assert ids(store) == wanted
    assert all(one.rule and one.source and one.ask for one in car_history(store, CAR, day=DAY).doubts)


def test_a_keeper_before_the_car_was_made_and_a_gap_are_told(store: Store) -> None:
    enter(store, PastKind.DATE, about="made", start="1969")
    enter(store, PastKind.KEEPER, about="A. Pell", start="1960", until="1975")
    enter(store, PastKind.KEEPER, about="B. Marl", start="1985", until="now")
    assert ids(store) == ["keeper-before-made", "keepers-gap"]


def test_a_test_here_while_it_is_entered_as_abroad_is_told(store: Store) -> None:
    record = {
        "registration": "FGY412H",
        "make": "OSTREL",
        "motTests": [
            {"completedDate": "2016.06.10", "testResult": "PASSED", "odometerValue": "70100", "odometerUnit": "mi"}
        ],
    }
    came = keep_tests(store, CAR, json.dumps(record).encode(), called="h.json", author=IDA)
    decide_tests(store, CAR, came.records[0].id, "same", author=IDA)
    enter(store, PastKind.COUNTRY, about="FR", start="1990", until="2020")
    assert "here-while-abroad" in ids(store)


def test_a_mark_of_the_year_of_import_has_a_rule_of_its_own(store: Store) -> None:
    record = {"registration": "E412FGY", "make": "OSTREL", "motTests": []}
    came = keep_tests(store, CAR, json.dumps(record).encode(), called="h.json", author=IDA)
    decide_tests(store, CAR, came.records[0].id, "same", author=IDA)
    enter(store, PastKind.DATE, about="registered", start="1969")
    assert "mark-newer" in ids(store)
    enter(store, PastKind.DATE, about="imported", start="1988-02-01")
    assert ids(store) == ["mark-of-import"]


def test_the_name_of_every_keeper_is_private_also_of_one_that_was_struck_or_called_otherwise(store: Store) -> None:
    line = enter(store, PastKind.KEEPER, **KEEPER)
    change_past(store, CAR, line.id, "amend", {"about": "Wilhelmina Pell"}, author="Ben Marl")
    change_past(store, CAR, line.id, "strike", author=IDA)
    private = private_for(store, store.car_file(CAR))
    told = private.text("Augusta Harbottle and Wilhelmina Pell had it, says Ben Marl to Ida Quill.")
    assert not any(name in told for name in ("Harbottle", "Pell", "Marl", "Quill"))
