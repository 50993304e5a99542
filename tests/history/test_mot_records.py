"""The open test history: the published sample, both forms of it, and what is wrong with a file."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.errors import BadInputError
from shutline.history import MotRecord, mileage_told, read_mot_history
from shutline.history.mileage import Verdict
from shutline.history.mot_records import trend_words

SAMPLE = Path(__file__).parents[1] / "published" / "mot_history_sample.json"


def sample() -> MotRecord:
    return read_mot_history(SAMPLE.read_bytes(), name="sample")[0]


def test_the_published_sample() -> None:
    """47,118 mi at the failure, 47,125 two days on: a retest; then 10,193 mi in 4.54 years, 2,244 a year."""
    record = sample()
    assert (record.mark, record.first_used) == ("ZZ99ABC", date(2010, 11, 13))
    assert [(one.day, one.passed, one.mileage) for one in record.tests] == [
        (date(2013, 11, 1), False, 47118),
        (date(2013, 11, 3), True, 47125),
        (date(2018, 5, 20), False, 57318),
    ]
    ((before, after),) = record.retests()
    assert (after.mileage or 0) - (before.mileage or 0) == 7
    first, last = record.tests[1], record.tests[2]
    years = (last.day - first.day).days / 365.25
    assert ((last.mileage or 0) - (first.mileage or 0)) / years == pytest.approx(2244, abs=2)
    assert mileage_told(record.mileages(), day=date(2018, 6, 1)).verdict is Verdict.CONSISTENT


def test_what_returns_is_told_with_its_years() -> None:
    ((about, days),) = sample().returning()
    assert trend_words(about, days) == "front brake disc excessively pitted: 2013, 2018"


def test_severities_before_and_after_the_new_rules() -> None:
    """The flag counts before 20 May 2018, the severity from then on (check_values.md 7)."""
    old, _, new = sample().tests
    assert [(one.severity, one.dangerous) for one in old.defects] == [("FAIL", True), ("ADVISORY", False)]
    assert [(one.severity, one.dangerous) for one in new.defects] == [
        ("MAJOR", False),
        ("DANGEROUS", True),
        ("USER ENTERED", False),
    ]
    assert old.defects[0].about == "Front brake disc excessively pitted"


def test_the_newer_form_and_odometers_that_were_not_read() -> None:
    tests = [
        {"completedDate": "2024-03-02T10:00:00.000Z", "testResult": "PASSED", "expiryDate": "2025-03-01",
         "odometerValue": "90210", "odometerUnit": "KM", "odometerResultType": "READ", "motTestNumber": "2",
         "registrationAtTimeOfTest": "YY09DEF", "defects": [{"text": "a", "type": "MINOR", "dangerous": False}]},
        {"completedDate": "2023-03-02T10:00:00.000Z", "testResult": "FAILED", "odometerValue": None,
         "odometerResultType": "UNREADABLE", "motTestNumber": "1", "defects": []},
    ]  # fmt: skip
    (record,) = read_mot_history(json.dumps({"registration": "yy09 def", "motTests": tests}).encode(), name="x")
    assert [(one.mileage, one.unit, one.why) for one in record.tests] == [
        (None, "mi", "it could not be read"),
        (90210, "km", ""),
    ]
    assert len(record.mileages()) == 1


def test_a_test_that_cannot_be_read_leaves_the_others_alone() -> None:
    raw = json.loads(SAMPLE.read_text(encoding="utf-8"))[0]
    raw["motTests"][0]["completedDate"] = "soon"
    raw["motTests"].append(7)
    (record,) = read_mot_history(json.dumps(raw).encode(), name="x")
    assert len(record.tests) == 2
    assert [one.slug for one in record.problems] == ["mot-history", "mot-history"]
    assert "test 1" in record.problems[0].where


@pytest.mark.parametrize("data", [b"", b"{", b"[]", b"7", b'{"a": 1}', b"\xff", b"[" * 100_000])
def test_a_file_that_is_none_is_refused(data: bytes) -> None:
    with pytest.raises(BadInputError) as caught:
        read_mot_history(data, name="x")
    assert caught.value.problem.slug == "mot-history"


KEYS = ["completedDate", "testResult", "odometerValue", "defects", "type", "text"]
ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.sampled_from(KEYS), inner),
)


@given(ANYTHING)
def test_no_tests_make_it_fail(tests: object) -> None:
    (record,) = read_mot_history(json.dumps({"registration": "A", "motTests": tests}).encode(), name="x")
    assert record.mark == "A"
