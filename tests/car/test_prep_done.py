"""When ticked work puts a finding right: each trade of a task that cures it, or the whole; taken back, as before."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from shutline.car.findings import FootingKind
from shutline.car.prep_done import PutRight, WorkDone, done_words, footings_of, put_right, task_done, trades_done

NEEDS = ("weld", "paint")
FINDINGS = ("f1", "f2", "f3")
LINE = WorkDone(
    id="w",
    task="t1",
    job="j",
    words="let a plate in",
    remedy="repair",
    findings=(),
    trade="",
    needs=NEEDS,
    hours=None,
    setup_hours=None,
    places=1,
    picture="",
    found="",
    done_on="2026-11-26",
    holds=True,
)


def line(task: str, trade: str, findings: tuple[str, ...], holds: bool, places: int) -> WorkDone:
    return replace(LINE, task=task, trade=trade, findings=findings, holds=holds, places=places, of_places=2)


LINES = st.lists(
    st.builds(
        line,
        st.sampled_from(("t1", "t2")),
        st.sampled_from(("", *NEEDS)),
        st.lists(st.sampled_from(FINDINGS), min_size=1, max_size=3, unique=True).map(tuple),
        st.booleans(),
        st.sampled_from((1, 2, 2)),
    ),
    max_size=8,
)


@given(lines=LINES)
def test_a_finding_is_put_right_when_one_task_of_it_is_done(lines: list[WorkDone]) -> None:
    wanted = set()
    for finding in FINDINGS:
        for task in ("t1", "t2"):
            done = [one for one in lines if one.holds and one.places == 2 and one.task == task]
            trades = {one.trade for one in done if finding in one.findings}
            if "" in trades or trades >= set(NEEDS):
                wanted.add(finding)
    right = put_right(lines)
    assert set(right) == wanted
    for finding, how in right.items():
        assert task_done(lines, how.task, (finding,), NEEDS)
    assert {f for f in FINDINGS for t in ("t1", "t2") if task_done(lines, t, (f,), NEEDS)} == wanted


@given(lines=LINES, more=LINES)
def test_ticked_and_taken_back_is_as_before_and_more_work_puts_no_less_right(
    lines: list[WorkDone], more: list[WorkDone]
) -> None:
    before = put_right(lines)
    assert put_right([*lines, *(replace(one, holds=False) for one in more)]) == before
    assert set(before) <= set(put_right([*lines, *more]))


@given(lines=LINES)
def test_a_trade_is_done_with_findings_when_it_is_with_each(lines: list[WorkDone]) -> None:
    together = trades_done(lines, "t1", FINDINGS)
    assert together == frozenset.intersection(*(trades_done(lines, "t1", (one,)) for one in FINDINGS))


def test_what_it_stands_on_are_the_pictures_after_and_the_word_of_who_did_it() -> None:
    first = replace(LINE, id="w1", trade="weld", findings=("f1",), picture="p1")
    last = replace(LINE, id="w2", trade="paint", findings=("f1",), picture="p2")
    right = put_right([first, last])["f1"]
    assert right == PutRight("w2", "t1", "let a plate in", "repair", "2026-11-26", ("p1", "p2"))
    assert [(one.kind, one.source, one.quote) for one in footings_of(right)] == [
        (FootingKind.SEEN, "p1", ""),
        (FootingKind.SEEN, "p2", ""),
        (FootingKind.SAID, "w2", "let a plate in: repaired since"),
    ]
    assert done_words(replace(right, remedy="our own way")) == "let a plate in: put right since"
