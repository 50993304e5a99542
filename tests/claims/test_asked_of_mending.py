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


METAL = (
    "sill:near sound yes # this one's solid",
    "sill:off blister yes # it's got some bubbles, that'll need welding",
    "floor sound yes # the floors are solid",
    "rear_wing:off rust yes # a bit of rust",
)


@pytest.mark.parametrize(
    ("question", "kind"),
    [
        ("does the nearside sill need welding?", Kind.NO),
        ("does the offside sill need welding", Kind.YES),
        ("its the nearside sill that still wants welding isnt it?", Kind.NO),
        ("is it the offside sill that wants welding?", Kind.YES),
        ("sill on the offside wants welding doesnt it", Kind.YES),
        ("any welding needed?", Kind.YES),
        ("any welding needed on the floors", Kind.NO),
        ("which sill needs welding?", Kind.TOLD),
        # Rust was told of, and nobody said that it goes through.
        ("does the offside rear wing need welding?", Kind.TOLD),
        ("does the chassis need welding?", Kind.NOT_RECORDED),
    ],
)
def test_welding_is_wanted_where_the_metal_is_eaten_and_not_where_it_is_whole(question: str, kind: Kind) -> None:
    assert answer(question, on(*METAL)).kind is kind


def test_metal_of_one_side_does_not_answer_for_both() -> None:
    assert answer("do the sills need welding?", on(METAL[0])).kind is not Kind.NO
    assert answer("do the sills need welding?", on("sill:both sound yes")).kind is Kind.NO


def test_what_is_remarked_behind_a_question_is_not_asked() -> None:
    known = on("windscreen crack no # no cracks")
    assert answer("Is the front screen cracked at all? They're impossible to find.", known).kind is Kind.NO
    assert answer("any rust? the sills i mean", on("sill:near rust yes")).kind is Kind.YES
