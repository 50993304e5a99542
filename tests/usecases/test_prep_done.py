"""Work that was done is ticked off: its findings are put right, and taken back all is as before."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import msgspec
import pytest

from shutline.car.carfile import CarFile
from shutline.car.errors import NotFoundError, UserError
from shutline.car.findings import Finding, Footing, FootingKind, Found, Position, Severity, State
from shutline.car.recordings import Kind, Original
from shutline.cli import main
from shutline.store import StaleError, Store
from shutline.usecases.add import add
from shutline.usecases.own_prep import PREP_VARIABLE
from shutline.usecases.prep_done import DoneAsked, take_back_tick, tick_off, work_words, works_done
from shutline.usecases.prep_plan import prep_plan
from shutline.usecases.prep_worked import PlanAsked
from shutline.usecases.review import confirm

CAR = "ostrel-pavane"
IDA, BEN = "Ida Quill", "Ben Marl"
SENT, WRONG = "sent-first", "?"
DAY = date(2026, 11, 20)
WORDS = """WEBVTT

00:00:01.000 --> 00:00:06.000
There's a bubble of rust on the bottom of the nearside front wing, that wants welding.

00:00:07.000 --> 00:00:12.000
The nearside sill has a hole in it, about the size of a penny.

00:00:14.000 --> 00:00:18.000
The bonnet is a bit faded, that wants a polish.

00:00:26.000 --> 00:00:30.000
The brakes at the rear are worn. The exhaust is fine.
"""
SILL, BRAKES, BONNET = "weld_patch@sill.near", "brake_linings@brakes.rear", "panel_polish@bonnet"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with the car in it, made once: each test has a copy."""
    folder = tmp_path_factory.mktemp("made")
    words = folder / "walk.vtt"
    words.write_text(WORDS, encoding="utf-8")
    with Store.open(folder / "store") as opened:
        add(opened, [words], car=CAR, title="Ostrel Pavane", by="Ida")
        confirm(opened, CAR, [one.id for one in opened.car_file(CAR).findings], author=IDA)
    return folder / "store"


@pytest.fixture
def store(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    monkeypatch.setenv(PREP_VARIABLE, str(tmp_path / "prep"))
    shutil.copytree(made, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


@pytest.fixture
def after(store: Store) -> str:
    """A picture of the car, taken afterwards."""
    return store.add_picture(CAR, Original("7a" * 32, "after.jpg", 9, Kind.PICTURE), width=4, height=3).id


def test_a_line_tells_what_was_said_and_the_rest_of_the_task_is_still_to_do(store: Store, after: str) -> None:
    before = works_done(store, CAR)
    assert (before.done, before.lines) == ((), ())
    there = {trade.trade: [one.task for one in trade.tasks] for trade in before.to_do}
    needs = [trade for trade, tasks in there.items() if SILL in tasks]
    assert len(needs) == 2
    asked = DoneAsked(
        SILL, needs[0], Decimal("3.5"), Decimal("0.25"), picture=after, found=" a hole  beside it ", on=DAY
    )
    line = tick_off(store, CAR, asked, author=IDA)
    assert (line.hours, line.setup_hours, line.places, line.picture) == (Decimal("3.5"), Decimal("0.25"), 1, after)
    assert (line.found, line.done_on, set(line.needs)) == ("a hole beside it", "2026-11-20", set(needs))
    assert line.remedy == "repair"
    shown = works_done(store, CAR)
    (task,) = shown.done
    assert (task.task, task.whole, {one.trade: one.line for one in task.trades}) == (
        SILL,
        False,
        dict(zip(needs, (line, None), strict=True)),
    )
    now = {trade.trade: [one.task for one in trade.tasks] for trade in shown.to_do}
    assert SILL not in now.get(needs[0], [])
    assert SILL in now[needs[1]]


def test_what_cannot_be_is_refused_with_what_is_allowed(store: Store, after: str) -> None:
    good = DoneAsked(BONNET, on=DAY)
    for wrong, told in (
        (replace(good, task="nothing@bonnet"), BONNET),
        (replace(good, trade="weld"), "paint"),
        (replace(good, hours=Decimal(0)), "more than nought"),
        (replace(good, hours=Decimal("NaN")), "more than nought"),
        (replace(good, setup_hours=Decimal(2000)), "1000"),
        (replace(good, places=2), "from 1 to 1"),
        (replace(good, picture=after[:-1] + "?"), "the id of one"),
        (replace(good, found="x" * 2001), "2000"),
        (replace(good, on=date(2126, 1, 1)), "a day that has come"),
        (replace(good, findings=("none",)), ""),
        (replace(good, token=WRONG), "8 to 64"),
    ):
        with pytest.raises(UserError) as refused:
            tick_off(store, CAR, wrong, author=IDA)
        assert refused.value.problem.slug == "work-refused"
        assert told in refused.value.problem.allowed
    with pytest.raises(NotFoundError) as unknown:
        take_back_tick(store, CAR, "feed", author=IDA)
    assert unknown.value.problem.slug == "work-unknown"
    assert works_done(store, CAR).lines == ()


def test_a_line_is_corrected_by_who_saw_it_and_not_by_who_did_not(store: Store) -> None:
    first = tick_off(store, CAR, DoneAsked(BONNET, hours=Decimal(1), on=DAY, token=SENT), author=IDA)
    assert tick_off(store, CAR, DoneAsked(BONNET, hours=Decimal(1), on=DAY, token=SENT), author=IDA) == first
    # Sent again, it is taken even if it could not be said any more.
    again = DoneAsked(BONNET, trade="none of it", hours=Decimal(1), on=DAY, token=SENT)
    assert tick_off(store, CAR, again, author=IDA) == first
    with pytest.raises(StaleError):
        tick_off(store, CAR, DoneAsked(BONNET, hours=Decimal(2), on=DAY), author=BEN)
    second = tick_off(store, CAR, DoneAsked(BONNET, hours=Decimal(2), on=DAY, version=1), author=BEN)
    assert (second.id, second.version, second.author) == (first.id, 2, BEN)
    back = take_back_tick(store, CAR, first.id[:6], version=2, author=IDA)
    assert not back.holds
    assert works_done(store, CAR).done == ()


def going_out(file: CarFile) -> list[tuple[str, str, str]]:
    return [(one.finding.part, one.finding.condition, one.finding.state) for one in file.going_out()]


def plan_of(store: Store, budget: int | None = None) -> dict[str, bool]:
    asked = PlanAsked(asking_pence=850_000, budget_pence=budget, start=DAY, curve=False)
    return {line.task.id: line.chosen for line in prep_plan(store, CAR, asked).lines}


def test_ticked_off_a_task_leaves_the_plan_and_taken_back_all_is_as_before(store: Store, after: str) -> None:
    before, first, counts = going_out(store.car_file(CAR)), plan_of(store), store.find_car(CAR)
    assert first[BONNET]
    line = tick_off(store, CAR, DoneAsked(BONNET, picture=after, on=DAY), author=IDA)
    file = store.car_file(CAR)
    (right,) = file.put_right()
    assert (right.finding.condition, right.finding.state) == ("fade", State.STANDS)
    assert right.put_right is not None
    told = (right.put_right.remedy, right.put_right.done_on, right.put_right.pictures, right.put_right.author)
    assert told == ("polish", "2026-11-20", (after,), IDA)
    # A polish says of the bonnet that the fault is gone, and nothing beyond.
    assert going_out(file) == [one for one in before if one[:2] != ("bonnet", "fade")]
    assert BONNET not in plan_of(store)
    assert len(store.car_outline(CAR).car.put_right()) == 1
    assert store.find_car(CAR).findings_standing == counts.findings_standing - 1
    take_back_tick(store, CAR, line.id, author=IDA)
    assert (going_out(store.car_file(CAR)), plan_of(store)) == (before, first)
    assert store.find_car(CAR).findings_standing == counts.findings_standing


def test_what_was_repaired_is_renewed_once_every_trade_is_done(store: Store, after: str) -> None:
    before = going_out(store.car_file(CAR))
    weld = tick_off(store, CAR, DoneAsked(SILL, "weld", on=DAY), author=IDA)
    assert going_out(store.car_file(CAR)) == before
    assert plan_of(store)[SILL]
    paint = tick_off(store, CAR, DoneAsked(SILL, "paint", picture=after, on=DAY), author=BEN)
    file = store.car_file(CAR)
    assert [one.finding.condition for one in file.put_right()] == ["perforation"]
    (renewed,) = [one for one in file.findings if one.finding.condition == "renewed"]
    assert (renewed.finding.part, renewed.finding.side, renewed.finding.state) == ("sill", "near", State.STANDS)
    assert [(one.kind, one.source) for one in renewed.finding.footings] == [
        (FootingKind.SEEN, after),
        (FootingKind.SAID, paint.id),
    ]
    assert "repaired since" in renewed.finding.footings[1].quote
    take_back_tick(store, CAR, weld.id, author=IDA)
    assert going_out(store.car_file(CAR)) == before
    assert store.finding(renewed.id).finding.state is State.STRUCK
    tick_off(store, CAR, DoneAsked(SILL, on=DAY), author=IDA)
    again = store.finding(renewed.id)
    assert again.finding.state is State.STANDS
    assert len([one for one in store.car_file(CAR).findings if one.finding.condition == "renewed"]) == 1


def test_the_same_task_found_again_later_is_a_task_again(store: Store) -> None:
    tick_off(store, CAR, DoneAsked(BONNET, on=DAY), author=IDA)
    seen = Finding("bonnet", "fade", Found.YES, severity=Severity.MODERATE, footings=(Footing(FootingKind.SEEN, "x"),))
    later = store.add_finding(CAR, seen, author=IDA)
    shown = works_done(store, CAR)
    assert plan_of(store)[BONNET]
    assert [task.whole for task in shown.done] == [True]
    assert any(task.task == BONNET for trade in shown.to_do for task in trade.tasks)
    second = tick_off(store, CAR, DoneAsked(BONNET, on=DAY), author=IDA)
    assert second.findings == (later.id,)
    assert len(store.car_file(CAR).put_right()) == 2


def test_what_is_done_costs_the_budget_nothing(store: Store) -> None:
    nothing = PlanAsked(asking_pence=850_000, budget_pence=0, start=DAY, curve=False)
    assert prep_plan(store, CAR, nothing).in_the_way
    before = prep_plan(store, CAR, replace(nothing, budget_pence=None))
    for task in (SILL, BRAKES):
        tick_off(store, CAR, DoneAsked(task, on=DAY), author=IDA)
    assert not prep_plan(store, CAR, nothing).in_the_way
    after = prep_plan(store, CAR, replace(nothing, budget_pence=None))
    assert before.money - after.money > 0
    assert {line.task.id for line in after.lines if line.chosen} == {
        line.task.id for line in before.lines if line.chosen
    } - {SILL, BRAKES}


def test_at_one_of_two_places_nothing_is_put_right_yet(store: Store) -> None:
    both = Finding("brakes", "wear", Found.YES, position=Position.BOTH, footings=(Footing(FootingKind.SEEN, "x"),))
    kept = store.add_finding(CAR, both, author=IDA)
    task = "brake_linings@brakes.both"
    first = tick_off(store, CAR, DoneAsked(task, hours=Decimal(3), places=1, on=DAY), author=IDA)
    assert (first.places, first.of_places) == (1, 2)
    assert "done at 1 of 2 places" in work_words(first)
    shown = works_done(store, CAR)
    assert [one.whole for one in shown.done] == [False]
    assert any(one.task == task for trade in shown.to_do for one in trade.tasks)
    assert store.car_file(CAR).put_right() == ()
    tick_off(store, CAR, DoneAsked(task, hours=Decimal(5), on=DAY, version=1), author=IDA)
    assert kept.id in {one.id for one in store.car_file(CAR).put_right()}


def run(*words: str, capsys: pytest.CaptureFixture[str]) -> tuple[int, str]:
    code = main([str(word) for word in words])
    told = capsys.readouterr()
    return code, told.out + told.err


def test_the_command_ticks_off_and_takes_back_as_the_use_case_does(
    store: Store, capsys: pytest.CaptureFixture[str]
) -> None:
    where = ("--store", store.folder, "--by", IDA)
    code, told = run(
        *("prep", CAR, "--done", SILL, "--trade", "weld", "--hours", "3.5", "--setup", "0.5", "--on", "2026-11-20"),
        *("--found", "more rust", *where),
        capsys=capsys,
    )
    assert code == 0
    assert "done on 2026-11-20, 3.5 hours, 0.5 of setting up, found besides: more rust" in " ".join(told.split())
    assert "not yet" in told
    code, told = run("prep", CAR, "--done", SILL, "--trade", "weld", "--hours", "4", *where, "--json", capsys=capsys)
    assert json.loads(told) == json.loads(msgspec.json.encode(works_done(store, CAR)))
    (line,) = store.works_done(CAR)
    # What the second command does not speak of stays.
    assert (line.hours, line.setup_hours, line.found, line.done_on) == (
        Decimal(4),
        Decimal("0.5"),
        "more rust",
        "2026-11-20",
    )
    code, told = run("prep", CAR, "--plan", *where, capsys=capsys)
    assert "Done\n" in told
    code, told = run("prep", CAR, "--not-done", SILL, *where, capsys=capsys)
    assert code == 0
    assert not store.works_done(CAR)[0].holds
    for wrong in (
        ("--not-done", SILL),
        ("--trade", "weld"),
        ("--done", SILL, "--hours", "long"),
        ("--done", SILL, "--hours", "1", "--hours", "2"),
        ("--done", "nothing"),
    ):
        code, told = run("prep", CAR, *wrong, *where, capsys=capsys)
        assert code == 2, wrong
    assert not store.works_done(CAR)[0].holds
    assert len(store.works_done(CAR)) == 1


def test_taken_apart_a_joined_car_has_its_own_work_and_what_it_renewed(store: Store) -> None:
    store.create_car("head-of-both", title="Head of both", author=BEN)
    store.join_cars("head-of-both", CAR, author=BEN)
    tick_off(store, "head-of-both", DoneAsked(SILL, on=DAY), author=IDA)
    store.separate_cars("head-of-both", CAR, author=BEN)
    assert store.car_file("head-of-both").findings == ()
    file = store.car_file(CAR)
    assert [one.finding.part for one in file.put_right()] == ["sill"]
    assert [one.finding.part for one in file.findings if one.finding.condition == "renewed"] == ["sill"]
