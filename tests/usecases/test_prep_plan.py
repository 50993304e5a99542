"""A plan for a real car file: what pays within a budget, what people decided, who does what when."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import msgspec
import pytest

from shutline.car.errors import UserError
from shutline.car.prep_decisions import PrepKind
from shutline.cli import main
from shutline.prep.shop import shop_tables, with_own_shop
from shutline.store import StaleError, Store
from shutline.usecases.add import add
from shutline.usecases.own_prep import PREP_VARIABLE
from shutline.usecases.prep_cards import prep_cards
from shutline.usecases.prep_deciding import decide_prep, keep_budget
from shutline.usecases.prep_done import DoneAsked, tick_off
from shutline.usecases.prep_plan import prep_plan
from shutline.usecases.prep_shown import PlanShown
from shutline.usecases.prep_worked import PlanAsked
from shutline.usecases.report import make_report

CAR = "ostrel-pavane"
IDA = "Ida Quill"
MONDAY = date(2026, 11, 30)
PRICED = PlanAsked(asking_pence=850_000, start=MONDAY)
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
    """A store that has the car; each test has a copy of it."""
    folder = tmp_path_factory.mktemp("made")
    words = folder / "walk.vtt"
    words.write_text(WORDS, encoding="utf-8")
    with Store.open(folder / "store") as opened:
        add(opened, [words], car=CAR, title="Ostrel Pavane", by="Ida")
    return folder / "store"


@pytest.fixture
def store(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    monkeypatch.setenv(PREP_VARIABLE, str(tmp_path / "prep"))
    shutil.copytree(made, tmp_path / "store")
    with Store.open(tmp_path / "store") as opened:
        yield opened


def chosen(found: PlanShown) -> list[str]:
    return sorted(line.task.id for line in found.lines if line.chosen)


def test_musts_and_what_pays_are_chosen_and_what_stays_is_told_with_its_worth(store: Store) -> None:
    found = prep_plan(store, "ostrel", PRICED)
    assert chosen(found) == sorted((SILL, BRAKES, BONNET))
    (wing,) = [line for line in found.lines if not line.chosen]
    assert (wing.left, wing.task.place) == ("does not pay", "nearside front wing")
    assert wing.words.startswith("it would lose about £")
    assert {one.found.place for one in found.told} == {"nearside front wing"}
    assert found.told_worth is not None
    assert found.told_worth.likely == sum(one.worth.likely for one in found.told if one.worth)
    assert found.gain == found.worth - found.money
    assert (found.gap, found.in_the_way) == (0, ())
    assert prep_plan(store, CAR, PRICED) == found


def test_each_point_of_the_curve_is_what_is_chosen_at_its_budget(store: Store) -> None:
    found = prep_plan(store, CAR, PRICED)
    assert found.whole
    assert [one.gain for one in found.curve] == sorted(one.gain for one in found.curve)
    for point in found.curve:
        at = prep_plan(store, CAR, PlanAsked(850_000, point.money, MONDAY))
        assert chosen(at) == sorted(point.chosen)
        assert (at.gain, at.money) == (point.gain, point.money)
        assert at.total == pytest.approx(point.cost) or abs(at.total.mean - point.cost.mean) <= 1
    less = prep_plan(store, CAR, PlanAsked(850_000, found.curve[0].money - 1, MONDAY))
    assert chosen(less) == []
    assert any(one.startswith("money: the musts take £") for one in less.in_the_way)


def test_without_an_asking_price_all_is_done_but_what_was_refused(store: Store) -> None:
    found = prep_plan(store, CAR, PlanAsked(start=MONDAY))
    assert (found.asking, found.curve, len(chosen(found))) == (None, (), 4)
    decide_prep(store, CAR, PrepKind.REFUSED, BONNET, author=IDA, words="the owner likes it")
    found = prep_plan(store, CAR, PlanAsked(start=MONDAY))
    (left,) = [line for line in found.lines if not line.chosen]
    assert (left.task.id, left.left, left.words) == (BONNET, "refused", "the owner likes it")
    assert "bonnet" in {one.found.place for one in found.told}


def test_what_is_decided_counts_and_is_kept_with_who(store: Store) -> None:
    refused = decide_prep(store, CAR, PrepKind.REFUSED, BONNET, author=IDA, words="the  owner likes it")
    (wing, *_) = [one.found for one in prep_plan(store, CAR, PRICED).told if one.found.place == "nearside front wing"]
    decide_prep(store, CAR, PrepKind.PROMISED, wing.id[:10], author=IDA, words="told the buyer so")
    decide_prep(store, CAR, PrepKind.ASKING, author=IDA, pence=850_000)
    decide_prep(store, CAR, PrepKind.BUDGET, author=IDA, pence=10_000_000)
    found = prep_plan(store, CAR, PlanAsked(start=MONDAY))
    assert (found.asking, found.budget) == (850_000, 10_000_000)
    assert BONNET not in chosen(found)
    (promised,) = [line for line in found.lines if wing.id in {one.id for one in line.task.findings} and line.chosen]
    assert "promised: told the buyer so" in promised.task.must
    assert {one.changes[-1].author for one in found.decisions} == {IDA}
    with pytest.raises(StaleError):
        decide_prep(store, CAR, PrepKind.REFUSED, BONNET, author="Ben", holds=False, version=refused.version + 1)
    decide_prep(store, CAR, PrepKind.REFUSED, BONNET, author=IDA, holds=False, version=refused.version)
    assert BONNET in chosen(prep_plan(store, CAR, PlanAsked(start=MONDAY)))


def test_a_must_that_is_refused_is_in_the_way_by_its_place(store: Store) -> None:
    decide_prep(store, CAR, PrepKind.REFUSED, BRAKES, author=IDA, words="no")
    found = prep_plan(store, CAR, PRICED)
    assert chosen(found) == []
    assert any("rear brakes" in words and "has to be cured" in words for words in found.in_the_way)


def test_hours_and_a_day_bound_what_is_done(store: Store) -> None:
    without = prep_plan(store, CAR, PRICED)
    assert without.calendar is not None
    polished = [piece for day in without.calendar.days for piece in day.pieces if piece.task == BONNET]
    assert polished[0].why.endswith("has to cure for 24 hours")
    late = prep_plan(store, CAR, PlanAsked(850_000, start=MONDAY, by=date(2026, 12, 1)))
    assert (chosen(late), late.curve) == ([], ())
    assert late.in_the_way == ("date: the musts cannot be done by the date",)
    soon = prep_plan(store, CAR, PlanAsked(850_000, start=MONDAY, by=date(2026, 12, 3)))
    assert soon.calendar is not None
    assert soon.calendar.film_on <= "2026-12-03"
    bound = prep_plan(store, CAR, PlanAsked(850_000, start=MONDAY, hours={"paint": 4.5}))
    assert {line.left for line in bound.lines if line.task.id == BONNET} == {"no time"}
    hours = prep_plan(store, CAR, PlanAsked(850_000, start=MONDAY, hours={"weld": 0.5}))
    assert any(one.startswith("hours weld: ") for one in hours.in_the_way)


@pytest.mark.parametrize(
    ("kind", "about", "words", "pence"),
    [
        (PrepKind.REFUSED, "nothing", "why", None),
        (PrepKind.REFUSED, "", "why", None),
        (PrepKind.REFUSED, BONNET, " ", None),
        (PrepKind.REFUSED, BONNET, "x" * 301, None),
        (PrepKind.PROMISED, "zz", "why", None),
        (PrepKind.BUDGET, "", "", None),
        (PrepKind.BUDGET, "", "", -1),
        (PrepKind.BUDGET, "", "49", 100),
        (PrepKind.BUDGET, "", "9.5", 100),
        (PrepKind.BUDGET, "", "\u0669\u0660", 100),
    ],
)
def test_what_cannot_be_decided_is_refused(
    store: Store, kind: PrepKind, about: str, words: str, pence: int | None
) -> None:
    with pytest.raises(UserError) as caught:
        decide_prep(store, CAR, kind, about, author=IDA, words=words, pence=pence)
    assert caught.value.problem.slug == "prep-refused"
    assert store.prep_decisions(CAR) == ()


def test_the_command_decides_and_tells_the_same_as_the_use_case(
    store: Store, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    here = ["prep", "ostrel", "--store", str(tmp_path / "store"), "--start", "2026-11-30"]
    asked = [*here, "--asking", "8500", "--budget", "2000", "--keep", "--by", IDA]
    assert main([*asked, "--refuse", BONNET, "--why", "no", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told == json.loads(msgspec.json.encode(prep_plan(store, CAR, PlanAsked(start=MONDAY))))
    assert [one["changes"][-1]["author"] for one in told["decisions"]] == [IDA] * 3
    assert main([*here, "--take-back", BONNET]) == 0
    words = capsys.readouterr().out
    assert f"[{BONNET}]" in words
    assert "must: safety: brakes have to stop the car" in words
    assert "It can be filmed again on 2026-12-" in words
    assert "it costs £" in words
    (sill,) = [one.id for one in store.car_file(CAR).findings if one.finding.part == "sill"]
    assert main([*here, "--promise", sill, "--why", "by Friday"]) == 0
    assert "promised: by Friday" in " ".join(capsys.readouterr().out.split())
    assert main([*here, "--take-back", sill]) == 0
    assert "by Friday" not in capsys.readouterr().out
    assert main([*here, "--budget", "2500", "--sure", "90", "--keep"]) == 0
    assert "is enough in 90 of a hundred. Chosen from sets that were tried" in " ".join(capsys.readouterr().out.split())
    assert [one.words for one in store.prep_decisions(CAR) if one.kind is PrepKind.BUDGET] == ["90"]
    for wrong in (
        ["--sure", "30"],
        ["--start", "soon"],
        ["--hours", "paint"],
        ["--hours", "baking=2"],
        ["--refuse", "x"],
    ):
        assert main([*here, *wrong]) == 2


@pytest.mark.parametrize(
    ("name", "text", "where"),
    [
        ("people.toml", '[[person]]\nid = "mechanic"\nhours = [[8, 7]]\n', "people.toml, line 3"),
        ("people.toml", '[house]\nclosed = ["soon"]\n', "people.toml, line 2"),
        ("people.toml", '[[person]]\nid = "mechanic"\ndays = ["noday"]\n', "people.toml, line 3"),
        ("bays.toml", '[[bay]]\nid = "yard"\nkind = "ramp"\n', "bays.toml"),
    ],
)
def test_a_wrong_row_of_people_or_bays_is_refused_by_file_and_line(name: str, text: str, where: str) -> None:
    with pytest.raises(UserError) as caught:
        with_own_shop({name: text})
    assert caught.value.problem.slug == "prep-table-refused"
    assert caught.value.problem.where.startswith(where)


def test_own_people_count_and_nobody_for_a_trade_is_told_in_place_of_the_calendar(store: Store, tmp_path: Path) -> None:
    assert shop_tables().at_once == 2
    before = prep_plan(store, CAR, PRICED)
    (tmp_path / "prep").mkdir()
    (tmp_path / "prep" / "people.toml").write_text('[house]\nclosed = ["2026-11-30"]\n', encoding="utf-8")
    after = prep_plan(store, CAR, PRICED)
    assert before.calendar is not None
    assert after.calendar is not None
    assert (before.calendar.days[0].day, after.calendar.days[0].day) == ("2026-11-30", "2026-12-01")
    (tmp_path / "prep" / "people.toml").write_text('left_out = ["mechanic"]\n', encoding="utf-8")
    nobody = prep_plan(store, CAR, PRICED)
    assert nobody.calendar is None
    assert nobody.trouble is not None
    assert nobody.trouble.slug == "schedule-impossible"


def test_a_budget_is_kept_to_in_so_many_of_a_hundred_and_that_is_kept_with_it(store: Store) -> None:
    found = prep_plan(store, CAR, PlanAsked(850_000, start=MONDAY, sure=90))
    assert (found.sure, found.whole) == (90, True)
    assert [one.gain for one in found.curve] == sorted(one.gain for one in found.curve)
    for point in found.curve:
        at = prep_plan(store, CAR, PlanAsked(850_000, point.money, MONDAY, sure=90))
        assert (chosen(at), at.gain, at.gap) == (sorted(point.chosen), point.gain, None)
        assert at.sure_money == point.money > at.money
        # What it costs is told from 5 to 95 in a hundred; 90 lies between the middle and the end of that.
        assert at.total.p50 < at.sure_money < at.total.p95
    top = found.curve[-1].money
    less = prep_plan(store, CAR, PlanAsked(850_000, top - 1, MONDAY, sure=90))
    assert chosen(less) != chosen(found)
    assert chosen(prep_plan(store, CAR, PlanAsked(850_000, top - 1, MONDAY, sure=0))) == chosen(found)
    short = prep_plan(store, CAR, PlanAsked(850_000, found.curve[0].money - 1, MONDAY, sure=90))
    assert any(one.startswith("money: the musts take £") for one in short.in_the_way)

    keep_budget(store, CAR, top - 1, sure=90, author=IDA)
    decide_prep(store, CAR, PrepKind.ASKING, author=IDA, pence=850_000)
    kept = prep_plan(store, CAR, PlanAsked(start=MONDAY))
    assert (kept.sure, kept.budget, chosen(kept)) == (90, top - 1, chosen(less))
    keep_budget(store, CAR, top, author=IDA)
    assert prep_plan(store, CAR, PlanAsked(start=MONDAY)).sure == 90
    keep_budget(store, CAR, None, sure=0, author=IDA)
    plain = prep_plan(store, CAR, PlanAsked(start=MONDAY))
    assert (plain.sure, plain.sure_money, plain.budget) == (0, 0, top)


@pytest.mark.parametrize("sure", [-1, 1, 49, 100])
def test_a_chance_that_is_none_is_refused(store: Store, sure: int) -> None:
    with pytest.raises(UserError) as caught:
        prep_plan(store, CAR, PlanAsked(850_000, start=MONDAY, sure=sure))
    assert caught.value.problem.slug == "prep-refused"


def test_the_curve_with_a_day_has_sets_that_can_be_filmed_by_it(store: Store) -> None:
    free = prep_plan(store, CAR, PlanAsked(6_000_000, start=MONDAY))
    assert free.calendar is not None
    by = date(2026, 12, 5)
    assert free.calendar.film_on > by.isoformat()
    found = prep_plan(store, CAR, PlanAsked(6_000_000, start=MONDAY, by=by))
    assert (found.by, found.whole) == (by.isoformat(), True)
    assert 1 < len(found.curve) < len(free.curve)
    assert found.curve[-1].gain < free.curve[-1].gain
    for point in found.curve:
        at = prep_plan(store, CAR, PlanAsked(6_000_000, point.money, MONDAY, by=by))
        assert chosen(at) == sorted(point.chosen)
        assert at.calendar is not None
        assert at.calendar.film_on <= by.isoformat()
    sure = prep_plan(store, CAR, PlanAsked(6_000_000, start=MONDAY, by=by, sure=90))
    assert {point.chosen for point in sure.curve} <= {point.chosen for point in found.curve}


def test_a_report_says_when_nothing_is_left_that_is_to_be_done(store: Store, tmp_path: Path) -> None:
    decide_prep(store, CAR, PrepKind.ASKING, author=IDA, pence=850_000)
    assert "Nothing is left that is to be done" not in _report(store, tmp_path, ())
    for line in prep_plan(store, CAR, PlanAsked(curve=False)).lines:
        if line.chosen:
            tick_off(store, CAR, DoneAsked(line.task.id), author=IDA)
    assert "Nothing is left that is to be done" in _report(store, tmp_path, ())


def test_a_wrong_row_of_the_houses_own_is_told_in_the_report_and_stops_none_of_it(store: Store, tmp_path: Path) -> None:
    decide_prep(store, CAR, PrepKind.ASKING, author=IDA, pence=850_000)
    assert "To be done" in _report(store, tmp_path, ())
    (tmp_path / "prep").mkdir()
    wrong = tmp_path / "prep" / "trades.toml"
    wrong.write_text('[[trade]]\nid = "paint"\nrate = [9, 8, 7]\n', encoding="utf-8")
    for make in (lambda: prep_plan(store, CAR), lambda: prep_cards(store, CAR, PlanAsked())):
        with pytest.raises(UserError, match=r"trades\.toml, line 3"):
            make()
    text = _report(store, tmp_path, ("prep-table-refused",))
    assert "Preparation, for the house alone" in text
    assert "Not worked out" in text
    assert "trades.toml, line 3" in text
    assert "Mend the line that is named." in text
    assert "To be done" not in text
    # What else the report says is there.
    assert "rear brakes" in text.lower()
    wrong.write_text('[[trade]]\nid = "paint"\nrate = [7, 8, 9]\n', encoding="utf-8")
    assert "To be done" in _report(store, tmp_path, ())


def _report(store: Store, folder: Path, problems: tuple[str, ...]) -> str:
    made = make_report(store, CAR, out=folder / "report", only=["html"], made_at=datetime(2026, 11, 29, tzinfo=UTC))
    assert tuple(one.slug for one in made.problems) == problems
    return (folder / "report" / "report.html").read_text(encoding="utf-8")
