"""Until when a buyer may do what: the published examples, repairs that stop the clock, and what cannot be told."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from shutline.car.errors import BadInputError
from shutline.ledger import Handed, Repair, Right, Said, consumer_clock

DAY = date(2026, 6, 1)


def rights(**facts: object) -> dict[str, Right]:
    usual = {"owned": DAY, "delivered": DAY, "distance": Said.YES, "told": Said.YES}
    return {one.id: one for one in consumer_clock(Handed(**{**usual, **facts})).rights}  # type: ignore[arg-type]


def test_thirty_days_begin_on_the_day_after_and_end_with_the_thirtieth() -> None:
    # Consumer Rights Act 2015 s.22(3); check values: delivered 1 June, last day 1 July.
    found = rights()["reject"]
    assert (found.first, found.last) == (date(2026, 6, 2), date(2026, 7, 1))
    assert [found.state(one) for one in (DAY, date(2026, 6, 2), date(2026, 7, 1), date(2026, 7, 2))] == [
        "not begun",
        "running",
        "running",
        "over",
    ]


def test_what_was_delivered_is_done_and_not_over() -> None:
    # Consumer Rights Act 2015 s.28(3): 30 days from the contract.
    agreed = date(2026, 5, 20)
    for delivered, done in ((date(2026, 6, 19), "done in time"), (date(2026, 6, 20), "done after it")):
        found = rights(agreed=agreed, owned=delivered, delivered=delivered)["delivery"]
        assert (found.done, found.state(date(2026, 7, 1))) == (delivered, done)
    assert rights(agreed=agreed, owned=agreed, delivered=None)["delivery"].state(date(2026, 7, 1)) == "over"


def test_the_thirty_days_wait_for_ownership_delivery_and_what_was_still_to_be_done() -> None:
    for facts in ({"owned": date(2026, 6, 9)}, {"delivered": date(2026, 6, 9)}, {"ready": date(2026, 6, 9)}):
        assert rights(**facts)["reject"].last == date(2026, 7, 9)
    found = rights(delivered=None)["reject"]
    assert (found.first, found.last, found.state(DAY)) == (None, None, "cannot be told")


def test_fourteen_days_to_cancel_after_the_day_the_car_was_got() -> None:
    # SI 2013/3134 regulation 30; check values: delivered 1 June, last day 15 June.
    found = rights()["cancel"]
    assert (found.last, found.latest) == (date(2026, 6, 15), date(2026, 6, 15))


@pytest.mark.parametrize(
    ("told", "told_on", "last", "latest"),
    [
        (Said.NO, None, date(2027, 6, 15), date(2027, 6, 15)),
        (Said.NO, date(2026, 8, 1), date(2026, 8, 15), date(2026, 8, 15)),
        (Said.NO, date(2026, 5, 1), date(2026, 6, 15), date(2026, 6, 15)),
        (Said.NO, date(2027, 6, 14), date(2027, 6, 15), date(2027, 6, 15)),
        (Said.NOT_KNOWN, None, date(2026, 6, 15), date(2027, 6, 15)),
    ],
)
def test_whoever_was_not_told_has_up_to_twelve_months_more(
    told: Said, told_on: date | None, last: date, latest: date
) -> None:
    # Regulation 31, as check values section 9 has it.
    found = rights(told=told, told_on=told_on)["cancel"]
    assert (found.last, found.latest) == (last, latest)
    if last < latest:
        assert found.state(date(2026, 9, 1)) == "cannot be told"


def test_without_a_distance_sale_there_is_nothing_to_cancel_and_not_knowing_is_said() -> None:
    assert "cancel" not in rights(distance=Said.NO)
    found = rights(distance=Said.NOT_KNOWN)["cancel"]
    assert found.last is None
    assert "nobody has said: until 2026-06-15 then" in found.sentence
    found = rights(distance=Said.NOT_KNOWN, told=Said.NOT_KNOWN)["cancel"]
    assert "until 2026-06-15, or 2027-06-15 at the latest, then" in found.sentence


@pytest.mark.parametrize(
    ("repairs", "last"),
    [
        # Asked on the 10th day, back ten days later: 11 days of waiting, the first and the last in them (s.22(8)).
        ([Repair(date(2026, 6, 11), date(2026, 6, 21))], date(2026, 7, 12)),
        # Asked on the last day, back the next: seven days are longer than what was left.
        ([Repair(date(2026, 7, 1), date(2026, 7, 2))], date(2026, 7, 9)),
        # Asked too late: the clock has run out.
        ([Repair(date(2026, 7, 2), date(2026, 7, 9))], date(2026, 7, 1)),
        # Away now: it stands.
        ([Repair(date(2026, 6, 11))], None),
        # Two of them, entered in any order.
        ([Repair(date(2026, 7, 5), date(2026, 7, 6)), Repair(date(2026, 6, 11), date(2026, 6, 21))], date(2026, 7, 14)),
    ],
)
def test_a_repair_stops_the_clock_and_leaves_seven_days_at_least(repairs: list[Repair], last: date | None) -> None:
    assert rights(repairs=repairs)["reject"].last == last


@given(st.dates(date(2016, 1, 1), date(2040, 1, 1)), st.integers(0, 28), st.integers(0, 90))
def test_a_repair_never_takes_a_day_away_and_leaves_seven(start: date, after: int, away: int) -> None:
    asked = start + timedelta(days=after)
    back = asked + timedelta(days=away)
    plain = rights(owned=start, delivered=start)["reject"].last
    with_it = rights(owned=start, delivered=start, repairs=[Repair(asked, back)])["reject"].last
    assert plain is not None
    assert with_it is not None
    assert with_it >= max(plain, back + timedelta(days=7))


@given(st.dates(date(2016, 1, 1), date(2040, 1, 1)))
def test_months_are_those_of_another_calendar(start: date) -> None:
    found = rights(owned=start, delivered=start, told=Said.NO)
    assert found["presumed"].last == start + relativedelta(months=6) - timedelta(days=1)
    assert found["cancel"].last == start + timedelta(days=14) + relativedelta(months=12)


def test_days_of_delivery_of_refunds_and_of_the_final_right() -> None:
    found = rights(
        agreed=date(2026, 5, 20),
        repairs=[Repair(date(2026, 6, 11), date(2026, 6, 21))],
        returned=date(2026, 6, 30),
        agreed_refund=date(2026, 6, 25),
    )
    assert found["delivery"].last == date(2026, 6, 19)
    assert found["refund_cancelled"].last == date(2026, 7, 14)
    # s.20(15): 14 days that begin with the day of the agreement.
    assert found["refund_rejected"].last == date(2026, 7, 8)
    assert found["final"].first == date(2026, 6, 21)
    assert "final" not in rights()
    assert all(one.source and one.sentence for one in found.values())
    assert "no legal advice" in consumer_clock(Handed(DAY)).caution


@pytest.mark.parametrize(
    "facts",
    [
        {"agreed": date(2026, 6, 2)},
        {"told_on": date(2026, 6, 2)},
        {"repairs": [Repair(date(2026, 5, 30), date(2026, 6, 2))]},
        {"repairs": [Repair(date(2026, 6, 5), date(2026, 6, 4))]},
        {"repairs": [Repair(date(2026, 6, 5)), Repair(date(2026, 6, 6), date(2026, 6, 7))]},
        {"delivered": None, "repairs": [Repair(date(2026, 6, 5))]},
        {"returned": date(2026, 5, 1)},
        {"agreed_refund": date(2026, 5, 1)},
    ],
)
def test_days_that_cannot_have_been_so_are_refused(facts: dict[str, object]) -> None:
    with pytest.raises(BadInputError) as caught:
        rights(**facts)
    assert caught.value.problem.slug == "ledger-clock"
