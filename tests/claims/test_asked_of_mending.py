"""Whether a fault was mended is answered by work that is known of alone; common usage, no source."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.claims.conftest import finding

from shutline.claims.answers import Kind, answer
from shutline.claims.record import Record, record


def on(*lines: str) -> Record:
    return record(((f"f{n}", finding(line, n)) for n, line in enumerate(lines, start=1)), ())


KNOWN = ("boot damp yes", "rear_wing:off dent yes slight", "sill:near rust yes", "door:near scratch yes")


@pytest.mark.parametrize(
    ("question", "part"),
    [
        ("has the damp been fixed", "boot"),
        ("was the dent in the rear wing repaired?", "rear_wing"),
        ("has the rust been treated", "sill"),
        ("is the scratch gone", "door"),
    ],
)
def test_a_fault_that_stands_is_no_yes_to_whether_it_was_mended(question: str, part: str) -> None:
    given = answer(question, on(*KNOWN))
    assert given.kind is Kind.NOT_RECORDED
    assert part in {one.finding.part for one in given.beside}
    assert all(one.finding.found.value != "no" for one in given.beside)


def test_work_that_was_done_is_told() -> None:
    known = on(*KNOWN)
    done = replace(known.everything[2], done="sill: welded since")
    given = answer("has the rust in the nearside sill been treated?", replace(on(*KNOWN[:2]), done=(done,)))
    assert (given.kind, given.known) == (Kind.TOLD, (done,))


def test_what_is_fixed_in_its_place_is_asked_as_before() -> None:
    given = answer("Is the driver's seat firmly fixed?", on("seat:off:front loose no"))
    assert given.kind is Kind.YES
