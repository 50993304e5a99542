"""What changed from one recording to another; nothing that was not looked at is ever good news."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.car.carfile import CarFile, KeptFinding
from shutline.car.errors import UserError
from shutline.car.findings import Drive, Finding, Footing, FootingKind, Found, Severity, Side, State
from shutline.survey.changed import Because, Changed, Outcome, changed
from shutline.survey.changed_data import ANSWER_COLUMNS, LADDER_COLUMNS, changed_tables, read_answers, read_ladders

NEAR, OFF, BOTH = Side.NEAR, Side.OFF, Side.BOTH


def told(part: str, condition: str, side: Side | None = None, *, words: str = "", **fields: object) -> Finding:
    found = fields.pop("found", Found.YES)
    footings = (Footing(FootingKind.SAID, "", 0.0, 1.0, words),)
    return Finding(part, condition, found, side, footings=footings, **fields)  # type: ignore[arg-type]


def car(before: list[Finding], after: list[Finding]) -> CarFile:
    kept = []
    for name, findings in (("a", before), ("b", after)):
        for number, one in enumerate(findings):
            footing = replace(one.footings[0], source=name, start_s=float(number))
            kept.append(KeptFinding(f"{name}{number}", replace(one, footings=(footing,))))
    return CarFile("car", "Car", Drive.RHD, "2026-01-01", findings=tuple(kept))


def outcomes(before: list[Finding], after: list[Finding]) -> list[tuple[Outcome, Because]]:
    return [(one.outcome, one.because) for one in changed(car(before, after), first="a", second="b")]


DENT = told("door", "dent", NEAR, severity=Severity.SLIGHT)
NO_DENT = told("door", "dent", NEAR, found=Found.NO)
SCRATCH = told("door", "scratch", NEAR)


def test_what_nobody_looked_at_the_second_time_is_unclear_and_never_gone() -> None:
    assert outcomes([DENT], []) == [(Outcome.UNCLEAR, Because.NOT_LOOKED_AT)]
    # The other door, and the bodywork as a whole, are no look at this one.
    elsewhere = [told("door", "dent", OFF, found=Found.NO), told("bodywork", "dent", found=Found.NO)]
    assert outcomes([DENT], elsewhere)[0] == (Outcome.UNCLEAR, Because.NOT_LOOKED_AT)
    assert outcomes([DENT], [SCRATCH])[0] == (Outcome.UNCLEAR, Because.NOT_SPOKEN_OF)
    good = told("door", "sound", NEAR)
    assert outcomes([DENT], [good]) == [(Outcome.UNCLEAR, Because.ANSWERED)]


def test_gone_needs_a_footing_of_its_own() -> None:
    assert outcomes([DENT], [NO_DENT]) == [(Outcome.GONE, Because.DENIED)]
    assert outcomes([DENT], [replace(NO_DENT, side=BOTH)]) == [(Outcome.GONE, Because.DENIED)]
    assert outcomes([DENT], [replace(NO_DENT, side=None)]) == [(Outcome.UNCLEAR, Because.PLACE)]
    nowhere = [replace(DENT, side=None)], [replace(NO_DENT, side=None)]
    assert outcomes(*nowhere) == [(Outcome.UNCLEAR, Because.PLACE)]
    both = [replace(DENT, side=BOTH)], [NO_DENT]
    assert outcomes(*both) == [(Outcome.UNCLEAR, Because.PLACE)]
    assert outcomes([told("heater", "fault")], [told("heater", "works")]) == [(Outcome.GONE, Because.ANSWERED)]
    assert outcomes([told("sill", "rust", NEAR)], [told("sill", "renewed", NEAR)])[0][0] is Outcome.GONE


def test_new_needs_a_look_the_first_time() -> None:
    assert outcomes([], [DENT]) == [(Outcome.UNCLEAR, Because.NOT_LOOKED_AT_BEFORE)]
    assert outcomes([NO_DENT], [DENT]) == [(Outcome.NEW, Because.DENIED_BEFORE)]
    assert outcomes([SCRATCH], [SCRATCH, DENT])[1] == (Outcome.NEW, Because.LOOKED_BEFORE)
    assert outcomes([told("heater", "works")], [told("heater", "fault")]) == [(Outcome.NEW, Because.ANSWERED)]
    assert outcomes([told("door", "sound", NEAR)], [DENT]) == [(Outcome.NEW, Because.ANSWERED)]


@pytest.mark.parametrize(
    ("before", "after", "outcome"),
    [
        (Severity.SLIGHT, Severity.SEVERE, Outcome.WORSE),
        (Severity.SEVERE, Severity.MODERATE, Outcome.BETTER),
        (Severity.SLIGHT, Severity.SLIGHT, Outcome.SAME),
        (None, None, Outcome.SAME),
        (None, Severity.SLIGHT, Outcome.UNCLEAR),
    ],
)
def test_better_worse_and_same_go_by_how_bad_it_was_said_to_be(
    before: Severity | None, after: Severity | None, outcome: Outcome
) -> None:
    pair = outcomes([replace(DENT, severity=before)], [replace(DENT, severity=after)])
    assert [one for one, _ in pair] == [outcome]


def test_rust_that_went_through_is_worse_and_a_scuff_called_a_scratch_is_the_same() -> None:
    rust, hole = told("sill", "rust", OFF), told("sill", "perforation", OFF)
    assert outcomes([rust], [hole]) == [(Outcome.WORSE, Because.STAGE)]
    assert outcomes([hole], [rust]) == [(Outcome.BETTER, Because.STAGE)]
    assert outcomes([told("door", "scuff", NEAR)], [SCRATCH]) == [(Outcome.SAME, Because.TOLD)]


def test_what_somebody_was_unsure_of_is_unclear() -> None:
    unsure = told("door", "filler", NEAR, found=Found.UNSURE)
    assert outcomes([unsure], [told("door", "filler", NEAR)]) == [(Outcome.UNCLEAR, Because.UNSURE)]


def test_pairs_are_the_best_in_all_and_not_the_first_found() -> None:
    # The scuff could be the scratch; but then the second scratch would have no partner.
    by_handle = told("door", "scratch", NEAR, words="scratch by the handle")
    scuff = told("door", "scuff", NEAR, words="scuff along the bottom")
    after = [
        told("door", "scratch", NEAR, words="scratch by the handle"),
        told("door", "mark", NEAR, words="along the bottom"),
    ]
    found = changed(car([scuff, by_handle], after), first="a", second="b")
    assert [(one.first.id, one.second.id) for one in found if one.first and one.second] == [("a0", "b1"), ("a1", "b0")]


def test_of_two_scratches_and_one_one_is_left_unclear() -> None:
    found = outcomes([SCRATCH, SCRATCH], [SCRATCH])
    assert sorted(found) == sorted([(Outcome.SAME, Because.TOLD), (Outcome.UNCLEAR, Because.NOT_SPOKEN_OF)])


def test_what_was_struck_counts_on_neither_side() -> None:
    file = car([DENT], [DENT])
    struck = tuple(replace(one, finding=replace(one.finding, state=State.STRUCK)) for one in file.findings[:1])
    found = changed(replace(file, findings=(*struck, *file.findings[1:])), first="a", second="b")
    assert [one.outcome for one in found] == [Outcome.UNCLEAR]


def test_a_finding_that_stands_on_both_recordings_is_in_both() -> None:
    file = car([DENT], [])
    kept = file.findings[0]
    both = replace(
        kept, finding=replace(kept.finding, footings=(*kept.finding.footings, Footing(FootingKind.SAID, "b", 3.0)))
    )
    (one,) = changed(replace(file, findings=(both,)), first="a", second="b")
    assert one.outcome is Outcome.SAME


PARTS = ("door", "sill", "bonnet", "heater")
CONDITIONS = ("dent", "rust", "perforation", "scratch", "sound", "works", "fault")


@st.composite
def findings(draw: st.DrawFn) -> list[Finding]:
    some = []
    for _ in range(draw(st.integers(0, 6))):
        condition = draw(st.sampled_from(CONDITIONS))
        good = condition in ("sound", "works")
        found = Found.YES if good else draw(st.sampled_from(list(Found)))
        side = draw(st.sampled_from([None, NEAR, OFF, BOTH]))
        severity = draw(st.sampled_from([None, *Severity]))
        some.append(told(draw(st.sampled_from(PARTS)), condition, side, found=found, severity=severity))
    return some


@settings(max_examples=60, deadline=None)
@given(findings(), findings())
def test_each_finding_is_told_once_and_good_news_always_has_a_second_look(
    before: list[Finding], after: list[Finding]
) -> None:
    found = changed(car(before, after), first="a", second="b")
    ids = [kept.id for one in found for kept in (one.first, one.second) if kept is not None]
    assert sorted(ids) == sorted([f"a{n}" for n in range(len(before))] + [f"b{n}" for n in range(len(after))])
    for one in found:
        if one.outcome in (Outcome.GONE, Outcome.BETTER, Outcome.SAME):
            assert one.first is not None
            assert one.second is not None
        if one.outcome is Outcome.NEW:
            assert one.second is not None
            looked = [kept for kept in before if kept.part == one.second.finding.part]
            assert looked


@settings(max_examples=40, deadline=None)
@given(findings())
def test_of_the_same_recording_twice_nothing_is_new_gone_better_or_worse(same: list[Finding]) -> None:
    found: tuple[Changed, ...] = changed(car(same, same), first="a", second="b")
    assert {one.outcome for one in found} <= {Outcome.SAME, Outcome.UNCLEAR}
    assert all(one.first and one.second for one in found)


@pytest.mark.parametrize(
    ("read", "columns", "row", "said"),
    [
        (read_ladders, LADDER_COLUMNS, "x,rust,yes,why,source", "at least two"),
        (read_ladders, LADDER_COLUMNS, "x,rust rot,yes,why,source", "condition 'rot'"),
        (read_ladders, LADDER_COLUMNS, "x,rust blister,perhaps,why,source", "ordered 'perhaps'"),
        (read_answers, ANSWER_COLUMNS, "x,fault,works,mended,why,source", "outcome 'mended'"),
    ],
)
def test_a_wrong_row_is_refused_with_its_line(read: object, columns: tuple[str, ...], row: str, said: str) -> None:
    with pytest.raises(UserError) as refused:
        read(",".join(columns) + "\n" + row + "\n", source="mine.csv")  # type: ignore[operator]
    assert "mine.csv, line 2" in str(refused.value)
    assert said in str(refused.value)


def test_every_shipped_row_has_a_reason() -> None:
    tables = changed_tables()
    assert all(row.why for row in (*tables.ladders, *tables.answers))
