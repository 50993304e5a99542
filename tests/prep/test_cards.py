"""Cards hold each task of the trade once, in order, with its words, hours and cautions."""

from __future__ import annotations

from datetime import datetime

from shutline.car.carfile import KeptFinding
from shutline.car.findings import Finding, Footing, FootingKind, Found, Severity, Side, State
from shutline.prep.cards import OUTSIDE, job_cards
from shutline.prep.model import Range
from shutline.prep.schedule import Bay, Person, Shop, make_schedule
from shutline.prep.tables import prep_tables, with_own_rows
from shutline.prep.tasks import tasks_of


def kept(
    id_: str, part: str, condition: str, words: str, *, side: Side | None = None, severity: Severity | None = None
) -> KeptFinding:
    footings = (Footing(FootingKind.SAID, "r", 1.0, 3.0, words),)
    return KeptFinding(
        id_, Finding(part, condition, Found.YES, side, None, severity, footings=footings, state=State.STANDS)
    )


FINDINGS = (
    kept("sill", "sill", "perforation", "you can get a finger through", side=Side.NEAR, severity=Severity.SEVERE),
    kept("bulb", "headlight", "fault", "that one's out", side=Side.OFF),
    kept("dirt", "bonnet", "dirt", "needs a wash"),
)
TASKS = tasks_of(FINDINGS).tasks
TABLES = prep_tables()


def shop() -> Shop:
    bays = sorted({task.job.bay for task in TASKS if task.job.bay})
    return Shop((Person("Ines", tuple(TABLES.trades)),), tuple(Bay(kind, kind) for kind in bays))


def test_each_task_stands_once_on_the_card_of_each_of_its_trades() -> None:
    cards = job_cards(TASKS, FINDINGS, TABLES)
    assert [card.trade for card in cards] == [
        trade for trade in TABLES.trades if trade in {card.trade for card in cards}
    ]
    for task in TASKS:
        on = [card.trade for card in cards for line in card.lines if line.task == task]
        assert sorted(on) == sorted({line.trade for line in task.job.labour})


def test_a_line_has_the_words_hours_and_parts_of_its_task() -> None:
    cards = job_cards(
        TASKS, FINDINGS, TABLES, parts={task.id: ["one, new"] for task in TASKS if "sill" in task.findings}
    )
    weld = next(card for card in cards if card.trade == "weld")
    (line,) = weld.lines
    assert [(place.words, place.severity) for place in line.places] == [
        (("you can get a finger through",), Severity.SEVERE)
    ]
    each = next(one.each for one in line.task.job.labour if one.trade == "weld")
    assert line.hours == each
    assert line.parts == ("one, new",)
    assert {caution.id for caution, _ in weld.cautions} == set(line.task.job.cautions)
    assert line.number in {number for _, numbers in weld.cautions for number in numbers}


def test_cards_follow_the_schedule_where_there_is_one() -> None:
    made = make_schedule(TASKS, shop(), start=datetime(2026, 11, 26, 8))  # noqa: DTZ001 - the house's own time
    cards = job_cards(TASKS, FINDINGS, TABLES, schedule=made)
    starts = sorted(((line.number, line.start) for card in cards for line in card.lines), key=lambda one: one[0])
    first = {number: min(at for other, at in starts if other == number and at) for number, _ in starts}
    assert list(first.values()) == sorted(first.values())


def test_without_a_schedule_what_comes_first_has_the_lower_number() -> None:
    cards = job_cards(TASKS, FINDINGS, TABLES)
    numbers = {line.task.job.id: line.number for card in cards for line in card.lines}
    befores = [(job, other) for card in cards for line in card.lines for job in [line.task.job] for other in job.after]
    assert any(other in numbers for _, other in befores)
    assert all(numbers[other] < numbers[job.id] for job, other in befores if other in numbers)


def test_work_without_hours_of_the_house_has_a_card_of_its_own() -> None:
    own = (
        '[[job]]\nid = "outing"\nname = "send it out"\nremedy = "repair"\nsource = "house rules"\n'
        "outside = [5, 10, 20]\n"
        'cures = [{ parts = ["headlight"], conditions = ["fault"], severities = [] }]\n'
    )
    tables = with_own_rows({"jobs.toml": own})
    outing = [task for task in tasks_of(FINDINGS, tables=tables).candidates if task.job.id == "outing"]
    (card,) = job_cards(outing, FINDINGS, tables)
    assert (card.trade, card.lines[0].hours) == (OUTSIDE, Range(0.0, 0.0, 0.0))
