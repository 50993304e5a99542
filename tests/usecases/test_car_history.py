"""The history of a car in use: what comes of facts, test histories and readings, and what does not add up."""

from __future__ import annotations

import csv
import json
import random
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from importlib.resources import files
from pathlib import Path

import pytest

from shutline.car.errors import BadInputError, NotFoundError
from shutline.car.findings import Fact, Finding, Footing, FootingKind, Found
from shutline.car.past import PastKind
from shutline.car.recordings import Kind, Original, Probe
from shutline.history.mileage import Explained, Verdict
from shutline.history.returning import named_in
from shutline.history.timeline import EventKind
from shutline.store import Store
from shutline.usecases.car_history import CarHistory, car_history
from shutline.usecases.kept_tests import decide_tests, enter_tests, keep_tests
from shutline.usecases.past import enter_past

CAR, OTHER = "ostrel-pavane", "ostrel-again"
IDA = "Ida Quill"
DAY = date(2026, 11, 26)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "store") as opened:
        opened.create_car(CAR, title="Ostrel Pavane, blue")
        yield opened


@pytest.fixture
def said(store: Store) -> Callable[..., str]:
    """Tell facts in a film of a day; gives the recording's id."""

    def tell(*facts: tuple[object, ...], day: str = "2026-04-21", car: str = CAR, sha: str = "5e") -> str:
        recording = store.add_recording(car, Original(sha * 32, f"{sha}.mov", 1_234, Kind.FILM))
        store.set_probe(recording.id, Probe(Kind.FILM, "mov", 20.0, recorded_at=f"{day}T10:00:00Z"))
        footing = (Footing(FootingKind.SAID, "", 3.0, 4.0, "so"),)
        store.put_facts(recording.id, [Fact(*fact, footings=footing, sureness=0.9) for fact in facts])
        return recording.id

    return tell


def row_of(day: str, miles: int, *, passed: bool = True, noted: tuple[str, ...] = (), **more: str) -> dict:
    return {
        "completedDate": f"{day} 10:00:00",
        "testResult": "PASSED" if passed else "FAILED",
        "odometerValue": str(miles),
        "odometerUnit": "mi",
        "odometerResultType": "READ",
        "motTestNumber": day.replace(".", ""),
        "rfrAndComments": [{"text": text, "type": "ADVISORY", "dangerous": False} for text in noted],
        **more,
    }


def record(*tests: dict, mark: str = "FGY412H", **more: str) -> dict:
    named = {"registration": mark, "make": "OSTREL", "model": "PAVANE", "registrationDate": "1969.09.02"}
    return {**named, **more, "motTests": list(tests)}


def bring(store: Store, *records: dict, car: str = CAR):
    return keep_tests(store, car, json.dumps(list(records)).encode(), called="history.json", author=IDA)


def doubts(told: CarHistory) -> list[str]:
    return [one.id for one in told.doubts]


def test_a_record_of_the_cars_mark_counts_and_another_is_kept_apart_until_a_person_has_said(store, said) -> None:
    said(("registration_mark", "FGY 412H"))
    came = bring(store, record(row_of("2016.06.10", 70_100)), record(row_of("2017.06.10", 9), mark="ZZ99ABC"))
    assert [(one.counts, one.tests) for one in came.records] == [(True, 1), (False, 1)]
    assert "kept apart until it is decided" in came.records[1].why
    assert [one.day for one in car_history(store, CAR, day=DAY).tests] == [date(2016, 6, 10)]
    again = bring(store, record(row_of("2016.06.10", 70_100)))
    assert again.new == 0
    apart = came.records[1].id
    assert decide_tests(store, CAR, apart[:8], "same", author=IDA).counts
    assert len(car_history(store, CAR, day=DAY).tests) == 2
    assert not decide_tests(store, CAR, apart, "other", author=IDA).counts
    assert not decide_tests(store, CAR, apart, "open", author=IDA).counts
    with pytest.raises(NotFoundError) as caught:
        decide_tests(store, CAR, "", "same", author=IDA)
    assert caught.value.problem.slug == "tests-unknown"


def test_without_a_known_mark_nothing_counts_by_itself(store: Store) -> None:
    assert "mark is not known" in bring(store, record()).records[0].why
    assert car_history(store, CAR, day=DAY).mileage.verdict is Verdict.CANNOT_BE_TOLD


def test_the_sample_of_the_open_test_history_is_told_as_published(store, said) -> None:
    # ../shared/check_values: seven miles in two days are a retest; both defects of the front discs return.
    said(("registration_mark", "ZZ99 ABC"))
    noted = ("Front brake disc excessively pitted (3.5.1h)",)
    bring(
        store,
        record(
            row_of("2013.11.01", 47_118, passed=False, noted=noted),
            row_of("2013.11.03", 47_125),
            row_of("2018.05.20", 57_318, passed=False, noted=noted),
            mark="ZZ99ABC",
        ),
    )
    told = car_history(store, CAR, day=DAY)
    assert [(one.passed, one.retest) for one in told.tests] == [(False, False), (True, True), (False, False)]
    assert told.mileage.verdict is Verdict.CONSISTENT
    (again,) = told.returning
    assert (again.part, again.place, again.condition) == ("brakes", "front brakes", "pitting")
    assert [one.year for one in again.days] == [2013, 2018]
    assert "look there" in again.ask


def test_a_later_file_with_the_earlier_tests_again_gives_each_test_once(store, said) -> None:
    said(("registration_mark", "FGY412H"))
    first, second = row_of("2016.06.10", 70_100), row_of("2017.06.10", 72_000)
    bring(store, record(first))
    assert bring(store, record(first, second)).new == 1
    told = car_history(store, CAR, day=DAY)
    assert [one.point.value for one in told.mileage.points] == [70_100, 72_000]


def test_mileages_of_joined_cars_are_weighed_together(store, said) -> None:
    store.create_car(OTHER, title="Ostrel again")
    said(("registration_mark", "FGY412H"), ("odometer", 81_234, "mi"), day="2024-05-01")
    said(("registration_mark", "FGY412H"), ("odometer", 12_345, "mi"), day="2026-04-21", car=OTHER, sha="6f")
    bring(store, record(row_of("2022.06.10", 78_100)), car=OTHER)
    assert car_history(store, CAR, day=DAY).mileage.verdict is Verdict.CANNOT_BE_TOLD
    store.join_cars(CAR, OTHER, author=IDA)
    told = car_history(store, CAR, day=DAY)
    assert [one.point.value for one in told.mileage.points] == [78_100, 81_234, 12_345]
    assert told.mileage.points[-1].explained is not Explained.AS_READ
    assert "mileage" in doubts(told)


def test_a_round_figure_that_was_said_does_not_accuse_a_test(store, said) -> None:
    said(("registration_mark", "FGY412H"), ("odometer", 41_000, "mi"))
    bring(store, record(row_of("2025.06.10", 41_206), row_of("2024.06.10", 40_100)))
    told = car_history(store, CAR, day=DAY)
    assert told.mileage.verdict is Verdict.CONSISTENT
    assert "about 41,000, a round figure" in told.mileage.points[-1].sentence
    # A thousand less is no rounding.
    bring(store, record(row_of("2023.06.10", 43_100)))
    assert car_history(store, CAR, day=DAY).mileage.verdict is not Verdict.CONSISTENT


@pytest.mark.parametrize(
    ("facts", "more", "wanted"),
    [
        ([("registration_mark", "AB51CDE"), ("first_registered", "1969-09-02")], {}, "mark-newer"),
        ([("registration_mark", "FGY412H"), ("registration_mark", "FGY413H")], {}, "marks-differ"),
        ([("chassis_number", "AB123"), ("chassis_number", "A8123")], {}, "chassis-differs"),
        ([("chassis_number", "1M8GDM9A0KP042788")], {}, "check-digit"),
        ([("year", 1971), ("registration_mark", "FGY412H")], {}, "registered-before-made"),
        ([("year", 1962), ("registration_mark", "FGY412H")], {}, "registered-late"),
        ([("first_registered", "1970-03-01"), ("registration_mark", "FGY412H")], {}, "registered-differs"),
        ([("registration_mark", "FGY412H")], {"registrationDate": "2020.01.01"}, "tested-before"),
        ([("registration_mark", "FGY412H")], {"make": "CORVANE"}, "other-make"),
        ([("keepers", 2), ("keepers", 3)], {}, "keepers-differ"),
    ],
)
def test_what_does_not_add_up_has_its_rule_and_whom_to_ask(store, said, facts, more, wanted) -> None:
    said(*facts)
    bring(store, record(row_of("2016.06.10", 70_100), **more))
    found = {one.id: one for one in car_history(store, CAR, day=DAY).doubts}
    assert wanted in found
    assert all((found[wanted].rule, found[wanted].source, found[wanted].ask, found[wanted].plain))


def test_keepers_before_the_present_one_are_one_fewer_than_in_all(store, said) -> None:
    recording = said(("registration_mark", "FGY412H"))
    before = (Footing(FootingKind.SAID, "", 1.0, 2.0, "two before me", ("number-keepers-before",)),)
    in_all = (Footing(FootingKind.SAID, "", 5.0, 6.0, "three of us in all"),)
    facts = [Fact("keepers", 2, footings=before, sureness=0.9), Fact("keepers", 3, footings=in_all, sureness=0.9)]
    store.put_facts(recording, facts)
    told = car_history(store, CAR, day=DAY)
    assert "keepers-differ" not in doubts(told)
    assert [one.split(", said")[0] for one in told.keepers] == ["2 keepers before the present one", "3 keepers"]
    for start, until in (("1970", "1980"), ("1980", "now")):
        enter_past(store, CAR, PastKind.KEEPER, {"start": start, "until": until}, author=IDA)
    assert "keepers-count" not in doubts(car_history(store, CAR, day=DAY))
    for start, until in (("1960", "1965"), ("1965", "1970")):
        enter_past(store, CAR, PastKind.KEEPER, {"start": start, "until": until}, author=IDA)
    told = car_history(store, CAR, day=DAY)
    assert "keepers-count" in doubts(told)
    assert any(one.sentence.startswith("4 keepers are entered who had begun by then, and 3") for one in told.doubts)


def test_a_plain_history_has_no_doubt(store, said) -> None:
    said(("registration_mark", "FGY412H"), ("year", 1969), ("odometer", 80_412, "mi"), ("keepers", 3))
    bring(store, record(row_of("2016.06.10", 70_100), row_of("2018.06.10", 73_400)))
    told = car_history(store, CAR, day=DAY)
    assert told.doubts == ()
    assert [one.free for one in told.exemptions] == [True, True]
    assert {one.kind for one in told.events} == {
        EventKind.REGISTERED,
        EventKind.TEST_PASSED,
        EventKind.KEEPERS,
        EventKind.EXEMPT,
        EventKind.OURS,
    }
    assert "3 keepers, said on 2026-04-21" in told.keepers[0]


def test_a_mark_carried_at_a_test_is_told(store, said) -> None:
    said(("registration_mark", "FGY412H"))
    bring(store, record(row_of("2016.06.10", 70_100, registrationAtTimeOfTest="OLD 1")))
    assert "mark-at-test" in doubts(car_history(store, CAR, day=DAY))


def test_a_part_that_returns_is_joined_to_what_the_car_file_says(store, said) -> None:
    recording = said(("registration_mark", "FGY412H"))
    footing = (Footing(FootingKind.SAID, "", 1.0, 2.0, "rust in the sill"),)
    store.put_findings(recording, [Finding("sill", "rust", Found.YES, footings=footing, sureness=0.9)])
    noted = ("Nearside sill corroded (6.1.1)",)
    bring(store, record(row_of("2016.06.10", 1_000, noted=noted), row_of("2019.06.10", 2_000, noted=noted)))
    (again,) = car_history(store, CAR, day=DAY).returning
    assert again.findings == ("sill: rust (heard)",)
    assert again.ask == ""


def test_the_order_of_papers_changes_nothing(store, said, tmp_path: Path) -> None:
    rows = [row_of(f"20{year}.06.10", 50_000 + 1_900 * year) for year in range(10, 22)]
    rows[4] = replace_miles(rows[4], 5_000)
    told = []
    for number in range(3):
        random.Random(number).shuffle(rows)
        with Store.open(tmp_path / f"other{number}") as there:
            there.create_car(CAR, title="Ostrel Pavane, blue")
            kept = bring(there, record(*rows))
            decide_tests(there, CAR, kept.records[0].id, "same", author=IDA)
            found = car_history(there, CAR, day=DAY)
            told.append(replace(found, records=()))
    assert told[0] == told[1] == told[2]


def replace_miles(row: dict, miles: int) -> dict:
    return {**row, "odometerValue": str(miles)}


@pytest.mark.parametrize(
    "data",
    [b"", b"\xff\xfe", b"[]", b"{}", b"[" * 5_000, b'{"registration": 5}', json.dumps([record()] * 21).encode()],
)
def test_a_file_that_gives_nothing_is_refused(store: Store, data: bytes) -> None:
    with pytest.raises(BadInputError) as caught:
        keep_tests(store, CAR, data, called="x.json", author=IDA)
    assert caught.value.problem.slug == "mot-history"
    assert store.car_file(CAR).tests == ()


def test_tests_that_cannot_be_read_are_named_and_the_others_told(store, said) -> None:
    said(("registration_mark", "FGY412H"))
    odd = [{}, row_of("2016.13.45", 1), row_of("2016.06.10", -5), row_of("2016.06.10", 10**30)]
    came = bring(store, record(*odd, row_of("2016.06.10", 70_100)))
    assert len(came.problems) == 4
    told = car_history(store, CAR, day=DAY)
    assert (len(told.tests), len(told.problems)) == (1, 4)


def test_years_that_no_car_has_are_left_out(store, said) -> None:
    said(("registration_mark", "FGY412H"), ("year", 9990))
    odd = {"registrationDate": "9990.01.01", "manufactureDate": "0001.02.30"}
    came = bring(store, record(row_of("9999.12.31", 1), row_of("2016.06.10", 70_100), **odd))
    assert len(came.problems) == 1
    told = car_history(store, CAR, day=date.max)
    assert (told.registered, told.made, told.exemptions) == (None, None, ())
    assert told.picture


def test_a_file_that_is_not_there_is_told(store: Store, tmp_path: Path) -> None:
    with pytest.raises(NotFoundError) as caught:
        enter_tests(store, CAR, tmp_path / "nothing.json")
    assert caught.value.problem.slug == "no-such-file"


def test_each_row_of_words_fits_its_example_and_not_its_counter_example() -> None:
    table = files("shutline.history").joinpath("data/test_words.csv").read_text(encoding="utf-8").splitlines()
    rows = list(csv.DictReader(table))
    assert len(rows) > 50
    for row in rows:
        assert getattr(named_in(row["example"]), row["kind"]) == row["id"], row
        assert getattr(named_in(row["counter_example"]), row["kind"]) != row["id"], row


def test_the_picture_has_a_mark_for_each_test_and_holds_no_words_of_the_car(store, said) -> None:
    said(("registration_mark", "FGY412H"), ("odometer", 1_234, "mi"))
    bring(store, record(row_of("2016.06.10", 70_100), row_of("2017.06.02", 71_000, passed=False)))
    told = car_history(store, CAR, day=DAY)
    drawn = told.picture.split("</desc>", 1)[1]
    # One of each more in the key; and two bars with their arrows, for it is free of tax and test.
    assert drawn.count("<rect") == 1 + 2 + 2 + 2
    assert drawn.count("<polygon") == 2 + 2
    assert "mileage in doubt" in drawn
    assert "FGY" not in told.picture
    assert "2 tests from 2016-06-10 to 2017-06-02; failed on 2017-06-02" in told.alt
