"""Tasks on days: hours, weekends, closed days, curing, bays, parts and outings, counted by hand."""

from __future__ import annotations

import sys
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shutline.car.errors import BadInputError
from shutline.prep.choice import choose
from shutline.prep.left_out import Why
from shutline.prep.model import Job, Labour, Range, Task, Worse
from shutline.prep.schedule import Bay, Person, Schedule, Shop, make_schedule, ready_by

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))
from prep_cases import job, outlays, task, worth

THURSDAY = datetime(2026, 11, 26, 8, 0)  # noqa: DTZ001 - the house's own time
HOUSE = Shop(
    people=(Person("Ines", ("paint", "weld")), Person("Tom", ("valet", "mechanical"))),
    bays=(Bay("ramp 1", "ramp"), Bay("booth", "booth")),
)


def hours(trade: str, much: float, setup: float = 0.0) -> Labour:
    return Labour(trade, Range(much, much, much), Range(setup, setup, setup))


def work(id_: str, *labour: Labour, **more: object) -> Task:
    return task(id_, of=job(id_, labour=labour, **more))


def at(schedule: Schedule, id_: str) -> list[str]:
    return [
        f"{one.start:%a %H:%M} {one.end:%a %H:%M} {one.person} {one.bay}".strip()
        for one in schedule.pieces
        if one.task == id_
    ]


def why(schedule: Schedule, id_: str) -> str:
    return next(one.why for one in schedule.pieces if one.task == id_)


def test_work_goes_on_over_dinner_nights_and_weekends() -> None:
    made = make_schedule([work("weld", hours("weld", 18))], HOUSE, start=THURSDAY)
    assert at(made, "weld") == ["Thu 08:00 Mon 10:00 Ines"]
    assert made.earliest


def test_a_day_on_which_the_house_is_closed_or_a_person_away_is_left_out() -> None:
    for shop in (
        Shop(HOUSE.people, closed=frozenset({date(2026, 11, 27), date(2026, 11, 30)})),
        Shop((Person("Ines", ("weld",), off=frozenset({date(2026, 11, 27), date(2026, 11, 30)})),)),
    ):
        made = make_schedule([work("weld", hours("weld", 9))], shop, start=THURSDAY)
        assert at(made, "weld") == ["Thu 08:00 Tue 09:00 Ines"]
        assert made.film_on == date(2026, 12, 1)


def test_order_and_curing_are_kept_and_the_last_cures_before_it_is_filmed() -> None:
    tasks = [
        work("polish", hours("valet", 2), after=("paint",), waits=1.0),
        work("paint", hours("paint", 4), after=("weld",), waits=24.0, bay="booth"),
        work("weld", hours("weld", 3), bay="ramp"),
    ]
    made = make_schedule(tasks, HOUSE, start=THURSDAY)
    assert at(made, "weld") == ["Thu 08:00 Thu 11:00 Ines ramp 1"]
    assert at(made, "paint") == ["Thu 11:00 Thu 16:00 Ines booth"]
    # 24 hours from four on Thursday are four on Friday; an hour is left, and an hour is done on Monday.
    assert at(made, "polish") == ["Fri 16:00 Mon 09:00 Tom"]
    assert why(made, "polish") == "'paint' comes first and has to cure for 24 hours"
    assert why(made, "paint") == "'weld' comes first"
    assert made.end == datetime(2026, 11, 30, 10, 0)  # noqa: DTZ001
    assert made.film_on == date(2026, 11, 30)
    assert all(one.critical for one in made.pieces)


def test_a_car_that_is_done_in_the_evening_is_filmed_on_the_next_working_day() -> None:
    made = make_schedule([work("weld", hours("weld", 15))], HOUSE, start=THURSDAY)
    assert made.end == datetime(2026, 11, 27, 16, 0)  # noqa: DTZ001
    assert made.film_on == date(2026, 11, 30)


@pytest.mark.parametrize(("holds", "second"), [(True, "Fri 10:00"), (False, "Thu 10:00")])
def test_a_bay_is_held_while_something_cures_in_it_or_not(holds: bool, second: str) -> None:
    paint = job("paint", labour=(hours("paint", 2),), waits=24.0, holds_bay=holds, bay="booth")
    tasks = [task("one", of=paint), task("two", of=paint)]
    made = make_schedule(tasks, HOUSE, start=THURSDAY, cars={"one": "a", "two": "b"})
    assert [f"{one.start:%a %H:%M}" for one in made.pieces] == ["Thu 08:00", second]
    taken = "the car or the bay is taken by 'paint' until then"
    assert made.pieces[1].why == (taken if holds else "Ines is at 'paint' until then")


def test_a_car_stands_in_one_bay_at_a_time() -> None:
    tasks = [work("one", hours("mechanical", 2), bay="ramp"), work("two", hours("weld", 2), bay="booth")]
    made = make_schedule(tasks, HOUSE, start=THURSDAY)
    assert [f"{one.start:%H:%M}" for one in made.pieces] == ["08:00", "10:00"]


def test_two_cars_share_a_bay_one_after_the_other() -> None:
    tasks = [work("one", hours("mechanical", 2), bay="ramp"), work("two", hours("weld", 2), bay="ramp")]
    apart = make_schedule(tasks, HOUSE, start=THURSDAY, cars={"one": "a", "two": "b"})
    assert [f"{one.start:%H:%M}" for one in apart.pieces] == ["08:00", "10:00"]
    together = make_schedule(tasks, HOUSE, start=THURSDAY)
    assert [f"{one.start:%H:%M}" for one in together.pieces] == ["08:00", "08:00"]


def test_only_so_many_work_on_one_car_at_once() -> None:
    tasks = [work("one", hours("mechanical", 2)), work("two", hours("weld", 2))]
    made = make_schedule(tasks, Shop(HOUSE.people, at_once=1), start=THURSDAY)
    assert [f"{one.start:%H:%M}" for one in made.pieces] == ["08:00", "10:00"]
    assert made.pieces[1].why == "1 at once may work on a car, and 'one' is still going on"


def test_parts_come_after_days_and_outside_work_takes_the_car_away() -> None:
    shop = Shop(HOUSE.people, HOUSE.bays, lead_days={"seal": 4.0}, away_days={"retrim": 2.0})
    made = make_schedule(
        [
            work("seal", hours("mechanical", 1)),
            work("retrim", outside=Range(100, 200, 300)),
            work("wash", hours("valet", 2)),
        ],
        shop,
        start=THURSDAY,
    )
    assert at(made, "retrim") == ["Thu 08:00 Fri 17:00 outside"]
    assert at(made, "wash") == ["Mon 08:00 Mon 10:00 Tom"]
    assert at(made, "seal") == ["Mon 10:00 Mon 11:00 Tom"]
    alone = make_schedule([work("seal", hours("mechanical", 1))], shop, start=THURSDAY)
    assert at(alone, "seal") == ["Mon 08:00 Mon 09:00 Tom"]
    assert why(alone, "seal") == "its parts come no sooner"


def test_slack_is_in_hours_of_work_and_the_latest_start_keeps_the_end() -> None:
    tasks = [work("weld", hours("weld", 10)), work("brakes", hours("mechanical", 3))]
    made = make_schedule(tasks, HOUSE, start=THURSDAY)
    (brakes,) = [one for one in made.pieces if one.task == "brakes"]
    assert made.end == datetime(2026, 11, 27, 10, 0)  # noqa: DTZ001
    assert brakes.slack_hours == 7.0
    assert f"{brakes.latest:%a %H:%M}" == "Thu 16:00"
    assert not brakes.critical


def test_a_set_up_is_counted_once_and_what_opening_adds_is_expected() -> None:
    paint = job("paint", labour=(hours("paint", 2, setup=1),), worse=Worse(0.5, Range(2, 2, 2)))
    made = make_schedule([task("door", of=paint), task("wing", of=paint)], HOUSE, start=THURSDAY)
    assert sum((one.end - one.start).total_seconds() / 3600 for one in made.pieces) == 3 + 3 + 1
    both = Task("both", paint, ("f",), "", "", heard_only=False, count=2)
    assert at(make_schedule([both], HOUSE, start=THURSDAY), "both") == ["Thu 08:00 Thu 16:00 Ines"]


def test_a_task_of_two_trades_goes_from_one_to_the_other() -> None:
    made = make_schedule([work("sill", hours("weld", 2), hours("valet", 1))], HOUSE, start=THURSDAY)
    assert at(made, "sill") == ["Thu 08:00 Thu 10:00 Ines", "Thu 10:00 Thu 11:00 Tom"]


@pytest.mark.parametrize(
    ("one", "found"),
    [
        (work("a", hours("trim", 1)), "nobody does trim"),
        (work("a", hours("weld", 1), bay="oven"), "there is no bay for oven"),
        (work("a", hours("weld", 2000)), "the work does not fit into 26 weeks"),
    ],
)
def test_what_cannot_be_done_is_told(one: Task, found: str) -> None:
    with pytest.raises(BadInputError) as told:
        make_schedule([one], HOUSE, start=THURSDAY)
    assert told.value.problem.slug == "schedule-impossible"
    assert told.value.problem.found == found


def test_nothing_to_do_is_filmed_at_once() -> None:
    made = make_schedule([], HOUSE, start=THURSDAY)
    assert (made.pieces, made.film_on) == ((), date(2026, 11, 26))


def test_what_cannot_be_done_by_a_day_is_left_out_of_the_choice() -> None:
    tasks = [
        work("weld", hours("weld", 10)),
        work("paint", hours("paint", 12), waits=12.0, after=("weld",)),
        work("wash", hours("valet", 2)),
    ]
    ready = ready_by(tasks, HOUSE, start=THURSDAY, day=date(2026, 11, 30))
    worths = {"finding_weld": worth(30_000), "finding_paint": worth(50_000), "finding_wash": worth(5000)}
    costs = outlays({"weld": 10_000, "paint": 10_000, "wash": 1000})
    found = choose(tasks, costs, worths, ready=ready)
    assert found.chosen == ("paint", "wash")
    assert [(one.task, one.why) for one in found.left] == [("weld", Why.NO_TIME)]
    later = ready_by(tasks, HOUSE, start=THURSDAY, day=date(2026, 12, 2))
    assert choose(tasks, costs, worths, ready=later).chosen == ("paint", "wash", "weld")


@settings(max_examples=40, deadline=None)
@given(
    lengths=st.lists(
        st.tuples(st.sampled_from(["weld", "valet", "paint"]), st.integers(1, 40)), min_size=1, max_size=7
    ),
    first=st.integers(8, 16),
)
def test_nobody_works_out_of_hours_or_at_two_things(lengths: list[tuple[str, int]], first: int) -> None:
    jobs: list[Job] = []
    for number, (trade, quarters) in enumerate(lengths):
        after = (jobs[-1].id,) if number % 3 == 2 else ()
        jobs.append(job(f"j{number}", labour=(hours(trade, quarters / 4),), after=after, waits=float(number % 4)))
    start = THURSDAY.replace(hour=first)
    made = make_schedule([task(one.id, of=one) for one in jobs], HOUSE, start=start)
    by_task = {one.task: one for one in made.pieces}
    for one in made.pieces:
        assert one.start >= start
        assert one.start.weekday() < 5
        assert 8 <= one.start.hour < 17
        assert one.latest >= one.start
        for other in made.pieces:
            if other is not one and other.person == one.person:
                assert one.end <= other.start or other.end <= one.start
    for one in jobs:
        for other in one.after:
            before = next(j for j in jobs if j.id == other)
            cured = (by_task[one.id].start - by_task[other].end).total_seconds() / 3600
            assert cured >= before.waits
    assert made.no_sooner <= made.end
    assert any(one.critical for one in made.pieces)


@settings(max_examples=40, deadline=None)
@given(
    lengths=st.lists(
        st.tuples(st.sampled_from(["weld", "valet", "paint"]), st.integers(1, 60)), min_size=1, max_size=8
    ),
    days=st.integers(0, 6),
)
def test_what_fits_by_a_day_keeps_to_the_hours_there_are_until_then(lengths: list[tuple[str, int]], days: int) -> None:
    people = (Person("Ines", ("paint", "weld")), Person("Tom", ("valet", "paint")))
    tasks = [
        work(f"t{number}", hours(trade, quarters / 4, setup=0.3)) for number, (trade, quarters) in enumerate(lengths)
    ]
    ready = ready_by(tasks, Shop(people), start=THURSDAY, day=date(2026, 11, 26) + timedelta(days=days))
    ids = [one.id for one in tasks]
    for some in (ids[:at] for at in range(len(ids) + 1)):
        if ready.fits(frozenset(some)):
            assert all(sum(row.get(one, 0.0) for one in some) <= most for row, most in ready.rows)
